"""The water of a dough on a day: from the day's temperatures, or the mixer's friction from a dough
that was measured."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from generator.composition.dough_water import (
    FREEZES,
    HOTTEST,
    Ice,
    friction_from,
    ice_in,
    ice_share,
    water_for,
)
from generator.files.finding import Refused
from generator.measures.temperature import Degree, Temperature, TemperatureDifference
from generator.measures.words import NARROW, breakable, listed, plain
from generator.records.ingredient import Ingredient
from generator.resolve.joined import House
from generator.sheet.composed import contents_in
from generator.sheet.doughs import Dough
from generator.sheet.sheet import Batch, BatchLine
from generator.sheet.walked import Walk

SOURCES = ("dough-water", "dough-ice")
_HALF = Fraction(1, 2)
_PLAIN = Fraction(99, 100)
"""From this share of water on, a liquid is the water that is warmed and iced."""
COLDEST, WARMEST = Fraction(-20), Fraction(60)
"""°C between which a flour, a room, a preferment, a tap and a dough are believed."""


@dataclass(frozen=True)
class Wanted:
    """What a formula wants of its dough: the temperature, the friction if it or its mixer states
    one, and the temperatures that are asked for beside the water's: flour, room, preferments."""

    temperature: Temperature
    friction: TemperatureDifference | None
    asked: tuple[str, ...]

    @property
    def count(self) -> int:
        """How many temperatures the mean is of, the water's with them."""
        return len(self.asked) + 1


@dataclass(frozen=True)
class Iced:
    """A line of water of one load with its share of ice, and how many loads there are."""

    line: BatchLine
    loads: int
    ice: Ice


@dataclass(frozen=True)
class DoughDay:
    """The water for a day: how warm, its ice by line where a tap's temperature is known, and what
    is to be said of it. ``measured``: the friction was worked out from a dough."""

    wanted: Wanted
    others: tuple[Temperature, ...]
    friction: TemperatureDifference
    measured: bool
    water: Temperature
    tap: Temperature | None
    share: Fraction | None
    lines: tuple[Iced, ...]
    notes: tuple[str, ...]


def wanted_of(walk: Walk, dough: Dough) -> Wanted | None:
    """What a formula wants of its dough; None where it doesn't say."""
    facts = walk.formula.formula.dough
    if facts is None or facts.temperature is None:
        return None
    friction = facts.friction or _of_the_mixer(walk, dough)
    return Wanted(facts.temperature, friction, ("flour", "room", *dough.preferments))


def _of_the_mixer(walk: Walk, dough: Dough) -> TemperatureDifference | None:
    """The friction of the mixer that the dough is kneaded with, the last before it is shaped."""
    machines = [s.step.machine for s in walk.steps[: dough.put - 1]]
    found = [m.friction for m in machines if m is not None and m.friction is not None]
    return found[-1] if found else None


def waters(house: House, dough: Dough, batch: Batch) -> tuple[BatchLine, ...]:
    """The lines of a batch that are plain water and go into the dough."""
    return tuple(
        line
        for line in batch.lines
        if line.step.number < dough.put
        and line.part not in dough.ahead
        and (facts := line.line.joined.ingredient) is not None
        and facts.form == "liquid"
        and contents_in(house, facts).shares["water"].low >= _PLAIN
    )


def other_liquids(house: House, dough: Dough, walk: Walk) -> tuple[str, ...]:
    """The names of what goes into the dough and is liquid or mostly water, plain water aside: milk,
    egg, cream. The rule counts all liquid as one, as warm as the water."""
    names = [
        line.joined.name
        for walked in walk.steps
        if walked.step.number < dough.put
        for line in walk.lines
        if line.joined.part in walked.step.parts and line.joined.part not in dough.ahead
        if (facts := line.joined.ingredient) is not None and _other_liquid(house, facts)
    ]
    return tuple(dict.fromkeys(names))


def _other_liquid(house: House, facts: Ingredient) -> bool:
    water = contents_in(house, facts).shares["water"]
    if facts.plant == "oil" or (facts.form == "liquid" and water.low >= _PLAIN):
        return False
    wet = water.low >= _HALF and facts.form != "dry"
    return wet or (facts.form == "liquid" and water.high >= _HALF)


def liquid_words(names: Sequence[str]) -> str:
    """Which liquid the temperature is of, where it isn't all water; empty where it is."""
    if not names:
        return ""
    one = len(names) == 1
    return (
        f"This is for all the liquid: the water with {listed(list(names))}. "
        f"{'Does it go' if one else 'Do they go'} in colder? Then the water must be warmer: mix "
        "them first, and bring the mix to this temperature."
    )


def friction_of(
    wanted: Wanted, others: Sequence[Temperature], dough: Temperature, water: Temperature
) -> TemperatureDifference:
    """The friction that a measured dough shows. Raises Refused for readings it can't come from."""
    known = [_believed(name, one).celsius for name, one in zip(wanted.asked, others, strict=True)]
    _believed("dough", dough), _believed("water", water)
    celsius = friction_from(dough.celsius, known, water.celsius)
    if celsius < 0:
        raise Refused(
            "friction-below-zero",
            COOLS,
            "Check them: dough, flour, room, preferment, water.",
        )
    return TemperatureDifference(celsius, dough.unit)


def day_of(
    house: House,
    dough: Dough,
    wanted: Wanted,
    batch: Batch,
    others: Sequence[Temperature],
    tap: Temperature | None,
    measured: TemperatureDifference | None,
    liquids: Sequence[str] = (),
) -> DoughDay:
    """The water of a batch for a day's temperatures, in the order of ``wanted.asked``. ``measured``
    is a friction that replaces the stated one, ``liquids`` the names of what else is liquid. Raises
    Refused where one is missing or can't be."""
    friction = measured or wanted.friction
    if friction is None:
        raise Refused(
            "friction-missing",
            "How much does the mixer warm this dough?",
            "Give --friction, or --dough and --water of a dough you measured. Then write it under "
            "`dough` in the formula, or at the mixer.",
        )
    known = [_believed(name, one).celsius for name, one in zip(wanted.asked, others, strict=True)]
    unit = house.kitchen.temperature
    celsius = water_for(wanted.temperature.celsius, known, friction.celsius)
    share = _share(tap, celsius)
    lines = [] if share is None else _iced(waters(house, dough, batch), share)
    water = Temperature(celsius, unit)
    plain_water = bool(waters(house, dough, batch))
    notes = [*_notes(water, tap, share, plain_water, unit)]
    if plain_water and (others_too := liquid_words(liquids)):
        notes.append(others_too)
    return DoughDay(
        wanted,
        tuple(others),
        friction,
        measured is not None,
        water,
        tap,
        share,
        tuple(lines),
        tuple(notes),
    )


def _believed(name: str, typed: Temperature) -> Temperature:
    """A temperature that can be meant. Raises Refused for any other."""
    if COLDEST <= typed.celsius <= WARMEST:
        return typed
    other = typed.swapped()
    fits = COLDEST <= other.celsius <= WARMEST
    write = (breakable(str(other)),) if fits else ()
    help = "Check the figure and its scale."
    raise Refused("temperature-implausible", f"{name}: {typed}. Is that right?", help, write)


def _share(tap: Temperature | None, wanted: Fraction) -> Fraction | None:
    """The share of ice; None where the tap's temperature isn't known or no ice is cold enough.
    Raises Refused for a tap below freezing."""
    if tap is None:
        return None
    if _believed("tap", tap).celsius < FREEZES:
        raise Refused("tap-frozen", f"tap: {tap} is ice.", "Measure the tap again.")
    return ice_share(tap.celsius, wanted)


def _iced(lines: Sequence[BatchLine], share: Fraction) -> list[Iced]:
    found: list[Iced] = []
    for line in lines:
        scale = line.weighing.scale
        step = scale.division if scale is not None else Fraction(1)
        found.append(Iced(line, line.loads, ice_in(line.weighing.grams, share, step)))
    return found


def hot_words(unit: Degree) -> str:
    """That water is too hot for yeast."""
    degrees = plain(Temperature(HOTTEST, unit).in_unit(unit), 1)
    return (
        f"Water of {degrees}{NARROW}{unit} and hotter begins to kill yeast. Warm the flour or the "
        "room first, and measure again."
    )


NO_ICE = "Even all of the water as ice isn't cold enough. Cool the flour first."
ONLY_ICE = "No water is so cold: it takes ice."
ASK_TAP = "Is the tap warmer than that? Its temperature says how much ice to take."
NO_WATER = "No line of this dough is plain water: bring its liquid to this temperature."
COOLS = "By these readings the mixer cools the dough."


def _notes(
    water: Temperature,
    tap: Temperature | None,
    share: Fraction | None,
    has_water: bool,
    unit: Degree,
) -> Iterator[str]:
    """What is to be said of the water."""
    if water.celsius >= HOTTEST:
        yield hot_words(unit)
    if tap is not None and share is None:
        yield NO_ICE
    elif water.celsius < FREEZES:
        yield ONLY_ICE
    if tap is None:
        yield ASK_TAP
    if not has_water:
        yield NO_WATER
