"""Transient conduction in a body of constant properties, by series: exact but for their end.

The body is a product of axes, so that its eigenfunctions are products of theirs. In a stage the
state is kept relative to the medium most of the surface is in. Where another face has another
medium, the exact steady state that the difference makes (a sum over the other axes of hyperbolic
functions along this one) is taken out before anything is expanded: the plain sum of products never
gets there. A medium that changes in straight lines moves the state exactly (Duhamel). At a change
of stage the state less the new medium is projected onto the new functions: nothing starts over from
an even temperature.

Carslaw, Jaeger (1959), 1.14 and 1.15, 5.3 and 5.5, 6.3.
"""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from generator.heat.axes import (
    Modes,
    modes_of,
    nodes_for,
    overlap,
    positions_in,
    steady,
    steady_average,
    weight_of,
)
from generator.heat.bodies import (
    Body,
    Course,
    Dimension,
    Face,
    Stage,
    extremes_of,
    is_even,
)
from generator.heat.constituents import Impossible
from generator.heat.constituents import Solid as Solid
from generator.heat.properties import Array

ACCURACY = 0.004
"""What the left-out terms may come to, °C; what is promised is 0.05."""
_MOST_TERMS, _MOST_ON_AN_AXIS = 150_000, 250

At = tuple[Array | None, ...]
"""Positions along each axis from its first face to its last, 0 to 1 (in a cylinder and a sphere
from the middle to the surface), or None for the mean along it."""


def terms_for(length: float, diffusivity: float, swing: float, seconds: float) -> int:
    """How many functions of an axis it takes so that what is left out has died away after so many
    seconds: n ≈ L/π·√(ln(ΔT/ε)/(α t))."""
    if swing <= ACCURACY:
        return 2
    reach = length / math.pi * math.sqrt(math.log(swing / ACCURACY) / (diffusivity * seconds))
    return min(_MOST_ON_AN_AXIS, 2 + math.ceil(reach))


def terms_for_ramp(length: float, diffusivity: float, slope: float) -> int:
    """How many it takes so that what is left out of the lag behind a medium that changes by
    ``slope`` °C/s is small: the functions lag by slope·L²/(α π² n²), and add up as 1/n³."""
    lag = abs(slope) * length**2 / (math.pi**2 * diffusivity)
    return min(_MOST_ON_AN_AXIS, 2 + math.ceil(math.cbrt(lag / (3 * ACCURACY))))


def _outer(vectors: Sequence[Array]) -> Array:
    found: Array = functools.reduce(np.multiply.outer, vectors)
    return found


@dataclass
class _Group:
    """The faces that share one medium, which isn't the one the state is relative to: the
    coefficients of the steady state that 1 °C of difference makes."""

    course: Course
    faces: list[tuple[int, int]]
    weight: Array


class _Set:
    """The eigenfunctions of a body in one stage, and what its media do to them."""

    def __init__(
        self, body: Body, solid: Solid, stage: Stage, even: tuple[bool, ...], counts: Sequence[int]
    ) -> None:
        self.body, self.solid, self.even = body, solid, even
        faces = [self._ends(stage.of(a), e) for a, e in zip(body.axes, even, strict=True)]
        self.modes = [
            self._modes(axis, ends, is_even, count)
            for axis, ends, is_even, count in zip(body.axes, faces, even, counts, strict=True)
        ]
        self.rates: Array = solid.diffusivity * functools.reduce(
            np.add.outer, [m.rates for m in self.modes]
        )
        self.ones = _outer([m.ones for m in self.modes])
        self.base, self.groups = self._media(faces)
        self._known: dict[tuple[int, tuple[bytes | None, ...]], Array] = {}

    @staticmethod
    def _ends(ends: tuple[Face, Face], even: bool) -> tuple[Face, Face]:
        return (Face(0.0, ends[1].course), ends[1]) if even else ends

    def _modes(self, axis: Dimension, ends: tuple[Face, Face], even: bool, count: int) -> Modes:
        length = axis.size / 2 if even else axis.size
        first, last = (end.h * length / self.solid.conductivity for end in ends)
        return modes_of(axis.kind, length, (first, last), count)

    def _media(self, faces: Sequence[tuple[Face, Face]]) -> tuple[Course, list[_Group]]:
        """The course the state is relative to, and the groups of faces with another."""
        areas = self.body.areas()
        by_course: dict[Course, float] = {}
        places: dict[Course, list[tuple[int, int]]] = {}
        for number, (axis, ends) in enumerate(zip(self.body.axes, faces, strict=True)):
            for end, face in enumerate(ends):
                if face.h > 0:
                    by_course[face.course] = by_course.get(face.course, 0) + areas[axis.faces[-1]]
                    places.setdefault(face.course, []).append((number, end))
        if not by_course:
            return Course.constant(0.0), []
        base = max(by_course, key=lambda course: by_course[course])
        if self.modes[0].kind != "slab" and faces[0][1].h > 0:
            base = faces[0][1].course  # steady states are known along slabs alone
        others = {c: p for c, p in places.items() if c != base}
        return base, [_Group(c, p, self._steady_weights(p)) for c, p in others.items()]

    def _steady_weights(self, faces: Sequence[tuple[int, int]]) -> Array:
        """The coefficients of the steady state with a medium of 1 at these faces, 0 at the
        others."""
        found = np.zeros(())
        for axis, end in faces:
            vectors = [m.ones for m in self.modes]
            vectors[axis] = self.modes[axis].driven[end] / self.modes[axis].length ** 2
            found = found + _outer(vectors)
        safe = np.where(self.rates > 0, self.rates, np.inf)
        found *= self.solid.diffusivity
        found /= safe
        return found

    def functions(self, at: At) -> list[Array]:
        """Each axis's functions at the positions asked for, or their means."""
        return [
            m.average[None, :]
            if where is None
            else m.at(positions_in(axis, even, np.asarray(where, dtype=float)))
            for m, axis, even, where in zip(self.modes, self.body.axes, self.even, at, strict=True)
        ]

    def steady_at(self, group: _Group, at: At, functions: Sequence[Array]) -> Array:
        """The steady state that 1 °C at the group's faces makes, at the positions asked for. It is
        asked for again and again at the same ones."""
        key = (id(group), tuple(None if a is None else np.asarray(a).tobytes() for a in at))
        if key not in self._known:
            self._known[key] = self._steady_at(group, at, functions)
        return self._known[key]

    def _steady_at(self, group: _Group, at: At, functions: Sequence[Array]) -> Array:
        shape = [f.shape[0] for f in functions]
        found = np.zeros(shape)
        for axis, end in group.faces:
            along = self._along(axis, at[axis])
            found += self._one_face(axis, end, along, functions)
        return found

    def _along(self, axis: int, where: Array | None) -> Array | None:
        if where is None:
            return None
        dimension = self.body.axes[axis]
        return positions_in(dimension, self.even[axis], np.asarray(where, dtype=float))

    def _one_face(
        self, axis: int, end: int, along: Array | None, functions: Sequence[Array]
    ) -> Array:
        modes = self.modes[axis]
        others = [i for i in range(len(self.modes)) if i != axis]
        waves = functools.reduce(np.add.outer, [self.modes[i].rates for i in others], np.zeros(()))
        wave = np.sqrt(np.atleast_1d(waves).ravel())
        if along is None:
            g = steady_average(modes, wave, end)[None, :]
        else:
            g = steady(modes, wave, end, along)
        g = g.reshape(g.shape[0], *[len(self.modes[i].roots) for i in others])
        for number, i in enumerate(others):
            weighed = functions[i] * self.modes[i].ones
            g = np.moveaxis(np.tensordot(weighed, g, axes=(1, 1 + number)), 0, 1 + number)
        order = [0] * len(self.modes)
        order[axis] = 0
        for number, i in enumerate(others):
            order[i] = 1 + number
        return np.asarray(np.transpose(g, order))

    def steady_onto(self, group: _Group, new: _Set) -> Array:
        """The coefficients of the group's steady state in another stage's functions."""
        found = np.zeros(new.rates.shape)
        across = [overlap(o, n) for o, n in zip(self.modes, new.modes, strict=True)]
        for axis, end in group.faces:
            kind = self.body.axes[axis].kind
            nodes, weights = nodes_for(self.modes[axis], new.modes[axis])
            target = (weights * weight_of(kind, nodes))[:, None] * new.modes[axis].at(nodes)
            functions = list(across)
            functions[axis] = np.zeros((len(nodes), 1))
            there = self._one_face(axis, end, nodes, functions)
            projected = np.tensordot(target / new.modes[axis].norm, there, axes=(0, axis))
            found += np.moveaxis(projected, 0, axis)
        return found


@dataclass
class _Segment:
    """A stretch of time in which every medium changes in a straight line: the state at its start
    less what the change drives it to, and that."""

    start: float
    end: float
    set: _Set
    dying: Array
    driven: Array | None
    base: tuple[float, float]
    groups: list[tuple[float, float]]
    jumps: bool = False
    """Whether a medium steps at its start: just after that the sum has too few terms."""

    def state(self, time: float) -> Array:
        """The coefficients at a time within the segment."""
        found = self.dying * np.exp(-self.set.rates * (time - self.start))
        return found if self.driven is None else found + self.driven_at(time)

    def driven_at(self, time: float) -> Array:
        """What the change of the media holds them at; a function that doesn't die away (of an
        insulated body) follows for as long as it goes on."""
        assert self.driven is not None
        return np.where(self.set.rates == 0, self.driven * (time - self.start), self.driven)


class Series:
    """How a body's temperatures go through stages, by series.

    ``start`` is its even temperature at first, °C; ``first`` the earliest time, s after a medium
    has changed at once, at which temperatures are wanted: it settles how many terms there are.
    """

    def __init__(
        self,
        body: Body,
        solids: Sequence[Solid],
        stages: Sequence[Stage],
        start: float,
        first: float,
    ) -> None:
        if len(solids) != len(stages) or not stages:
            raise Impossible("each stage needs the properties of the body in it")
        self.body, self.start, self.stages = body, start, list(stages)
        self.even = tuple(is_even(axis, stages) for axis in body.axes)
        self.bounds = extremes_of(start, stages)
        self.first = first
        self._segments: list[_Segment] = []
        self._lay_out(solids, stages)

    def _counts(self, solid: Solid, stage: Stage) -> list[int]:
        """How many functions each axis gets, so that they are not too many in all."""
        swing, first = self.bounds[1] - self.bounds[0], self.first
        slope = max((f.course.steepest for f in stage.faces.values() if f.h > 0), default=0.0)
        sizes = zip(self.body.axes, self.even, strict=True)
        lengths = [a.size / 2 if even else a.size for a, even in sizes]
        alpha = solid.diffusivity
        while True:
            counts = [
                max(terms_for(x, alpha, swing, first), terms_for_ramp(x, alpha, slope))
                for x in lengths
            ]
            if math.prod(counts) <= _MOST_TERMS:
                return counts
            first, slope = first * 1.2, slope / 1.3

    def _lay_out(self, solids: Sequence[Solid], stages: Sequence[Stage]) -> None:
        now, old = 0.0, None
        for solid, stage in zip(solids, stages, strict=True):
            new = _Set(self.body, solid, stage, self.even, self._counts(solid, stage))
            state = self._entering(new, old, now)
            end = math.inf if stage.seconds is None else now + stage.seconds
            old = self._stage(new, state, now, end)
            now = end
            if math.isinf(end):
                break

    def _entering(self, new: _Set, old: _Segment | None, now: float) -> Array:
        """The state at the start of a stage, relative to its first medium."""
        base = new.base.after(0.0)
        if old is None:
            state = (self.start - base) * new.ones
        else:
            was = old.base[0] + old.base[1] * (now - old.start)
            state = (was - base) * new.ones + _projected(old.state(now), old.set, new)
            for group, (at, slope) in zip(old.set.groups, old.groups, strict=True):
                state = state + (at + slope * (now - old.start)) * old.set.steady_onto(group, new)
        for group in new.groups:
            state = state - (group.course.after(0.0) - base) * group.weight
        return np.asarray(state)

    def _stage(self, new: _Set, state: Array, start: float, end: float) -> _Segment:
        courses = [new.base, *(g.course for g in new.groups)]
        within = {t for c in courses for t in c.breaks() if 0 < t < end - start}
        edges = [0.0, *sorted(within), end - start]
        segment: _Segment | None = None
        for begin, finish in itertools.pairwise(edges):
            if segment is not None:
                state = segment.state(start + begin) + self._steps(new, begin)
            jumps = begin == 0 or any(c.after(begin) != c.before(begin) for c in courses)
            segment = _segment(new, state, start, begin, finish)
            segment.jumps = jumps
            self._segments.append(segment)
        assert segment is not None
        return segment

    def _steps(self, new: _Set, at: float) -> Array:
        """What steps of the media do to the state."""
        base = new.base.after(at) - new.base.before(at)
        found = -base * new.ones
        for group in new.groups:
            step = group.course.after(at) - group.course.before(at) - base
            found = found - step * group.weight
        return np.asarray(found)

    @property
    def solid(self) -> Solid:
        """What the body is made of in its last stage."""
        return self._segments[-1].set.solid

    @property
    def steady_time(self) -> float:
        """The longest time constant of the last stage, s: infinite for an insulated body."""
        slowest = float(self._segments[-1].set.rates.min())
        return math.inf if slowest <= 0 else 1 / slowest

    def at(self, times: Array, where: At) -> Array:
        """Temperatures, °C: first index the time (s, rising), then one index for each axis."""
        times = np.asarray(times, dtype=float)
        parts: list[Array] = []
        for segment in self._segments:
            last = segment is self._segments[-1]
            inside = (times >= segment.start) & ((times < segment.end) | last)
            if inside.any():
                parts.append(self._within(segment, times[inside], where))
        found = np.concatenate(parts)
        return np.clip(found, *self.bounds)

    def _within(self, segment: _Segment, times: Array, where: At) -> Array:
        """Temperatures within a segment. Sooner after a step than ``first`` they run straight from
        what they were to what they are then: the inside hasn't felt it yet."""
        ready = segment.start + min(self.first, segment.end - segment.start)
        early = times < ready if segment.jumps else np.zeros(len(times), dtype=bool)
        found = self._summed(segment, np.where(early, ready, times), where)
        if early.any():
            was = self._before(segment, where)
            share = (times[early] - segment.start) / (ready - segment.start)
            share = share.reshape(-1, *[1] * (found.ndim - 1))
            found[early] = was * (1 - share) + found[early] * share
        return found

    def _before(self, segment: _Segment, where: At) -> Array:
        """Temperatures at the end of the segment before."""
        number = next(i for i, s in enumerate(self._segments) if s is segment)
        if number == 0:
            return np.full([1 if w is None else len(w) for w in where], self.start)
        before = self._segments[number - 1]
        return np.asarray(self._within(before, np.array([segment.start]), where)[0])

    def _summed(self, segment: _Segment, times: Array, where: At) -> Array:
        functions = segment.set.functions(where)
        shape = tuple(f.shape[0] for f in functions)
        spent = times - segment.start
        found = np.empty((len(times), *shape))
        found[:] = (segment.base[0] + segment.base[1] * spent).reshape(-1, *[1] * len(shape))
        for group, (at, slope) in zip(segment.set.groups, segment.groups, strict=True):
            steady_state = segment.set.steady_at(group, where, functions)
            found += np.multiply.outer(at + slope * spent, steady_state)
        if segment.driven is not None:
            follows = bool((segment.set.rates == 0).any())
            for number, time in enumerate(times if follows else times[:1]):
                at_points = _contract(segment.driven_at(float(time)), functions)
                found[number if follows else slice(None)] += at_points
        self._dying(segment, spent, functions, found)
        return found

    def _dying(self, segment: _Segment, spent: Array, functions: list[Array], out: Array) -> None:
        """Add what dies away, in blocks of times: the later, the fewer terms are left."""
        swing = self.bounds[1] - self.bounds[0]
        begin = 0
        while begin < len(spent):
            earliest = max(float(spent[begin]), self.first * 1e-3)
            end = int(np.searchsorted(spent, 2.5 * earliest, side="right"))
            end = max(end, begin + 1)
            counts = [
                min(
                    len(m.roots),
                    terms_for(m.length, segment.set.solid.diffusivity, swing, earliest),
                )
                for m in segment.set.modes
            ]
            kept = segment.dying[tuple(slice(c) for c in counts)]
            factors = [
                np.exp(
                    -segment.set.solid.diffusivity
                    * np.multiply.outer(spent[begin:end], m.rates[:c])
                )
                for m, c in zip(segment.set.modes, counts, strict=True)
            ]
            some = [f[:, :c] for f, c in zip(functions, counts, strict=True)]
            out[begin:end] += _at_times(kept, factors, some)
            begin = end


def _segment(new: _Set, state: Array, start: float, begin: float, finish: float) -> _Segment:
    base = new.base.after(begin)
    slope = _slope(new.base, begin, finish)
    pairs = [
        (g.course.after(begin) - base, _slope(g.course, begin, finish) - slope) for g in new.groups
    ]
    if slope == 0 and all(rise == 0 for _, rise in pairs):
        return _Segment(start + begin, start + finish, new, state, None, (base, slope), pairs)
    pull = slope * new.ones
    for group, (_, rise) in zip(new.groups, pairs, strict=True):
        pull = pull + rise * group.weight
    dies = new.rates > 0
    driven = -pull / np.where(dies, new.rates, 1.0)
    dying = state - np.where(dies, driven, 0.0)
    return _Segment(start + begin, start + finish, new, dying, driven, (base, slope), pairs)


def _slope(course: Course, begin: float, finish: float) -> float:
    if math.isinf(finish):
        return 0.0
    return (course.before(finish) - course.after(begin)) / (finish - begin)


def _projected(state: Array, old: _Set, new: _Set) -> Array:
    """A state in another stage's functions."""
    for axis, (o, n) in enumerate(zip(old.modes, new.modes, strict=True)):
        if o.biot == n.biot and len(o.roots) == len(n.roots):
            continue
        state = np.moveaxis(np.tensordot(overlap(o, n), state, axes=(1, axis)), 0, axis)
    return state


def _contract(state: Array, functions: Sequence[Array]) -> Array:
    """The sum of functions weighed by a state, at points along each axis."""
    for axis, values in enumerate(functions):
        state = np.moveaxis(np.tensordot(values, state, axes=(1, axis)), 0, axis)
    return state


def _at_times(state: Array, factors: Sequence[Array], functions: Sequence[Array]) -> Array:
    """The same with each function dying away by its own factor (one row a time): one row a time,
    then one index an axis."""
    count = factors[0].shape[0]
    last = factors[-1][:, None, :] * functions[-1]
    left = np.tensordot(last, state, axes=(2, state.ndim - 1))  # time, point, the other functions
    for factor, values in zip(factors[-2::-1], functions[-2::-1], strict=True):
        by = factor[:, None, :] * values  # time, point, function
        rest = left.shape[1:-1]
        flat = left.reshape(count, -1, left.shape[-1])
        left = np.matmul(flat, by.transpose(0, 2, 1)).reshape(count, *rest, by.shape[1])
        left = np.moveaxis(left, -1, 1)  # the points before the functions that are left
    return left
