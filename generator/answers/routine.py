"""A process spec that stands alone: as JSON and as text."""

from __future__ import annotations

from typing import Any

from generator.answers.numbers import number
from generator.answers.sources import source_record
from generator.measures.words import breakable
from generator.rules.routine.checks import Checked, CheckedRoutine
from generator.rules.routine.readings import Reading
from generator.sheet.manual import Manual
from generator.views.routine_view import routine_steps, written_in


def routine_record(routine: CheckedRoutine) -> dict[str, Any]:
    """A routine's checks with their figures: what is read, the law as enacted, its sources."""
    return {
        "process": routine.id,
        "name": routine.routine.name,
        "stations": list(routine.routine.station),
        "checks": [_check(checked) for checked in routine.checks],
    }


def _check(checked: Checked) -> dict[str, Any]:
    log = written_in(checked)
    return {
        "number": checked.number,
        "check": checked.check.check,
        "hazard": checked.hazard or None,
        "how": list(checked.check.how),
        "every_s": number(checked.check.every.seconds) if checked.check.every else None,
        "written_in": log[1] if log is not None else None,
        "readings": [_reading(reading) for reading in checked.readings],
    }


def _reading(reading: Reading) -> dict[str, Any]:
    return {
        "name": reading.name,
        "quantity": reading.quantity,
        "unit": reading.unit or None,
        "least": number(reading.least) if reading.least is not None else None,
        "most": number(reading.most) if reading.most is not None else None,
        "within_s": number(reading.within_s) if reading.within_s is not None else None,
        "law": [{"words": words, "source": source_record(s)} for words, s in reading.law],
    }


def routine_text(manual: Manual, routine: CheckedRoutine) -> str:
    """A routine's checks for the terminal."""
    out = [routine.routine.name]
    if routine.routine.about:
        out.append(f"  {routine.routine.about}")
    for checked, step in zip(routine.checks, routine_steps(manual, routine), strict=True):
        out += ["", f"{step.number}. {step.name or 'Do'}", *(f"  {line}" for line in step.how)]
        for reading in step.readings:
            out.append(f"  {reading.name}: {reading.figure} {reading.words}".rstrip())
            out += [f"    {words}; {where}" for words, where in reading.law]
            out += [f"    {words}" for words in (reading.missed, reading.note) if words]
        if step.readings:
            log = written_in(checked)
            out.append(f"  If missed: {step.missed}")
            out.append(f"  Record: {log[1] if log is not None else 'its own sheet'}")
    return breakable("\n".join(out))
