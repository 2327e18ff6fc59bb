"""The core of a body with one medium all round it, in plain floats: the same series as
``heat.series`` without numpy, so that `check` and a page can ask it in a fraction of a millisecond.

It is for a body in one place whose medium stays as it is, whose faces are alike along each axis,
and that holds no ice: a pan in a refrigerator, a casing in ice water. The slowest point is then the
middle, and the temperature there a product of one sum an axis (Carslaw, Jaeger 1959, 1.15).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from generator.heat.bodies import Dimension, Kind
from generator.heat.case import AS_STATED, Case, Turn
from generator.heat.ranges import Range

TERMS = 6
"""Terms of each axis's sum: what is left out has died away at a Fourier number of 0.02."""
_SOON = 0.02


def fits(case: Case) -> bool:
    """Whether a case is of the kind this is for."""
    if len(case.places) > 1 or case.freezes:
        return False
    around = list(case.places[0].around.values())
    courses = {a.course for a in around}
    low, high = around[0].course.extremes
    alike = all(
        len({case.places[0].around[face].h for face in axis.faces}) == 1 for axis in case.body.axes
    )
    return len(courses) == 1 and low == high and alike


# -- eigenvalues ----------------------------------------------------------------------------------


def bessels(x: float) -> tuple[float, float]:
    """J0 and J1 by their power series, to 8 digits for the x asked here (below 20)."""
    quarter = -x * x / 4
    zero, one = 1.0, 1.0
    term = 1.0
    for n in range(1, 60):
        term *= quarter / (n * n)
        zero += term
        one += term / (n + 1)
        if abs(term) < 1e-14:
            break
    return zero, one * x / 2


def _off(kind: Kind, root: float, biot: float) -> tuple[float, float]:
    """What is nothing at an eigenvalue of half a slab, a cylinder, a sphere; and its slope."""
    if kind == "cylinder":
        zero, one = bessels(root)
        return root * one - biot * zero, root * zero + biot * one
    sine, cosine = math.sin(root), math.cos(root)
    if kind == "slab":
        return root * sine - biot * cosine, (1 + biot) * sine + root * cosine
    return (1 - biot) * sine - root * cosine, root * sine - biot * cosine


@lru_cache(maxsize=1)
def _zeros() -> tuple[tuple[float, float], ...]:
    """Each zero of J1, 0 first, with the next of J0: by bisection between multiples of π."""

    def zero(order: int, n: int) -> float:
        low, high = (n + order / 2 + 0.5) * math.pi, (n + order / 2 + 1) * math.pi
        sign = bessels(low)[order]
        for _ in range(50):
            middle = (low + high) / 2
            low, high = (middle, high) if bessels(middle)[order] * sign > 0 else (low, middle)
        return low

    ones = [0.0, *(zero(1, n) for n in range(TERMS - 1))]
    return tuple((one, zero(0, n)) for n, one in enumerate(ones))


def _brackets(kind: Kind) -> Sequence[tuple[float, float]]:
    if kind == "cylinder":
        return _zeros()
    width = 0.5 if kind == "slab" else 1.0
    return [(n * math.pi, (n + width) * math.pi) for n in range(TERMS)]


def _root(kind: Kind, biot: float, low: float, high: float) -> float:
    """The eigenvalue between two bounds: Newton's steps, halved where they would leave them."""
    dimension = {"slab": 1, "cylinder": 2, "sphere": 3}[kind]
    root = (low + high) / 2 if low else min(math.sqrt(dimension * biot), 0.9 * high)
    sign = math.copysign(1.0, _off(kind, high - 1e-9, biot)[0])
    for _ in range(60):
        value, slope = _off(kind, root, biot)
        if value * sign > 0:
            high = root
        else:
            low = root
        step = value / slope if slope else math.inf
        new = root - step
        new = new if low < new < high else (low + high) / 2
        if abs(new - root) <= 1e-10 * (1 + root):
            return new
        root = new
    return root


@lru_cache(maxsize=4096)
def _axis(kind: Kind, biot: float) -> tuple[tuple[float, float], ...]:
    """An axis's eigenvalues with what each is worth in the middle."""
    found = []
    for low, high in _brackets(kind):
        root = _root(kind, biot, low, high)
        found.append((root, _worth(kind, root)))
    return tuple(found)


def _worth(kind: Kind, root: float) -> float:
    if kind == "slab":
        return 4 * math.sin(root) / (2 * root + math.sin(2 * root))
    if kind == "sphere":
        return 4 * (math.sin(root) - root * math.cos(root)) / (2 * root - math.sin(2 * root))
    zero, one = bessels(root)
    return 2 / root * one / (zero**2 + one**2)


# -- one course -----------------------------------------------------------------------------------


@dataclass(frozen=True)
class Core:
    """The middle of a body in one medium: its start and the medium, °C; of each axis when it is
    felt there at all, s, and its terms (what each is worth, its rate 1/s)."""

    start: float
    medium: float
    axes: tuple[tuple[float, tuple[tuple[float, float], ...]], ...]
    began: float = 0.0
    """How long it has been there when times begin to count, s."""

    def at(self, seconds: float) -> float:
        """The temperature there, °C."""
        share = self._share(seconds + self.began)
        return self.medium + (self.start - self.medium) * share

    def _share(self, seconds: float) -> float:
        product = 1.0
        for felt, terms in self.axes:
            if seconds > felt:
                product *= min(sum(w * math.exp(-r * seconds) for w, r in terms), 1.0)
        return product

    def time_to(self, celsius: float) -> float:
        """When it is at a temperature, s: 0 where it is there at the start, infinite where it
        never is."""
        return max(self._time_to(celsius) - self.began, 0.0)

    def _time_to(self, celsius: float) -> float:
        if (self.start - celsius) * (self.start - self.medium) <= 0:
            return 0.0
        share = (celsius - self.medium) / (self.start - self.medium)
        slowest = sum(terms[0][1] for _, terms in self.axes)
        if share <= 0 or slowest <= 0:
            return math.inf
        worth = math.prod(terms[0][0] for _, terms in self.axes)
        low, high = 0.0, max(math.log(worth / share), 1.0) / slowest * 1.5
        first, last = math.log(1 / share), math.log(self._share(high) / share)
        at = max(math.log(worth / share) / slowest, high * 0.02)
        for _ in range(40):
            value = math.log(self._share(at) / share)
            if value > 0:
                low, first = at, value
            else:
                high, last = at, value
            if abs(value) < 1e-7:
                break
            step = at + value / slowest
            inside = low < step < high
            at = step if inside else (low * last - high * first) / (last - first)
        return at


def core_of(case: Case, turn: Turn = AS_STATED) -> Core:
    """The core of a case with one thing otherwise."""
    place = case.places[0]
    medium = place.around[case.body.faces[0]].course.last + turn.media
    start = case.start.likely + turn.start
    unturned = place.around[case.body.faces[0]].course.last
    solid = case.stuff.solid(turn, _property_temperature(case.start.likely, unturned))
    axes = []
    for dimension in case.body.axes:
        h = place.around[dimension.faces[-1]].face(turn).h
        axes.append(_terms(dimension, turn.size, h, solid.conductivity, solid.diffusivity))
    core = Core(start, medium, tuple(axes))
    if case.clock is None or start <= case.clock:
        return core
    return replace(core, began=core.time_to(case.clock))


def _terms(
    axis: Dimension, size: float, h: float, k: float, diffusivity: float
) -> tuple[float, tuple[tuple[float, float], ...]]:
    half = axis.size * size / (2 if axis.kind == "slab" else 1)
    if h == 0:
        return math.inf, ((1.0, 0.0),)
    rate = diffusivity / half**2
    terms = tuple((worth, root * root * rate) for root, worth in _axis(axis.kind, h * half / k))
    return _SOON / rate, terms


def _property_temperature(start: float, medium: float) -> float:
    """As ``heat.prediction`` chooses it."""
    heats = medium > start
    chosen = medium - 0.35 * (medium - start) if heats else min(medium + 10, start)
    return min(max(chosen, 0.0), 150.0)


# -- a band ---------------------------------------------------------------------------------------


def likely_times(case: Case, targets: Sequence[float]) -> list[float]:
    """The likely time to each target, s, without a band."""
    core = core_of(case)
    return [core.time_to(celsius) for celsius in targets]


@dataclass(frozen=True)
class Quick:
    """A quick prediction: the core as it likely goes, and at both edges of each input."""

    likely: Core
    turned: tuple[tuple[Core, Core], ...]

    def time_to(self, celsius: float) -> Range:
        """The time to a target with its band, s: the squares of what each input does, added to
        each side apart."""
        likely = self.likely.time_to(celsius)
        slow = fast = 0.0
        soonest = likely
        for pair in self.turned:
            times = [core.time_to(celsius) for core in pair]
            soonest = min(soonest, *times)
            if math.isfinite(likely):
                slow += max(*(t - likely for t in times), 0.0) ** 2
                fast += max(*(likely - t for t in times), 0.0) ** 2
        if math.isinf(likely):
            return Range(soonest, math.inf, math.inf)
        return Range(max(likely - math.sqrt(fast), 0.0), likely, likely + math.sqrt(slow))

    def at(self, seconds: float) -> Range:
        """The temperature at a time with its band, °C."""
        likely = self.likely.at(seconds)
        warm = cold = 0.0
        for pair in self.turned:
            found = [core.at(seconds) for core in pair]
            warm += max(*(t - likely for t in found), 0.0) ** 2
            cold += max(*(likely - t for t in found), 0.0) ** 2
        return Range(likely - math.sqrt(cold), likely, likely + math.sqrt(warm))


def quick(case: Case) -> Quick:
    """The quick prediction of a case that ``fits``."""
    return Quick(core_of(case), tuple(_turned(case)))


def _turned(case: Case) -> Iterator[tuple[Core, Core]]:
    for first, last in case.turns():
        yield core_of(case, first), core_of(case, last)
