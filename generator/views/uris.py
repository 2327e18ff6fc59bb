"""Where each page lies.

Stations give their ids to folders, and so do the kinds of page that aren't a station's. No id ends
in a hyphen, so a station or a formula whose id is taken by a page of ours gets one.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from generator.records.fields import ID_PATTERN, as_id

CONTROL, PROCESSES, INGREDIENTS, PLANS = "control", "processes", "ingredients", "plans"
KITCHEN, REFERENCE = "kitchen", "reference"
FOLDERS = frozenset(
    {CONTROL, PROCESSES, INGREDIENTS, PLANS, KITCHEN, REFERENCE, "assets", "search"}
)
"""Folders that are ours or the builder's, whatever a station is called."""

# No index.md among those of a section: the theme would take the first for the section itself.
HOME = "index.md"
REGISTER = f"{CONTROL}/limits.md"
ALLERGENS = f"{CONTROL}/allergens.md"
CAUTIONS = f"{CONTROL}/cautions.md"
CHANGED = f"{CONTROL}/changed.md"
FINDINGS = f"{CONTROL}/findings.md"
PROCESS_INDEX = f"{KITCHEN}/processes.md"
INGREDIENT_INDEX = f"{KITCHEN}/ingredients.md"
EQUIPMENT_INDEX = f"{KITCHEN}/equipment.md"
PLAN_INDEX = f"{KITCHEN}/plans.md"
CONVERSIONS = f"{REFERENCE}/conversions.md"
GLOSSARY = f"{REFERENCE}/glossary.md"
SOURCES = f"{REFERENCE}/sources.md"
TAGS = f"{REFERENCE}/tags.md"
FIND = f"{REFERENCE}/find.md"
_MOST = 1 << 15
"""Addresses remembered: lists of a large manual lead to the same pages over and over."""
_OURS = frozenset({REGISTER, ALLERGENS, CAUTIONS, CHANGED, FINDINGS})


@dataclass(frozen=True)
class Link:
    """A link: its words, its address, and what is behind it in lighter type."""

    words: str
    href: str
    rest: str = ""


def _folder(station: str) -> str:
    """The folder of a station's pages; of what names no station, the control pages'."""
    if not station:
        return CONTROL
    if station in FOLDERS or not ID_PATTERN.fullmatch(station):
        return f"{as_id(station)}-"
    return station


@lru_cache(_MOST)
def formula_uri(station: str, formula: str) -> str:
    """The page of a formula: under its station, or with the control pages if it has none.

    A file whose name is no id can't be computed, but its findings need an address all the same.
    """
    name = formula
    if not ID_PATTERN.fullmatch(formula):
        name = f"no-id-{as_id(formula)}-"
    elif formula == "index" or f"{_folder(station)}/{formula}.md" in _OURS:
        name = f"{formula}-"
    return f"{_folder(station)}/{name}.md"


def station_uri(station: str) -> str:
    """The front page of a station."""
    return f"{_folder(station)}/index.md"


def process_uri(process: str) -> str:
    """The page of a process spec."""
    return _own(PROCESSES, process)


def ingredient_uri(ingredient: str) -> str:
    """The page of an ingredient."""
    return _own(INGREDIENTS, ingredient)


def plan_uri(plan: str) -> str:
    """The page of a plan."""
    return _own(PLANS, plan)


def pack_uri(pack: str) -> str:
    """The page of a rule pack; none of the other reference pages begins so."""
    return f"{REFERENCE}/rules-{pack}.md"


@lru_cache(_MOST)
def _own(folder: str, ident: str) -> str:
    if not ID_PATTERN.fullmatch(ident):
        return f"{folder}/no-id-{as_id(ident)}-.md"
    return f"{folder}/{ident}{'-' if ident == 'index' else ''}.md"


def part_uri(uri: str, number: int) -> str:
    """The ``number``-th part of a page's lists: beside the page, as deep as it, so that a link on
    one leads to the same place from the other. No id has two hyphens in a row."""
    return f"{address(uri).rstrip('/')}--{number}.md"


@lru_cache(_MOST)
def address(uri: str) -> str:
    """The folder a page becomes: ``stove/stock.md`` is ``stove/stock/``, an index its folder."""
    stem = uri.removesuffix(".md")
    return "" if stem == "index" else stem.removesuffix("/index") + "/"


@lru_cache(_MOST)
def link(start: str, end: str) -> str:
    """The relative address from page ``start`` to page ``end``, both like ``stove/stock.md``."""
    return ("../" * address(start).count("/") + address(end)) or "./"


def beside(uri: str, name: str | None) -> str:
    """The relative address of a picture of the pages folder from the page ``uri``."""
    return "../" * address(uri).count("/") + name if name else ""
