"""How a step likely goes, in words and as points of a drawing: the same for page and paper."""

from __future__ import annotations

import math
from dataclasses import dataclass

from generator.measures.about import degrees, time_words
from generator.measures.temperature import Degree
from generator.measures.words import NARROW
from generator.sheet.heat_forecast import Forecast, Mark
from generator.sheet.heat_remedies import Remedy
from generator.views.curve_view import Drawing, drawing_of
from generator.views.limit_view import other_scale

_VERDICTS = {
    "likely passes": "likely in time",
    "likely fails": "likely too late",
    "too close": "too close: probe it",
}


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
    """How a step likely goes. ``drawing`` is its curve; ``sentence`` says it in one line,
    ``other`` in the other scale; ``expect`` and ``expect_other`` say from when to when alone."""

    number: int
    sentence: str
    other: str
    expect: str
    expect_other: str
    rests_on: str
    rows: tuple[MarkRow, ...]
    drawing: Drawing
    unit: Degree
    timed: bool
    remedies: tuple[RemedyRow, ...] = ()
    liquid: bool = False


def forecast_view(forecast: Forecast, unit: Degree) -> ForecastView:
    """The view of a forecast in the kitchen's unit."""
    other = other_scale(unit)
    case = forecast.case
    held = "" if case.vessel is None else case.vessel.name
    deep = "" if case.depth is None else f", {1000 * case.depth:.0f} mm deep"
    return ForecastView(
        forecast.number,
        _sentence(forecast, unit),
        _sentence(forecast, other),
        _expect(forecast, unit),
        _expect(forecast, other),
        f"{held}{deep}, in {case.place.name}",
        tuple(_row(mark, unit, other) for mark in forecast.marks),
        drawing_of(
            [(s, r.low, r.likely, r.high) for s, r in forecast.course],
            [(mark.celsius, mark.within) for mark in forecast.marks],
            unit,
            [mark.figure for mark in forecast.marks],
        ),
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
        may = "may never get" if math.isfinite(mark.seconds.low) else "never gets"
        return f"It {may} to {degrees(mark.celsius, unit)} here. Probe it."
    return (
        f"Expect {degrees(mark.celsius, unit)} after about {time_words(seconds)}. "
        f"Probe its middle from {time_words(forecast.first)}."
    )


def _expect(forecast: Forecast, unit: Degree) -> str:
    """``69 to 93 min``, of one temperature; of several each with its own."""
    times = [_span(mark.seconds.low, mark.seconds.high) for mark in forecast.marks]
    if len(times) == 1:
        return times[0]
    return "; ".join(
        f"{degrees(mark.celsius, unit)}: {time}"
        for mark, time in zip(forecast.marks, times, strict=True)
    )


def _span(low: float, high: float) -> str:
    """From when to when, the unit said once where it is the same: ``44 to 82 min``."""
    if math.isinf(low):
        return "never"
    early, late = time_words(low), time_words(high)
    if math.isinf(high):
        return f"{early} or never"
    first, *more = early.split(NARROW)
    last, *others = late.split(NARROW)
    if len(more) == len(others) == 1 and more == others:
        return early if first == last else f"{first} to {late}"
    return f"{early} to {late}"


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
