"""Every caution of this manual by severity, with its source, where it is raised and where it is
off."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from generator.indexes.uses import Raised, StepUse, cautions_raised
from generator.measures.words import counted
from generator.pages.navigation import CONTROL
from generator.pages.page import Heading, Page, make_page
from generator.reference.cautions import RANK
from generator.sheet.cautioning import Notice
from generator.sheet.manual import Manual
from generator.views.uris import CAUTIONS, Link, formula_uri, link


@dataclass(frozen=True)
class CautionView:
    """One caution: its notice as the pages show it, its name, and the steps and pages it is
    at."""

    id: str
    notice: Notice
    name: str
    at: tuple[Link, ...]


@dataclass(frozen=True)
class SeverityView:
    """The cautions of one signal word."""

    severity: str
    cautions: tuple[CautionView, ...]


def caution_pages(manual: Manual) -> list[Page]:
    """The cautions of the house on one page."""
    house = manual.house
    raised = cautions_raised(manual)
    every = [SeverityView(severity, _of_severity(manual, raised, severity)) for severity in RANK]
    groups = [group for group in every if group.cautions]
    off = [
        (r.name, Link(manual.sheets[formula].name, _href(manual, StepUse(formula, 0, ""))), reason)
        for r in raised
        for formula, reason in r.off
    ]
    headings = [Heading(f"of-{g.severity}", g.severity.upper()) for g in groups]
    if off:
        headings.append(Heading("off", "Switched off"))
    return [
        make_page(
            CAUTIONS,
            "Cautions",
            CONTROL,
            "cautions.html",
            keeping=manual.keeping,
            headings=tuple(headings),
            groups=groups,
            off=off,
            counted=counted(sum(len(g.cautions) for g in groups), "caution"),
            document=house.pack.facts.document,
            adopted=house.kitchen.code.adopted_by,
        )
    ]


def _of_severity(
    manual: Manual, raised: Iterable[Raised], severity: str
) -> tuple[CautionView, ...]:
    """The cautions of one signal word that show somewhere."""
    return tuple(
        _view(manual, r, r.notice) for r in raised if r.notice and r.notice.severity == severity
    )


def _view(manual: Manual, raised: Raised, notice: Notice) -> CautionView:
    by_formula: dict[str, list[StepUse]] = {}
    for use in raised.at:
        by_formula.setdefault(use.formula, []).append(use)
    at: list[Link] = []
    for formula, uses in by_formula.items():
        words = ", ".join(f"step {u.number} {u.verb}" for u in uses if u.number)
        at.append(Link(manual.sheets[formula].name, _href(manual, uses[0]), words))
    return CautionView(raised.id, notice, raised.name, tuple(at))


def _href(manual: Manual, use: StepUse) -> str:
    """The page of a formula, at the step if there is one."""
    uri = formula_uri(manual.sheets[use.formula].formula.formula.home, use.formula)
    return link(CAUTIONS, uri) + (f"#step-{use.number}" if use.number else "")
