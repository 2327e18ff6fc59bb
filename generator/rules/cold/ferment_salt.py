"""The salt in what ferments: without it the wrong germs grow before there is acid.

Published least figures: 3 1/3 lb of salt to 100 lb of dry sausage (7 Pa. Code 1.334, against
trichinae), 3.5 % of the water of fermented fish (FAO Fisheries Technical Paper 444, 9.6), 2 % for
vegetables (University of Alaska Fairbanks Extension: sauerkraut ferments in 2 to 3 %). A plan on
file may have another figure, so of meat and vegetables less than half of what is published is
reported: a line left out, or a tenth, is far below that. An error for raw meat and fish, which
nothing else keeps; a question for vegetables, some of which are fermented without salt.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from generator.files.finding import Severity
from generator.measures.marks import as_written
from generator.measures.rounding import to_side, total
from generator.measures.words import NARROW, listed, plain
from generator.rules.basics.context import DAY_S, NOTHING, Outcome, StepContext
from generator.rules.basics.flour import mostly_flour
from generator.rules.basics.product import RAW_STATES, Component
from generator.rules.cold.cultures import cultures_in

_FLESH = ("meat", "poultry", "game", "wild-game", "ratite")
_WATER = Fraction(4, 5)
"""The share of water in fish and vegetables whose composition isn't known: raw fish has less."""
_SWEET = Fraction(1, 25)
"""From this share of sugar on a drink ferments, or a syrup."""
_COLD = ("cold", "cooling", "frozen", "thawing")
_MANY = Fraction(3, 10)
"""The share of raw vegetables from which they are what ferments."""
_SALTY = re.compile(
    r"\b(?:soy sauce|tamari|shoyu|fish sauce|miso|doenjang|gochujang|shrimp paste|bouillon|brine|"
    r"salted|kraut|kimchi|olives?|capers?|anchov(?:y|ies))\b",
    re.IGNORECASE,
)
"""Names of what brings salt that nobody has stated."""
_NO_SALT = re.compile(
    r"\b(?:grapes?|apples?|pears?|plums?|cherr(?:y|ies)|\w*berr(?:y|ies)|quinces?|pineapples?|"
    r"must|cassava|manioc|yuca|cocoa|cacao|coffee|tea|soya? ?beans?|rice|agave|sorrel)\b",
    re.IGNORECASE,
)
"""What is made into wine, cider or vinegar, or soured in water, and takes no salt."""


@dataclass(frozen=True)
class _Least:
    """The least salt that is published for a food, rounded up, and from which share on less is
    reported."""

    food: str
    published: str
    reported: Fraction
    source: str
    severity: Severity
    of_water: bool = False


MEAT = _Least("raw meat", "3.4 % of dry sausage", Fraction(1, 60), "pa-7-1-334", "error")
FISH = _Least("raw fish", "3.5 % of its water", Fraction(7, 200), "fao-444", "error", True)
VEGETABLES = _Least("vegetables", "2 % of all of it", Fraction(1, 100), "uaf-sauerkraut", "warning")


def ferments_salted(context: StepContext) -> Outcome:
    """Raw meat, fish or vegetables that ferment with less salt than any that is published."""
    step = context.step
    if not _left_to_ferment(context) or context.before.acidified:
        return NOTHING
    parts = context.before.components
    least, names = _held_to(context, parts)
    if least is None or any(_brings_salt(c) for c in parts):
        return NOTHING
    salt = salt_share(parts, least.of_water)
    if salt >= least.reported:
        return NOTHING
    has = plain(to_side(salt * 100, "down", Fraction(1, 100)), 2)
    words = (
        f"{step.verb}: {has}{NARROW}% salt with {listed(list(names))}. The least that is published "
        f"for {least.food} that ferments is {as_written(least.published)}."
    )
    finding = context.finding(
        "ferments-unsalted",
        least.severity,
        words,
        "Salt keeps the wrong germs down until it is sour. Check the salt's line and its decimal "
        "mark.",
        place=step.step.place("do"),
        source=context.house.library.source_title(least.source),
    )
    return Outcome((), (finding,))


def _left_to_ferment(context: StepContext) -> bool:
    """Whether food ferments here, or lies in brine out of the cold for a day or more."""
    step, time = context.step, context.step.step.time
    lies = "brines" in step.effects and time is not None and time.longest >= DAY_S
    return ("ferments" in step.effects or lies) and context.stay.during not in _COLD


def _brings_salt(part: Component) -> bool:
    """Whether it is salty by its name, and how salty nobody has stated."""
    stated = part.salt or part.raw_animal
    return not stated and any(_SALTY.search(name) for name in part.names)


def salt_share(parts: Iterable[Component], of_water: bool) -> Fraction:
    """The salt of all, as a share of what it weighs, or of its water and salt. A cure whose salt
    isn't stated is salt."""
    found = list(parts)
    salt = total(c.weight * _salt_of(c) for c in found)
    whole = total(c.weight * (1 if not of_water else _salt_of(c) + _water_of(c)) for c in found)
    return salt / whole if whole else Fraction(0)


def _salt_of(part: Component) -> Fraction:
    if part.function in ("salt", "cure") and not part.salt:
        return Fraction(1)
    return part.salt


def _water_of(part: Component) -> Fraction:
    if part.water is not None:
        return part.water
    return Fraction(0) if _salt_of(part) or part.form == "dry" or part.boils else _WATER


def _held_to(
    context: StepContext, parts: tuple[Component, ...]
) -> tuple[_Least | None, tuple[str, ...]]:
    """What the food is held to, and what it is held to it for; None where nothing is published for
    it."""
    flesh = [c for c in parts if _is_flesh(context, c)]
    if flesh:
        return (FISH if all(c.fish for c in flesh) else MEAT), _names(flesh)
    greens = [c for c in parts if _vegetable(c)]
    many = total(c.weight for c in greens) >= _MANY * context.before.mass
    if greens and many and not _otherwise(context, parts):
        return VEGETABLES, _names(greens)
    return None, ()


def _is_flesh(context: StepContext, part: Component) -> bool:
    """Whether a part is raw meat, poultry or fish."""
    group = context.house.pack.class_of(part.species)
    return part.raw_animal and (part.fish or group in _FLESH)


def _names(parts: Iterable[Component]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(c.name for c in parts))


def _vegetable(part: Component) -> bool:
    """Whether a part is raw and whole enough to ferment in its own juice, and is usually salted."""
    plant = part.species == "none" and part.state in RAW_STATES and not part.allergens
    plain_plant = plant and not (part.cooked or part.heated or part.function or part.acid)
    moist = part.form not in ("dry", "liquid") and not (part.boils or part.flour)
    return plain_plant and moist and not any(_NO_SALT.search(name) for name in part.names)


def _otherwise(context: StepContext, parts: tuple[Component, ...]) -> bool:
    """Whether something else than its own juice ferments: a dough, sugar, a culture."""
    sugar = total(c.weight for c in parts if c.boils == "sugar")
    sweet = sugar >= _SWEET * context.before.mass
    return sweet or mostly_flour(parts) or bool(cultures_in(context.before))
