"""A whole load of a formula in what it is chilled or cooked in: how far it lifts a refrigerator,
cools a bath or an oven, melts ice; and how the food then goes.

It needs what the equipment says of itself: `power`, `water`, `ice`; or how far a load that was
measured lifted it (`pull_up`), which goes before its power. A machine is taken to do a
fifth less than its plate says. Nothing else in it is counted, nor what a room or a door lets in.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

from generator.heat.bodies import Course
from generator.heat.exchange import Moved, Store, exchange, main_course
from generator.heat.in_course import reached_in
from generator.heat.measured import BEYOND, OTHER_VESSELS, Measured
from generator.heat.prediction import Target
from generator.heat.ranges import Range
from generator.records.equipment import Cold, Machine
from generator.records.pull_up import PullUp
from generator.sheet.heat_case import FormulaCase
from generator.sheet.sheet import Batch

OF_ITS_PLATE = 0.8
"""The share of its stated power that a machine is taken to do. Ours."""
OVER = 900.0
_LONGEST = 16 * 3600.0
_SURFACE = 50.0


@dataclass(frozen=True)
class Load:
    """One batch, or as much of it as goes in at a time: kg, how the medium and the food go, what
    the medium is held at in them, °C, and how many °C of the machine one of them is; when each
    target is reached then, s. ``beside`` is its heat beside that of the load that was measured,
    where one was."""

    batch: Batch
    kilos: float
    exchange: Moved
    held_at: float
    scale: float
    in_water: bool
    reached: tuple[Range, ...]
    beside: float | None = None

    @property
    def beyond(self) -> bool:
        """Whether it brings more heat than was measured, so much that nothing is known of it."""
        return self.beside is not None and self.beside > BEYOND

    @property
    def off(self) -> tuple[float, float]:
        """How far the medium gets from where it is held, °C, and when, s. Of air as a mean over a
        quarter of an hour: what walls and shelves take up isn't counted, and it is over soon."""
        over = 0.0 if self.in_water or self.beside is not None else OVER
        degrees, seconds = self.exchange.furthest(self.held_at, over)
        return degrees * self.scale, seconds


def missing_of(asked: FormulaCase) -> tuple[str, ...]:
    """The keys of the equipment without which its load can't be predicted."""
    place = asked.place
    if isinstance(place, Cold) and place.pull_up is not None:
        return ()
    wanted = _WANTED.get(place.kind, ())
    missing = tuple(key for key in wanted if getattr(place, key, None) is None)
    return (*missing, "pull_up") if missing and place.kind in _AIR else missing


def can_be_known(asked: FormulaCase) -> bool:
    """Whether equipment of this kind has keys by which its load is predicted."""
    return asked.place.kind in _WANTED


_AIR = ("refrigerator", "blast-chiller")
_WANTED = {
    "ice-bath": ("water", "ice"),
    "oven": ("power",),
    **dict.fromkeys(_AIR, ("power",)),
    **dict.fromkeys(("bath", "pot", "kettle"), ("power", "water")),
}


def load_of(
    asked: FormulaCase, batch: Batch, targets: Sequence[Target], seconds: float
) -> Load | None:
    """A batch's load in a step's place over about so many seconds; ``targets`` are what one fill
    reaches in a medium that stays as it is. None where the equipment doesn't say enough, and for
    what freezes or thaws. Raises Impossible."""
    if (
        not can_be_known(asked)
        or missing_of(asked)
        or asked.kind not in ("chill", "cook")
        or asked.case.freezes
    ):
        return None
    kilos = asked.kilos(batch)
    if asked.place.capacity is not None:
        kilos = min(kilos, float(asked.place.capacity.value) / 1000)
    over = min(seconds, _LONGEST)
    if isinstance(asked.place, Cold) and asked.place.pull_up is not None:
        return _as_measured(
            asked, measured_of(asked.place, asked.place.pull_up), batch, kilos, over, targets
        )
    course = main_course(asked.case)
    store = _store(asked.place, course)
    found = exchange(asked.case, kilos, store, over)
    reached = reached_in(asked.case, found, targets)
    scale, in_water = _scale(asked, course), store.capacity > 0
    return Load(batch, kilos, found, store.held_at, scale, in_water, reached)


def measured_of(place: Cold, pull_up: PullUp) -> Measured:
    """What was measured of a chiller, from where it is held. Raises Impossible."""
    return Measured(
        float(pull_up.load.value) / 1000,
        float(pull_up.at.celsius),
        float(place.air.warmest.celsius),
        float(pull_up.lifted_to.celsius),
        float(pull_up.back.seconds),
    )


def _as_measured(
    asked: FormulaCase,
    measured: Measured,
    batch: Batch,
    kilos: float,
    seconds: float,
    targets: Sequence[Target],
) -> Load:
    """A load beside the one that was measured. Its late edge is as if it lifted the air further;
    with much more heat than was measured there is no late edge."""
    start = asked.case.start.likely
    beside = measured.heat_of(kilos, start)
    moved = measured.moved(beside, start, seconds)
    worse = measured.moved(beside * OTHER_VESSELS, start, seconds)
    pairs = zip(
        reached_in(asked.case, moved, targets),
        reached_in(asked.case, worse, targets),
        strict=True,
    )
    reached = tuple(
        Range(one.low, one.likely, inf if beside > BEYOND else max(one.high, late.high))
        for one, late in pairs
    )
    return Load(batch, kilos, moved, measured.held_at, 1.0, False, reached, beside)


def _store(place: Cold | Machine, course: Course) -> Store:
    """What takes up the heat, or gives it."""
    if place.kind == "ice-bath" and isinstance(place, Cold):
        assert place.ice is not None and place.water is not None
        ice, water = float(place.ice.value) / 1000, float(place.water.value) / 1000
        return Store(0.0, 0.0, 0.0, water, ice)
    assert place.power is not None
    power = OF_ITS_PLATE * float(place.power.watts)
    water = 0.0
    if isinstance(place, Machine) and place.water is not None:
        water = float(place.water.value) / 1000
    return Store(course.last, course.last, power, water)


def _scale(asked: FormulaCase, course: Course) -> float:
    """A wet surface in a hot oven counts as in a medium of 100 °C that brings as much heat: how
    many °C of the oven one of that medium is."""
    oven = asked.held_at
    if asked.place.kind != "oven" or oven is None or oven <= course.last:
        return 1.0
    return (oven - _SURFACE) / (course.last - _SURFACE)
