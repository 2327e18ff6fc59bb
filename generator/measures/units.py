"""The kitchen's units: names, exact factors, and the set of household measures in use.

Units are data (``shared/units.yaml``): each is defined by the base unit of its kind, exactly. A
library of units would read what a cook types otherwise (``1 fl oz`` as femtolitres), and is asked
in the tests instead: every factor is held against two of them.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal

from generator.files.finding import BrokenData, Finding, Place
from generator.files.source_text import Document, Mapping, read_file

FILE = "units.yaml"

UnitKind = Literal["mass", "volume", "length"]
BASE: dict[str, str] = {"mass": "g", "volume": "ml", "length": "mm"}


@dataclass(frozen=True)
class Unit:
    """A unit: ``factor`` base units (g, ml, mm) make one; ``missing`` if the set lacks it."""

    name: str
    kind: UnitKind
    factor: Fraction
    source: str
    missing: bool = False


@dataclass(frozen=True)
class Units:
    """Every unit known, by name and by alias, under one set of household measures."""

    set_name: str
    by_name: dict[str, Unit] = field(repr=False)
    aliases: dict[str, str] = field(repr=False)

    def find(self, text: str) -> tuple[Unit | None, str]:
        """The unit ``text`` starts with and what is left of it ("cup packed" → cup, "packed")."""
        words = text.replace(".", " ").split()
        for take in (2, 1):
            if len(words) >= take:
                joined = " ".join(words[:take])
                name = self.aliases.get(joined) or self.aliases.get(joined.lower())
                if name:
                    return self.by_name[name], " ".join(words[take:]).lower()
        return None, ""

    def did_you_mean(self, text: str) -> str:
        """A hint for an unknown unit, in words only."""
        near = difflib.get_close_matches(text.lower(), self.aliases, n=1, cutoff=0.7)
        known = "Known: g kg oz lb ml l tsp tbsp cup fl oz pt qt gal mm cm in each dozen."
        return f"Did you mean `{near[0]}`? {known}" if near else known

    def one_letter_off(self, text: str, pieces: Iterable[str] = ()) -> tuple[str, ...]:
        """The units of weight or volume, and those of ``pieces``, that are one letter away from
        ``text`` by the likeliest slip, each once, at most three."""
        typed = text.lower()
        if len(typed) > _LONGEST_UNIT:
            return ()
        known = [(a, name) for a, name in self.aliases.items() if self._is_of_food(name)]
        found: dict[str, tuple[int, str]] = {}
        for word, name in (*((p, p) for p in pieces), *known):
            slip = _slip(typed, word.lower())
            if slip and (name not in found or slip < found[name][0]):
                found[name] = (slip, word)
        best = min((slip for slip, _ in found.values()), default=0)
        return tuple(word for slip, word in found.values() if slip == best)[:3]

    def _is_of_food(self, name: str) -> bool:
        unit = self.by_name[name]
        return unit.kind != "length" and not unit.missing

    def convert(self, value: Fraction, start: Unit, end: Unit) -> Fraction:
        """``value`` of ``start`` in ``end``, exact. Raises ValueError across kinds."""
        if start.kind != end.kind:
            raise ValueError(f"{start.kind} is not {end.kind}")
        return value * start.factor / end.factor


_LONGEST_UNIT = 20


def _slip(typed: str, word: str) -> int:
    """By which slip of one letter ``typed`` is another ``word``: 1 changed places with the next or
    doubled, 2 one too many or too few, 3 another; 0 by none. A unit of one letter is only its
    doubled self: `gg`, never `g` for any other letter."""
    if min(len(typed), len(word)) < 2:
        return int(typed == word * 2)
    if len(typed) == len(word):
        return _same_length(typed, word)
    short, long = sorted((typed, word), key=len)
    one_more = len(long) == len(short) + 1
    return 2 * int(one_more and any(long[:i] + long[i + 1 :] == short for i in range(len(long))))


def _same_length(typed: str, word: str) -> int:
    differ = [i for i, (a, b) in enumerate(zip(typed, word, strict=True)) if a != b]
    if len(differ) == 1:
        return 3
    if len(differ) != 2 or differ[1] != differ[0] + 1:
        return 0
    first, second = differ
    return int(typed[first] + typed[second] == word[second] + word[first])


def load_units(shared: Path, set_name: str = "us") -> Units:
    """Read ``shared/units.yaml`` under one set of household measures.

    Raises BrokenData if the file can't be read or a definition doesn't add up.
    """
    path = shared / FILE
    changed = path.stat().st_mtime_ns if path.is_file() else 0
    return _load(shared, set_name, changed)


@lru_cache(maxsize=16)
def _load(shared: Path, set_name: str, changed: int) -> Units:
    """The reading itself; ``changed`` is another for another state of the file."""
    document = _document(shared, changed)
    if document.tree is None or document.findings:
        raise BrokenData(document.findings or (_broken("it is empty"),))
    try:
        return _units(document.tree, set_name)
    except (KeyError, TypeError, AttributeError, ValueError, ZeroDivisionError) as error:
        raise BrokenData((_broken(f"{type(error).__name__}: {error}"),)) from None


@lru_cache(maxsize=2)
def _document(shared: Path, changed: int) -> Document:
    return read_file(shared / FILE, f"shared/{FILE}")


def _broken(reason: str) -> Finding:
    help = "Compare it with the installed copy: `units`, `household` and `household_sets`."
    message = f"The units can't be used: {reason}."
    return Finding("units-broken", "error", message, Place(f"shared/{FILE}"), help)


def _units(tree: Mapping, set_name: str) -> Units:
    sets: Mapping = tree["household_sets"]
    by_name: dict[str, Unit] = {}
    aliases: dict[str, str] = {}

    def enter(unit: Unit, row: Any) -> None:
        by_name[unit.name] = unit
        for alias in (unit.name, *row.get("also", ())):
            aliases[str(alias)] = unit.name

    for kind in ("mass", "volume", "length"):
        for name, row in tree["units"][kind].items():
            source = str(row.get("source", ""))
            enter(Unit(str(name), kind, _factor(str(name), kind, str(row["is"])), source), row)
    chosen = sets[set_name]["units"]
    for name, row in tree["household"].items():
        own = chosen.get(name)
        if own is None:
            enter(Unit(str(name), "volume", Fraction(0), "", missing=True), row)
            continue
        factor = _factor(str(name), "volume", str(own["is"]))
        enter(Unit(str(name), "volume", factor, str(own.get("source", ""))), row)
    return Units(set_name, by_name, aliases)


def _factor(name: str, kind: UnitKind, definition: str) -> Fraction:
    """How many base units one is, by its definition: "453.59237 g". Raises ValueError."""
    if definition == "base":
        return Fraction(1)
    match = re.fullmatch(rf"(\d+(?:\.\d+)?(?:/\d+)?) {BASE[kind]}", definition)
    if match is None:
        raise ValueError(f"`{name}` is defined as `{definition}`")
    top, _, bottom = match[1].partition("/")
    return Fraction(top) / Fraction(bottom or "1")


def household_sets(shared: Path) -> tuple[str, ...]:
    """The names of the sets of household measures in ``shared/units.yaml``."""
    document = _document(shared, (shared / FILE).stat().st_mtime_ns)
    return tuple(document.tree["household_sets"]) if document.tree else ()
