"""The days of document control: one that is years ahead is likely a slip of the finger, and a
standard that isn't in force yet is nobody's to cook by."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from contextlib import suppress

from generator.files.finding import Finding, Place
from generator.measures.words import counted, date
from generator.records.formula import Formula
from generator.records.process import Process
from generator.records.routine import Routine
from generator.records.station import Station
from generator.resolve.names import Names

AHEAD = datetime.timedelta(days=366)
"""How far ahead a revision may be without a question: nobody approves one a year before it is in
force. A working rule of this manual."""


def check_control_dates(names: Names, as_of: datetime.date) -> None:
    """A warning for each revision that is in force only more than a year from ``as_of``; one for
    all that have it of the same line."""
    asked: dict[tuple[str, int], Finding] = {}
    for ident, record in _controlled(names):
        day = record.effective
        if day is not None and day - as_of > AHEAD:
            found = _ahead(ident, record, day, as_of)
            asked.setdefault((found.place.file, found.place.line), found)
    names.findings += asked.values()


def _controlled(names: Names) -> Iterator[tuple[str, Formula | Process | Routine | Station]]:
    standards = names.standards
    yield from standards.formulas.items()
    yield from standards.processes.items()
    yield from standards.routines.items()
    yield from standards.stations.items()


def _ahead(
    ident: str,
    record: Formula | Process | Routine | Station,
    day: datetime.date,
    as_of: datetime.date,
) -> Finding:
    place = record.place("effective")
    years = (day - as_of).days // 365
    return Finding(
        "effective-far-ahead",
        "warning",
        f"{record.name}: its revision begins on {date(day)}, in {counted(years, 'year')}. Until "
        "then it isn't in force.",
        place,
        "Check the year. Take the new revision in when its day is near.",
        _meant(place, day, as_of),
        about=frozenset({ident}),
    )


def _meant(place: Place, day: datetime.date, as_of: datetime.date) -> tuple[str, ...]:
    """The same day in the year that was likely meant: with its last two figures the other way
    round, if that is near, else this year's."""
    year = day.year // 100 * 100 + day.year % 10 * 10 + day.year // 10 % 10
    near = abs(year - as_of.year) <= 1
    with suppress(ValueError):  # the 29th of February
        return (place.fixed(day.replace(year=year if near else as_of.year).isoformat()),)
    return ()
