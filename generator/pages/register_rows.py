"""The rows of the register of limits, and those of process specs that stand alone."""

from __future__ import annotations

from dataclasses import dataclass

from generator.measures.exact import Fraction
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
