"""Whether what is in the food is cured, and how strongly: the least ingoing nitrite of any meat in
it."""

from __future__ import annotations

from fractions import Fraction

from generator.rules.basics.context import StepContext
from generator.rules.basics.product import Component
from generator.rules.cures.cured_as import WET
from generator.rules.cures.dosing import MILLION, green_weight, is_meat, takes_up

_POTASSIUM = Fraction(61, 67)
"""Sodium nitrite with as much nitrite as one gram of potassium nitrite, in grams: 0.61 over 0.67
(trade note on Regulation (EU) 2023/2108, 2023)."""


def least_ingoing(context: StepContext) -> Fraction:
    """The ingoing sodium nitrite in ppm of the least cured meat in the product; 0 if some of its
    meat isn't cured at all, if there is none, or if there is fish in it.

    Nitrite counts for the meat it went in with, never for what another formula brings along. It is
    taken on the green weight; cured in a pickle, or in a formula made ahead, on everything that
    went in with it, which is never less.
    """
    house, parts = context.house, context.before.components
    meat = [c for c in parts if is_meat(house, c)]
    if not meat or any(takes_up(house, c) and not is_meat(house, c) for c in parts):
        return Fraction(0)
    return min(_ingoing(context, through) for through in dict.fromkeys(c.through for c in meat))


def _ingoing(context: StepContext, through: str) -> Fraction:
    """The ppm of the meat that came ``through`` a formula made ahead; of the formula's own meat
    where it is empty."""
    together = _together(context.before.components, through)
    nitrite = sum((_nitrite(c) for c in together), Fraction(0))
    on = green_weight(context.house, together)
    if through or context.formula.formula.cured_as in WET:
        on = sum((c.grams for c in together), Fraction(0))
    return nitrite / on * MILLION if on else Fraction(0)


def _together(parts: tuple[Component, ...], through: str) -> tuple[Component, ...]:
    """What went in with that meat: with the formula's own, also a cure mix or a brine made
    ahead."""
    if through:
        return tuple(c for c in parts if c.through == through)
    return tuple(c for c in parts if not c.through or c.cures)


def _nitrite(component: Component) -> Fraction:
    """Grams of nitrite a component brings, as sodium nitrite; a cure from vegetables can't be
    dosed."""
    if component.function != "cure" or component.cure.nitrite_from == "vegetable":
        return Fraction(0)
    potassium = component.cure.nitrite_from == "potassium-nitrite"
    return component.grams * component.nitrite * (_POTASSIUM if potassium else 1)
