"""Shapes of bodies, their faces, and what is round each face for how long."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from generator.heat.constituents import Impossible

Kind = Literal["slab", "cylinder", "sphere"]


@dataclass(frozen=True)
class Dimension:
    """One axis of a body: a thickness or a radius, m, and the names of the faces at its ends; a
    cylinder's and a sphere's has one face."""

    kind: Kind
    size: float
    faces: tuple[str, ...]


@dataclass(frozen=True)
class Body:
    """A shape by its axes. ``name`` is the word for it; the last axis of a brick and a cylinder is
    its height."""

    name: str
    axes: tuple[Dimension, ...]

    def __post_init__(self) -> None:
        for axis in self.axes:
            if not (axis.size > 0 and math.isfinite(axis.size)):
                raise Impossible(f"a {self.name} of {axis.size:g} m")

    @property
    def faces(self) -> tuple[str, ...]:
        return tuple(face for axis in self.axes for face in axis.faces)

    def areas(self) -> dict[str, float]:
        """The area of each face, m²; per m² of a slab, per m of a long cylinder."""
        return {
            face: _face_area(axis) * math.prod(_across(o) for o in self.axes if o is not axis)
            for axis in self.axes
            for face in axis.faces
        }

    def volume(self) -> float:
        """m³; per m² of a slab, per m of a long cylinder."""
        return math.prod(_across(axis) for axis in self.axes)

    def scaled(self, factor: float) -> Body:
        """The same shape with every dimension this much larger."""
        axes = tuple(Dimension(a.kind, a.size * factor, a.faces) for a in self.axes)
        return Body(self.name, axes)


def _face_area(axis: Dimension) -> float:
    """The area of one face of the axis, over that of the other axes."""
    around = {"slab": 1.0, "cylinder": 2 * math.pi, "sphere": 4 * math.pi}[axis.kind]
    power = {"slab": 0, "cylinder": 1, "sphere": 2}[axis.kind]
    return float(around * axis.size**power)


def _across(axis: Dimension) -> float:
    """What the axis takes of a body's volume: a length, an area or a volume."""
    share = {"slab": 1.0, "cylinder": 2.0, "sphere": 3.0}[axis.kind]
    return _face_area(axis) * axis.size / share


def slab(thickness: float) -> Body:
    """A slab without edges; its faces are ``bottom`` and ``top``."""
    return Body("slab", (Dimension("slab", thickness, ("bottom", "top")),))


def brick(length: float, width: float, height: float) -> Body:
    """A brick with its ``bottom`` below."""
    return Body(
        "brick",
        (
            Dimension("slab", length, ("left", "right")),
            Dimension("slab", width, ("front", "back")),
            Dimension("slab", height, ("bottom", "top")),
        ),
    )


def cylinder(radius: float, height: float | None = None) -> Body:
    """An upright cylinder with its ``bottom`` below; without a height a long one, whose heat goes
    through its ``side`` alone."""
    round_it = Dimension("cylinder", radius, ("side",))
    if height is None:
        return Body("long cylinder", (round_it,))
    return Body("cylinder", (round_it, Dimension("slab", height, ("bottom", "top"))))


def sphere(radius: float) -> Body:
    """A sphere; its one face is ``surface``."""
    return Body("sphere", (Dimension("sphere", radius, ("surface",)),))


# -- what is round a body -------------------------------------------------------------------------


@dataclass(frozen=True)
class Course:
    """A medium's temperature over time: straight lines between points (s, °C), the last one kept.
    Two points of one time are a step. Raises Impossible for times out of order."""

    points: tuple[tuple[float, float], ...]

    def __post_init__(self) -> None:
        times = [t for t, _ in self.points]
        if not times or times != sorted(times) or times[0] < 0:
            raise Impossible("the times of a medium's temperature are not in order")

    @staticmethod
    def constant(celsius: float) -> Course:
        return Course(((0.0, celsius),))

    @staticmethod
    def ramp(start: float, end: float, seconds: float) -> Course:
        """From one temperature to another in so many seconds, and kept there."""
        return Course(((0.0, start), (seconds, end)))

    @property
    def last(self) -> float:
        return self.points[-1][1]

    @property
    def extremes(self) -> tuple[float, float]:
        warm = [celsius for _, celsius in self.points]
        return min(warm), max(warm)

    @property
    def steepest(self) -> float:
        """The most it changes while it changes in a straight line, °C/s."""
        pairs = itertools.pairwise(self.points)
        return max((abs(c1 - c0) / (t1 - t0) for (t0, c0), (t1, c1) in pairs if t1 > t0), default=0)

    def moved(self, degrees: float) -> Course:
        """The same course so many °C warmer."""
        return Course(tuple((t, celsius + degrees) for t, celsius in self.points))

    def breaks(self) -> list[float]:
        """The times at which it bends or steps, s."""
        return sorted({t for t, _ in self.points})

    def after(self, time: float) -> float:
        """The temperature just after a time."""
        if time >= self.points[-1][0]:
            return self.last
        for (t0, c0), (t1, c1) in itertools.pairwise(self.points):
            if t0 <= time < t1:
                return c0 + (c1 - c0) * (time - t0) / (t1 - t0)
        return self.points[0][1]

    def before(self, time: float) -> float:
        """The temperature just before a time: another only at a step."""
        at = [celsius for t, celsius in self.points if t == time]
        return at[0] if at and time > 0 else self.after(time)


@dataclass(frozen=True)
class Face:
    """What is at a face: a heat transfer coefficient W/(m² K), infinite for a face held at its
    medium's temperature, and the medium's course."""

    h: float
    course: Course

    def __post_init__(self) -> None:
        if not self.h >= 0:
            raise Impossible(f"a heat transfer coefficient of {self.h:g} W/(m² K)")


@dataclass(frozen=True)
class Stage:
    """A body in one place: what is at each face, and for how long, s (None: until the end)."""

    faces: Mapping[str, Face]
    seconds: float | None = None

    def __post_init__(self) -> None:
        if self.seconds is not None and not self.seconds > 0:
            raise Impossible(f"a stage of {self.seconds:g} s")

    def of(self, axis: Dimension) -> tuple[Face, Face]:
        """What is at the first and at the last face of an axis; the middle of a cylinder and of a
        sphere is insulated."""
        last = self.faces[axis.faces[-1]]
        if len(axis.faces) == 1:
            return Face(0.0, last.course), last
        return self.faces[axis.faces[0]], last


def everywhere(body: Body, h: float, course: Course | float) -> dict[str, Face]:
    """The same at each face of a body."""
    of = course if isinstance(course, Course) else Course.constant(course)
    return {face: Face(h, of) for face in body.faces}


def in_series(h: float, walls: Sequence[tuple[float, float]]) -> float:
    """The coefficient through walls, each a thickness m and a conductivity W/(m K), to a medium
    with ``h``: 1/h and d/k add up (a tin, a film, a lid)."""
    if h == 0:
        return 0.0
    return 1 / ((0.0 if math.isinf(h) else 1 / h) + sum(d / k for d, k in walls))


def is_even(axis: Dimension, stages: Sequence[Stage]) -> bool:
    """Whether both faces of a slab's axis have the same round them in every stage."""
    return axis.kind == "slab" and all(s.of(axis)[0] == s.of(axis)[1] for s in stages)


def extremes_of(start: float, stages: Sequence[Stage]) -> tuple[float, float]:
    """The coldest and the warmest that a body can come to be, °C: conduction goes past neither its
    start nor its media."""
    warm = [c for s in stages for f in s.faces.values() if f.h > 0 for c in f.course.extremes]
    return min([start, *warm]), max([start, *warm])
