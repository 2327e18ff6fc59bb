"""The rows of the register of limits, and those of process specs that stand alone."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from generator.measures.words import counted
from generator.rules.basics.context import Dates
from generator.rules.basics.in_words import DAY_ONE
from generator.sheet.manual import Manual
from generator.views.routine_view import routine_steps
from generator.views.uris import REGISTER, link, process_uri


@dataclass(frozen=True)
class RegisterRow:
    """One row: the figure, its words, the formula, the step, the code's figure and its clause, how
    a house limit compares with it, and the formula's station."""

    number: str
    unit: str
    words: str
    name: str
    href: str
    step: str
    code: str = ""
    clause: str = ""
    sort: Fraction = Fraction(0)
    house: str = ""
    station: str = ""


def date_row(dates: Dates, name: str, href: str, at: str) -> RegisterRow:
    """The row of a last day; ``at`` says where, or from which day it counts."""
    assert dates.day is not None
    code = dates.law_words or "no days in the law; the chef's figure"
    if dates.law_day is not None:
        guidance = dates.source is not None and dates.source.standing == "guidance"
        code = f"{'Guidance' if guidance else 'Code'} {counted(dates.law_day, 'day')},"
    clause = dates.source.clause if dates.source is not None else ""
    words = "day 1 counted" if dates.day_one == "made" else f"from the day {DAY_ONE[dates.day_one]}"
    return RegisterRow(
        str(dates.day),
        "day" if dates.day == 1 else "days",
        words,
        name,
        href,
        at,
        code,
        clause,
        -Fraction(dates.day),
        dates.house.words if dates.house is not None else "",
    )


def rows_written(rows: list[tuple[str, RegisterRow]]) -> Any:
    """Rows, each with its hazard, as JSON."""
    return [
        [
            hazard,
            [row.number, row.unit, row.words, row.name, row.href, row.step],
            row.code,
            row.clause,
            [row.sort.numerator, row.sort.denominator],
            row.house,
            row.station,
        ]
        for hazard, row in rows
    ]


def rows_read(rows: Any) -> list[tuple[str, RegisterRow]]:
    """What :func:`rows_written` wrote."""
    return [
        (hazard, RegisterRow(*(*head, code, clause, Fraction(*sort), house, station)))
        for hazard, head, code, clause, sort, house, station in rows
    ]


def rows_of_routines(manual: Manual, hazard: str) -> list[RegisterRow]:
    """What process specs that stand alone are held to of one hazard, a row a reading."""
    rows: list[RegisterRow] = []
    for routine in manual.routines.values():
        href = link(REGISTER, process_uri(routine.id))
        stations = ", ".join(manual.house.stations[s].name for s in routine.routine.station)
        both = zip(routine.checks, routine_steps(manual, routine), strict=True)
        for checked, step in (one for one in both if one[0].hazard == hazard):
            for reading, view in zip(checked.readings, step.readings, strict=True):
                code, where = view.law[0] if view.law else ("", "")
                rows.append(
                    RegisterRow(
                        view.number,
                        view.unit,
                        view.words,
                        routine.routine.name,
                        f"{href}#step-{step.number}",
                        view.name,
                        f"{code},",
                        where,
                        reading.least or reading.most or Fraction(0),
                        station=stations,
                    )
                )
    return rows
