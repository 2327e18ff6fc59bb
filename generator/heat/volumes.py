"""Transient conduction by finite volumes, where food freezes or its properties change.

The unknown is enthalpy, so that heat is kept whatever a cell does: freezing is only a stretch of
the table in which much heat is little temperature. Cells lie on the same axes as the series'
functions (:mod:`generator.heat.series`), and both answer alike. A step is the two-stage diagonally
implicit Runge and Kutta method of second order (R. Alexander, SIAM Journal on Numerical Analysis 14
(1977) 1006); each stage is solved by Newton's method with the apparent heat capacity (Q. T. Pham,
1985). Between cells heat follows the integral of k dT (Kirchhoff), right across a sharp front.
"""

from __future__ import annotations

import bisect
import functools
import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from generator.heat.axes import Kind, positions_in
from generator.heat.bodies import Body, Dimension, Face, Stage, extremes_of, is_even
from generator.heat.ice import Material
from generator.heat.properties import Array, Impossible
from generator.heat.series import At

_GAMMA = 1 - 1 / math.sqrt(2)
_CLOSE = 1e-4  # °C a cell may be off after Newton's steps
_NEAR = 1e-4  # how nearly one of them is solved
_MOST_ROUNDS = 40
CELLS = {1: 60, 2: 36, 3: 20}
"""Cells along each axis of a body of one, two and three; a half axis has half as many and two."""


@dataclass(frozen=True)
class _Line:
    """The cells of one axis: their middles and size, what each takes of the volume, and what the
    walls between them, and at both ends, take of the area."""

    kind: Kind
    size: float
    middles: Array
    volumes: Array
    walls: Array

    @property
    def step(self) -> float:
        return self.size / len(self.middles)


def _line(kind: Kind, size: float, count: int) -> _Line:
    edges = np.linspace(0, size, count + 1)
    power = {"slab": 0, "cylinder": 1, "sphere": 2}[kind]
    around = {"slab": 1.0, "cylinder": 2 * math.pi, "sphere": 4 * math.pi}[kind]
    walls = around * edges**power
    volumes = around * np.diff(edges ** (power + 1)) / (power + 1)
    return _Line(kind, size, (edges[1:] + edges[:-1]) / 2, volumes, walls)


class _Table:
    """A material's tables, looked up by enthalpy per volume."""

    def __init__(self, material: Material) -> None:
        self.celsius, self.heat = material.celsius, material.heat
        self.conductivity, self.conducted = material.conductivity, material.conducted
        self.capacity = np.diff(self.heat) / np.diff(self.celsius)
        self.least_capacity = self.capacity.min()
        self._rise = np.diff(self.conductivity) / np.diff(self.celsius)

    def heat_at(self, celsius: Array) -> Array:
        return np.interp(celsius, self.celsius, self.heat)

    def celsius_at(self, heat: Array) -> Array:
        return np.interp(heat, self.heat, self.celsius)

    def capacity_at(self, heat: Array) -> Array:
        return np.asarray(self.capacity[np.searchsorted(self.heat[1:-1], heat)])

    def conductivity_at(self, celsius: Array) -> Array:
        return np.interp(celsius, self.celsius, self.conductivity)

    def conducted_at(self, celsius: Array) -> Array:
        """∫ k dT, exact between the table's rows, where k is a straight line."""
        at = np.searchsorted(self.celsius[1:-1], celsius)
        part = celsius - self.celsius[at]
        within = self.conductivity[at] + self._rise[at] * part / 2
        return np.asarray(self.conducted[at] + part * within)


def _along(values: Array, axis: int, ndim: int) -> Array:
    """A vector laid along one axis of an array."""
    return values.reshape([-1 if i == axis else 1 for i in range(ndim)])


class _Grid:
    """The cells of a body, and how heat goes between them."""

    def __init__(self, body: Body, even: tuple[bool, ...], cells: int) -> None:
        self.body, self.even = body, even
        self.lines = [
            _line(a.kind, a.size / 2 if e else a.size, cells // 2 + 2 if e else cells)
            for a, e in zip(body.axes, even, strict=True)
        ]
        self.ndim = len(self.lines)
        whole = np.ones(())
        for line in self.lines:
            whole = np.multiply.outer(whole, line.volumes)
        self.volumes = whole
        self.areas = [self.across(axis) for axis in range(self.ndim)]
        self.walls = [_along(line.walls[1:-1], n, self.ndim) for n, line in enumerate(self.lines)]

    @functools.cached_property
    def pattern(self) -> _Pattern:
        return _Pattern(self.volumes.shape)

    def across(self, axis: int) -> Array:
        """The area of a wall across an axis over that axis's own share of it."""
        return np.asarray(self.volumes / _along(self.lines[axis].volumes, axis, self.ndim))

    def end(self, axis: int, last: bool) -> tuple[slice | int, ...]:
        """The cells at an end of an axis."""
        return tuple(
            (slice(-1, None) if last else slice(0, 1)) if i == axis else slice(None)
            for i in range(self.ndim)
        )

    def faces(self, stage: Stage) -> list[tuple[int, bool, Face]]:
        """The faces heat goes through: axis, whether the last of it, and what is there."""
        found = []
        for number, (axis, even) in enumerate(zip(self.body.axes, self.even, strict=True)):
            first, last = stage.of(axis)
            if first.h > 0 and not even and axis.kind == "slab":
                found.append((number, False, first))
            if last.h > 0:
                found.append((number, True, last))
        return found


class _Conductances:
    """What goes between cells per °C at given temperatures: W/K, and to the media."""

    def __init__(self, grid: _Grid, table: _Table, stage: Stage, celsius: Array) -> None:
        self.grid = grid
        self.inner: list[Array] = []
        conducted, conductivity = table.conducted_at(celsius), table.conductivity_at(celsius)
        for axis, line in enumerate(grid.lines):
            k = _between(*(_halves(field, axis) for field in (celsius, conducted, conductivity)))
            area = _halves(grid.areas[axis], axis)[0]
            self.inner.append(k * grid.walls[axis] * area / line.step)
        self.outer: list[tuple[tuple[slice | int, ...], Face, Array]] = []
        for axis, last, face in grid.faces(stage):
            line, at = grid.lines[axis], grid.end(axis, last)
            inside = line.step / 2 / conductivity[at]
            through = 1 / (inside + (0.0 if math.isinf(face.h) else 1 / face.h))
            wall = line.walls[-1 if last else 0]
            self.outer.append((at, face, through * wall * grid.areas[axis][at]))
        self.diagonal = self._diagonal(celsius.shape)

    def _diagonal(self, shape: tuple[int, ...]) -> Array:
        found = np.zeros(shape)
        for axis, through in enumerate(self.inner):
            _halves(found, axis)[0][...] += through
            _halves(found, axis)[1][...] += through
        for at, _, through in self.outer:
            found[at] += through
        return found

    def gained(self, celsius: Array, time: float) -> Array:
        """The heat each cell gains, W, with the media as they are at a time of the stage."""
        found = np.zeros_like(celsius)
        for axis, through in enumerate(self.inner):
            low, high = _halves(celsius, axis)
            flow = through * (high - low)
            _halves(found, axis)[0][...] += flow
            _halves(found, axis)[1][...] -= flow
        for at, face, through in self.outer:
            found[at] += through * (face.course.after(time) - celsius[at])
        return found


def _between(
    celsius: tuple[Array, Array], conducted: tuple[Array, Array], conductivity: tuple[Array, Array]
) -> Array:
    """The mean conductivity from each cell's temperature to the next one's: ∫ k dT over the
    difference, or the mean of both where there is none."""
    apart = celsius[1] - celsius[0]
    near = np.abs(apart) < 1e-6
    mean = (conducted[1] - conducted[0]) / np.where(near, 1.0, apart)
    return np.where(near, (conductivity[0] + conductivity[1]) / 2, mean)


_HALVES = [
    ((*(slice(None),) * axis, slice(None, -1)), (*(slice(None),) * axis, slice(1, None)))
    for axis in range(3)
]


def _halves(values: Array, axis: int) -> tuple[Array, Array]:
    """All cells but the last along an axis, and all but the first."""
    low, high = _HALVES[axis]
    return values[low], values[high]


def _solved(capacity: Array, step: float, flows: _Conductances, wanted: Array) -> Array:
    """The change of temperatures x with (capacity + step·flows) x = wanted: by conjugate gradients,
    as nearly as Newton's next step needs it."""
    if wanted.ndim == 1:
        return _solved_on_a_line(capacity, step, flows, wanted)
    diagonal = (capacity + step * flows.diagonal).ravel()
    matrix = flows.grid.pattern.matrix(diagonal, [step * through for through in flows.inner])
    goal = wanted.ravel()
    x = goal / diagonal
    left = goal - matrix @ x
    near = left / diagonal
    ahead, size = near.copy(), float(left @ near)
    enough = _NEAR**2 * float(goal @ (goal / diagonal))
    for _ in range(500):
        if size <= enough:
            break
        along = matrix @ ahead
        share = size / float(ahead @ along)
        x += share * ahead
        left -= share * along
        near = left / diagonal
        before, size = size, float(left @ near)
        ahead = near + (size / before) * ahead
    return x.reshape(wanted.shape)


class _Pattern:
    """Which cells of a grid touch, as a sparse matrix whose figures alone change."""

    def __init__(self, shape: tuple[int, ...]) -> None:
        from scipy.sparse import coo_matrix

        numbers = np.arange(float(math.prod(shape))).reshape(shape)
        rows, columns = [numbers.ravel()], [numbers.ravel()]
        for axis in range(len(shape)):
            low, high = (part.ravel() for part in _halves(numbers, axis))
            rows += [low, high]
            columns += [high, low]
        row, column = np.concatenate(rows).astype(int), np.concatenate(columns).astype(int)
        marked = coo_matrix((np.arange(1.0, len(row) + 1), (row, column))).tocsr()
        self._order = marked.data.astype(int) - 1
        self._indices, self._starts, self._shape = marked.indices, marked.indptr, marked.shape

    def matrix(self, diagonal: Array, between: Sequence[Array]) -> Any:
        from scipy.sparse import csr_matrix

        flat = [-values.ravel() for values in between]
        figures = np.concatenate([diagonal, *(part for part in flat for _ in range(2))])
        data = figures[self._order]
        return csr_matrix((data, self._indices, self._starts), shape=self._shape)


def _solved_on_a_line(capacity: Array, step: float, flows: _Conductances, wanted: Array) -> Array:
    from scipy.linalg.lapack import dgtsv  # what solve_banded asks, behind as much again of checks

    beside = -step * flows.inner[0]
    *_, found, fault = dgtsv(beside, capacity + step * flows.diagonal, beside, wanted)
    if fault:
        raise Unsolved
    return np.asarray(found)


class Unsolved(ArithmeticError):
    """A step that Newton's method doesn't settle: it is tried again, shorter."""


class Volumes:
    """How a body's temperatures go through stages, by finite volumes; asked like ``Series``.

    ``material`` holds its properties by temperature; ``first`` the earliest time asked for, s,
    which settles the first step. Time goes on as far as it is asked for.
    """

    def __init__(
        self,
        body: Body,
        material: Material,
        stages: Sequence[Stage],
        start: float,
        first: float,
        cells: int | None = None,
        finer: float = 1.0,
    ) -> None:
        if not stages:
            raise Impossible("a prediction needs a stage")
        self.body, self.start, self.stages = body, start, list(stages)
        even = tuple(is_even(axis, stages) for axis in body.axes)
        self.grid = _Grid(body, even, cells or CELLS[len(body.axes)])
        self.table, self.material = _Table(material), material
        self.bounds = extremes_of(start, stages)
        if not material.celsius[0] <= self.bounds[0] <= self.bounds[1] <= material.celsius[-1]:
            raise Impossible("no properties are known at these temperatures")
        self._most_change = max(self.bounds[1] - self.bounds[0], 1.0) / (80 * finer)
        self._celsius = np.full(self.grid.volumes.shape, start)
        self._heat = self.table.heat_at(self._celsius)
        self._times, self._fields = [0.0], [self._celsius.copy()]
        self._began = [0.0, *itertools.accumulate(s.seconds or 0.0 for s in stages[:-1])]
        self._step = min(first, self._quickest()) / finer
        self._finer = finer
        self.gained = 0.0
        """The heat the body has taken up through its faces since the start, J."""

    def _quickest(self) -> float:
        least = min(line.step for line in self.grid.lines)
        k = float(self.material.conductivity.max())
        return 0.5 * least**2 * float(self.table.capacity.min()) / k

    @property
    def steady_time(self) -> float:
        """The longest time constant without any ice to melt, s, by the least coefficient."""
        areas = self.body.areas()
        faces = self.stages[-1].faces
        through = sum(
            areas[name] / (0.0 if math.isinf(f.h) else 1 / f.h) if not math.isinf(f.h) else math.inf
            for name, f in faces.items()
            if f.h > 0
        )
        if through == 0:
            return math.inf
        capacity = float(np.median(self.table.capacity))
        k = float(self.material.conductivity.min())
        size = min(a.size for a in self.body.axes)
        return capacity * (self.body.volume() / through + size**2 / (2 * k))

    def at(self, times: Array, where: At) -> Array:
        """Temperatures, °C: first index the time (s, rising), then one index for each axis."""
        times = np.asarray(times, dtype=float)
        if len(times):
            self._go_to(float(times[-1]))
        found: list[Array] = []
        known: dict[int, Array] = {}
        for time in times:
            after = min(bisect.bisect_left(self._times, time), len(self._times) - 1)
            before = max(after - 1, 0)
            for number in (before, after):
                if number not in known:
                    known[number] = self._points(number, where)
            apart = self._times[after] - self._times[before]
            share = (time - self._times[before]) / apart if apart > 0 else 1.0
            found.append(known[before] * (1 - share) + known[after] * share)
        return np.asarray(np.clip(np.array(found), *self.bounds))

    # -- going on -------------------------------------------------------------------------------

    def _stage_at(self, time: float) -> int:
        return max(bisect.bisect_right(self._began, time) - 1, 0)

    def _next_break(self, time: float) -> float:
        """When a stage ends or a medium bends next."""
        number = self._stage_at(time)
        began = self._began[number]
        ahead = [began + t for f in self.stages[number].faces.values() for t in f.course.breaks()]
        ahead += self._began
        return min((t for t in ahead if t > time * (1 + 1e-12) + 1e-9), default=math.inf)

    def _go_to(self, end: float) -> None:
        while self._times[-1] < end:
            now = self._times[-1]
            wall = self._next_break(now)
            step = min(self._step, wall - now, max(end, now + self._step) - now)
            try:
                celsius, heat, gained = self._stepped(now, step)
            except Unsolved:
                self._step = step / 2
                if self._step < 1e-6:
                    raise
                continue
            change = float(np.max(np.abs(celsius - self._celsius)))
            if change > 2.5 * self._most_change and step > 1e-3:
                self._step = step / 2
                continue
            self._celsius, self._heat = celsius, heat
            self.gained += gained
            reached = now + step
            self._times.append(wall if math.isclose(reached, wall, rel_tol=1e-14) else reached)
            self._fields.append(celsius.copy())
            if change < self._most_change and step >= self._step:
                self._step = min(step * 1.4, max(self._times[-1], step) / (12 * self._finer) + step)

    def _stepped(self, now: float, step: float) -> tuple[Array, Array, float]:
        number = self._stage_at(now)
        stage, began = self.stages[number], self._began[number]
        inner = _GAMMA * step
        at_middle, at_end = now - began + inner, now - began + step
        almost = at_end - 1e-9 * step  # a step of the medium at the end is of the next step
        celsius, heat, flow = self._settled(self._heat, inner, stage, at_middle)
        moved = self._heat + (1 - _GAMMA) * step * flow / self.grid.volumes
        celsius, heat, last = self._settled(moved, inner, stage, almost)
        whole = (1 - _GAMMA) * float(flow.sum()) + _GAMMA * float(last.sum())
        return celsius, heat, whole * step

    def _settled(
        self, base: Array, inner: float, stage: Stage, time: float
    ) -> tuple[Array, Array, Array]:
        """Temperatures, enthalpies and the heat gained, W, with enthalpy = base + inner·gained."""
        volumes, table = self.grid.volumes, self.table
        heat, change_of = base.copy(), volumes * table.least_capacity
        celsius = table.celsius_at(heat)
        for _ in range(_MOST_ROUNDS):
            flows = _Conductances(self.grid, table, stage, celsius)
            gained = flows.gained(celsius, time)
            left = volumes * (base - heat) + inner * gained
            capacity = table.capacity_at(heat)
            if float(np.max(np.abs(left) / change_of)) < _CLOSE:
                exact = volumes * (heat - base) / inner
                return celsius, heat, exact
            change = _solved(volumes * capacity, inner, flows, left)
            heat = heat + capacity * change
            celsius = table.celsius_at(heat)
        raise Unsolved

    # -- reading --------------------------------------------------------------------------------

    def _points(self, number: int, where: At) -> Array:
        """Temperatures of one moment at the positions asked for."""
        time, field = self._times[number], self._fields[number]
        stage_number = self._stage_at(time - 1e-9 if number else time)
        stage, began = self.stages[stage_number], self._began[stage_number]
        for axis, at in enumerate(where):
            line, dimension = self.grid.lines[axis], self.body.axes[axis]
            if at is None:
                field = _mean(field, line, axis)
                continue
            wanted = positions_in(dimension, self.grid.even[axis], np.asarray(at, dtype=float))
            padded = self._padded(field, axis, dimension, stage, time - began)
            field = _interpolated(padded, line, axis, wanted)
        return field

    def _padded(
        self, field: Array, axis: int, dimension: Dimension, stage: Stage, time: float
    ) -> Array:
        """The cells with the faces' own temperatures before and behind them."""
        ends = stage.of(dimension)
        closed = self.grid.even[axis] or len(dimension.faces) == 1
        first = Face(0.0, ends[0].course) if closed else ends[0]
        cells = np.moveaxis(field, axis, 0)
        low = self._surface(cells[0], cells[1], axis, first, time)
        high = self._surface(cells[-1], cells[-2], axis, ends[1], time)
        return np.moveaxis(np.concatenate((low[None], cells, high[None])), 0, axis)

    def _surface(self, near: Array, next_one: Array, axis: int, face: Face, time: float) -> Array:
        if face.h == 0:
            return np.asarray((9 * near - next_one) / 8)
        medium = face.course.before(time)
        if math.isinf(face.h):
            return np.full_like(near, medium)
        inside = 2 * self.table.conductivity_at(near) / self.grid.lines[axis].step
        return np.asarray((face.h * medium + inside * near) / (face.h + inside))


def _mean(field: Array, line: _Line, axis: int) -> Array:
    weights = line.volumes / line.volumes.sum()
    mean = np.asarray(np.tensordot(field, weights, axes=(axis, 0)), dtype=float)
    return mean.reshape(*mean.shape[:axis], 1, *mean.shape[axis:])


def _interpolated(padded: Array, line: _Line, axis: int, wanted: Array) -> Array:
    known = np.concatenate(([0.0], line.middles / line.size, [1.0]))
    after = np.clip(np.searchsorted(known, wanted), 1, len(known) - 1)
    share = (wanted - known[after - 1]) / (known[after] - known[after - 1])
    low, high = np.take(padded, after - 1, axis=axis), np.take(padded, after, axis=axis)
    share = _along(share, axis, padded.ndim)
    return np.asarray(low * (1 - share) + high * share)
