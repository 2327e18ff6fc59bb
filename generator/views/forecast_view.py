"""How a step likely goes, in words and as points of a drawing: the same for page and paper."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from generator.measures.about import degrees, time_words
from generator.measures.temperature import Degree
from generator.measures.words import plain
from generator.sheet.heat_forecast import Forecast, Mark
from generator.sheet.heat_remedies import Remedy
from generator.views.limit_view import other_scale

LEFT, TOP, WIDE, HIGH = 44, 8, 320, 130
"""Where the field of the drawing is, in its own units."""
_HOURS = (600, 1200, 1800, 3600, 7200, 14400, 28800, 86400)
_VERDICTS = {
    "likely passes": "likely in time",
    "likely fails": "likely too late",
    "too close": "too close: probe it",
}


@dataclass(frozen=True)
class Tick:
    """A mark on an axis: where, and what it says."""

    at: str
    words: str


@dataclass(frozen=True)
class MarkRow:
    """A temperature to reach in words: about when, from when to when, by when it must be."""

    degrees: str
    other: str
    about: str
    early: str
    late: str
    limit: str
    verdict: str


@dataclass(frozen=True)
class RemedyRow:
    """What likely passes in this kitchen, and when it is then at ``degrees``."""

    words: str
    degrees: str
    other: str
    early: str
    late: str


@dataclass(frozen=True)
class ForecastView:
    """How a step likely goes. ``band``, ``line`` and ``limits`` are points of the drawing;
    ``sentence`` says it in one line, ``other`` in the other scale."""

    number: int
    sentence: str
    other: str
    rests_on: str
    rows: tuple[MarkRow, ...]
    band: str
    line: str
    limits: tuple[str, ...]
    across: tuple[Tick, ...]
    up: tuple[Tick, ...]
    unit: Degree
    timed: bool
    remedies: tuple[RemedyRow, ...] = ()
    liquid: bool = False


def forecast_view(forecast: Forecast, unit: Degree) -> ForecastView:
    """The view of a forecast in the kitchen's unit."""
    other = other_scale(unit)
    field = _Field.of(forecast, unit)
    course = forecast.course
    upper = [field.point(s, r.high) for s, r in course]
    lower = [field.point(s, r.low) for s, r in reversed(course)]
    case = forecast.case
    held = "" if case.vessel is None else case.vessel.name
    deep = "" if case.depth is None else f", {1000 * case.depth:.0f} mm deep"
    return ForecastView(
        forecast.number,
        _sentence(forecast, unit),
        _sentence(forecast, other),
        f"{held}{deep}, in {case.place.name}",
        tuple(_row(mark, unit, other) for mark in forecast.marks),
        " ".join([*upper, *lower]),
        " ".join(field.point(s, r.likely) for s, r in course),
        tuple(line for mark in forecast.marks if (line := field.limit(mark))),
        tuple(field.across()),
        tuple(field.up()),
        unit,
        any(mark.within is not None for mark in forecast.marks),
        tuple(_remedy_row(one, unit, other) for one in forecast.remedies),
        case.moves,
    )


def _remedy_row(one: Remedy, unit: Degree, other: Degree) -> RemedyRow:
    celsius, seconds = one.first.deadline.celsius, one.first.seconds
    return RemedyRow(
        one.words,
        degrees(celsius, unit),
        degrees(celsius, other),
        time_words(seconds.low),
        time_words(seconds.high),
    )


def _sentence(forecast: Forecast, unit: Degree) -> str:
    """``Expect 76 °C after about 80 min. Probe its middle from 69 min.``"""
    mark = forecast.marks[0]
    seconds = mark.seconds.likely
    if math.isinf(seconds):
        return f"It may never get to {degrees(mark.celsius, unit)} here. Probe it."
    return (
        f"Expect {degrees(mark.celsius, unit)} after about {time_words(seconds)}. "
        f"Probe its middle from {time_words(forecast.first)}."
    )


def _row(mark: Mark, unit: Degree, other: Degree) -> MarkRow:
    seconds = mark.seconds
    late = "perhaps never" if math.isinf(seconds.high) else time_words(seconds.high)
    return MarkRow(
        degrees(mark.celsius, unit),
        degrees(mark.celsius, other),
        time_words(seconds.likely),
        time_words(seconds.low),
        late,
        "" if mark.within is None else time_words(mark.within),
        "" if mark.verdict is None else _VERDICTS[mark.verdict],
    )


@dataclass(frozen=True)
class _Field:
    """The field of a drawing: seconds across, degrees of a unit up."""

    end: float
    bottom: float
    top: float
    step: int
    unit: Degree

    @staticmethod
    def of(forecast: Forecast, unit: Degree) -> _Field:
        ranges = [r for _, r in forecast.course]
        figures = [_in(c, unit) for r in ranges for c in (r.low, r.high)]
        figures += [_in(mark.celsius, unit) for mark in forecast.marks]
        step = 10 if max(figures) - min(figures) < 50 else 20
        step = step if unit == "°C" else 2 * step
        low = math.floor(min(figures) / step) * step
        high = math.ceil(max(figures) / step) * step
        return _Field(forecast.course[-1][0], low, high, step, unit)

    def x(self, seconds: float) -> float:
        return LEFT + seconds / self.end * WIDE

    def y(self, degrees_: float) -> float:
        return TOP + (self.top - degrees_) / (self.top - self.bottom) * HIGH

    def point(self, seconds: float, celsius: float) -> str:
        return f"{self.x(seconds):.1f},{self.y(_in(celsius, self.unit)):.1f}"

    def limit(self, mark: Mark) -> str:
        """The corner that the law draws: at the temperature until the time, then down to it."""
        if mark.within is None or mark.within > self.end:
            at = f"{self.y(_in(mark.celsius, self.unit)):.1f}"
            return f"{LEFT},{at} {LEFT + WIDE},{at}"
        x, y = self.x(mark.within), self.y(_in(mark.celsius, self.unit))
        return f"{x:.1f},{TOP} {x:.1f},{y:.1f} {LEFT + WIDE},{y:.1f}"

    def across(self) -> list[Tick]:
        step = next((s for s in _HOURS if self.end / s <= 4), _HOURS[-1])
        unit = 3600 if step >= 3600 else 60
        word = "h" if unit == 3600 else "min"
        marks = range(0, int(self.end) + 1, step)
        return [
            Tick(f"{self.x(s):.1f}", f"{s // unit}{' ' + word if s == 0 else ''}") for s in marks
        ]

    def up(self) -> list[Tick]:
        marks = range(int(self.bottom), int(self.top) + 1, self.step)
        return [Tick(f"{self.y(d):.1f}", plain(Fraction(d))) for d in marks]


def _in(celsius: float, unit: Degree) -> float:
    return celsius if unit == "°C" else celsius * 1.8 + 32
