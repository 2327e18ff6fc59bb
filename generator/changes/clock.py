"""Doubts about the day: a clock that is years off would print a label that is years off."""

from __future__ import annotations

import datetime
import zoneinfo
from collections.abc import Collection
from dataclasses import replace
from typing import assert_never

from generator.changes.history import newest_commit
from generator.files.finding import Finding, Place, with_more
from generator.measures.marks import written_with
from generator.measures.words import date
from generator.records.formula import Formula
from generator.sheet.manual import Broken, Manual, Read

BEHIND, AHEAD = "clock-behind", "clock-ahead"
_HELP = "Check this machine's clock, or the day after --as-of."
_LONG = datetime.timedelta(days=366)


def dated(manual: Manual | Broken) -> Manual | Broken:
    """The manual with what is doubtful about its day among its findings: a warning for a day before
    the kitchen's first revision or before the newest commit of its standards, a note for one over a
    year after that commit."""
    with written_with(manual.writing):
        doubts = _doubts(manual)
    if not doubts:
        return manual
    return replace(manual, findings=with_more(manual.findings, doubts))


def refused_for(manual: Manual | Broken) -> Finding | None:
    """Why nothing with a date may be printed on this day; None if nothing speaks against it."""
    return next((f for f in manual.findings if f.code == BEHIND), None)


def _doubts(manual: Manual | Broken) -> list[Finding]:
    day, found = manual.as_of, []
    formulas, zone = _dates_of(manual)
    first = min(formulas, key=lambda formula: formula.effective, default=None)
    if first is not None and day < first.effective:
        words = (
            f"The day, {_day(day)}, is before the kitchen's first revision, of "
            f"{_day(first.effective)}."
        )
        found.append(Finding(BEHIND, "warning", words, first.place("effective"), _HELP))
    commit = newest_commit(manual.project)
    if commit is None:
        return found
    there = commit.astimezone(zoneinfo.ZoneInfo(zone)).date()
    # The clock may be set to any of these zones: only a day before all of them is wrong.
    earliest = min(commit.date(), commit.astimezone(datetime.UTC).date(), there)
    place = Place("standards")
    if day < earliest:
        words = (
            f"The day, {_day(day)}, is before the newest commit of the standards, of {_day(there)}."
        )
        found.append(Finding(BEHIND, "warning", words, place, _HELP))
    elif day - there > _LONG:
        words = (
            f"The day, {_day(day)}, is over a year after the newest commit of the "
            f"standards, of {_day(there)}."
        )
        found.append(Finding(AHEAD, "note", words, place, _HELP))
    return found


def _dates_of(found: Manual | Broken) -> tuple[Collection[Formula], str]:
    """The formulas that were read, and the time zone the kitchen's days are counted in."""
    match found:
        case Manual():
            return found.standards.formulas.values(), found.house.kitchen.time_zone
        case Broken(read=Read(standards)):
            return standards.formulas.values(), "UTC"
        case Broken():
            return (), "UTC"
        case _:
            assert_never(found)


def _day(day: datetime.date) -> str:
    return date(day)
