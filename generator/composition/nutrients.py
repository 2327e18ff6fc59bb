"""What a label asks of one ingredient beside its composition: saturated and trans fat, cholesterol,
sodium, added sugar, vitamin D and minerals, each from … to …, never nothing for want of a figure.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from generator.composition.contents import Contents
from generator.measures.between import NOTHING, Between
from generator.records.composition import MAIN, NUTRIENTS, ROUNDING, SALT_OF_SODIUM, Shares
from generator.records.ingredient import Ingredient

UNACCOUNTED = "unaccounted"
"""What the figures of a food leave over of its weight: the acid of a vinegar in a table."""
DECLARED = ("sodium", *NUTRIENTS)
_PART_OF = {"trans": "fat", "cholesterol": "fat", "vitamin_d": "fat"}
_MINERALS = ("calcium", "iron", "potassium")


def labelled(
    contents: Contents, facts: Ingredient, table: Shares | None, sugars: str | None
) -> Contents:
    """An ingredient's ``contents`` with what a label asks for; ``table`` is its foodstuff's
    composition, ``sugars`` whether the sugars of that are its ``own`` or ``added``."""
    shares = facts.composition if facts.composition is not None else table
    found = {n: s for n in NUTRIENTS if shares is not None and (s := shares.stated(n)) is not None}
    sodium = _sodium(contents, facts, shares)
    if sodium is not None:
        found["sodium"] = sodium
    if "added_sugar" not in found:
        added = _added(contents, sugars)
        if added is not None:
            found["added_sugar"] = added
    bounded = _bounded(contents.shares, found)
    left = {UNACCOUNTED: Between(Fraction(0), _left_over(contents.shares))}
    return Contents({**contents.shares, **bounded, **left}, contents.stated | frozenset(found))


def _left_over(shares: Mapping[str, Between]) -> Fraction:
    """The most that is none of the main constituents; what analyses differ by is nothing."""
    left = 1 - sum((shares[name].high for name in MAIN), Fraction(0))
    return left if left > ROUNDING else Fraction(0)


def _sodium(contents: Contents, facts: Ingredient, shares: Shares | None) -> Between | None:
    """Sodium as it is stated; else that of the salt, with the nitrite and nitrate of a cure, which
    may be of sodium; None where neither is known."""
    stated = shares.sodium if shares is not None else None
    if stated is not None and facts.salt is None:
        return stated
    if "salt" not in contents.stated:
        return None
    salt = contents.shares["salt"].times(1 / SALT_OF_SODIUM)
    cure = (facts.nitrite or Fraction(0)) + (facts.nitrate or Fraction(0))
    return Between(salt.low, min(salt.high + cure, Fraction(1)))


def _added(contents: Contents, sugars: str | None) -> Between | None:
    """Added sugar by what kind of sugars they are; None where nobody says."""
    sugar = contents.shares["sugar"]
    if sugars == "added":
        return sugar
    return NOTHING if sugars == "own" or sugar.high == 0 else None


def _bounded(shares: Mapping[str, Between], known: Mapping[str, Between]) -> dict[str, Between]:
    """Each of them, what isn't known from nothing to what it is part of."""
    fat, ash = shares["fat"].high, shares["ash"].high
    found = dict(known)
    found.setdefault("saturated", Between(Fraction(0), _rest(fat, known, ("trans",))))
    for name in _PART_OF:
        taken = ("saturated",) if name == "trans" else ()
        found.setdefault(name, Between(Fraction(0), _rest(fat, known, taken)))
    minerals = ("sodium", *_MINERALS)
    for name in minerals:
        others = tuple(one for one in minerals if one != name)
        found.setdefault(name, Between(Fraction(0), _rest(ash, known, others)))
    found.setdefault("added_sugar", Between(Fraction(0), shares["sugar"].high))
    return {name: found[name] for name in DECLARED}


def _rest(whole: Fraction, known: Mapping[str, Between], others: tuple[str, ...]) -> Fraction:
    """What others leave of the whole."""
    taken = sum((known[one].low for one in others if one in known), Fraction(0))
    return max(whole - taken, Fraction(0))
