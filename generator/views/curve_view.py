"""A course of temperature as points of a drawing, and as SVG: the same for every medium."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from html import escape

from generator.measures.about import degrees
from generator.measures.temperature import Degree, Temperature
from generator.measures.words import NARROW, duration, plain
from generator.rules.basics.limit import Figure
from generator.views.limit_view import other_scale

LEFT, TOP, WIDE, HIGH = 34, 9, 288, 78
"""Where the field of the drawing is, in its own units: px of a phone 360 px wide."""
ROOM = LEFT + WIDE + 16, TOP + HIGH + 22
"""How wide and how high the drawing is with the words of its scales."""
_LETTER, _RULE, _LATE = 8.5, 38, 4
"""How wide a letter of a limit's words is at most, how long its rule is, and how many times as long
as the course a limit may come and still be drawn."""
_HOURS = (600, 1200, 1800, 3600, 7200, 14400, 28800, 86400)

Moment = tuple[float, float, float, float]
"""s, then °C: the low end of the band, likely, the high end."""
Corner = tuple[float, float | None]
"""°C to reach, and within how many s, if there is a limit."""


@dataclass(frozen=True)
class Tick:
    """A mark on an axis: where, and what it says; ``other`` in the other temperature scale."""

    at: str
    words: str
    other: str = ""


@dataclass(frozen=True)
class Label:
    """What is written on a limit: where it begins, or ends (``anchor``), and its words; ``other``
    in the other temperature scale."""

    x: str
    y: str
    anchor: str
    words: str
    other: str


@dataclass(frozen=True)
class Drawing:
    """``band``, ``line``, ``limits`` (the temperatures to reach) and ``deadlines`` are points,
    ``labels`` the limits' words, ``across`` and ``up`` marks of both axes."""

    band: str
    line: str
    limits: tuple[str, ...]
    deadlines: tuple[str, ...]
    labels: tuple[Label, ...]
    across: tuple[Tick, ...]
    up: tuple[Tick, ...]
    wide: int = ROOM[0]
    high: int = ROOM[1]


def drawing_of(
    course: Sequence[Moment],
    corners: Sequence[Corner],
    unit: Degree,
    figures: Sequence[Figure | None] = (),
) -> Drawing:
    """The drawing of a course of at least one moment, in a unit, with what it has to reach. Where a
    corner is of a limit, by its place in ``figures``, its words say what the probe must read, as
    the limit's box does; its rule is where the food itself must be."""
    limits = (*figures, *[None] * (len(corners) - len(figures)))
    field = _Field.of(course, corners, unit)
    upper = [field.point(s, high) for s, _, _, high in course]
    lower = [field.point(s, low) for s, low, _, _ in reversed(course)]
    return Drawing(
        " ".join([*upper, *lower]),
        " ".join(field.point(s, likely) for s, _, likely, _ in course),
        tuple(field.limit(*corner) for corner in corners),
        tuple(field.deadline(*corner) for corner in corners if field.timed(corner[1])),
        tuple(field.label(*corner, one) for corner, one in zip(corners, limits, strict=True)),
        tuple(field.across()),
        tuple(field.up()),
    )


def svg_of(drawing: Drawing, caption: str = "") -> str:
    """The drawing in greys: the band, the likely line, the law's limits, and both scales; with a
    ``caption`` it stands by itself: that is printed under it, and is its title for a screen
    reader."""
    said = f"<title>{escape(caption)}</title>" if caption else ""
    role = ' role="img"' if caption else ""
    wide, high = ROOM
    box = f"0 0 {wide} {high + (16 if caption else 0)}"
    parts = [f'<svg xmlns="http://www.w3.org/2000/svg"{role} viewBox="{box}">{said}']
    if caption:
        parts.append(_text(f'x="{LEFT}" y="{high + 12}"', caption, 8))
    for tick in drawing.up:
        parts.append(f'<path d="M{LEFT},{tick.at}h{WIDE}" stroke="#c8c8c8" fill="none"/>')
        parts.append(_text(f'x="{LEFT - 6}" y="{tick.at}" dy="4" text-anchor="end"', tick.words))
    for tick in drawing.across:
        at = f'x="{tick.at}" y="{high - 4}" text-anchor="middle"'
        parts.append(_text(at, tick.words))
    parts.append(f'<polygon points="{drawing.band}" fill="#d9d9d9"/>')
    parts += [_line(points, 1.5, ' stroke-dasharray="6 4"') for points in drawing.deadlines]
    parts += [_line(points, 3.5) for points in drawing.limits]
    parts.append(_line(drawing.line, 2.5))
    for one in drawing.labels:
        at = f'x="{one.x}" y="{one.y}" text-anchor="{one.anchor}" font-weight="bold"'
        parts.append(_text(at, one.words, 13))
    return "".join([*parts, "</svg>"])


def _line(points: str, wide: float, more: str = "") -> str:
    return f'<polyline points="{points}" fill="none" stroke="#000" stroke-width="{wide}"{more}/>'


def _text(place: str, words: str, size: int = 12) -> str:
    return f'<text {place} font-family="Source Sans Pro" font-size="{size}">{escape(words)}</text>'


@dataclass(frozen=True)
class _Field:
    """The field of a drawing: seconds across, degrees of a unit up."""

    end: float
    bottom: float
    top: float
    step: int
    unit: Degree

    @staticmethod
    def of(course: Sequence[Moment], corners: Sequence[Corner], unit: Degree) -> _Field:
        figures = [_in(c, unit) for _, low, _, high in course for c in (low, high)]
        figures += [_in(celsius, unit) for celsius, _ in corners]
        step = 10 if max(figures) - min(figures) < 50 else 20
        step = step if unit == "°C" else 2 * step
        low = math.floor(min(figures) / step) * step
        high = math.ceil(max(figures) / step) * step
        last = course[-1][0]
        near = [within for _, within in corners if within is not None and within <= _LATE * last]
        return _Field(max([last, *near]), low, max(high, low + step), step, unit)

    def x(self, seconds: float) -> float:
        return LEFT + seconds / self.end * WIDE

    def y(self, degrees_: float) -> float:
        return TOP + (self.top - degrees_) / (self.top - self.bottom) * HIGH

    def point(self, seconds: float, celsius: float) -> str:
        return f"{self.x(seconds):.1f},{self.y(_in(celsius, self.unit)):.1f}"

    def timed(self, within: float | None) -> bool:
        """Whether the deadline is in the field."""
        return within is not None and within <= self.end

    def limit(self, celsius: float, within: float | None) -> str:
        """The rule at the temperature to reach: up to its deadline, or all along."""
        y = f"{self.y(_in(celsius, self.unit)):.1f}"
        if within is None or not self.timed(within):
            return f"{LEFT},{y} {LEFT + WIDE},{y}"
        x = self.x(within)
        return f"{max(LEFT, x - _RULE):.1f},{y} {x:.1f},{y}"

    def deadline(self, celsius: float, within: float | None) -> str:
        """From the top down to the temperature, at the time by which it must be there."""
        x = f"{self.x(within or 0):.1f}"
        return f"{x},{TOP} {x},{self.y(_in(celsius, self.unit)):.1f}"

    def label(self, celsius: float, within: float | None, limit: Figure | None) -> Label:
        """What is to be reached by when: right of the deadline, at the top; over the rule where
        there is no room or no deadline."""
        by = "" if within is None else f" by {duration(Fraction(within), days=False)}"
        words, other = (
            f"{_asked(celsius, limit, unit)}{by}" for unit in (self.unit, other_scale(self.unit))
        )
        y = self.y(_in(celsius, self.unit)) - 7
        if within is None or not self.timed(within):
            return Label(
                f"{LEFT + WIDE / 2:.1f}", f"{max(TOP + 13, y):.1f}", "middle", words, other
            )
        x = self.x(within)
        if x + 6 + _LETTER * len(words) <= LEFT + WIDE:
            return Label(f"{x + 6:.1f}", f"{TOP + 13}", "start", words, other)
        return Label(f"{x - 6:.1f}", f"{max(TOP + 13, y):.1f}", "end", words, other)

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
        both = [(d, Temperature.of(d, self.unit).in_unit(other_scale(self.unit))) for d in marks]
        return [
            Tick(f"{self.y(d):.1f}", f"{plain(Fraction(d))}°", f"{plain(turned, 1)}°")
            for d, turned in both
        ]


def _asked(celsius: float, limit: Figure | None, unit: Degree) -> str:
    """What is to be reached in words: what the probe must read for a limit, else the degrees."""
    if limit is None:
        return degrees(celsius, unit)
    return f"{plain(limit.read_at(unit))}{NARROW}{unit}"


def _in(celsius: float, unit: Degree) -> float:
    return celsius if unit == "°C" else celsius * 1.8 + 32
