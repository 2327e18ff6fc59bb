"""A prediction: when the slowest point reaches a temperature, and the course there, as a band.

Each input is taken to its edges by itself; what that does to a time is added in squares (the inputs
are off independently), to the slow side and to the fast side apart. So the band holds the likely
figure, and a tighter input never widens it. It is a prediction: it is no limit, and nothing passes
by it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from generator.heat.bodies import Body, Stage, is_even
from generator.heat.case import AS_STATED, Case, Place, Turn
from generator.heat.properties import Array, Impossible
from generator.heat.ranges import Range
from generator.heat.series import Series
from generator.heat.volumes import CELLS, Volumes

Solver = Series | Volumes
NEVER = math.inf
_POINTS = {0: 1, 1: 33, 2: 13, 3: 9}
_LONGEST = 30 * 24 * 3600.0
ROWS = 61
"""How many moments a course is given at, the first and the last included."""
_BAND_CELLS = {1: 40, 2: 16, 3: 10}
"""Cells for the edges of a band, where differences alone count."""


@dataclass(frozen=True)
class Reached:
    """When all of a body has reached a temperature: seconds since it came to its last place, and
    where it was the last to, as shares of each axis."""

    target: float
    seconds: float
    where: tuple[float, ...]


@dataclass(frozen=True)
class Run:
    """One course: the solver, when the last place begins or its clock starts, the earliest time
    that is told well; and how long it had been there when times begin to count, s."""

    solver: Solver
    began: float
    first: float
    came: float = 0.0


@dataclass(frozen=True)
class Target:
    """A target with its band, s: infinite where it may never be reached; and the slowest point."""

    celsius: float
    seconds: Range
    where: tuple[float, ...]


@dataclass(frozen=True)
class Row:
    """A moment of the course at the slowest point: seconds since the start, °C."""

    seconds: float
    celsius: Range


@dataclass(frozen=True)
class Prediction:
    """What is predicted. ``before`` are the seconds spent in the places before the last; ``spread``
    what each input does to the last target's time on the slow side, s."""

    targets: tuple[Target, ...]
    rows: tuple[Row, ...]
    before: float
    slowest: tuple[float, ...]
    frozen: bool
    spread: tuple[tuple[str, float], ...]


def predict(case: Case, horizon: float | None = None) -> Prediction:
    """Predict a case, its course over ``horizon`` s (to the last target's time and a quarter more
    where it isn't given). Raises Impossible for what no body can do."""
    likely = solved(case, AS_STATED)
    runs = [(turn, solved(case, turn, coarse=True)) for pair in case.turns() for turn in pair]
    basis = solved(case, AS_STATED, coarse=True) if case.freezes and runs else likely
    targets, spread = [], dict[str, float]()
    for celsius in case.targets:
        at = _reached(likely, case, celsius)
        compared = at if basis is likely else _reached(basis, case, celsius)
        times = [
            (turn.name, _reached(run, case, celsius, at.seconds).seconds) for turn, run in runs
        ]
        band, spread = _band(at.seconds, compared.seconds, times)
        targets.append(Target(celsius, band, at.where))
    slowest = targets[-1].where if targets else _middle(case.body)
    rows = _rows(likely, basis, runs, horizon or _end(likely, targets), slowest)
    worst = sorted(((n, s) for n, s in spread.items() if s > 0), key=lambda pair: -pair[1])
    return Prediction(tuple(targets), rows, likely.began, slowest, case.freezes, tuple(worst))


def time_to(case: Case, target: float) -> Reached:
    """The likely time to a target alone, without a band."""
    return _reached(solved(case, AS_STATED), case, target)


# -- one course -----------------------------------------------------------------------------------


def solved(case: Case, turn: Turn, coarse: bool = False) -> Run:
    """The course of a case with one thing otherwise: each place for as long as it says, or until
    all of the body has reached what it says."""
    spent: list[float] = []
    began = 0.0
    for number, place in enumerate(case.places[:-1]):
        seconds = place.seconds
        if seconds is None:
            if place.until is None:
                raise Impossible("a place before the last has no end")
            solver, first = _solver(case, turn, [*spent, None], number + 1, coarse)
            run = Run(solver, began, first)
            seconds = _reached(run, case, place.until).seconds
            if math.isinf(seconds):
                raise Impossible(f"it never reaches {place.until:g} °C, so that it never moves on")
        spent.append(seconds)
        began += seconds
    solver, first = _solver(case, turn, [*spent, case.places[-1].seconds], None, coarse)
    run = Run(solver, began, first)
    if case.clock is None or case.start.likely + turn.start <= case.clock:
        return run
    came = _reached(run, case, case.clock).seconds
    return replace(run, began=began + came, came=came)


def _solver(
    case: Case, turn: Turn, spent: Sequence[float | None], upto: int | None, coarse: bool
) -> tuple[Solver, float]:
    body = case.body.scaled(turn.size)
    places = case.places[:upto]
    stages = [
        place.stage(turn, None if place is places[-1] else s) for place, s in _pairs(places, spent)
    ]
    start = case.start.likely + turn.start
    least = min(a.size / (2 if a.kind == "slab" else 1) for a in body.axes)
    if case.freezes:
        material = case.stuff.material(turn)
        first = 0.01 * least**2 * float(material.heat[-1] - material.heat[-2])
        first /= float(material.celsius[-1] - material.celsius[-2]) * float(
            material.conductivity.max()
        )
        cells = (_BAND_CELLS if coarse else CELLS)[len(body.axes)]
        finer = 0.5 if len(body.axes) > 1 else 1.0
        return Volumes(body, material, stages, start, first, cells, finer), first
    solids = [case.stuff.solid(turn, t) for t in _property_temperatures(case, places)]
    first = 0.01 * least**2 / max(s.diffusivity for s in solids)
    return Series(body, solids, stages, start, first), first


def _pairs(
    places: Sequence[Place], spent: Sequence[float | None]
) -> list[tuple[Place, float | None]]:
    return list(zip(places, spent, strict=True))


def _property_temperatures(case: Case, places: Sequence[Place]) -> list[float]:
    """The temperature at which each place's properties are taken, °C: two thirds of the way to the
    medium when it heats, 10 °C above it when it cools. Left so, constant properties are about 1 %
    off those that change all the way."""
    found, at = [], case.start.likely
    for place in places:
        medium = place.medium(case.body)
        if math.isnan(medium):
            found.append(at)
            continue
        heats = medium > at
        chosen = medium - 0.35 * (medium - at) if heats else min(medium + 10, at)
        found.append(min(max(chosen, 0.0), 150.0))
        at = place.until if place.until is not None else medium
    return found


def _middle(body: Body) -> tuple[float, ...]:
    return tuple(0.5 if axis.kind == "slab" else 0.0 for axis in body.axes)


def _grid(run: Run, stages: Sequence[Stage]) -> list[Array]:
    """Where to look for the slowest point: the middle of what is alike on both sides, all along an
    axis that isn't; everywhere once a body has changed its place."""
    body, moved = run.solver.body, len(stages) > 1
    open_axes = [moved or (axis.kind == "slab" and not is_even(axis, stages)) for axis in body.axes]
    count = _POINTS[sum(open_axes)]
    found = []
    for axis, is_open in zip(body.axes, open_axes, strict=True):
        middle = 0.5 if axis.kind == "slab" else 0.0
        if not is_open:
            found.append(np.array([middle]))
        elif axis.kind != "slab" or is_even(axis, stages):
            found.append(np.linspace(middle, 1.0, count // 2 + 1))
        else:
            found.append(np.linspace(0.0, 1.0, count))
    return found


@dataclass(frozen=True)
class _Search:
    """The slowest point of a course on its way to a target: the coldest of a body that heats, the
    warmest of one that cools."""

    run: Run
    target: float
    heats: bool

    def slowest(self, times: Array, where: Sequence[Array]) -> Array:
        found = self.run.solver.at(times, tuple(where)).reshape(len(times), -1)
        return np.asarray(found.min(axis=1) if self.heats else found.max(axis=1))

    def there(self, values: Array) -> npt.NDArray[np.bool_]:
        return values >= self.target if self.heats else values <= self.target

    def extreme(self, time: float, grid: Sequence[Array]) -> tuple[float, ...]:
        """Where it is at a time, of the positions of a grid."""
        values = self.run.solver.at(np.array([time]), tuple(grid))[0]
        flat = int(np.argmin(values) if self.heats else np.argmax(values))
        at = np.unravel_index(flat, values.shape)
        return tuple(float(axis[i]) for axis, i in zip(grid, at, strict=True))

    def zoomed(self, time: float, grid: Sequence[Array]) -> list[Array]:
        """Positions round it, closer together."""
        found = []
        for positions, middle in zip(grid, self.extreme(time, grid), strict=True):
            if len(positions) == 1:
                found.append(positions)
                continue
            step = float(positions[1] - positions[0])
            found.append(np.clip(np.linspace(middle - step, middle + step, 9), 0.0, 1.0))
        return found

    def bracket(self, grid: Sequence[Array], near: float) -> tuple[float, float] | None:
        """Two times between which the target is reached, or None if it never is. ``near`` is a time
        it may be near, s, infinite where none is known."""
        run = self.run
        if isinstance(run.solver, Series) and 0 < near < NEVER and _stays(run.solver.stages[-1]):
            times = run.began + near * np.geomspace(0.4, 2.5, 12)
            hits = self.there(self.slowest(times, grid))
            if hits.any() and not hits[0]:
                at = int(np.argmax(hits))
                return (float(times[at - 1]), float(times[at]))
        lasting = run.solver.steady_time
        if math.isinf(lasting):
            return None
        before, width = run.began, max(run.first, lasting / 50)
        if isinstance(run.solver, Series):  # where it ends is known at once
            late = run.began + _last_break(run.solver) + 60 * lasting
            if not self.there(self.slowest(np.array([late]), grid)).all():
                return None
        limit = run.began + min(_LONGEST, 400 * lasting + _last_break(run.solver))
        while before < limit:
            times = np.linspace(before, before + width, 17)
            hits = self.there(self.slowest(times, grid))
            if hits.any():
                at = int(np.argmax(hits))
                return (float(times[max(at - 1, 0)]), float(times[at]))
            before, width = before + width, min(width * 2, 4 * lasting)
        return None

    def crossing(self, bracket: tuple[float, float], grid: Sequence[Array]) -> float:
        """When the target is reached within two times: narrowed, then by a straight line."""
        low, high = bracket
        if high <= low:
            return low
        share = 0.0
        for _ in range(3):
            times = np.linspace(low, high, 17)
            values = self.slowest(times, grid)
            hits = self.there(values)
            if not hits.any():
                return high
            at = int(np.argmax(hits))
            if at == 0:
                return low
            low, high = float(times[at - 1]), float(times[at])
            share = float((self.target - values[at - 1]) / (values[at] - values[at - 1]))
        return low + share * (high - low)


def slowest_after(run: Run, times: Array) -> Array:
    """The coldest point of a body at each of some times, s since its start, wherever it is."""
    grid = _grid(run, run.solver.stages)
    return _Search(run, 0.0, True).slowest(times, grid)


def _reached(run: Run, case: Case, target: float, near: float = NEVER) -> Reached:
    """When all of the body has reached a target, counted from when it came to its last place;
    perhaps ``near`` a time, s."""
    if run.came and case.clock is not None and target >= case.clock:
        return Reached(target, 0.0, _middle(case.body))
    stages = run.solver.stages
    grid = _grid(run, stages)
    search = _Search(run, target, _heats(run, case, target, grid))
    never = Reached(target, NEVER, _middle(case.body))
    if _beyond(stages[-1], target, search.heats):
        return never
    bracket = search.bracket(grid, near)
    if bracket is None:
        return never
    for _ in range(2):
        time = search.crossing(bracket, grid)
        grid = search.zoomed(time, grid)
        bracket = (max(run.began, time - (bracket[1] - bracket[0])), bracket[1] * 1.02 + 1e-9)
    time = search.crossing(bracket, grid)
    return Reached(target, time - run.began, search.extreme(time, grid))


def _heats(run: Run, case: Case, target: float, grid: Sequence[Array]) -> bool:
    """Whether a body has to heat to reach a target: it is colder all through when it comes to its
    last place; or, where it is colder here and warmer there, what is round it is warmer."""
    at_first = run.solver.at(np.array([run.began]), tuple(grid))
    coldest, warmest = float(at_first.min()), float(at_first.max())
    if coldest < target < warmest:
        return case.places[-1].medium(case.body) > target
    return target >= warmest


def _beyond(stage: Stage, target: float, heats: bool) -> bool:
    """Whether no medium is warm, or cold, enough."""
    media = [f.course.extremes for f in stage.faces.values() if f.h > 0]
    if not media:
        return True
    if heats:
        return target >= max(high for _, high in media)
    return target <= min(low for low, _ in media)


def _stays(stage: Stage) -> bool:
    """Whether every medium stays as it is."""
    return all(len(face.course.points) == 1 for face in stage.faces.values())


def _last_break(solver: Solver) -> float:
    return max(f.course.points[-1][0] for f in solver.stages[-1].faces.values())


# -- the band -------------------------------------------------------------------------------------


def _band(
    likely: float, compared: float, times: Sequence[tuple[str, float]]
) -> tuple[Range, dict[str, float]]:
    """A time with its band: the squares of what each input does, added to each side apart."""
    slow: dict[str, float] = {}
    fast: dict[str, float] = {}
    for name, seconds in times:
        off = 0.0 if seconds == compared else seconds - compared
        slow[name] = max(slow.get(name, 0.0), off)
        fast[name] = max(fast.get(name, 0.0), 0.0 if math.isinf(compared) else -off)
    if math.isinf(likely):
        soonest = min((s for _, s in times), default=NEVER)
        return Range(soonest, NEVER, NEVER), {}
    late = math.sqrt(sum(s**2 for s in slow.values())) if slow else 0.0
    soon = math.sqrt(sum(f**2 for f in fast.values())) if fast else 0.0
    return Range(max(likely - soon, 0.0), likely, likely + late), slow


def banded(likely: float, times: Sequence[tuple[str, float]]) -> Range:
    """A time with its band, from the times with one thing otherwise, by the thing's name."""
    return _band(likely, likely, times)[0]


def _end(run: Run, targets: Sequence[Target]) -> float:
    """How far a course goes: past the last target, its slow edge where it has one."""
    known = [t.seconds.high if math.isfinite(t.seconds.high) else t.seconds.likely for t in targets]
    known = [s for s in known if math.isfinite(s)]
    if known:
        return run.began + max(known) * 1.1
    lasting = run.solver.steady_time
    ahead = 3 * lasting if math.isfinite(lasting) else 3600.0
    return run.began + min(ahead, _LONGEST)


def _rows(
    likely: Run, basis: Run, runs: Sequence[tuple[Turn, Run]], end: float, at: tuple[float, ...]
) -> tuple[Row, ...]:
    """The course at one point with its band."""
    times = np.linspace(0.0, end, ROWS)
    where = tuple(np.array([share]) for share in at)
    middle = _at(likely, times, where)
    compared = middle if basis is likely else _at(basis, times, where)
    warm: dict[str, Array] = {}
    cold: dict[str, Array] = {}
    for turn, run in runs:
        off = _at(run, times, where) - compared
        zero = np.zeros_like(times)
        warm[turn.name] = np.maximum(warm.get(turn.name, zero), off)
        cold[turn.name] = np.maximum(cold.get(turn.name, zero), -off)
    above = np.sqrt(sum((w**2 for w in warm.values()), np.zeros_like(times)))
    below = np.sqrt(sum((c**2 for c in cold.values()), np.zeros_like(times)))
    return tuple(
        Row(float(t), Range(float(m - b), float(m), float(m + a)))
        for t, m, a, b in zip(times, middle, above, below, strict=True)
    )


def _at(run: Run, times: Array, where: tuple[Array, ...]) -> Array:
    return run.solver.at(times + run.came, where).reshape(-1)
