"""A cure mix or a brine made ahead, where it meets the meat: what is in it, and how much of it is
weighed."""

from __future__ import annotations

from fractions import Fraction

from generator.measures.words import NARROW, plain
from generator.rules.basics.context import StepContext
from generator.rules.basics.product import Component


def as_weighed(context: StepContext, cures: list[Component]) -> Fraction:
    """The grams of the cures as the scale weighs them: one that came in a mix or a brine made
    ahead, all of that."""
    lines = {(c.part, c.came) for c in cures if c.came}
    mixed = (c.grams for c in context.before.components if (c.part, c.came) in lines)
    return sum(mixed, Fraction(0)) + sum((c.grams for c in cures if not c.came), Fraction(0))


def mixes(context: StepContext, cures: list[Component]) -> tuple[tuple[str, str], ...]:
    """What a mix or a brine made ahead holds, as inputs of a dose."""
    reported: list[tuple[str, str]] = []
    for part, came in dict.fromkeys((c.part, c.came) for c in cures if c.came and c.cures):
        inside = [c for c in context.before.components if (c.part, c.came) == (part, came)]
        grams = sum((c.grams for c in inside), Fraction(0))
        nitrite = sum((c.grams * c.nitrite for c in inside), Fraction(0))
        name = next(
            (ln.name for ln in context.formula.lines if (ln.part, ln.item) == (part, came)), came
        )
        reported.append(
            (name, f"{plain(nitrite / grams * 100, 3)}{NARROW}% nitrite, by what is in it")
        )
    return tuple(reported)
