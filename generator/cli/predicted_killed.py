"""What a predicted course would kill, beside the prediction: information, never a pass.

The same reference and z stand behind the equivalent minutes that `review` prints beside a log.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from generator.heat.prediction import Prediction
from generator.heat.ranges import Range
from generator.measures.marks import as_written
from generator.measures.temperature import Degree, Temperature
from generator.measures.words import NARROW
from generator.review.log_reduction import REFERENCE_C, Z_C, equivalent_minutes
from generator.review.readings import Reading

_START = datetime.datetime(2000, 1, 1, tzinfo=datetime.UTC)


@dataclass(frozen=True)
class Killed:
    """Minutes at 70 °C that kill as much as the predicted course up to its target and the hold
    there; ``low`` by the cold edge of the band."""

    minutes: Range


def killed_by(found: Prediction, hold_s: float) -> Killed:
    """The course at the slowest point until the target is likely reached, and the hold there."""
    end = found.before + found.targets[-1].seconds.likely
    target = found.targets[-1].celsius
    edges = []
    for edge in ("low", "likely", "high"):
        course = [(r.seconds, float(getattr(r.celsius, edge))) for r in found.rows]
        course = [(s, c) for s, c in course if s < end]
        last = target if edge == "likely" else (course[-1][1] if course else target)
        course += [(end, last), (end + hold_s, last)] if hold_s else [(end, last)]
        edges.append(_minutes(course))
    low, likely, high = edges
    return Killed(Range(min(low, likely), likely, max(high, likely)))


def _minutes(course: list[tuple[float, float]]) -> float:
    readings = [
        Reading(
            _START + datetime.timedelta(seconds=seconds),
            Temperature.of(Fraction(celsius).limit_denominator(10_000), "°C"),
            0,
        )
        for seconds, celsius in course
    ]
    return equivalent_minutes(readings, Fraction(10**9))


def killed_record(killed: Killed) -> dict[str, Any]:
    """As JSON: information, which no limit counts."""
    minutes = killed.minutes
    return {
        "equivalent_min_at_70_c": {
            "low": round(minutes.low, 2),
            "likely": round(minutes.likely, 2),
            "high": round(minutes.high, 2),
        },
        "z_c": Z_C,
        "counts": "for nothing: the published rows are compared with readings of a probe",
    }


_MANY = 1000


def _minutes_words(minutes: float) -> str:
    """Two figures, and no more of them than they are worth."""
    if minutes < 0.01 or minutes >= _MANY:
        return "nearly 0" if minutes < 0.01 else f"over {_MANY}"
    return as_written(f"{minutes:.2g}" if minutes < 100 else f"{minutes:.0f}")


def killed_lines(killed: Killed, unit: Degree) -> Iterator[str]:
    minutes = killed.minutes
    at = (
        f"{REFERENCE_C:.0f}{NARROW}°C"
        if unit == "°C"
        else f"{REFERENCE_C * 1.8 + 32:.0f}{NARROW}°F"
    )
    shown = [_minutes_words(m) for m in (minutes.likely, minutes.low, minutes.high)]
    yield (
        f"By then it has had as much heat as {shown[0]} min at {at} ({shown[1]} to {shown[2]}), "
        "by the prediction. It counts for nothing: measure it."
    )
