"""The order of the pages: home, a section a station, control, what is written by hand."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from generator.joined import House
from generator.pages.escape import escape
from generator.pages.page import Page
from generator.pages.uris import CONTROL, FINDINGS, HOME


def navigation(pages: Iterable[Page], house: House | None, written: Iterable[str]) -> list[Any]:
    """Sections by title with the addresses in them. ``written`` are pages written by hand."""
    pages = list(pages)
    home = [{"Home": HOME}] if any(p.uri == HOME for p in pages) else []
    sections: list[Any] = []
    for ident, station in house.stations.items() if house else ():
        own = sorted(
            (p for p in pages if p.section == ident),
            key=lambda p: (not p.uri.endswith("/index.md"), p.title.lower()),
        )
        sections.append({str(escape(station.name)): [p.uri for p in own]})
    control = [p.uri for p in pages if p.section == CONTROL and p.uri != HOME]
    control.sort(key=FINDINGS.__eq__)
    last = [*control, *(w for w in written if w != HOME)]
    return [*home, *sections, *([{"Control": last}] if last else [])]
