"""The register of limits: every critical limit by hazard, and how each is monitored."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import partial
from typing import assert_never

from generator.measures.words import NARROW, counted, date, duration, duration_first, plain
from generator.pages.navigation import CONTROL
from generator.pages.pack import packs_in_force
from generator.pages.page import Heading, Page, make_page
from generator.pages.register_rows import (
    RegisterRow,
    date_row,
    rows_of_routines,
    rows_read,
    rows_written,
)
from generator.reference.row_kinds import ParasitesRow, ReducedOxygenRow, TimeRow
from generator.reference.rows import HazardWords
from generator.resolve.due_checks import DueCheck, due_checks
from generator.resolve.joined import House
from generator.rules.basics.cleaning import CLEANS
from generator.rules.basics.context import hold_words
from generator.rules.basics.in_words import limit_words
from generator.rules.basics.limit import (
    AcidityLimit,
    CoolingLimit,
    DoseLimit,
    HeatingLimit,
    InWords,
    KeepingLimit,
    Limit,
    NotCovered,
    ShareLimit,
    TimeLimit,
)
from generator.rules.store.shelf import Shelf
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet
from generator.views.limit_view import LABELS, LimitView, clock_words, limit_view
from generator.views.uris import (
    HOME,
    REGISTER,
    Link,
    formula_uri,
    ingredient_uri,
    link,
    pack_uri,
)

_ORDER = (
    "receive",
    "cook",
    "cool",
    "hot_hold",
    "cold_hold",
    "preparation",
    "time_control",
    "reheat",
    "part_cook",
    "susceptible",
    "thaw",
    "parasites",
    "additive",
    "composition",
    "acidity",
    "reduced_oxygen",
    "clean",
    "sanitiser",
    "warewash",
    "probe",
    "power_cut",
    "date",
)


@dataclass(frozen=True)
class RegisterGroup:
    """The rows of one hazard."""

    id: str
    name: str
    head: str
    rows: tuple[RegisterRow, ...]
    monitor: str


@dataclass(frozen=True)
class MonitorView:
    """How the limits of one hazard are kept, and the way back to them; ``kept`` are the rules on
    its records, each with its clause."""

    id: str
    name: str
    limits: Link
    words: HazardWords
    kept: tuple[tuple[str, str], ...] = ()


def register_pages(manual: Manual) -> list[Page]:
    """The register, one page for the house."""
    house = manual.house
    of_formulas = _of_formulas(manual)
    shelves = manual.shelves_of(manual.sheets.values())
    found = [(h, _group(manual, h, of_formulas.get(h, []), shelves)) for h in _ORDER]
    groups = [group for _, group in found if group.rows]
    facts = house.pack.facts
    checks = due_checks(manual.standards)
    headings = (
        *(Heading(g.id, g.name) for g in groups),
        *([Heading("checks", "Checks of scales and probes")] if checks else []),
        Heading("monitor", "Monitoring"),
        Heading("pack", "Not covered"),
        Heading("rules", "The rules in full"),
    )
    return [
        make_page(
            REGISTER,
            "Register of limits",
            CONTROL,
            "register.html",
            keeping=manual.keeping,
            headings=headings,
            groups=groups,
            checks=[_check_row(one, manual.as_of) for one in checks],
            as_of=date(manual.as_of),
            counted=_counted(manual, groups, shelves),
            document=facts.document,
            adopted=house.kitchen.code.adopted_by,
            monitoring=[_monitor(house, h, g) for h, g in found if g.rows and g.monitor],
            not_covered=facts.not_covered,
            home_href=link(REGISTER, HOME),
            bar=_bar(groups),
            packs=[
                Link(p.facts.name, link(REGISTER, pack_uri(p.id)), "every row held here")
                for p in packs_in_force(house)
            ],
        )
    ]


@dataclass(frozen=True)
class CheckRow:
    """A scale or a thermometer: how often it is checked, when it was, until when that is good."""

    name: str
    every: str
    last: str
    until: str
    overdue: bool


def _check_row(one: DueCheck, as_of: datetime.date) -> CheckRow:
    last = date(one.last) if one.last is not None else "never"
    until = date(one.good_until) if one.good_until is not None else "now"
    return CheckRow(one.name, counted(one.every, "day"), last, until, one.is_overdue(as_of))


def _of_formulas(manual: Manual) -> dict[str, list[RegisterRow]]:
    """The rows of all formulas, by hazard, in the order of the manual."""
    found: dict[str, list[RegisterRow]] = {}
    for sheet in manual.sheets.values():
        of_it = partial(_of_formula, sheet)
        kept = manual.keeping.part(sheet, "register", of_it, rows_written, rows_read)
        for hazard, row in kept:
            found.setdefault(hazard, []).append(row)
    return found


def _of_formula(sheet: Sheet) -> list[tuple[str, RegisterRow]]:
    """The rows of a formula, each with its hazard. The limits of some are no step's: their rows are
    gathered from elsewhere."""
    rows = [
        (limit.hazard, row)
        for limit in sheet.walk.limits
        if limit.hazard not in _OTHERS
        for row in _rows(sheet, limit)
    ]
    rows += [(hazard, row) for hazard, gather in _OTHERS.items() for row in gather(sheet)]
    return [(hazard, replace(row, station=sheet.stations)) for hazard, row in rows]


def _group(
    manual: Manual, hazard: str, of_formulas: list[RegisterRow], shelves: list[Shelf]
) -> RegisterGroup:
    """The limits of one hazard, the hottest first; there may be none."""
    house, rows = manual.house, list(of_formulas)
    for shelf in shelves:
        rows += _of_shelf(house, shelf, hazard)
    rows += rows_of_routines(manual, hazard)
    rows.sort(key=lambda r: (-r.sort, r.name))
    ident = hazard.replace("_", "-")
    words = house.library.hazards.get(hazard)
    name = words.name if words else hazard.replace("_", " ").capitalize()
    monitor = f"monitor-{ident}" if words else ""
    return RegisterGroup(ident, name, _head(manual, hazard), tuple(rows), monitor)


def _monitor(house: House, hazard: str, group: RegisterGroup) -> MonitorView:
    """How the limits of ``group`` are kept, with the way back to them."""
    back = Link(counted(len(group.rows), "limit"), f"#{group.id}")
    words = house.library.hazards[hazard]
    return MonitorView(group.monitor, group.name, back, words, _kept(house, hazard))


def _counted(manual: Manual, groups: list[RegisterGroup], shelves: list[Shelf]) -> str:
    """How many limits there are, of how many formulas and ingredients."""
    total = sum(len(group.rows) for group in groups)
    formulas = sum(_has_limits(manual, s) for s in manual.sheets.values())
    ingredients = sum(1 for s in shelves if s.limits)
    bought = f" and {counted(ingredients, 'ingredient')}" if ingredients else ""
    return f"{counted(total, 'limit')} in {counted(formulas, 'formula')}{bought}"


def _has_limits(manual: Manual, sheet: Sheet) -> bool:
    return manual.keeping.part(sheet, "has limits", lambda: bool(sheet.walk.limits))


def _kept(house: House, hazard: str) -> tuple[tuple[str, str], ...]:
    """What the pack in force says of a hazard's records, and where."""
    return tuple(
        (
            f"{row.food[:1].upper()}{row.food[1:]}: {row.words[:1].lower()}{row.words[1:]}",
            row.clause,
        )
        for row in house.pack.rows.values()
        if row.hazard == hazard
        and isinstance(row, ParasitesRow | ReducedOxygenRow)
        and row.applies.endswith("-records")
    )


_AT = {"receive": "at the door", "put-away": "put away", "store": "in store"}


def _of_shelf(house: House, shelf: Shelf, hazard: str) -> list[RegisterRow]:
    """An ingredient's rows of one hazard."""
    href = link(REGISTER, ingredient_uri(shelf.item))
    rows: list[RegisterRow] = []
    for limit in (lm for lm in shelf.limits if lm.hazard == hazard):
        at, to = _AT[limit.step], f"{href}#{limit.step}"
        source = f"{limit.source.document},"
        match limit:
            case InWords():
                reported = f"{at} · {limit.words}"
                row = RegisterRow("", "", "no figure here", shelf.name, to, reported, source)
                rows.append(replace(row, clause=limit.source.clause))
            case CoolingLimit():
                rows += _shelf_stages(house, limit, shelf.name, to, at)
            case HeatingLimit() | KeepingLimit():
                if limit.measured == "air":
                    at = f"{at} · {limit.probe}"
                rows.append(_shelf_figure(house, limit, shelf.name, to, at))
            case _:
                assert_never(limit)
    if hazard == "date" and shelf.dates is not None and shelf.dates.day is not None:
        rows.append(date_row(shelf.dates, shelf.name, f"{href}#use-by", "in store"))
    return rows


def _shelf_stages(
    house: House, limit: CoolingLimit, name: str, href: str, at: str
) -> list[RegisterRow]:
    """An ingredient's stages of cooling, a row each."""
    view = limit_view(house, limit)
    return [
        RegisterRow(
            figure.number,
            figure.unit,
            figure.words,
            name,
            href,
            f"{at} · from when {limit.since}",
            f"{view.label} {stage.figure.value},",
            stage.clause,
            -Fraction(index),
            limit.house.words if limit.house else "",
        )
        for index, (figure, stage) in enumerate(zip(view.figures, limit.stages, strict=True))
    ]


def _shelf_figure(
    house: House, limit: HeatingLimit | KeepingLimit, name: str, href: str, at: str
) -> RegisterRow:
    """An ingredient's row of one figure; beside a house limit the code's own."""
    view = limit_view(house, limit)
    figure = view.figures[0]
    code, clause = f"{view.label} {limit.figure.value},", limit.source.clause
    if limit.house is not None:
        code, clause = _codes_own(limit)
    return RegisterRow(
        figure.number,
        figure.unit,
        figure.words,
        name,
        href,
        at,
        code,
        clause,
        limit.read,
        limit.house.words if limit.house else "",
    )


def _dates(sheet: Sheet) -> list[RegisterRow]:
    """The last day of a formula that is kept cold, the law's days beside it."""
    dates = sheet.walk.dates
    if dates is None or dates.day is None or dates.kind != "cold":
        return []
    href = link(REGISTER, formula_uri(sheet.formula.formula.home, sheet.id)) + "#store"
    return [date_row(dates, sheet.name, href, "store")]


def _cleaning(sheet: Sheet) -> list[RegisterRow]:
    """Each cleaning step: at least as often as the process says, and never less often than the
    code."""
    found = sheet.house.pack.row_for(TimeRow, "tcs", "clean")
    if found is None or found[1].within is None:
        return []
    row, most = found[1], found[1].within.seconds
    rows: list[RegisterRow] = []
    for walked in sheet.walk.steps:
        step = walked.step
        if CLEANS not in step.effects:
            continue
        every = min(step.step.every.seconds, most) if step.step.every is not None else most
        number, unit = duration_first(every)
        href = link(REGISTER, formula_uri(sheet.formula.formula.home, sheet.id))
        rows.append(
            RegisterRow(
                number,
                unit,
                "at most",
                sheet.name,
                f"{href}#step-{step.number}",
                f"step {step.number}",
                f"Code {duration(most)},",
                row.clause,
                -every,
            )
        )
    return rows


_OTHERS: dict[str, Callable[[Sheet], list[RegisterRow]]] = {
    "clean": _cleaning,
    "date": _dates,
}
"""Hazards whose limits are no step's: their rows are gathered from elsewhere."""


_HEADS = {
    "acidity": "what the pH meter must read",
    "additive": "never more than",
    "composition": "what it may be made of",
    "clean": "in use no longer than",
    "date": "use by",
    "parasites": "what the thermometer must read",
    "reduced_oxygen": "without air",
    "sanitiser": "what the strip or the probe must show",
    "warewash": "what the gauge must read",
    "probe": "what it must read",
    "power_cut": "or thrown away in time",
    "time_control": "no longer than",
    "preparation": "no longer than",
    "part_cook": "no longer than",
    "susceptible": "combined right before the heat",
}


def _head(manual: Manual, hazard: str) -> str:
    if hazard in _HEADS:
        return _HEADS[hazard]
    if hazard != "cool":
        return "what the probe must read"
    clocks = {
        clock
        for s in manual.sheets.values()
        for clock in manual.keeping.part(s, "clocks", partial(_clocks, s))
    }
    return f"from {clocks.pop()} on the probe" if len(clocks) == 1 else "what the probe must read"


def _clocks(sheet: Sheet) -> list[str]:
    """From when each cooling of a formula is timed."""
    scale = sheet.house.kitchen.temperature
    cooled = (limit for limit in sheet.walk.limits if isinstance(limit, CoolingLimit))
    return [clock_words(limit, scale) for limit in cooled if limit.clock is not None]


def _bar(groups: list[RegisterGroup]) -> list[tuple[str, str]]:
    """The bottom bar's cells: id and one word, at most three; "Hold hot" and "Hold cold" share
    one. What is read at the door is at the top of the page, and needs none where others do."""
    cells: dict[str, str] = {}
    for group in sorted(groups, key=lambda g: g.id == _ORDER[0]):
        cells.setdefault(group.name.split()[0], group.id)
    return [(ident, word) for word, ident in cells.items()][:3]


def _rows(sheet: Sheet, limit: Limit) -> list[RegisterRow]:
    rows = _figure_rows(sheet, limit)
    if limit.house is None:
        return rows
    code, clause = _codes_own(limit)
    return [replace(row, code=code, clause=clause, house=limit.house.words) for row in rows]


def _codes_own(limit: Limit) -> tuple[str, str]:
    """The code's own figure and clause, where the row's figure is the house's."""
    law = limit.law
    assert law is not None, "a house limit stands where the code's stood"
    label = LABELS.get(law.source.standing, "Code")
    if isinstance(law, HeatingLimit | KeepingLimit):
        figure = f"{law.figure.value}{hold_words(law.row_hold_s)}"
        return f"{label} {figure},", law.source.clause
    return f"{label} {limit_words(law)},", law.source.clause


def _figure_rows(sheet: Sheet, limit: Limit) -> list[RegisterRow]:
    """The rows of a limit of a formula: one for each figure."""
    view = limit_view(sheet.house, limit)
    href = link(REGISTER, formula_uri(sheet.formula.formula.home, sheet.id))
    step = f"step {limit.number}" if limit.number else "store"
    anchor = f"#step-{limit.number}" if limit.number else "#store"
    row = RegisterRow("", "", "", sheet.name, href + anchor, step)
    clause = limit.source.clause
    match limit:
        case NotCovered():
            return [replace(row, words="not covered", code=view.note)]
        case InWords():
            code = f"{limit.source.document},"
            return [replace(row, words="no figure in the law", code=code, clause=clause)]
        case CoolingLimit():
            return _stages(limit, view, row)
        case HeatingLimit() | KeepingLimit():
            words, more = _held(limit, view)
            code = f"{view.label} {limit.figure.value},"
            row = replace(row, words=words, step=step + more, code=code, sort=limit.read)
        case DoseLimit() | ShareLimit():
            row, clause = _by_the_formula(limit, row), ""
        case AcidityLimit():
            row = replace(row, code=f"{view.label} {limit.ph.law_words()},", sort=-limit.ph.read)
        case TimeLimit():
            code = f"{view.label} {limit_words(limit)},"
            row = replace(row, code=code, sort=-limit.lasts.most_s)
        case _:
            assert_never(limit)
    figure = view.figures[0]
    words = row.words or figure.words
    return [replace(row, number=figure.number, unit=figure.unit, words=words, clause=clause)]


def _by_the_formula(limit: DoseLimit | ShareLimit, row: RegisterRow) -> RegisterRow:
    """The row of what the formula alone comes to: a dose, or a share of what it is made of."""
    if isinstance(limit, DoseLimit):
        code = f"{limit.source.document}; dosed {plain(limit.ppm, 2)}{NARROW}ppm"
        return replace(row, code=code, sort=limit.most_ppm or Fraction(0))
    code = f"{limit.source.clause}; {limit.words}{NARROW}% here"
    return replace(row, code=code, sort=limit.percent)


def _held(limit: HeatingLimit | KeepingLimit, view: LimitView) -> tuple[str, str]:
    """The words behind a figure that is held, and what is said behind its step."""
    words, more = view.figures[0].words, ""
    if isinstance(limit, KeepingLimit) and limit.stored is not None:
        words = f"{words}, until frozen solid"
    elif limit.hold_s:
        words = f"for {duration(limit.hold_s)}"
    elif limit.hold_s == 0:
        more = " · one reading"
    if view.stand:
        words = f"{words}, then {view.stand} covered"
    return words, more


def _stages(limit: CoolingLimit, view: LimitView, empty: RegisterRow) -> list[RegisterRow]:
    """A row for each stage of cooling, and for the figure before packing."""
    law = [(stage.figure, stage.clause) for stage in limit.stages]
    if limit.finish is not None:
        law.append((limit.finish, limit.source.clause))
    return [
        replace(
            empty,
            number=figure.number,
            unit=figure.unit,
            words=figure.words,
            code=f"{view.label} {own.value},",
            clause=clause,
            sort=-Fraction(index),
        )
        for index, (figure, (own, clause)) in enumerate(zip(view.figures, law, strict=True))
    ]
