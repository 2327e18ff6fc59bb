"""A whole load of a formula in what it is chilled or cooked in: how far it lifts a refrigerator,
cools a bath or an oven, melts ice; and how the food then goes.

It needs what the equipment says of itself: `power`, `water`, `ice`. A machine is taken to do a
fifth less than its plate says. Nothing else in it is counted, nor what a room or a door lets in.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from generator.heat.bodies import Course
from generator.heat.exchange import Exchange, Store, exchange, main_course
from generator.heat.in_course import reached_in
from generator.heat.prediction import Target
from generator.heat.ranges import Range
from generator.records.equipment import Cold, Machine
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
    target is reached then, s."""

    batch: Batch
    kilos: float
    exchange: Exchange
    held_at: float
    scale: float
    in_water: bool
    reached: tuple[Range, ...]

    @property
    def off(self) -> tuple[float, float]:
        """How far the medium gets from where it is held, °C, and when, s. Of air as a mean over a
        quarter of an hour: what walls and shelves take up isn't counted, and it is over soon."""
        over = 0.0 if self.in_water else OVER
        degrees, seconds = self.exchange.furthest(self.held_at, over)
        return degrees * self.scale, seconds


def missing_of(asked: FormulaCase) -> tuple[str, ...]:
    """The keys of the equipment without which its load can't be predicted."""
    place = asked.place
    wanted = {"ice-bath": ("water", "ice"), "bath": ("power", "water")}
    wanted |= dict.fromkeys(("pot", "kettle"), wanted["bath"])
    return tuple(
        key for key in wanted.get(place.kind, ("power",)) if getattr(place, key, None) is None
    )


def load_of(
    asked: FormulaCase, batch: Batch, targets: Sequence[Target], seconds: float
) -> Load | None:
    """A batch's load in a step's place over about so many seconds; ``targets`` are what one fill
    reaches in a medium that stays as it is. None where the equipment doesn't say enough, and for
    what freezes or thaws. Raises Impossible."""
    if missing_of(asked) or asked.kind not in ("chill", "cook") or asked.case.freezes:
        return None
    kilos = float(batch.yields.total_g) / 1000
    if asked.place.capacity is not None:
        kilos = min(kilos, float(asked.place.capacity.value) / 1000)
    course = main_course(asked.case)
    store = _store(asked.place, course)
    found = exchange(asked.case, kilos, store, min(seconds, _LONGEST))
    reached = reached_in(asked.case, found, targets)
    scale, in_water = _scale(asked, course), store.capacity > 0
    return Load(batch, kilos, found, store.held_at, scale, in_water, reached)


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
