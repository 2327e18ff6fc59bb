"""Liquids that ferment though no step says so: with a culture in them, or of sugar and water alone.

To ferment food that needs the cold out of it asks for a variance (Food Code 3-502.11). Which names
mean a culture, and the shares and times, are working rules of this manual: dough is baked, and is
left out; strong spirits and acid keep what they are in.
"""

from __future__ import annotations

import re
from fractions import Fraction

from generator.measures.words import duration, with_verb
from generator.resolve.joined import House
from generator.rules.basics.context import DAY_S, Outcome, StepContext
from generator.rules.basics.flour import mostly_flour
from generator.rules.basics.paper import asks_for_it, paper
from generator.rules.basics.product import Component, Product, changed
from generator.rules.basics.without_cold import full_of_sugar
from generator.rules.cold.plants import needing_cold
from generator.rules.cold.wetted import watery

_CULTURE = re.compile(
    r"\b(?:kefir|tibicos|scoby|kombucha|mother of vinegar|ginger bug|(?:starter )?cultures?"
    r"|ferment|mesophilic|thermophilic|bacteria|lactobacill\w+|koji|yeast"
    r"|(?:natto|tempeh|tempe)[ -](?:starter|spores?)|rhizopus)\b",
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
    if mostly_flour(product.components):
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


def sugar_water(product: Product, house: House) -> bool:
    """Whether it is water with sugar in it, and not enough of that to keep it."""
    sugar = sum((c.weight for c in product.components if c.boils == "sugar"), Fraction(0))
    thin = sugar >= _SWEET * product.mass and not full_of_sugar(product)
    return thin and sugar > 0 and not mostly_flour(product.components) and watery(product, house)


def turned(
    product: Product, stood_s: Fraction, before_s: Fraction, ferments: bool, house: House
) -> Product:
    """The product with the liquid in it in need of the cold, once it ferments: by a step that says
    so, with a culture for longer than food may be out of the cold, sugar water for a day.
    ``stood_s`` seconds it stood warm by the end of the step, ``before_s`` of them before it. The
    caller leaves out what a later step cooks."""
    stands = ferments or stood_s > house.library.preparation.most.seconds or stood_s >= DAY_S
    if not stands or product.acidified or not watery(product, house):
        return product
    if not _ferments(product, stood_s, ferments, house):
        return product
    out_s = min(before_s, house.library.preparation.most.seconds)  # no error was reported for it
    found = tuple(needing_cold(c, out_s) if _moist(c) else c for c in product.components)
    return changed(product, components=found)


def _ferments(product: Product, stood_s: Fraction, ferments: bool, house: House) -> bool:
    most = house.library.preparation.most.seconds
    if cultures_in(product) and (ferments or stood_s > most):
        return True
    return (ferments or stood_s >= DAY_S) and sugar_water(product, house)


def on_the_way_to_ferment(part: Component, product: Product, house: House) -> bool:
    """Whether a part is of a liquid that ferments by itself once it stood warm for long enough, and
    hasn't yet: its time counts on in whatever takes it in."""
    if part.tcs or part.cooked or part.heated or not _moist(part) or product.acidified:
        return False
    if not watery(product, house):
        return False
    return bool(cultures_in(product)) or sugar_water(product, house)


def _moist(part: Component) -> bool:
    return part.form != "dry" and not (part.boils or part.acid or part.function)


def ferments_unsaid(context: StepContext) -> Outcome | None:
    """The error of food that stands warm with a culture in it, and nothing says that it ferments:
    neither less time nor a faster chill is what makes it safe. None where it isn't so."""
    cultures = _unsaid(context)
    if not cultures:
        return None
    finding = context.finding(
        "kept-by-change",
        "error",
        f"{context.step.verb}: {with_verb(cultures, 'makes')} it ferment in "
        f"{duration(context.course.so_far + (context.stay.seconds or 0))}, and the step doesn't "
        "say so.",
        "Does it ferment? Write `does: ferments` at this step, and record the "
        f"{paper(context.house)} under `authorisations` in kitchen.yaml, `for: ferment`. If not, "
        "do it in a refrigerator (`in`).",
        place=context.step.step.place("do"),
        source=asks_for_it(context.house),
    )
    return Outcome((), (finding,))


def _unsaid(context: StepContext) -> tuple[str, ...]:
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
