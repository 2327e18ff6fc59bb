"""Measured yields in words and as points of a drawing, a chart beside its table."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from generator.measures.individuals import Individuals
from generator.measures.words import NARROW, counted, date, plain
from generator.sheet.history import YieldSeries
from generator.views.curve_view import Tick

LEFT, TOP, WIDE, HIGH = 44, 8, 320, 110
"""Where the field of the drawing is, in its own units."""
_STEPS = (Fraction(1, 5), Fraction(1, 2), 1, 2, 5, 10, 20, 50, 100, 200, 500)
"""Percent from one mark on the axis to the next."""
_MOST_ROWS = 30
"""So many batches have a row; earlier ones are counted, and drawn."""
_SAID = {"outside": "outside the limits", "range": "a jump", "run": "8 or more on one side"}


@dataclass(frozen=True)
class Dot:
    """A batch in the drawing; ``out`` where something is said of it."""

    x: str
    y: str
    out: bool


@dataclass(frozen=True)
class HistoryRow:
    """A batch in words: its day and number, its yield, what is said of it."""

    day: str
    lot: str
    share: str
    said: str


@dataclass(frozen=True)
class HistoryView:
    """One series: its sentence, its figures, its drawing, its rows, the newest first; ``earlier``
    counts those without one. ``paste`` are the lines for the formula."""

    name: str
    sentence: str
    facts: tuple[tuple[str, str], ...]
    drifts: str
    up: tuple[Tick, ...]
    line: str
    dots: tuple[Dot, ...]
    mean: str
    limits: tuple[str, ...]
    assumed: str
    rows: tuple[HistoryRow, ...]
    earlier: str
    paste: tuple[str, ...]
    goes: str


def history_views(found: tuple[YieldSeries, ...]) -> tuple[HistoryView, ...]:
    """The views of a formula's series, in their order."""
    return tuple(_view(one) for one in found)


def percent(share: Fraction) -> str:
    """A share as people read it: 82.1 %."""
    return f"{plain(share * 100, 1)}{NARROW}%"


def _view(one: YieldSeries) -> HistoryView:
    chart = one.chart
    field = _Field.of(one)
    points = [(field.x(n), field.y(p.share)) for n, p in enumerate(one.points)]
    drawn = points if len(points) > 1 else []
    limits = (chart.low, chart.high)
    more = max(0, len(one.points) - _MOST_ROWS)
    return HistoryView(
        one.verb or "The whole batch",
        one.measured[:1].upper() + one.measured[1:],
        (*_facts(chart), *((("Other revisions", one.not_counted),) if one.others else ())),
        _drifts(one),
        tuple(field.up()),
        " ".join(f"{x},{y}" for x, y in drawn),
        tuple(Dot(x, y, n in chart.signals) for n, (x, y) in enumerate(drawn)),
        field.y(chart.mean),
        tuple(field.y(v) for v in limits if v is not None),
        field.y(one.assumed),
        tuple(_rows(one)),
        counted(more, "batch", "batches") if more else "",
        one.lines,
        one.goes.replace("`", ""),
    )


def _facts(chart: Individuals) -> Iterator[tuple[str, str]]:
    """The figures of a chart, each with its word."""
    yield "Mean", percent(chart.mean)
    if chart.spread is not None:
        spread = Fraction(round(chart.spread * 10**6), 10**6)
        yield "Sample standard deviation", percent(spread)
    if chart.low is not None and chart.high is not None:
        yield "Control limits", f"{percent(chart.low)} to {percent(chart.high)}"
    if chart.mean_range is not None and chart.range_high is not None:
        words = f"{percent(chart.mean_range)}, at most {percent(chart.range_high)}"
        yield "Mean moving range", words


def _drifts(one: YieldSeries) -> str:
    """That the last batch drifts; empty if it doesn't."""
    if not one.chart.drifts_now:
        return ""
    signals = one.chart.signals[len(one.points) - 1]
    return f"The last batch drifts: {', '.join(_SAID[s] for s in signals)}. What was different?"


def _rows(one: YieldSeries) -> Iterator[HistoryRow]:
    numbered = list(enumerate(one.points))
    for n, point in reversed(numbered[-_MOST_ROWS:]):
        said = ", ".join(_SAID[s] for s in one.chart.signals.get(n, ()))
        yield HistoryRow(date(point.day), point.lot, percent(point.share), said)


@dataclass(frozen=True)
class _Field:
    """The field of a drawing: batches across, percent up."""

    count: int
    bottom: float
    top: float
    step: float

    @staticmethod
    def of(one: YieldSeries) -> _Field:
        shares = [p.share for p in one.points] + [one.assumed]
        shares += [v for v in (one.chart.low, one.chart.high) if v is not None]
        low, high = float(min(shares)) * 100, float(max(shares)) * 100
        step = next((float(s) for s in _STEPS if (high - low) / float(s) <= 5), float(_STEPS[-1]))
        bottom = math.floor(low / step) * step
        top = math.ceil(high / step) * step
        return _Field(len(one.points), bottom, top if top > bottom else bottom + step, step)

    def x(self, number: int) -> str:
        across = number / (self.count - 1) if self.count > 1 else 0.5
        return f"{LEFT + 8 + across * (WIDE - 16):.1f}"

    def y(self, share: Fraction) -> str:
        return f"{TOP + (self.top - float(share) * 100) / (self.top - self.bottom) * HIGH:.1f}"

    def up(self) -> Iterator[Tick]:
        marks = round((self.top - self.bottom) / self.step)
        for n in range(marks + 1):
            value = Fraction(round((self.bottom + n * self.step) * 10), 10)
            yield Tick(self.y(value / 100), plain(value, 1))
