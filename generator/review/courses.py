"""A probe's readings as exact whole numbers: microseconds, and nine millionths of a degree Celsius.

Stamps are whole microseconds, and a reading of up to six decimals in °C or °F is a whole number of
1/9 000 000 °C, so nothing is rounded; a figure that isn't stays a fraction and compares as exactly.
"""

from __future__ import annotations

import datetime
import zoneinfo
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from generator.measures.temperature import Temperature
from generator.review.readings import Reading

DEGREE = 9_000_000
"""One degree Celsius of a level."""
SECOND = 1_000_000
"""One second of an instant."""
MINUTE = 60 * SECOND

NOISE = DEGREE // 2
"""What two readings of one temperature may differ by; a working rule of this manual, not law."""

Level = int | Fraction


def level(temperature: Temperature) -> Level:
    """A temperature as a level."""
    celsius = temperature.celsius
    if DEGREE % celsius.denominator == 0:
        return celsius.numerator * (DEGREE // celsius.denominator)
    return celsius * DEGREE


@dataclass(frozen=True)
class Course:
    """Readings in order of time, one an instant: ``at`` in microseconds since the first, ``heat``
    their levels."""

    readings: Sequence[Reading]
    at: Sequence[int]
    heat: Sequence[Level]

    @property
    def size(self) -> int:
        return len(self.at)

    def part(self, first: int, end: int | None = None) -> Course:
        """The readings from ``first`` up to, not with, ``end``; instants stay as they are."""
        return Course(self.readings[first:end], self.at[first:end], self.heat[first:end])

    def seconds(self, first: int, last: int) -> Fraction:
        """Seconds from one reading to another."""
        return Fraction(self.at[last] - self.at[first], SECOND)

    def apart_from_both(self, index: int, at_least: Level, hot: bool) -> bool:
        """Whether a reading is alone: at or above a level (``hot``) with both neighbours below
        it, or below with both at or above. The first and the last have one neighbour, and don't."""
        if not 0 < index < self.size - 1:
            return False
        sides = (self.heat[index - 1] >= at_least, self.heat[index + 1] >= at_least)
        return (self.heat[index] >= at_least) == hot and not any(s == hot for s in sides)


def course_of(readings: Sequence[Reading]) -> Course:
    """The course of a probe's readings, which are in order."""
    if not readings:
        return Course((), (), ())
    first, one = readings[0].at, datetime.timedelta(microseconds=1)
    return Course(
        readings,
        [(r.at - first) // one for r in readings],
        [level(r.temperature) for r in readings],
    )


def read_at(reading: Reading, zone: zoneinfo.ZoneInfo) -> str:
    """A reading as a reason names it: 34 °C at 16:05 (line 30)."""
    line = f" (line {reading.line})" if reading.line else ""
    return f"{reading.temperature} at {reading.at.astimezone(zone):%H:%M}{line}"
