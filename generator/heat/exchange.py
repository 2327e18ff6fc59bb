"""Food and what is round it, each changing the other: a bath that a cold load cools, ice that
melts, air that a warm load heats, against a machine that can do only so much.

The mean temperature of a body answers a change of its medium in a way that doesn't depend on when
it is (Duhamel; Carslaw, Jaeger 1959, 1.14). That answer is worked out once, by the series. Then the
heat is balanced step by step: what the food takes is what the medium loses and the machine gives,
so that energy closes by construction. What comes out is the medium's course, in straight lines;
the same series predicts the food in it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from generator.heat.bodies import Course, Face, Stage
from generator.heat.case import AS_STATED, Case, Stated
from generator.heat.constituents import Impossible, Solid, unfrozen
from generator.heat.loads import FUSION, WATER_HEAT
from generator.heat.properties import Array
from generator.heat.series import Series

STEPS, _FINE = 240, 8
"""Steps of the balance, and parts of each in which the answer of the body is summed."""
STRAIGHT = 0.05
"""How far the straight lines of a course may be off it, °C."""
_SWING = 100.0


@dataclass(frozen=True)
class Store:
    """What is round the food: its temperature at first and the one it is held at, °C; the water in
    it and the ice in that, kg; and the most heat a machine gives it, or takes from it, W. Air has
    no water: its own heat is nothing beside the food's. Raises Impossible."""

    start: float
    held_at: float
    power: float
    water: float = 0.0
    ice: float = 0.0

    def __post_init__(self) -> None:
        if min(self.power, self.water, self.ice) < 0:
            raise Impossible("a power, or water or ice, below nothing")
        if self.ice > 0 and self.start != 0:
            raise Impossible("ice in water that isn't at 0 °C")

    @property
    def capacity(self) -> float:
        """J/K, once its ice has melted."""
        return (self.water + self.ice) * WATER_HEAT


@dataclass(frozen=True)
class Moved:
    """A medium that a load has moved: times s, and how warm it is there, °C."""

    times: tuple[float, ...]
    medium: tuple[float, ...]

    @property
    def course(self) -> Course:
        """The medium's course in as few straight lines as are within 0.05 °C of it."""
        points = list(zip(self.times, self.medium, strict=True))
        kept = sorted(_bends(points, 0, len(points) - 1) | {0, len(points) - 1})
        return Course(tuple(points[n] for n in kept))

    def furthest(self, held_at: float, over: float = 0.0) -> tuple[float, float]:
        """How far the medium gets from where it is held, °C (with its sign), as a mean over so many
        seconds, and when that begins, s."""
        step = self.times[1]
        count = min(max(round(over / step), 1), len(self.times))
        off = np.array(self.medium) - held_at
        means = np.convolve(off, np.full(count, 1 / count), mode="valid")
        worst = int(np.argmax(np.abs(means)))
        return float(means[worst]), self.times[worst]

    def back_after(self, held_at: float, within: float) -> float | None:
        """When the medium is back within so many °C of where it is held, for good; None if it
        isn't by the end."""
        pairs = zip(self.times, self.medium, strict=True)
        late = [t for t, c in pairs if abs(c - held_at) > within]
        if not late:
            return 0.0
        after = [t for t in self.times if t > late[-1]]
        return after[0] if after else None


@dataclass(frozen=True)
class Exchange(Moved):
    """How a balance goes: the food's mean at each time, °C, and the ice left, kg; what the food
    took, what the medium took (melting counts) and what the machine gave by the end, J."""

    food: tuple[float, ...]
    ice: tuple[float, ...]
    food_took: float
    medium_took: float
    machine_gave: float

    def ice_gone(self) -> float | None:
        """When the last ice has melted, s; None where some is left."""
        return next((t for t, i in zip(self.times, self.ice, strict=True) if i <= 0), None)


def _bends(points: Sequence[tuple[float, float]], first: int, last: int) -> set[int]:
    """The points a line from one to another has to bend at, so as not to be off by more than
    ``STRAIGHT``."""
    if last - first < 2:
        return set()
    (t0, c0), (t1, c1) = points[first], points[last]
    off = [abs(c - c0 - (c1 - c0) * (t - t0) / (t1 - t0)) for t, c in points[first + 1 : last]]
    worst = max(range(len(off)), key=off.__getitem__)
    if off[worst] <= STRAIGHT:
        return set()
    at = first + 1 + worst
    return {at} | _bends(points, first, at) | _bends(points, at, last)


def exchange(case: Case, kilos: float, store: Store, seconds: float) -> Exchange:
    """What a load of so many kg of a case's food and the medium at most of its surface do to each
    other, over so many seconds. All the heat of the food goes into that medium, or comes out of it.
    Raises Impossible for a load of nothing."""
    if not kilos > 0 or not seconds > 0:
        raise Impossible("a load of nothing")
    course = main_course(case)
    celsius = (case.start.likely + course.last) / 2
    solid = case.stuff.solid(AS_STATED, celsius)
    heat = kilos * _specific(case, celsius)
    answer, sums = _answer(case, solid, seconds)
    return _balance(case.start.likely, heat, store, seconds, answer, sums)


def main_course(case: Case) -> Course:
    """The course of the medium at most of the surface."""
    areas, around = case.body.areas(), case.places[-1].around
    by_course: dict[Course, float] = {}
    for face, one in around.items():
        by_course[one.course] = by_course.get(one.course, 0.0) + areas[face]
    return max(by_course, key=lambda c: by_course[c])


def _specific(case: Case, celsius: float) -> float:
    """J/(kg K)."""
    stuff = case.stuff
    if isinstance(stuff, Stated):
        return stuff.capacity.likely / stuff.density
    return unfrozen(stuff.composition, max(celsius, 0.0)).specific_heat


def _answer(case: Case, solid: Solid, seconds: float) -> tuple[Array, Array]:
    """How the mean of a body answers a medium that steps from 0 to 1 at the start: at each step,
    and its mean over each step."""
    around = case.places[-1].around
    faces = {f: Face(a.h.likely, Course.constant(_SWING)) for f, a in around.items()}
    fine = STEPS * _FINE
    times = np.linspace(0.0, seconds, fine + 1)
    series = Series(case.body, [solid], [Stage(faces)], 0.0, max(seconds / fine / 4, 1e-3))
    mean = series.at(times, (None,) * len(case.body.axes)).reshape(-1) / _SWING
    parts = (mean[1:] + mean[:-1]) / 2
    return mean[::_FINE], parts.reshape(STEPS, _FINE).mean(axis=1)


@dataclass
class _Load:
    """A load in one step of the balance: its heat J/K, its mean now, and at the end of the step
    where the medium stays as it is, °C; and how far that follows the medium."""

    heat: float
    now: float
    then: float
    follows: float

    def takes(self, change: float) -> float:
        """What it takes while the medium changes by so many °C, J."""
        return self.heat * (self.then + self.follows * change - self.now)


def _settled(store: Store, within: float, medium: float, load: _Load, most: float) -> float:
    """Where the medium is at the end of a step, °C. ``within`` is what it has taken so far, J; the
    machine gives it as much as holds it, up to ``most``, J, or takes as much."""
    needed = _taken(store, within, medium, store.held_at) + load.takes(store.held_at - medium)
    heater = store.held_at > load.now
    work = min(max(needed, 0.0 if heater else -most), most if heater else 0.0)
    if work == needed:
        return store.held_at
    left = _to_melt(store, within)
    if left > 0:
        taken = work - load.takes(-medium)  # while it stays at 0 °C
        if taken <= left:
            return 0.0
        return (taken - left) / (store.capacity + load.heat * load.follows)
    spare = store.capacity + load.heat * load.follows
    return medium + (work - load.takes(0.0)) / spare


def _to_melt(store: Store, within: float) -> float:
    """The heat that its ice still takes up, J."""
    return max(store.ice * FUSION - within, 0.0) if store.ice else 0.0


def _taken(store: Store, within: float, medium: float, celsius: float) -> float:
    """What the medium takes on its way to a temperature, J. Water with ice in it stays at 0 °C."""
    left = _to_melt(store, within)
    if left > 0 and celsius <= 0:
        return 0.0
    return left + store.capacity * (celsius - medium)


def _balance(
    start: float, heat: float, store: Store, seconds: float, answer: Array, sums: Array
) -> Exchange:
    """The balance, step by step: ``answer`` and ``sums`` of the body, ``heat`` J/K of the load."""
    step = seconds / STEPS
    rises: Array = np.zeros(STEPS)
    begin = _at_once(start, heat * float(answer[1]), store, store.power * step)
    medium, food, ice = [begin], [start], [store.ice]
    within, gave = 0.0, 0.0
    for number in range(STEPS):
        known = start + (begin - start) * float(answer[number + 1])
        known += float(rises[:number] @ sums[number:0:-1])
        load = _Load(heat, food[-1], known, float(sums[0]))
        then = _settled(store, within, medium[-1], load, store.power * step)
        rises[number] = then - medium[-1]
        took = load.takes(then - medium[-1])
        change = _warmed(store, within, medium[-1], then, took)
        within += change
        gave += change + took
        medium.append(then)
        food.append(known + float(sums[0]) * (then - medium[-2]))
        ice.append(_to_melt(store, within) / FUSION)
    times = tuple(step * n for n in range(STEPS + 1))
    whole = heat * (food[-1] - start)
    return Exchange(times, tuple(medium), tuple(food), tuple(ice), whole, within, gave)


def _at_once(start: float, heat: float, store: Store, most: float) -> float:
    """Where a medium without a heat of its own is from the beginning, °C: as near to where it is
    held as the machine brings it in the first step. ``heat`` is what the load takes then, J/K."""
    if store.capacity > 0:
        return store.start
    if store.held_at > start:
        return min(store.held_at, start + most / heat)
    return max(store.held_at, start - most / heat)


def _warmed(store: Store, within: float, before: float, then: float, food: float) -> float:
    """What the medium has taken in a step, J: of melting ice what the food gave, else by its
    temperature."""
    left = _to_melt(store, within)
    if left <= 0:
        return store.capacity * (then - before)
    return -food if then <= 0 else left + store.capacity * then
