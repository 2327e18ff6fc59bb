"""Liquids that ferment though no step says so: with a culture in them, or of sugar and water alone.

To ferment food that needs the cold out of it asks for a variance (Food Code 3-502.11). Which names
mean a culture, and the shares and times, are working rules of this manual: dough is baked, and is
left out; strong spirits and acid keep what they are in.
"""

from __future__ import annotations

import re
from fractions import Fraction

from generator.resolve.joined import House
from generator.rules.basics.context import DAY_S, StepContext
from generator.rules.basics.fate import DOUGH
from generator.rules.basics.product import Component, Product, changed
from generator.rules.basics.without_cold import full_of_sugar
from generator.rules.cold.wetted import FLOUR, watery

_CULTURE = re.compile(
    r"\b(?:kefir|tibicos|scoby|kombucha|mother of vinegar|ginger bug|(?:starter )?cultures?"
    r"|ferment|mesophilic|thermophilic|bacteria|lactobacill\w+|koji|yeast)\b",
    re.IGNORECASE,
)
_SOURED_MILK = re.compile(
    r"\b(?:yogh?urt|buttermilk|sour(?:ed)? cream|cr[èe]me fra[iî]che|skyr|filmj[öo]lk)\b",
    re.IGNORECASE,
)
_DEAD = re.compile(r"\b(?:extract|nutritional|inactive|brewer'?s|powder|bread)\b", re.IGNORECASE)
_SWEET = Fraction(1, 50)
"""The least share of sugar that sugar water has: water kefir begins at 4 to 8 %."""


def cultures_in(product: Product) -> tuple[str, ...]:
    """The names of what makes a liquid ferment: a culture that nothing heated, soured milk where
    there is other milk. None in a dough."""
    if _dough(product):
        return ()
    milk = any(_milk(c) and not _SOURED_MILK.search(c.name) for c in product.components)
    found = (c.name for c in product.components if _alive(c, milk))
    return tuple(dict.fromkeys(found))


def _alive(part: Component, milk: bool) -> bool:
    if part.cooked or part.heated or _DEAD.search(part.name):
        return False
    return bool(_CULTURE.search(part.name) or (milk and _SOURED_MILK.search(part.name)))


def _milk(part: Component) -> bool:
    return part.tcs and any("milk" in a.word for a in part.allergens)


def _dough(product: Product) -> bool:
    flour = sum(
        (c.grams for c in product.components if c.flour or FLOUR.search(c.name)), Fraction(0)
    )
    return flour > 0 and flour >= DOUGH * sum((c.grams for c in product.components), Fraction(0))


def sugar_water(product: Product, house: House) -> bool:
    """Whether it is water with sugar in it, and not enough of that to keep it."""
    sugar = sum((c.weight for c in product.components if c.boils == "sugar"), Fraction(0))
    thin = sugar >= _SWEET * product.mass and not full_of_sugar(product)
    return thin and sugar > 0 and not _dough(product) and watery(product, house)


def turned(
    product: Product, stood_s: Fraction, before_s: Fraction, ferments: bool, house: House
) -> Product:
    """The product with the liquid in it in need of the cold, once it ferments: by a step that says
    so, with a culture for longer than food may be out of the cold, sugar water for a day.
    ``stood_s`` seconds it stood warm by the end of the step, ``before_s`` of them before it. The
    caller leaves out what a later step cooks."""
    if product.acidified or not watery(product, house):
        return product
    long = bool(cultures_in(product)) and stood_s > house.library.preparation.most.seconds
    sweet = (ferments or stood_s >= DAY_S) and sugar_water(product, house)
    if not (long or sweet or (ferments and cultures_in(product))):
        return product
    found = tuple(
        changed(c, tcs=True, out_s=c.out_s if c.tcs else max(c.out_s, before_s)) if _moist(c) else c
        for c in product.components
    )
    return changed(product, components=found)


def _moist(part: Component) -> bool:
    return part.form != "dry" and not (part.boils or part.acid or part.function)


def unsaid(context: StepContext) -> tuple[str, ...]:
    """The cultures in food that stands out of the cold for longer than it may, at a step that
    doesn't say that it ferments; none where a later step cooks it."""
    time, step = context.step.step.time, context.step
    most = context.house.library.preparation.most.seconds
    if "waits" not in step.effects or context.stay.during != "between":
        return ()
    if time is None or context.course.so_far + time.longest <= most:
        return ()
    if any("cooks" in s.effects for s in context.formula.since(step.number)):
        return ()
    return cultures_in(context.before)
