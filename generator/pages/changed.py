"""What changed: every standard by the day its revision starts, newest first. What differs on a
phone, old → new, is put above it by a script, which alone knows what the phone had opened."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from generator.measures.words import date
from generator.pages.navigation import CONTROL
from generator.pages.page import Heading, Page, make_page
from generator.records.process import Process
from generator.records.routine import Routine
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet
from generator.views.status_view import status_of
from generator.views.uris import CHANGED, address, formula_uri, link, process_uri


@dataclass(frozen=True)
class RevisionView:
    """A standard's revision: ``at`` is the page's address for a formula, empty for a process."""

    name: str
    href: str
    words: str
    at: str
    day: datetime.date


def changed_pages(manual: Manual) -> list[Page]:
    """The page of revisions."""
    found = sorted((*_formulas(manual), *_processes(manual)), key=lambda v: (v.day, v.name))
    groups: dict[str, list[RevisionView]] = {}
    for view in reversed(found):
        groups.setdefault(date(view.day), []).append(view)
    return [
        make_page(
            CHANGED,
            "What changed",
            CONTROL,
            "changed.html",
            keeping=manual.keeping,
            headings=(
                Heading("here", "On this phone"),
                *(Heading(f"on-{n}", day) for n, day in enumerate(groups)),
            ),
            groups=[(f"on-{n}", day, views) for n, (day, views) in enumerate(groups.items())],
        )
    ]


def address_of(sheet: Sheet) -> str:
    """Where a formula's page lies in the site: ``stove/stock/``."""
    return address(formula_uri(sheet.formula.formula.home, sheet.id))


def _formulas(manual: Manual) -> list[RevisionView]:
    return [
        RevisionView(
            sheet.name,
            link(CHANGED, uri := formula_uri(sheet.formula.formula.home, ident)),
            f"{status_of(sheet).word} · {status_of(sheet).rest}",
            address(uri),
            sheet.formula.formula.effective,
        )
        for ident, sheet in manual.sheets.items()
    ]


def _processes(manual: Manual) -> list[RevisionView]:
    """Process specs that have a revision and a day."""
    return [
        RevisionView(
            process.name,
            link(CHANGED, process_uri(ident)),
            f"Process · revision {process.revision}",
            "",
            process.effective,
        )
        for ident, process in _specs(manual)
        if process.revision is not None and process.effective is not None
    ]


def _specs(manual: Manual) -> list[tuple[str, Process | Routine]]:
    """Every process spec: those formulas follow, then those that stand alone."""
    return [*manual.standards.processes.items(), *manual.standards.routines.items()]
