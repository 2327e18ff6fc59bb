"""A course of temperature as points of a drawing, and as SVG: the same for every medium."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from generator.measures.exact import Fraction
from generator.measures.temperature import Degree
from generator.measures.words import plain

LEFT, TOP, WIDE, HIGH = 44, 8, 320, 130
"""Where the field of the drawing is, in its own units."""
_HOURS = (600, 1200, 1800, 3600, 7200, 14400, 28800, 86400)

Moment = tuple[float, float, float, float]
"""s, then °C: the low end of the band, likely, the high end."""
Corner = tuple[float, float | None]
"""°C to reach, and within how many s, if there is a limit."""


@dataclass(frozen=True)
class Tick:
    """A mark on an axis: where, and what it says."""

    at: str
    words: str


@dataclass(frozen=True)
class Drawing:
    """``band``, ``line`` and ``limits`` are points, ``across`` and ``up`` marks of both axes."""

    band: str
    line: str
    limits: tuple[str, ...]
    across: tuple[Tick, ...]
    up: tuple[Tick, ...]


def drawing_of(course: Sequence[Moment], corners: Sequence[Corner], unit: Degree) -> Drawing:
    """The drawing of a course of at least one moment, in a unit, with what it has to reach."""
    field = _Field.of(course, corners, unit)
    upper = [field.point(s, high) for s, _, _, high in course]
    lower = [field.point(s, low) for s, low, _, _ in reversed(course)]
    return Drawing(
        " ".join([*upper, *lower]),
        " ".join(field.point(s, likely) for s, _, likely, _ in course),
        tuple(field.limit(*corner) for corner in corners),
        tuple(field.across()),
        tuple(field.up()),
    )


def svg_of(drawing: Drawing, caption: str = "") -> str:
    """The drawing in greys: the band, the likely line, the law's corner, and both scales; with a
    ``caption`` it stands by itself: that is printed under it, and is its title for a screen
    reader."""
    said = f"<title>{escape(caption)}</title>" if caption else ""
    role = ' role="img"' if caption else ""
    box = f"0 0 {LEFT + WIDE + 16} {176 if caption else 160}"
    parts = [f'<svg xmlns="http://www.w3.org/2000/svg"{role} viewBox="{box}">{said}']
    if caption:
        parts.append(_text(f'x="{LEFT}" y="172"', caption, 9))
    for tick in drawing.up:
        parts.append(f'<path d="M{LEFT},{tick.at}h{WIDE}" stroke="#c8c8c8" fill="none"/>')
        parts.append(_text(f'x="{LEFT - 6}" y="{tick.at}" dy="4" text-anchor="end"', tick.words))
    for tick in drawing.across:
        at = f'x="{tick.at}" y="{TOP + HIGH + 16}" text-anchor="middle"'
        parts.append(_text(at, tick.words))
    parts.append(f'<polygon points="{drawing.band}" fill="#d9d9d9"/>')
    parts += [
        f'<polyline points="{line}" fill="none" stroke="#000" stroke-width="1.5" '
        'stroke-dasharray="6 4"/>'
        for line in drawing.limits
    ]
    line = f'<polyline points="{drawing.line}" fill="none" stroke="#000" stroke-width="2.5"/>'
    return "".join([*parts, line, "</svg>"])


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
        return _Field(course[-1][0], low, max(high, low + step), step, unit)

    def x(self, seconds: float) -> float:
        return LEFT + seconds / self.end * WIDE

    def y(self, degrees_: float) -> float:
        return TOP + (self.top - degrees_) / (self.top - self.bottom) * HIGH

    def point(self, seconds: float, celsius: float) -> str:
        return f"{self.x(seconds):.1f},{self.y(_in(celsius, self.unit)):.1f}"

    def limit(self, celsius: float, within: float | None) -> str:
        """The corner that the law draws: at the temperature until the time, then down to it."""
        if within is None or within > self.end:
            at = f"{self.y(_in(celsius, self.unit)):.1f}"
            return f"{LEFT},{at} {LEFT + WIDE},{at}"
        x, y = self.x(within), self.y(_in(celsius, self.unit))
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
