"""The order of the pages: home, a section a station, control, a section a folder written by hand."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from generator.joined import House
from generator.pages.escape import escape
from generator.pages.page import Page
from generator.pages.uris import CONTROL, FINDINGS, HOME


def navigation(pages: Iterable[Page], house: House | None, written: Iterable[str]) -> list[Any]:
    """Sections by title with the addresses in them.

    ``written`` are pages written by hand: those in a folder stand in a section of the folder's name
    (a station's folder in the station's), the others under control.
    """
    pages = list(pages)
    folders = _folders(w for w in written if w != HOME)
    home = [{"Home": HOME}] if any(p.uri == HOME for p in pages) else []
    sections: list[Any] = []
    for ident, station in house.stations.items() if house else ():
        own = sorted(
            (p for p in pages if p.section == ident),
            key=lambda p: (not p.uri.endswith("/index.md"), p.title.lower()),
        )
        sections.append(
            {str(escape(station.name)): [*(p.uri for p in own), *folders.pop(ident, [])]}
        )
    control = [p.uri for p in pages if p.section == CONTROL and p.uri != HOME]
    control.sort(key=FINDINGS.__eq__)
    last = [*control, *folders.pop(CONTROL, []), *folders.pop("", [])]
    more = [{_title(folder): uris} for folder, uris in folders.items()]
    return [*home, *sections, *([{"Control": last}] if last else []), *more]


def _folders(written: Iterable[str]) -> dict[str, list[str]]:
    """Pages by their first folder ("" for none), a folder's front page first, then by file name."""
    found: dict[str, list[str]] = {}
    for uri in sorted(written, key=lambda w: (not w.endswith(("/index.md", "/README.md")), w)):
        folder, slash, _ = uri.partition("/")
        found.setdefault(folder if slash else "", []).append(uri)
    return dict(sorted(found.items()))


def _title(folder: str) -> str:
    """A folder's name as people read it: house-rules → House rules."""
    words = " ".join(folder.replace("-", " ").replace("_", " ").split())
    return str(escape(words[:1].upper() + words[1:]))
