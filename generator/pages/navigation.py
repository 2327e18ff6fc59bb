"""The order of the pages: home, a section a station, what the whole kitchen shares, then a section
a folder written by hand, a section within it for each folder in that.

Each process and each ingredient is reached from its index, from search and from the pages that
name it: the navigation stays short however many there are.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from generator.pages.escape import escape
from generator.pages.page import Page
from generator.resolve.joined import House
from generator.views.uris import FINDINGS, HOME

CONTROL, KITCHEN, REFERENCE = "Control", "Kitchen", "Reference"
"""Sections that are no station's: no station's id holds a capital."""


def navigation(pages: Iterable[Page], house: House | None, written: Iterable[str]) -> list[Any]:
    """Sections by title with the addresses in them.

    ``written`` are pages written by hand: those in a folder are in a section of the folder's name
    (a station's folder in the station's), the others under reference. A folder in a folder is a
    section in its section.
    """
    pages = [p for p in pages if p.listed]
    folders = _folders(w for w in written if w != HOME)
    home = [{"Home": HOME}] if any(p.uri == HOME for p in pages) else []
    stations = []
    for ident, station in house.stations.items() if house else ():
        own = _of_station(pages, ident)
        stations.append({str(escape(station.name)): [*own, *folders.pop(ident, [])]})
    shared = {
        CONTROL: [*_shared(pages, CONTROL), *folders.pop("control", [])],
        KITCHEN: [*_shared(pages, KITCHEN), *folders.pop("kitchen", [])],
        REFERENCE: [
            *_shared(pages, REFERENCE),
            *folders.pop("reference", []),
            *folders.pop("", []),
        ],
    }
    filled = [{name: uris} for name, uris in shared.items() if uris]
    return [
        *home,
        *stations,
        *filled,
        *({_title(folder): uris} for folder, uris in folders.items()),
    ]


def _of_station(pages: Iterable[Page], ident: str) -> list[str]:
    """A station's pages: its own first, then its formulas by name."""
    own = sorted(
        (p for p in pages if p.section == ident),
        key=lambda p: (not p.uri.endswith("/index.md"), p.title.lower()),
    )
    return [p.uri for p in own]


def _shared(pages: Iterable[Page], name: str) -> list[str]:
    """The pages of a section the whole kitchen shares; the findings are last under control."""
    found = [p.uri for p in pages if p.section == name and p.uri != HOME]
    return sorted(found, key=FINDINGS.__eq__) if name == CONTROL else found


def _folders(written: Iterable[str]) -> dict[str, list[Any]]:
    """Pages by their first folder ("" for none): a folder's front page first, then its pages by
    file name, then a section for each folder in it."""
    found: dict[str, list[Any]] = {}
    for folder, uris in _by_folder(written, 0).items():
        within = _by_folder(uris, len(folder) + 1) if folder else {"": uris}
        inner = [{_title(name): inside} for name, inside in within.items() if name]
        found[folder] = [*within.get("", []), *inner]
    return found


def _by_folder(uris: Iterable[str], start: int) -> dict[str, list[str]]:
    """Addresses by the folder that each names from its ``start``-th letter on ("" for none)."""
    found: dict[str, list[str]] = {}
    for uri in sorted(uris, key=lambda u: (not u.endswith(("/index.md", "/README.md")), u)):
        folder, slash, _ = uri[start:].partition("/")
        found.setdefault(folder if slash else "", []).append(uri)
    return dict(sorted(found.items()))


def _title(folder: str) -> str:
    """A folder's name as people read it: house-rules → House rules."""
    words = " ".join(folder.replace("-", " ").replace("_", " ").split())
    return str(escape(words[:1].upper() + words[1:]))
