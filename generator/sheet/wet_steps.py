"""How long seeds and other plant food are moist and warm at a step, and whether they sprout."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from generator.resolve.joined import House, JoinedFormula, JoinedStep
from generator.rules.basics.course import Bounds
from generator.rules.basics.fate import fate_of
from generator.rules.basics.product import Component, Product
from generator.rules.basics.without_cold import is_water
from generator.rules.cold.plants import rinses, says_sprout, seeds_in, wets
from generator.sheet.stepping import said_cold, stands_wet, wet_and_warm
from generator.sheet.to_come import cooked_from


def came_wet_s(taken: Iterable[Component]) -> list[Fraction]:
    """The seconds that what is taken in stood wet where it was made."""
    return [c.wet_s for c in taken if c.wet_s is not None]


def left_to_sprout(step: JoinedStep, view: JoinedFormula, passed_on: bool) -> bool:
    """Whether seeds that are wet at a step are sprouts in the end: by a step's word, or because
    nothing cooks them, here or in the formula that takes them in, which is asked itself."""
    if any(map(says_sprout, view.steps)):
        return True
    return not (passed_on or cooked_from((step, *view.after(step.number))))


def soaks_uncooked(house: House, before: Product, step: JoinedStep, view: JoinedFormula) -> bool:
    """Whether what is in it was made wet, and no step from here on cooks it, nor another
    formula."""
    if cooked_from(view.since(step.number)) or not fate_of(view).eaten:
        return False
    return any(map(wets, view.upto(step.number))) or any(
        c.wet_s is not None or is_water(house, c) for c in before.components
    )


def wet_here(
    before: Product,
    step: JoinedStep,
    view: JoinedFormula,
    bounds: Bounds,
    house: House,
    passed_on: bool,
) -> Fraction:
    """The seconds it is moist and warm at a step. Seeds are moist once a step wet them, with water
    weighed in or not; a step that says that they sprout, or soaks them and not for how long, lasts
    until they have. What is ``passed_on`` is asked about by the formula that takes it in."""
    seeds = seeds_in(before, house)
    if seeds and (says_sprout(step) or _soaks_for_ever(step, bounds)):
        return _until_sprouted(house)
    if not (passed_on or seeds):
        return wet_and_warm(before, step, bounds)
    wetted = bool(came_wet_s(before.components)) or any(map(_moistens, view.upto(step.number)))
    if passed_on:  # whoever takes it in asks for how long it stood
        return stands_wet(before, step, bounds, house, wetted=wetted)
    return wet_and_warm(before, step, bounds, wetted=wetted)


def _until_sprouted(house: House) -> Fraction:
    after = (k.sprouts_after for k in house.library.plants.values())
    return max(d.seconds for d in after if d is not None)


def _moistens(step: JoinedStep) -> bool:
    return wets(step) or rinses(step)


def _soaks_for_ever(step: JoinedStep, bounds: Bounds) -> bool:
    """Whether a step soaks food out of the cold, and nothing says for how long."""
    return "soaks" in step.effects and step.step.time is None and not said_cold(step, bounds)
