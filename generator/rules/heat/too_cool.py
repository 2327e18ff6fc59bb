"""A step that cooks in heat that cooks nothing: an oven at 40 °F, a core of 40 °C, a fryer at
180 °F.

Raw food of an animal has its limit at the core; batter, beans, vegetables and jam have none, and
went by the verb alone. Below 130 °F, the coolest at which the code cooks anything (Food Code
3-401.11(B)), no food is cooked, whatever it is: an error, but for what a guest orders undercooked.
In dry heat no hotter than boiling water the water of food doesn't leave it, and nothing is baked
or fried in a time as short as is written: that is asked about.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from generator.files.finding import Finding, Place
from generator.measures.rounding import half_up, to_side
from generator.measures.temperature import Temperature
from generator.measures.words import NARROW, breakable, plain
from generator.reference.row_kinds import CookRow
from generator.rules.basics.check_points import boiling_point
from generator.rules.basics.context import NOTHING, Outcome, StepContext, cited
from generator.rules.basics.raw_milk import raw_milk_in

COOLEST_COOKED = Temperature.of(130, "°F")
"""The coolest any food is cooked at: Food Code 3-401.11(B)(2)."""
_SLOW = 3600
"""Seconds from which dry heat below the boil is meant: a meringue, tomatoes, a confit. Ours."""
_MEANT = Temperature.of(300, "°C")
"""The hottest that is offered for a figure with its last digit missing."""


def too_cool_to_cook(context: StepContext) -> Outcome:
    """An error for heat that cooks nothing; a question about dry heat below the boil."""
    step = context.step
    microwave = step.machine is not None and step.machine.kind == "microwave"
    asked = step.effects & {"cooks", "bakes"} and not context.formula.formula.undercooked
    if not asked or microwave:
        return NOTHING
    found = tuple(_cooks_nothing(context)) or tuple(_bakes_nothing(context))
    return Outcome((), found) if found else NOTHING


def _cooks_nothing(context: StepContext) -> Iterator[Finding]:
    """What is set, or wanted at the core, below all that cooks."""
    step, at, core = context.step, context.step.step.at, _core(context)
    if at is not None and core is not None and at.warmest < core:
        return  # `plausible` says that it can't come to its core
    if at is not None and at.coolest < COOLEST_COOKED:
        yield _error(context, str(at), at.coolest, step.step.place("at"))
    elif core is not None and core < COOLEST_COOKED and not _has_its_limit(context):
        text = step.target.text if step.target is not None else ""
        yield _error(context, text, core, context.target_place())


def _has_its_limit(context: StepContext) -> bool:
    """Whether a row of the code holds the core of what is heated, and says more of it."""
    return bool(context.before.raw_animals or raw_milk_in(context.house, context.before))


def _core(context: StepContext) -> Temperature | None:
    """The core that is wanted, at its coolest."""
    target = context.step.target
    return target.coolest if target is not None and target.kind == "core" else None


def _error(context: StepContext, text: str, typed: Temperature, place: Place) -> Finding:
    celsius = plain(to_side(COOLEST_COOKED.celsius, "up", Fraction(1, 10)))
    least = f"{COOLEST_COOKED} ({celsius}{NARROW}°C)"
    words = f"{context.step.verb}: {text} cooks nothing. No food is cooked below {least}."
    write = tuple(place.fixed(fix) for fix in _tenfold(context, text, typed))
    help = "Check the figure and its scale. Is it only warmed? Use a verb that doesn't cook."
    return context.finding("too-cool-to-cook", "error", words, help, write, place, _source(context))


def _tenfold(context: StepContext, text: str, typed: Temperature) -> Iterator[str]:
    """The setting with the digit that may be missing, in dry heat: 18 °C is 180 °C."""
    meant = Temperature.of(typed.in_unit(typed.unit) * 10, typed.unit)
    if text == str(typed) and _dry(context) and _boiling(context) < meant <= _MEANT:
        yield breakable(str(meant))


def _source(context: StepContext) -> str:
    """The row of the code in force that cooks as cool as that; empty where none does."""
    for _, row in context.house.pack.rows_of(CookRow):
        if row.value is not None and row.value <= COOLEST_COOKED:
            return cited(context.house, row)
    return ""


def _bakes_nothing(context: StepContext) -> Iterator[Finding]:
    """Dry heat no hotter than boiling water, for less than an hour, with no core to come to."""
    step, at = context.step, context.step.step.at
    time, here = step.step.time, _boiling(context)
    slow = time is not None and time.shortest >= _SLOW
    if at is None or _core(context) is not None or slow or not _dry(context) or at.warmest >= here:
        return
    boils = f"{plain(half_up(here.in_unit(context.unit), Fraction(1)))}{NARROW}{context.unit}"
    words = f"{step.verb}: {at} is cooler than boiling water, {boils}. Is it cooked through?"
    other, place = at.warmest.swapped(), step.step.place("at")
    write: tuple[str, ...] = ()
    if not at.is_range and here < other <= _MEANT:
        write = (place.fixed(breakable(str(other))),)
        words = f"{words} Did you mean {breakable(str(other))}?"
    help = "Check the figure and its scale. Or write the core it must reach as its `target`."
    yield context.finding("temperature-implausible", "warning", words, help, write, place)


def _dry(context: StepContext) -> bool:
    """Whether the heat is dry, or hot fat: an oven without steam, a fryer, a griddle."""
    step, machine = context.step, context.step.machine
    if "in-water" in step.effects or step.step.do in context.house.library.media:
        return False
    if machine is None:
        return "bakes" in step.effects
    return machine.kind in ("oven", "fryer", "griddle") and machine.heat != "high-humidity"


def _boiling(context: StepContext) -> Temperature:
    """What water boils at here."""
    house = context.house
    here = boiling_point(house.library, house.kitchen.altitude)
    return here or Temperature.of(100, "°C")
