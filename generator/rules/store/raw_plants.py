"""Juice that nothing pasteurised: Food Code 3-801.11(A) and 3-404.11; 21 CFR 120.1(a) counts purée
as well, which isn't asked here. Which names mean it is a working rule of this manual."""

from __future__ import annotations

import re
from fractions import Fraction

from generator.files.finding import Finding
from generator.measures.words import listed
from generator.reference.row_kinds import WordsRow
from generator.resolve.joined import JoinedFormula
from generator.rules.basics.context import EndContext, EndOutcome, cited
from generator.rules.basics.product import RAW_STATES, Component, Product

_JUICE = re.compile(r"\b(?:juices?|cider|smoothies?|nectar)\b", re.IGNORECASE)
_NO_JUICE = re.compile(
    r"\b(?:vinegar|hard cider|pasteuri[sz]ed|uht|canned|carton|concentrate)\b", re.IGNORECASE
)
_SEASONS = re.compile(r"\b(?:lemon|lime|yuzu|meat|pan|onion|garlic)\b", re.IGNORECASE)
_SHARE = Fraction(1, 4)
"""The share from which juice is the drink, and no seasoning of another food."""


def raw_juice(formula: JoinedFormula, product: Product) -> tuple[str, ...]:
    """The names of what makes a product raw juice: juice bought in that isn't said to be
    pasteurised, or the raw fruit and vegetables of a formula that is called juice. None once it was
    cooked."""
    if product.cooked or product.plants_heated:
        return ()
    bought = [c for c in product.components if _is_juice(c)]
    if sum((c.weight for c in bought), Fraction(0)) >= _SHARE * product.mass > 0:
        return tuple(dict.fromkeys(c.name for c in bought))
    if not _called_juice(formula):
        return ()
    return tuple(dict.fromkeys(c.name for c in product.components if _raw_fruit(c)))


def _called_juice(formula: JoinedFormula) -> bool:
    names = (formula.formula.name, *formula.formula.other_names)
    return any(_JUICE.search(n) and not _NO_JUICE.search(n) for n in names)


def _is_juice(part: Component) -> bool:
    if part.species != "none" or part.cooked or part.heated or part.state == "pasteurised":
        return False
    if part.facts is not None and (part.facts.commercially_packed or part.facts.sealed):
        return False
    named = _JUICE.search(part.name) is not None and not _NO_JUICE.search(part.name)
    return named and not _SEASONS.search(part.name)


def _raw_fruit(part: Component) -> bool:
    raw = part.species == "none" and part.state in RAW_STATES
    return raw and not (part.cooked or part.heated or part.form == "dry" or part.function)


def juice_for_the_frail(context: EndContext) -> EndOutcome:
    """An error where raw juice goes to a highly susceptible population: Food Code 3-801.11(A)."""
    row = context.house.pack.row_for(WordsRow, "juice", "susceptible")
    if context.house.kitchen.serves != "highly-susceptible" or row is None:
        return EndOutcome()
    names = raw_juice(context.formula, context.product)
    if not names:
        return EndOutcome()
    finding = Finding(
        "susceptible-raw-juice",
        "error",
        f"{context.formula.formula.name}: nothing pasteurises {listed(list(names))}. Raw juice is "
        "never served to a highly susceptible population, children of 9 and younger at school "
        "with them.",
        context.formula.formula.key_place("name"),
        "Use pasteurised juice (`state: pasteurised`). Or pasteurise it here (`do: pasteurise`), "
        "by the HACCP plan that the code asks for.",
        source=cited(context.house, row[1]),
        about=frozenset({context.formula.id}),
    )
    return EndOutcome((), (finding,))
