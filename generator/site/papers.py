"""The pages of the manual, each knowing the sheets printed from it.

A sheet's QR code leads to its page with the sheet's number, revision and hash in the address; the
page carries those of the current sheets, so that a small script can say whether the paper still is.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import partial
from html import escape
from typing import Any, NamedTuple

from generator import pages
from generator.binder.documents import held_of, page_of, station_binder
from generator.binder.numbering import taken_of
from generator.files.kept import Kept, hash_of
from generator.measures.words import date
from generator.pages.page import Body, Page
from generator.sheet.inputs import specs_hash
from generator.sheet.manual import Broken, Manual


def make_site_pages(manual: Manual | Broken) -> list[Page]:
    """Every page of a manual, with the current sheets on those that have any."""
    return with_papers(manual, pages.make_pages(manual))


def with_papers(manual: Manual | Broken, made: list[Page]) -> list[Page]:
    """Pages, those of them that have current sheets with these: each in its place in the list, as
    the pages of a large manual are too many to have twice."""
    if isinstance(manual, Broken) or manual.errors:
        return made
    kept = manual.keeping.kept
    sheets, gone, day = current_sheets(manual), discarded(manual), date(manual.as_of)
    for at, page in enumerate(made):
        if page.uri in sheets:
            made[at] = _with_sheets(
                page, _line(sheets[page.uri], gone.get(page.uri, ()), day), kept
            )
    return made


class Current(NamedTuple):
    """A sheet as it would be printed today: its number (0 for a cover), its revision, its hash, and
    whether it is approved, a draft, not yet in force or superseded."""

    number: str
    revision: str
    hash: str
    state: str


_STATES = {
    "Approved": "approved",
    "DRAFT": "draft",
    "NOT YET IN FORCE": "not-yet",
    "SUPERSEDED": "superseded",
}


def current_sheets(manual: Manual) -> dict[str, list[Current]]:
    """For each page its sheets as they would be printed today."""
    taken = taken_of(manual.standards.register)
    found: dict[str, list[Current]] = {}
    for station in manual.house.stations:
        rows = manual.keeping.kept.of(
            _key(manual, station, taken),
            partial(_of_station, manual, station, taken),
            lambda rows: json.dumps(rows).encode(),
            json.loads,
        )
        for page, sheet in rows:
            found.setdefault(page, []).append(Current(*sheet))
    return found


def _of_station(manual: Manual, station: str, taken: Mapping[str, int]) -> list[list[Any]]:
    """A station's sheets, each with its page and what ``Current`` holds."""
    return [
        [page_of(sheet["key"]), _current(sheet)]
        for sheet in station_binder(manual, station, taken, "")
    ]


def _current(sheet: Mapping[str, Any]) -> list[str]:
    control = sheet["control"]
    state = _STATES[control["status"]]
    return [sheet["number"] or "0", control["revision"], control["hash"], state]


def _key(manual: Manual, station: str, taken: Mapping[str, int]) -> str:
    """What a station's sheets are kept under: its formulas, the process specs that stand alone, the
    numbers given. Empty where it has no formula, where one isn't the computed one, and where its
    binder holds what is of the whole house."""
    sheets = [s for s in manual.sheets.values() if station in s.formula.formula.station]
    keys = [manual.keeping.key_of(sheet) for sheet in sheets]
    if not keys or "" in keys or held_of(taken, station):
        return ""
    numbers = [f"{key}={number}" for key, number in sorted(taken.items())]
    return hash_of("papers", station, *keys, specs_hash(manual.standards), *numbers)


def discarded(manual: Manual) -> dict[str, list[int]]:
    """For each page the numbers of its sheets that left their binder for good."""
    register = manual.standards.register
    found: dict[str, list[int]] = {}
    for binder in register.binders.values() if register is not None else ():
        for number, sheet in binder.sheets.items():
            if sheet.discarded is not None:
                found.setdefault(page_of(sheet.sheet), []).append(number)
    return found


def _line(sheets: list[Current], gone: Iterable[int], as_of: str) -> str:
    """A line below a page's title, hidden until somebody comes from a paper."""
    reported = " ".join(":".join(sheet) for sheet in sheets)
    return (
        f'<p class="ks-paper" role="status" hidden data-sheets="{escape(reported)}" '
        f'data-gone="{" ".join(map(str, gone))}" data-as-of="{escape(as_of)}">'
        "<b></b> <span></span></p>"
    )


def _with_sheets(page: Page, line: str, kept: Kept) -> Page:
    """A page with its line; the same one where both are the last build's."""

    def made() -> Page:
        head, end, rest = page.body.utf8.partition(b"</h1>")
        return (
            replace(page, body=Body(b"".join((head, end, b"\n", line.encode(), rest))))
            if end
            else page
        )

    return kept.remembered(("papers", page, line), made)
