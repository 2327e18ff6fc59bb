"""The register of limits: every critical limit by hazard, and how each is monitored."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from generator.joined import House
from generator.manual import Manual
from generator.measures.words import NARROW, counted, duration, plain
from generator.pages.limit_view import clock_words, limit_view
from generator.pages.navigation import CONTROL
from generator.pages.pack import packs_in_force
from generator.pages.page import Heading, Link, Page, link, make_page
from generator.pages.uris import HOME, REGISTER, formula_uri, ingredient_uri, pack_uri
from generator.reference.rows import HazardWords
from generator.rules.limit import Limit
from generator.rules.receiving import receiving
from generator.sheet import Sheet

_ORDER = (
    "receive", "cook", "cool", "hot_hold", "cold_hold", "time_control", "reheat", "thaw", "parasites",
    "additive", "reduced_oxygen",
)  # fmt: skip


@dataclass(frozen=True)
class RegisterRow:
    """One row: the figure, its words, the formula, the step, the code's figure and its clause."""

    number: str
    unit: str
    words: str
    name: str
    href: str
    step: str
    code: str
    clause: str
    sort: Fraction


@dataclass(frozen=True)
class RegisterGroup:
    """The rows of one hazard."""

    id: str
    name: str
    head: str
    rows: tuple[RegisterRow, ...]


def register_pages(manual: Manual) -> list[Page]:
    """The register, one page for the house."""
    house = manual.house
    if house is None:
        return []
    groups: list[RegisterGroup] = []
    monitoring: list[HazardWords] = []
    total = 0
    for hazard in _ORDER:
        rows = [
            row
            for sheet in manual.sheets.values()
            for limit in sheet.walk.limits
            if limit.hazard == hazard
            for row in _rows(sheet, limit)
        ]
        if hazard == "receive":
            rows = _receiving(manual, house)
        if not rows:
            continue
        words = house.library.hazards.get(hazard)
        name = words.name if words else hazard.replace("_", " ").capitalize()
        rows.sort(key=lambda r: (-r.sort, r.name))
        groups.append(
            RegisterGroup(hazard.replace("_", "-"), name, _head(manual, hazard), tuple(rows))
        )
        total += len(rows)
        if words:
            monitoring.append(words)
    facts = house.pack.facts
    formulas = sum(1 for s in manual.sheets.values() if s.walk.limits)
    headings = (
        *(Heading(g.id, g.name) for g in groups),
        Heading("monitor", "Monitoring"),
        Heading("pack", "Not covered"),
        Heading("rules", "The rules in full"),
    )
    return [
        make_page(
            REGISTER, "Register of limits", CONTROL, "register.html", headings=headings, groups=groups,
            counted=f"{counted(total, 'limit')} in {counted(formulas, 'formula')}", document=facts.document,
            adopted=house.kitchen.code.adopted_by, monitoring=monitoring, not_covered=facts.not_covered,
            home_href=link(REGISTER, HOME), bar=_bar(groups),
            packs=[Link(p.facts.name, link(REGISTER, pack_uri(p.id)), "every row held here") for p in packs_in_force(house)],
        )
    ]  # fmt: skip


def _receiving(manual: Manual, house: House) -> list[RegisterRow]:
    """A row for each ingredient that is used and has a receiving limit."""
    used = {line.joined.item for sheet in manual.sheets.values() for line in sheet.walk.lines}
    rows: list[RegisterRow] = []
    ingredients = manual.standards.ingredients if manual.standards else {}
    for item in sorted(used & set(ingredients)):
        found = receiving(house, item, ingredients[item])
        if found is None or found.limit is None or found.limit.figure is None:
            continue
        limit = found.limit
        assert limit.figure is not None and limit.read is not None
        figure = limit_view(house, limit).figures[0]
        rows.append(
            RegisterRow(
                figure.number, figure.unit, figure.words, found.name,
                link(REGISTER, ingredient_uri(item)) + "#receive", limit.probe or "at the door",
                f"Code {limit.figure.value},", limit.source.clause, limit.read,
            )
        )  # fmt: skip
    return rows


def _head(manual: Manual, hazard: str) -> str:
    if hazard != "cool":
        return "what the probe must read"
    clocks = {
        clock_words(s.house, lm) for s in manual.sheets.values() for lm in s.walk.limits if lm.clock
    }
    return f"from {clocks.pop()} on the probe" if len(clocks) == 1 else "what the probe must read"


def _bar(groups: list[RegisterGroup]) -> list[tuple[str, str]]:
    """The bottom bar's cells: id and one word, at most three; "Hold hot" and "Hold cold" share one."""
    cells: dict[str, str] = {}
    for group in groups:
        cells.setdefault(group.name.split()[0], group.id)
    return [(ident, word) for word, ident in cells.items()][:3]


def _rows(sheet: Sheet, limit: Limit) -> list[RegisterRow]:
    view = limit_view(sheet.house, limit)
    href = link(REGISTER, formula_uri(sheet.formula.formula.station, sheet.id))
    step = f"step {limit.number}" if limit.number else "store"
    anchor = f"#step-{limit.number}" if limit.number else "#store"
    if not view.covered:
        return [
            RegisterRow(
                "", "", "not covered", sheet.name, href + anchor, step, view.note, "", Fraction(0)
            )
        ]
    if limit.words:
        return [
            RegisterRow(
                "", "", "no figure in the law", sheet.name, href + anchor, step, limit.source.document + ",",
                limit.source.clause, Fraction(0),
            )
        ]  # fmt: skip
    if limit.stages:
        return [
            RegisterRow(
                figure.number, figure.unit, figure.words, sheet.name, href + anchor, step,
                f"{view.label} {stage.figure.value},", stage.clause, -Fraction(index),
            )
            for index, (figure, stage) in enumerate(zip(view.figures, limit.stages, strict=True))
        ]  # fmt: skip
    figure = view.figures[0]
    words, more = figure.words, ""
    if limit.hold_s:
        words = f"for {duration(limit.hold_s)}"
    elif limit.hold_s == 0:
        more = " · one reading"
    if limit.most_ppm is not None:
        code = f"{limit.source.document}; dosed {plain(limit.ppm or Fraction(0), 2)}{NARROW}ppm"
        return [
            RegisterRow(
                figure.number, figure.unit, words, sheet.name, href + anchor, step, code, "", limit.most_ppm
            )
        ]  # fmt: skip
    assert limit.figure is not None and limit.read is not None
    return [
        RegisterRow(
            figure.number, figure.unit, words, sheet.name, href + anchor, step + more,
            f"{view.label} {limit.figure.value},", limit.source.clause, limit.read,
        )
    ]  # fmt: skip
