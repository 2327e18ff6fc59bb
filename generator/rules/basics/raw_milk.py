"""Raw milk, and what is made of it: by its state, its name, or because nothing says otherwise. Food
Code 3-202.14; which names mean it is a working rule of this manual."""

from __future__ import annotations

import re
from dataclasses import dataclass

from generator.records.ingredient import Ingredient
from generator.resolve.joined import House
from generator.rules.basics.product import RAW_STATES, Component, Product

_DAIRY = "01"
"""The first two figures of the food numbers of dairy food in the USDA's tables."""
_DAIRY_WORDS = (
    r"(?:milk|cream|cr[eè]me|cheese|yogh?urt|buttermilk|butter|whey|curds?|brie|camembert|ricotta"
    r"|mozzarella|kefir|quark|fromage|skyr|feta|reblochon|tomme|vacherin|mascarpone)"
)
_DAIRY_NAME = re.compile(rf"\b{_DAIRY_WORDS}\b")
_RAW = re.compile(
    rf"\b(?:raw|unpasteuri[sz]ed)[ -](?:[\w’']+[ -]){{0,2}}{_DAIRY_WORDS}\b"
    r"|\b(?:lait cru|leche cruda|latte crudo|rohmilch|rauwe melk)\b"
    r"|\b(?:milk|cream)\b.*\bstraight from the (?:cow|goat|sheep|ewe|farm)\b"
)
_RAW_PART = re.compile(
    r"\s*(?:(?:still|all|quite) )?(?:raw|unpasteuri[sz]ed|thermi[sz]ed|not (?:yet )?pasteuri[sz]ed"
    r"|un-?heat-?treated|not heat-?treated)(?: (?:milk|from|of)\b.*)?\s*"
)
"""A part of a name, between commas or in brackets, that is only such a word."""
_PARTS = re.compile(r"[,;:()\[\]/|–—]|\s-\s")
CURED = ("hard", "semisoft", "soft")


@dataclass(frozen=True)
class Raw:
    """Why milk counts as raw, and the key that says so, or that doesn't say otherwise."""

    words: str
    key: str


def raw_milk_in(house: House, product: Product) -> tuple[Component, ...]:
    """The raw milk in a product, and what is made of it by no standard of its own, that no step
    pasteurised yet. Milk is an animal food by 3-603.11(A): whoever eats it so is warned of it."""
    return tuple(c for c in product.components if is_raw(house, c) and not c.cooked)


def is_raw(house: House, part: Component) -> bool:
    """Whether a part is raw milk, or made of it by no standard of its own."""
    facts = part.facts
    if facts is None or (facts.raw_milk and facts.cheese in CURED):
        return False
    return why_raw(house, facts) is not None


def why_raw(house: House, facts: Ingredient) -> Raw | None:
    """Why a dairy ingredient counts as raw; None where it doesn't."""
    if not any(a.word == "milk" for a in facts.allergens):
        return None
    named = next((n for n in (facts.name, *facts.other_names) if _says_raw(n.lower())), "")
    if named:
        return Raw(f"`{named}` says that its milk is raw", "name")
    if facts.raw_milk:
        return Raw("`raw_milk` says that its milk is raw", "raw_milk")
    if facts.state not in RAW_STATES or not _is_dairy(house, facts):
        return None
    if facts.state is None:
        return Raw("its `state` isn't stated, so its milk counts as raw", "name")
    return Raw("its milk is raw", "state")


def _says_raw(name: str) -> bool:
    """Whether a name says of dairy food that its milk is raw, before the food's word or behind it:
    "Raw cream", "Cream (raw)", "Milk, unpasteurised, from the farm"."""
    if _RAW.search(name):
        return True
    first, *others = _PARTS.split(name)
    return _DAIRY_NAME.search(first) is not None and any(map(_RAW_PART.fullmatch, others))


def _is_dairy(house: House, facts: Ingredient) -> bool:
    """Whether it is milk or made of milk: it declares nothing but milk, or is dairy food by its
    foodstuff. Dough and the like, which hold butter among other things, aren't."""
    if facts.species not in (None, "none"):
        return False
    stuff = house.library.foodstuffs.get(facts.foodstuff or "")
    by_table = stuff is not None and stuff.usda.startswith(_DAIRY)
    return by_table or {a.word for a in facts.allergens} == {"milk"}
