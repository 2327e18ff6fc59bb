"""The foods a design is made of: the kitchen's by their ids, or by typed figures.

``cream-heavy`` is the kitchen's, with what is known of it; ``cream: fat 40 %, msnf 5.4 %`` is as
typed, and what isn't typed of it is none. Figures typed behind an id of the kitchen's go before its
own.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from generator.composition.contents import contents_of
from generator.files.finding import Refused, clipped
from generator.measures.amounts import read_amount
from generator.measures.between import NOTHING, Between
from generator.measures.rounding import half_up
from generator.measures.units import Units
from generator.measures.words import NARROW, listed, plain, with_verb
from generator.records.ingredient import Ingredient
from generator.resolve.joined import House
from generator.scaling.scales import ORDINARY, STRICT

TYPED = (
    "fat",
    "msnf",
    "sugar",
    "solids",
    "serum",
    "water",
    "salt",
    "acid",
    "nitrite",
    "erythorbate",
)
"""The figures that may be typed of a food."""
CALLED = {"msnf": "MSNF"}
_ONE = Fraction(1)
_TENTH = Fraction(1, 10)
_ID = re.compile(r"[a-z][a-z0-9-]{0,59}")
_PURE: dict[str, dict[str, Fraction]] = {
    "salt": {"salt": _ONE, "solids": _ONE},
    "sugar": {"sugar": _ONE, "solids": _ONE},
    "water": {"water": _ONE},
}
"""What a food is by its plain name, where the kitchen has none of that id."""


@dataclass(frozen=True)
class DesignFood:
    """A food of a design: its ``id`` and ``name``, what is known of it as shares from … to …, and
    the kitchen's ``facts``, None of a typed one. ``sources`` says where its figures are from."""

    id: str
    name: str
    shares: Mapping[str, Between]
    facts: Ingredient | None
    source: str

    def known(self, constituent: str) -> Fraction:
        """A constituent as one figure. Raises Refused where only bounds are known."""
        share = self.shares.get(constituent, NOTHING)
        if not share.known:
            called = CALLED.get(constituent, constituent)
            words = share.times(Fraction(100)).words(2)
            middle = (share.low + share.high) * 50
            raise Refused(
                "design-figure-missing",
                f"{self.name}: how much {called}? It may be {words}{NARROW}%.",
                "Type your own figure behind the id, or write its `composition` in the ingredient.",
                [f'"{self.id}: {constituent} {plain(half_up(middle, _TENTH), 1)} %"'],
            )
        return share.low

    @property
    def permitted(self) -> Fraction:
        """What its weighing may be off."""
        strict = self.facts is None or self.facts.function is not None
        dosed = any(self.shares.get(n, NOTHING).high for n in ("nitrite", "erythorbate", "salt"))
        return STRICT if strict and (dosed or self.facts is not None) else ORDINARY


def food_of(
    text: str, house: House, kitchen: Mapping[str, Ingredient], cure: bool = False
) -> DesignFood:
    """A food as it is typed; what holds nitrite or nitrate only as the ``cure``, with its dose.
    Raises Refused for one that nobody knows, and for figures that can't be."""
    ident, sign, figures = (part.strip() for part in text.partition(":"))
    if not _ID.fullmatch(ident):
        raise _no_name(text, ident, sign, figures)
    typed = _figures(figures, ident, house.units) if sign else {}
    facts = kitchen.get(ident)
    if facts is None and not sign and ident not in _PURE:
        raise _unknown(ident, kitchen)
    name = facts.name if facts is not None else ident.replace("-", " ").capitalize()
    known = _of_the_kitchen(facts, house) if facts is not None else _as_typed(ident, typed)
    shares = _with_typed(known, typed)
    _held_to_its_dose(DesignFood(ident, name, shares, facts, ""), typed, cure)
    source = _source(facts, house) if not typed else "as typed"
    return DesignFood(ident, name, shares, facts, source)


def _no_name(text: str, ident: str, sign: str, figures: str) -> Refused:
    """The refusal of a name that isn't written as an id is, with it written so."""
    slug = re.sub(r"[^a-z0-9]+", "-", ident.lower()).strip("-0123456789")[:60].rstrip("-")
    behind = f": {figures}" if sign else ""
    return Refused(
        "design-food",
        f"`{clipped(text)}` names no food.",
        "Write an id of the kitchen's, or a name in small letters and hyphens with its figures.",
        [f'"{slug}{behind}"'] if slug else [],
    )


def _held_to_its_dose(food: DesignFood, typed: Mapping[str, Fraction], cure: bool) -> None:
    """Raises Refused for a cure in another's place, and for one of the kitchen's whose label would
    be contradicted: either way its nitrite would be counted wrong."""
    facts = food.facts
    own = facts is not None and (facts.nitrite is not None or facts.nitrate is not None)
    if not cure and (own or food.shares.get("nitrite", NOTHING).high > 0):
        raise Refused(
            "design-cure",
            f"{with_verb(food.name, 'has')} nitrite in it. It goes in as the cure alone, with "
            "its dose.",
            "Give it with --cure and --nitrite, and another food here.",
        )
    if cure and own and "nitrite" in typed:
        raise Refused(
            "design-cure",
            f"{with_verb(food.name, 'is')} the kitchen's: its nitrite is what its label says.",
            "Leave the figure out, or type a cure of another name.",
            [food.id],
        )


def food_and_amount(
    text: str, house: House, kitchen: Mapping[str, Ingredient]
) -> tuple[DesignFood, Fraction]:
    """``ID=AMOUNT``: a food and its grams. Raises Refused for another kind of amount."""
    food, named, amount = _food_and_text(text, house, kitchen, "weight", "5kg")
    return food, _of_it(grams, named, amount, house.units, "5kg")


def food_and_share(
    text: str, house: House, kitchen: Mapping[str, Ingredient]
) -> tuple[DesignFood, Fraction]:
    """``ID=PERCENT``: a food and its share. Raises Refused for another kind of amount."""
    food, named, amount = _food_and_text(text, house, kitchen, "share of the mix", "8%")
    return food, _of_it(share, named, amount, house.units, "8%")


def _of_it(
    read: Callable[[str, Units], Fraction], named: str, amount: str, units: Units, example: str
) -> Fraction:
    """How much of a food. Raises Refused, with its name before each fix."""
    try:
        return read(amount, units)
    except Refused as no:
        write = [f"{named.strip()}={fix}" for fix in (*no.write, example)]
        raise Refused(no.code, no.message, no.help, write) from None


def _food_and_text(
    text: str, house: House, kitchen: Mapping[str, Ingredient], what: str, example: str
) -> tuple[DesignFood, str, str]:
    """A food, how it is typed, and what is behind its equals sign. Raises Refused where there is
    none."""
    named, sign, amount = text.rpartition("=")
    if not sign:
        raise Refused(
            "design-amount",
            f"`{clipped(text)}`: how much of it?",
            f"Write the food, an equals sign and its {what}.",
            [f"{text.strip()}={example}"],
        )
    try:
        return food_of(named, house, kitchen), named, amount
    except Refused as no:
        write = [f"{fix.strip(chr(34))}={amount.strip()}" for fix in no.write]
        raise Refused(no.code, no.message, no.help, write) from None


def grams(text: str, units: Units) -> Fraction:
    """A weight in grams. Raises Refused for anything else."""
    amount = read_amount(text, units, pieces=False)
    if amount.kind != "mass":
        raise Refused(
            "amount-wrong-kind", f"`{clipped(text)}` is no weight.", "A design works in weights."
        )
    return amount.value


def share(text: str, units: Units) -> Fraction:
    """A percentage, or parts per million, as a share; 0 % is read. Raises Refused for anything
    else."""
    if re.fullmatch(r"0+([.,]0+)?\s*%", text.strip()):
        return Fraction(0)
    amount = read_amount(text, units, pieces=False)
    if amount.kind != "percent" or amount.of:
        raise Refused("amount-wrong-kind", f"`{clipped(text)}` is no percentage.", "As in 12 %.")
    if amount.value > 100:
        raise Refused("amount-wrong-kind", f"`{clipped(text)}` is more than all of it.", "")
    return amount.value / 100


def _figures(text: str, ident: str, units: Units) -> dict[str, Fraction]:
    """The figures typed of a food. Raises Refused, with the whole food as it should be typed."""
    found: dict[str, Fraction] = {}
    for piece in (one.strip() for one in re.split(r",(?!\d)|;", text)):
        match = re.fullmatch(r"([a-z]+)\s*[ =]\s*(\d.*)", piece)
        if match is None or match[1] not in TYPED:
            raise Refused(
                "design-figure",
                f"`{clipped(piece)}` is no figure of a food.",
                f"Known: {listed(TYPED)}. As in fat 40 %.",
            )
        if match[1] in found:
            raise Refused("design-figure", f"`{match[1]}` is typed twice.", "Leave one out.")
        try:
            found[match[1]] = share(match[2], units)
        except Refused as no:
            write = [f'"{ident}: {text.replace(match[2], fix, 1)}"' for fix in no.write]
            raise Refused(no.code, no.message, no.help, write) from None
    return found


def _unknown(ident: str, kitchen: Mapping[str, Ingredient]) -> Refused:
    near = difflib.get_close_matches(ident, kitchen, n=1)
    help = f"Did you mean {near[0]}?" if near else "Is it none of the kitchen's? Type its figures."
    return Refused(
        "ingredient-unknown",
        f"There is no ingredient {ident}.",
        help,
        [f'"{ident}: fat 40 %, msnf 5.4 %"'],
    )


def _source(facts: Ingredient | None, house: House) -> str:
    if facts is None:
        return "taken as pure"
    if facts.composition is not None:
        return facts.composition.source
    stuff = house.library.foodstuffs.get(facts.foodstuff or "")
    if stuff is None:
        return "the kitchen's own facts"
    number = f", food {stuff.usda}" if stuff.usda else ""
    return f"{house.library.source_title(stuff.source)}{number}"


def _of_the_kitchen(facts: Ingredient, house: House) -> dict[str, Between]:
    """What is known of an ingredient. Of a milk food the sugar is what isn't of the milk: its
    lactose is among the milk solids."""
    stuff = house.library.foodstuffs.get(facts.foodstuff or "")
    found = contents_of(facts, stuff.composition if stuff is not None else None).shares
    milk, solids, fat, sugar = (found[n] for n in ("milk_solids", "solids", "fat", "sugar"))
    msnf = NOTHING
    if milk.high:
        # Only of what is milk through and through is the fat all the milk's, and no sugar added: of
        # a milk chocolate neither is known.
        pure = milk.known and milk == solids and fat.known
        msnf = Between.just(milk.low - fat.low) if pure else Between(NOTHING.low, milk.high)
        sugar = NOTHING if pure else Between(NOTHING.low, sugar.high)
    return {
        **{name: found[name] for name in ("fat", "solids", "water", "salt", "acid")},
        "sugar": sugar,
        "msnf": msnf,
        "nitrite": Between.just(facts.nitrite or 0),
        "erythorbate": Between.just(facts.erythorbate or 0),
    }


def _as_typed(ident: str, typed: Mapping[str, Fraction]) -> dict[str, Between]:
    figures = typed or _PURE.get(ident, {})
    return {name: Between.just(figures.get(name, 0)) for name in TYPED if name != "serum"}


def _with_typed(known: dict[str, Between], typed: Mapping[str, Fraction]) -> dict[str, Between]:
    """The figures typed in place of the known ones. ``serum`` says that so much of what is neither
    fat nor sugar is milk solids: the serum point. Raises Refused for more than the whole."""
    if not typed:
        return known
    found = {**known, **{n: Between.just(v) for n, v in typed.items() if n != "serum"}}
    if "serum" in typed:
        found["msnf"] = _of_the_serum(typed["serum"], found["fat"], found["sugar"])
    parts = sum((found[n].low for n in ("fat", "msnf", "sugar")), Fraction(0))
    if "solids" not in typed and (_DAIRY & set(typed) or not found["solids"].low):
        rest = sum((typed.get(n, Fraction(0)) for n in _OTHER_SOLIDS), Fraction(0))
        found["solids"] = Between.just(parts + rest)
    _check_typed(parts, found["solids"])
    if "water" not in typed:
        found["water"] = Between.just(max(1 - found["solids"].high, Fraction(0)))
    return found


def _of_the_serum(share: Fraction, fat: Between, sugar: Between) -> Between:
    """The milk solids by the serum point; open where fat or sugar is."""
    if not (fat.known and sugar.known):
        return Between(NOTHING.low, _ONE)
    return Between.just(share * (1 - fat.low - sugar.low))


def _check_typed(parts: Fraction, solids: Between) -> None:
    """Raises Refused for fat, MSNF and sugar (``parts``) or solids that can't be."""
    if parts > 1 or solids.low > 1:
        raise Refused("design-figure", "These figures come to more than all of the food.", "")
    if parts > solids.high:
        raise Refused("design-figure", "Fat, MSNF and sugar are more than the solids typed.", "")


_DAIRY = frozenset({"fat", "msnf", "sugar", "serum"})
_OTHER_SOLIDS = ("salt", "nitrite", "erythorbate", "acid")
"""What a typed food may hold besides, which is no water."""
