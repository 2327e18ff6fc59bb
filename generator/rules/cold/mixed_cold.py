"""Hot food that is held hot after so much cold, cool or frozen food was put to it that it can't be
hot any more: a heat balance.

Specific heats are those of water and of dry matter by Choi and Okos (as the predictions
have them, at 20 °C and rounded); food of unknown water counts as all water where it is hot, as
three quarters where it is a cold liquid, as half else. At best moist food left the heat at 100 °C,
fat and sugar at 180 °C; by its target it is as hot as that says. Working rules of this manual, on
the side of the hottest.
"""

from __future__ import annotations

from fractions import Fraction

from generator.files.finding import Finding
from generator.measures.temperature import Temperature
from generator.measures.words import with_verb
from generator.records.effects import HEATS
from generator.reference.row_kinds import HoldRow
from generator.resolve.joined import JoinedStep
from generator.rules.basics.context import StepContext, both, cited
from generator.rules.basics.limit import Figure
from generator.rules.basics.product import Component
from generator.rules.basics.without_cold import is_water

WATER, DRY = Fraction(42, 10), Fraction(16, 10)
"""Specific heat, kJ/(kg K)."""
MELTING = Fraction(334)
"""What a kilogram of ice takes up as it melts, kJ."""
BOILED, FRIED, ROOM, ICE = Fraction(100), Fraction(180), Fraction(20), Fraction(0)
"""The hottest moist food and fat can be, a room, and ice, °C."""
_Part = tuple[Fraction, Fraction, Fraction, bool]
"""Grams, its share of water, °C, and whether it is frozen."""


def balance(hot: list[_Part], cold: list[_Part]) -> Fraction:
    """The temperature of a mixture, °C: what each part holds above 0 °C, less what ice takes up,
    over what all take up a degree; ice that doesn't melt keeps it at 0 °C. ``hot`` and ``cold``
    together weigh more than nothing.

    A kilogram of water at 100 °C and one at 0 °C are at 50 °C.
    """
    heat = weight = Fraction(0)
    for grams, water, degrees, frozen in (*hot, *cold):
        takes = grams * (WATER * water + DRY * (1 - water))
        heat += takes * degrees - (grams * water * MELTING if frozen else 0)
        weight += takes
    return max(heat / weight, ICE) if cold else heat / weight


def cooled_by_what_goes_in(
    context: StepContext, row: HoldRow, figure: Figure, cold: Temperature
) -> tuple[Finding, ...]:
    """An error of food that is held hot at ``row``, whose figure is ``figure``, and can't be that
    hot any more for what went in behind the last heat; a warning where it isn't, if it left the
    heat at its target. ``cold`` is as warm as food is held cold."""
    if row.value is None or context.step.effects & HEATS:
        return ()
    last, (hot, late) = _last_heat(context), _hot_and_late(context)
    if not hot or not late:
        return ()
    least, held = row.value.in_unit("°C"), [_late(context, c, cold.in_unit("°C")) for c in late]
    at_best = balance([_hot(context, c, BOILED) for c in hot], held)
    target = last.target.coolest if last is not None and last.target is not None else None
    said = min(target.in_unit("°C"), BOILED) if target is not None else BOILED
    by_target = balance([_hot(context, c, said) for c in hot], held)
    if min(at_best, by_target) >= least:
        return ()
    return (_finding(context, row, figure, late, at_best < least, min(at_best, by_target)),)


def _finding(
    context: StepContext,
    row: HoldRow,
    figure: Figure,
    late: list[Component],
    sure: bool,
    celsius: Fraction,
) -> Finding:
    assert row.value is not None
    names = list(dict.fromkeys(c.through or c.name for c in late))
    then = Fraction(round(Temperature.of(round(celsius), "°C").in_unit(context.unit)))
    shown = both(row.value, figure.shown_c, figure.shown_f)
    return context.finding(
        "reheat-missing",
        "error" if sure else "warning",
        f"{context.step.verb}: {with_verb(names, 'cools')} it to "
        f"about {context.degrees(then)}{'' if sure else ', if it left the heat at its target'}. "
        f"The limit is {shown}.",
        "What holds food hot doesn't heat it. Add a step before it, as in `do: reheat`, with a "
        "core target. Or put it in before the last heat.",
        place=context.step.step.place("do"),
        source=cited(context.house, row),
    )


def _last_heat(context: StepContext) -> JoinedStep | None:
    """The step that heated the food last, on its own way."""
    before = context.formula.before(context.step.number)
    return next((s for s in reversed(before) if s.effects & HEATS), None)


def _hot_and_late(context: StepContext) -> tuple[list[Component], list[Component]]:
    """What was heated, alone or with the rest, or came hot; and what no step heated."""
    before = context.formula.before(context.step.number)
    heats = [s.number for s in before if s.effects & HEATS]
    heated = {part for n in heats for s in context.formula.upto(n) for part in s.parts}
    parts = context.before.components
    hot = [c for c in parts if c.part in heated or c.comes == "hot"]
    return hot, [c for c in parts if not (c.part in heated or c.comes == "hot")]


def _hot(context: StepContext, part: Component, moist: Fraction) -> _Part:
    degrees = FRIED if part.boils and moist == BOILED else moist
    return part.weight, _water(context, part, Fraction(1)), degrees, False


def _late(context: StepContext, part: Component, cold: Fraction) -> _Part:
    unknown = Fraction(3, 4) if part.form == "liquid" else Fraction(1, 2)
    frozen = part.comes == "frozen"
    degrees = ICE if frozen else ROOM if _as_the_room(part) else cold
    return part.weight, _water(context, part, unknown), degrees, frozen


def _as_the_room(part: Component) -> bool:
    """Whether it comes in as warm as the room, said, or for all that is said."""
    if part.through or part.facts is None or part.comes == "between" or part.form == "dry":
        return part.comes == "between" or part.form == "dry"
    return part.facts.arrives is None and not part.facts.tcs


def _water(context: StepContext, part: Component, unknown: Fraction) -> Fraction:
    """The share of water in it, ``unknown`` where nothing says it."""
    if part.water is not None:
        return part.water
    if part.boils or part.form == "dry":
        return Fraction(0)
    return Fraction(1) if is_water(context.house, part) else unknown
