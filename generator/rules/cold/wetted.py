"""Dry plant food that is made wet, or has boiling water poured on it, by no step that cooks it.

Food Code 1-201.10, "Time/temperature control for safety food": plant food that is heated needs the
control, and so does food whose acid and water activity are not known to keep it, table B. Dry, its
water activity keeps it; soaked nuts, oats in water and gravy made of granules have nothing that
does. The shares and the words read are working rules of this manual.
"""

from __future__ import annotations

import re
from fractions import Fraction

from generator.measures.rounding import total
from generator.resolve.joined import House, JoinedStep
from generator.rules.basics.flour import called_flour
from generator.rules.basics.product import RAW_STATES, Component, Product, changed
from generator.rules.basics.spirits import is_spirits
from generator.rules.basics.without_cold import is_water
from generator.rules.cold.plants import sprouts_kind

WATERY = Fraction(1, 3)
"""The share of water and other thin liquids from which a mixture is wet: dough for bread has so
much too, but flour is left out here."""
SOME_OF_IT = Fraction(1, 25)
"""The least share of dry food that is more than its seasoning."""
THICKENS = Fraction(1, 65)
"""The least share of dry food that makes a soup, a gravy or a porridge of hot water."""
TAKES_UP = Fraction(6, 5)
"""What food weighs at least of its dry weight once it has soaked up water."""
DRY_AS_NUTS = Fraction(1, 4)
"""The most water of food that is as dry as nuts and seeds are."""
_SEEDS = frozenset({"tree nuts", "nuts", "peanuts", "sesame"})
BREWED = re.compile(r"\b(?:tea|coffee|espresso|hibiscus|infusion|tisane)\b", re.IGNORECASE)
_BOILING = re.compile(
    r"\bboiling(?:[\s-]hot)?\s+(?:water|milk|stock|broth|liquid)\b|\b(?:off|at|on|from) the boil\b",
    re.IGNORECASE,
)
_OF_TOOLS = re.compile(
    r"\b(?:jars?|lids?|bottles?|knife|knives|bowls?|tools?|moulds?|tins?|rinse|sterili[sz]e)\b",
    re.IGNORECASE,
)


def wetted(product: Product, step: JoinedStep, house: House, sprouts: bool = False) -> Product:
    """The product at a step with the dry plant food in it moist, and in need of the cold, once it
    lies in water or has soaked it up, here or in a formula made ahead; the caller leaves out what a
    later step cooks. Seeds of which a step says that it ``sprouts`` them have a time of their
    own."""
    if not _made_wet(product, step, house):
        return product
    drinks = [_drinks(c) and not (sprouts and sprouts_kind(c, house)) for c in product.components]
    dry = [c.weight for c, drunk in zip(product.components, drinks, strict=True) if drunk]
    if not dry or total(dry) < SOME_OF_IT * product.mass:
        return product
    found = tuple(
        changed(c, tcs=True, form=None) if drunk else c
        for c, drunk in zip(product.components, drinks, strict=True)
    )
    return changed(product, components=found)


def _made_wet(product: Product, step: JoinedStep, house: House) -> bool:
    """Whether it came wet, soaks up water at a step, or is watery."""
    if any(c.wet_s is not None and as_dry_as_seeds(c) for c in product.components):
        return True
    soaked = step.step.gains is not None and _gained(step) >= TAKES_UP
    return soaked or watery(product, house)


def _gained(step: JoinedStep) -> Fraction:
    return step.yields.mean if step.yields is not None else Fraction(1)


def watery(product: Product, house: House) -> bool:
    """Whether a third of it and more is water or another thin liquid, acid and spirits not the
    half of that."""
    thin = [c for c in product.components if _thin(c, house)]
    if not thin:
        return False
    water = total(c.weight for c in thin)
    kept = total(c.weight for c in product.components if c.acid or is_spirits(c))
    return water > kept and water >= WATERY * product.mass


def _thin(part: Component, house: House) -> bool:
    if part.acid or part.boils or is_spirits(part):
        return False
    return part.form == "liquid" or is_water(house, part)


def _drinks(part: Component) -> bool:
    """Whether a part is dry plant food that water makes moist. Flour is asked as dough; tea and
    coffee are drawn and taken out."""
    if part.species != "none" or part.tcs or part.cooked or part.heated or part.flour:
        return False
    if part.function or part.boils or part.acid or part.dried:
        return False
    return as_dry_as_seeds(part) and not (called_flour(part.name) or BREWED.search(part.name))


def as_dry_as_seeds(part: Component) -> bool:
    """Whether it is dry goods, nuts or seeds, or as dry as they are by its composition."""
    nuts = any(a.word in _SEEDS for a in part.allergens)
    return part.form == "dry" or nuts or (part.water is not None and part.water <= DRY_AS_NUTS)


def made_with_heat(product: Product, house: House) -> bool:
    """Whether hot water makes food of it that needs the control: raw plant food is moist in it, or
    dry goods that thicken it or soak it up. Sugar, salt, tea and coffee don't."""
    if not product.wet:
        return False
    if any(c.state in RAW_STATES for c in product.components):
        return True
    thick = total(c.weight for c in product.components if _thickens(c))
    water = any(_thin(c, house) for c in product.components)
    return water and thick > 0 and thick >= THICKENS * product.mass


def _thickens(part: Component) -> bool:
    if part.function or part.boils or part.acid or BREWED.search(part.name):
        return False
    return part.species == "none" and part.form == "dry"


def boiling_poured(step: JoinedStep, product: Product, house: House) -> bool:
    """Whether the words of a step put boiling water to food with water in it: that heats it, though
    its verb doesn't."""
    if not pours_boiling(step):
        return False
    if "cleans" in step.effects or not any(_thin(c, house) for c in product.components):
        return step.step.gains is not None
    return True


def pours_boiling(step: JoinedStep) -> bool:
    """Whether a line of what the cook is asked to do speaks of boiling water, and of no jar or tool
    to be scalded with it."""
    return any(_BOILING.search(line) and not _OF_TOOLS.search(line) for line in step.step.how)
