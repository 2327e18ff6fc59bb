"""Food that its formula says needs no cold: believed by a reason alone where what is weighed in
shows it, else by a document.

Food Code 1-201.10, "Time/temperature control for safety food", (2): acid and water activity decide,
and a product assessment where neither is known. Nothing here works out a water activity: the shares
are working rules of this manual, on the safe side of bread, biscuits and boiled sugar.
"""

from __future__ import annotations

import re
from fractions import Fraction

from generator.files.finding import Finding
from generator.measures.words import listed, with_verb
from generator.resolve.joined import House
from generator.rules.basics.context import EndContext, EndOutcome
from generator.rules.basics.product import Component, Product

BAKED_DRY = Fraction(1, 2)
"""The share of the finished food that is flour, sugar and fat from which it bakes to bread, cake or
biscuit: bread at 80 % hydration has 0.55, boiled rice 0.4, a custard tart 0.35."""
FULL_OF_SUGAR = Fraction(2, 3)
"""The share of sugar, fat left out, from which sugar keeps it: syrup is saturated at 0.67."""
_FLOUR_AND_MILK = ("none", "egg")


def unproven_not_tcs(context: EndContext) -> EndOutcome:
    """An error where a reason alone says that food needs no cold, and what is in it doesn't show
    it.

    Drying or acidifying meat until it needs none is processing of its own, which the Food Code
    allows only with a variance (3-502.11), and English law on papers of the business's own.
    """
    stated, formula = context.formula.formula.not_tcs, context.formula.formula
    if stated is None or stated.document or not _needs_it(context):
        return EndOutcome()
    flesh = [c.name for c in context.product.components if c.species not in _FLOUR_AND_MILK]
    if not flesh and (baked_dry(context) or full_of_sugar(context.product)):
        return EndOutcome()
    finding = Finding(
        "not-tcs-doubtful",
        "error",
        f"{with_verb(formula.name, 'says')} it needs no temperature "
        f"control{_with(context, flesh)}, but only "
        f"its reason says so{'' if flesh else ': it is not baked dry or full of sugar'}.",
        formula.key_place("not_tcs"),
        "Delete `not_tcs`, or name the paper on file: `not_tcs: {reason: …, document: …}`. It "
        "lifts the limits on cooling, holding and dates. Ask your regulatory authority.",
        about=frozenset({context.formula.id}),
    )
    return EndOutcome((), (finding,))


def paper_of_another(context: EndContext) -> EndOutcome:
    """An error where a document says that raw garlic in fat needs no cold, and neither it nor its
    reason speaks of garlic: one on butter, oil or dripping is of that alone.

    Food Code 1-201.10, "Time/temperature control for safety food", (1)(b): garlic-in-oil mixtures
    that aren't modified so that germs can't grow in them.
    """
    stated, formula = context.formula.formula.not_tcs, context.formula.formula
    if stated is None or not stated.document:
        return EndOutcome()
    garlic, fat = _garlic_in_fat(context.product)
    said = f"{stated.reason} {stated.document}"
    ours = re.compile(rf"\b(?:{_GARLIC}|{re.escape(formula.name)})\b", re.IGNORECASE)
    if not (garlic and fat) or ours.search(said):
        return EndOutcome()
    names = listed(list(dict.fromkeys(c.name for c in garlic)))
    finding = Finding(
        "not-tcs-doubtful",
        "error",
        f"{with_verb(formula.name, 'says')} it needs no temperature control, with {names} in "
        f"{listed(list(dict.fromkeys(c.name for c in fat)))}. Its document says nothing of garlic.",
        formula.key_place("not_tcs"),
        "Delete `not_tcs`, and keep it cold. Is there a paper on the garlic in it? Name that, and "
        "say so: `not_tcs: {reason: Garlic acidified to …, document: …}`.",
        about=frozenset({context.formula.id}),
    )
    return EndOutcome((), (finding,))


_GARLIC = "garlic"


def _garlic_in_fat(product: Product) -> tuple[list[Component], list[Component]]:
    """The raw garlic in it, and the fat."""
    garlic = [c for c in product.components if c.plant == _GARLIC and not c.cooked]
    return garlic, [c for c in product.components if c.boils == "fat" or c.plant == "oil"]


def _with(context: EndContext, flesh: list[str]) -> str:
    """What in it may need the cold, in words: the meat and fish, else whatever needs it or is of an
    animal."""
    parts = context.product.components
    with_it = flesh or [c.name for c in parts if c.tcs or c.species != "none"]
    return f", with {listed(list(dict.fromkeys(with_it)))} in it" if with_it else ""


def _needs_it(context: EndContext) -> bool:
    """Whether the food would need the cold without the formula's word."""
    return context.product.tcs or bool(context.product.raw_animals)


def baked_dry(context: EndContext) -> bool:
    """Whether it is dough or batter baked through, and nothing moist was put in afterwards."""
    if not any("bakes" in step.effects for step in context.formula.steps):
        return False
    parts, mass = context.product.components, context.product.mass
    if _filled(context):
        return False
    if any(not c.cooked and (c.tcs or _moist(c)) for c in parts):
        return False
    solid = (c.grams if _is_dough(context, c) else _solid(c) for c in parts)
    return sum(solid, Fraction(0)) >= mass * BAKED_DRY


def _is_dough(context: EndContext, part: Component) -> bool:
    """Whether its name says that it is dough, which counts as solid whole."""
    named = context.house.library.known_names.of_names((part.name,))
    return any(one.food.endswith("dough") for one in named)


def is_water(house: House, part: Component) -> bool:
    """Whether a part is water by its name."""
    return house.library.known_names.are_called("water", part.name)


_PUTS_IN = frozenset({"fills", "joins", "encloses", "stuffs"})


def _filled(context: EndContext) -> bool:
    """Whether something moist that needs the cold is put into what was made before: a custard into
    its crust."""
    made: set[str] = set()
    for step in context.formula.steps:
        new = [c for c in context.product.components if c.part in step.parts]
        if made and step.effects & _PUTS_IN and any(c.tcs and _moist(c) for c in new):
            return True
        made |= {c.part for c in new}
    return False


def full_of_sugar(product: Product) -> bool:
    """Whether so much of it is sugar that it keeps: boiled sugar, meringue, icing."""
    sugar = sum((c.grams for c in product.components if c.boils == "sugar"), Fraction(0))
    fat = sum((c.grams for c in product.components if c.boils == "fat"), Fraction(0))
    return sugar > 0 and sugar >= (product.mass - fat) * FULL_OF_SUGAR


def _moist(part: Component) -> bool:
    return not part.boils and part.form != "dry"


def _solid(part: Component) -> Fraction:
    """The grams of it that aren't water; food of unknown water counts as water."""
    if part.boils or part.form == "dry":
        return part.grams
    return part.grams * (1 - part.water) if part.water is not None else Fraction(0)
