"""A log of readings drawn over its limit: one SVG, plain lines, the words on them."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from generator.measures.temperature import Degree, Temperature
from generator.measures.words import duration, plain
from generator.pages.escape import render
from generator.review.readings import Reading, ReadingLog, Series, seconds_between
from generator.review.results import Judged
from generator.rules.basics.context import both
from generator.rules.basics.limit import CoolingLimit, Figure, Probed
from generator.views.curve_view import Tick

_LEFT, _TOP, _WIDE, _HIGH = 64, 16, 640, 320
_MINUTES = (1, 2, 5, 10, 15, 30, 60, 120, 240, 480, 720, 1440, 2880, 7200, 14400, 43200)
_DEGREES = (1, 2, 5, 10, 20, 25, 50)
_DASHES = ("", "6 4", "2 4", "10 3 2 3")
_MOST_DOTS = 400


@dataclass(frozen=True)
class Line:
    """A drawn line: its points or its height, and the words on it."""

    points: str
    words: str
    dash: str = ""
    at: str = ""


def _step(span: float, steps: tuple[int, ...], most: int) -> int:
    """The smallest round step that leaves at most so many ticks."""
    return next(
        (s for s in steps if span / s <= most), steps[-1] * (int(span / steps[-1] / most) + 1)
    )


@dataclass(frozen=True)
class _Field:
    """Where readings are: minutes across from ``first``, degrees of ``unit`` up from
    ``bottom``, a mark every so many ``degrees``."""

    first: datetime.datetime
    minutes: float
    unit: Degree
    bottom: float
    top: float
    degrees: int

    def across(self, minutes: float) -> float:
        """Where a minute is."""
        return _LEFT + minutes / self.minutes * _WIDE

    def up(self, degrees: float) -> float:
        """Where a degree of the field's unit is."""
        return _TOP + (1 - (degrees - self.bottom) / (self.top - self.bottom)) * _HIGH

    def x(self, at: datetime.datetime) -> float:
        return _LEFT + float(seconds_between(self.first, at)) / 60 / self.minutes * _WIDE

    def y(self, temperature: Temperature) -> float:
        return self.up(float(temperature.in_unit(self.unit)))


def _field(every: Sequence[Reading], limits: Sequence[Temperature], unit: Degree) -> _Field:
    """The field that holds every reading and the limit's figures, its edges on round degrees."""
    first, last = min(r.at for r in every), max(r.at for r in every)
    minutes = max(float(seconds_between(first, last)) / 60, 1.0)
    figures = [float(t.in_unit(unit)) for t in (*(r.temperature for r in every), *limits)]
    degrees = _step(max(figures) - min(figures) or 1, _DEGREES, 8)
    bottom = (min(figures) // degrees) * degrees
    top = (max(figures) // degrees + 1) * degrees
    return _Field(first, minutes, unit, bottom, top, degrees)


def readings_plot(log: ReadingLog, judged: Judged, unit: Degree, title: str) -> str:
    """The readings of ``log`` as an SVG document, in ``unit``, with the limit as a ruled line.

    Minutes run across from the first reading; a pause too long to count leaves the line broken.
    """
    lines = _ruled(judged.limit)
    every = [r for series in log.series for r in series.readings]
    field = _field(every, [figure.value for figure, _ in lines], unit)
    dotted = every if len(every) <= _MOST_DOTS else []
    across = range(0, int(field.minutes) + 1, _step(field.minutes, _MINUTES, 8))
    up = range(int(field.bottom), int(field.top) + 1, field.degrees)
    return render(
        "readings.svg",
        title=title,
        verdict=judged.verdict,
        why=judged.why,
        left=_LEFT,
        top=_TOP,
        right=_LEFT + _WIDE,
        bottom=_TOP + _HIGH,
        width=_LEFT + _WIDE + 24,
        height=_TOP + _HIGH + 64,
        across=[Tick(f"{field.across(m):.1f}", plain(Fraction(m))) for m in across],
        up=[Tick(f"{field.up(d):.1f}", str(d)) for d in up],
        sign=unit,
        courses=[c for i, s in enumerate(log.series) for c in _course(field, judged, s, i)],
        probes=[
            Line("", s.probe, _DASHES[i % len(_DASHES)], str(_LEFT + 110 * i))
            for i, s in enumerate(log.series)
        ],
        dots=[(f"{field.x(r.at):.1f}", f"{field.y(r.temperature):.1f}") for r in dotted],
        ruled=[
            Line("", _words(figure, within), "", f"{field.y(figure.value):.1f}")
            for figure, within in lines
        ],
        deadlines=list(_deadlines(field, judged)),
    )


def _course(field: _Field, judged: Judged, series: Series, index: int) -> list[Line]:
    """One probe's line, broken where its readings pause for longer than counts."""
    pieces: list[list[str]] = [[]]
    before: datetime.datetime | None = None
    for reading in series.readings:
        gap = before is not None and seconds_between(before, reading.at) > judged.longest_gap_s
        if gap and not isinstance(judged.limit, CoolingLimit):
            pieces.append([])
        pieces[-1].append(f"{field.x(reading.at):.1f},{field.y(reading.temperature):.1f}")
        before = reading.at
    dash = _DASHES[index % len(_DASHES)]
    return [Line(" ".join(p), series.probe, dash) for p in pieces if p]


def _deadlines(field: _Field, judged: Judged) -> Iterator[Line]:
    """The ends of a cooling clock's stages, as far as they lie on the plot; not those whose time
    runs from no fixed moment."""
    for found in judged.probes[:1]:
        if found.clock_started is None:
            continue
        for stage in (s.stage for s in found.stages if not s.stage.after_stage):
            minutes = float(stage.within_s) / 60
            at = field.x(found.clock_started) + minutes / field.minutes * _WIDE
            if at <= _LEFT + _WIDE:
                yield Line("", duration(stage.within_s), "", f"{at:.1f}")


def _ruled(limit: Probed) -> list[tuple[Figure, Fraction | None]]:
    """The figures that are ruled across, each with its time; None where it has none."""
    if not isinstance(limit, CoolingLimit):
        return [(limit.figure, None)]
    lines: list[tuple[Figure, Fraction | None]] = [(s.figure, s.within_s) for s in limit.stages]
    if limit.finish is not None:
        lines.append((limit.finish, None))
    if limit.clock is not None:
        lines.insert(0, (limit.clock, Fraction(0)))
    return lines


def _words(figure: Figure, within: Fraction | None) -> str:
    words = both(figure.value, figure.shown_c, figure.shown_f)
    if within is None:
        return f"limit {words}"
    return f"{words} within {duration(within)}" if within else f"the clock starts at {words}"
