"""What one ingredient is made of, each constituent from … to …: what isn't stated lies between
nothing and what the stated rest leaves room for, and is never taken for nothing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from generator.measures.between import NOTHING, Between
from generator.records.composition import MAIN, SALT_OF_SODIUM, Shares
from generator.records.ingredient import Ingredient

REPORTED = (
    "water",
    "protein",
    "fat",
    "carbohydrate",
    "sugar",
    "fibre",
    "ash",
    "salt",
    "acid",
    "alcohol",
    "solids",
    "milk_solids",
)
"""The constituents reported of a food, in the order of a table. Sugar and fibre are part of the
carbohydrate, salt of the ash; solids are all but the water."""
PHOSPHATE = "phosphate"
"""What is told of an ingredient by its own key, and reported as a bound of law alone."""
_ONE = Fraction(1)


@dataclass(frozen=True)
class Contents:
    """What a food is made of: each constituent of ``REPORTED`` as a share of its weight, and those
    of which something is stated."""

    shares: Mapping[str, Between]
    stated: frozenset[str]


def contents_of(facts: Ingredient, table: Shares | None) -> Contents:
    """What an ingredient is made of: by its own composition, else by its foodstuff's in a
    ``table``; its salt by what is stated of it alone, then by its function."""
    shares: Shares | None = facts.composition if facts.composition is not None else table
    known = {} if shares is None else _stated(shares)
    salt = _salt_alone(facts, known)
    if salt is not None:
        known["salt"] = salt
    if not any(allergen.word == "milk" for allergen in facts.allergens):
        known.setdefault("milk_solids", NOTHING)
    phosphate = Between.just(facts.phosphate or 0)
    return Contents({**_bounded(known), PHOSPHATE: phosphate}, frozenset(known))


def _stated(shares: Shares) -> dict[str, Between]:
    """What is stated, sodium as the salt it stands for."""
    names = (*MAIN, "sugar", "fibre", "salt", "acid", "milk_solids")
    found = {name: one for name in names if (one := shares.stated(name)) is not None}
    if shares.sodium is not None and "salt" not in found:
        found["salt"] = shares.sodium.times(SALT_OF_SODIUM).within(Fraction(0), _ONE)
    return found


def _salt_alone(facts: Ingredient, known: Mapping[str, Between]) -> Between | None:
    """Salt by the ingredient's own key, or all of a `function: salt`; None where its composition
    alone says it."""
    if facts.salt is not None:
        return Between.just(facts.salt)
    own = facts.composition is not None and facts.composition.salt is not None
    return Between.just(1) if facts.function == "salt" and not own else None


def _bounded(known: Mapping[str, Between]) -> dict[str, Between]:
    """Every constituent, from the least to the most it can be beside the others."""
    main = _main(known)
    found = dict(main)
    carbohydrate = main["carbohydrate"]
    least = {n: known.get(n, NOTHING).low for n in ("sugar", "fibre", "acid")}
    for name, other in (("sugar", "fibre"), ("fibre", "sugar")):
        most = carbohydrate.high - least[other]
        found[name] = known.get(name) or Between(Fraction(0), max(most, Fraction(0)))
    beside = _ONE - sum((main[n].low for n in MAIN if n != "carbohydrate"), Fraction(0))
    most = max(beside - least["sugar"] - least["fibre"], Fraction(0))
    found["acid"] = known.get("acid") or Between(Fraction(0), most)
    found["salt"] = known.get("salt") or Between(Fraction(0), main["ash"].high)
    found["solids"] = Between(_ONE - main["water"].high, _ONE - main["water"].low)
    found["milk_solids"] = known.get("milk_solids") or Between(Fraction(0), found["solids"].high)
    return found


def _main(known: Mapping[str, Between]) -> dict[str, Between]:
    """The main constituents: those that aren't stated share what the others leave, and what is
    stated as a range is no more than that either."""
    stated = {name: known[name] for name in MAIN if name in known}
    least = {name: stated[name].low if name in stated else _floor(name, known) for name in MAIN}
    total = sum(least.values(), Fraction(0))
    found: dict[str, Between] = {}
    for name in MAIN:
        room = max(_ONE - total + least[name], least[name])
        most = min(stated[name].high, room) if name in stated else room
        found[name] = Between(least[name], max(most, least[name]))
    return _all_but_one(found, stated, known)


def _floor(name: str, known: Mapping[str, Between]) -> Fraction:
    """The least of a main constituent that isn't stated: salt is left whole in the ash, sugar and
    fibre are carbohydrate."""
    parts = {"ash": ("salt",), "carbohydrate": ("sugar", "fibre")}.get(name, ())
    return min(sum((known.get(part, NOTHING).low for part in parts), Fraction(0)), _ONE)


def _all_but_one(
    found: dict[str, Between],
    stated: Mapping[str, Between],
    known: Mapping[str, Between],
) -> dict[str, Between]:
    """Where one main constituent alone isn't stated, and what acid there is: it is what is left."""
    missing = [name for name in MAIN if name not in stated]
    if len(missing) == 1 and "acid" in known:
        (name,) = missing
        most = sum((one.high for one in stated.values()), known["acid"].high)
        found[name] = Between(max(found[name].low, _ONE - most), found[name].high)
    return found
