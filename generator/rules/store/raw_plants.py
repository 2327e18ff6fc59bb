"""Juice that nothing pasteurised: Food Code 3-801.11(A) and 3-404.11; 21 CFR 120.1(a) counts purée
as well, which isn't asked here. Which names mean it is a working rule of this manual."""

from __future__ import annotations

import re
from fractions import Fraction

from generator.files.finding import Finding
from generator.measures.words import listed
from generator.reference.row_kinds import WordsRow
from generator.resolve.joined import JoinedFormula, JoinedStep
from generator.rules.basics.context import EndContext, EndOutcome, cited
from generator.rules.basics.product import RAW_STATES, Component, Product

_JUICE = re.compile(r"\b(?:juices?|cider|smoothies?|nectar|shots?)\b", re.IGNORECASE)
_NO_JUICE = re.compile(
    r"\b(?:vinegar|hard cider|pasteuri[sz]ed|uht|canned|carton|concentrate)\b", re.IGNORECASE
)
_SEASONS = re.compile(r"\b(?:lemon|lime|yuzu|meat|pan|onion|garlic)\b", re.IGNORECASE)
_SHARE = Fraction(1, 4)
"""The share from which juice is the drink, and no seasoning of another food."""
_MOSTLY = Fraction(3, 4)
"""The share of raw fruit and vegetables from which a drink is made of them."""
_JUICER = re.compile(r"\bjuic(?:e|ed|er|ing)\b", re.IGNORECASE)
_GLASS = re.compile(r"\b(?:glass(?:es)?|bottles?|carafes?|jugs?|cups?|shots?)\b", re.IGNORECASE)
_PUT = frozenset({"packs", "fills", "serves"})
_PRESSED = re.compile(r"\bpress(?:ed|es)?\b", re.IGNORECASE)


def raw_juice(formula: JoinedFormula, product: Product) -> tuple[str, ...]:
    """The names of what makes a product raw juice: juice bought in that isn't said to be
    pasteurised, or the raw fruit and vegetables of a formula that is called juice. None once it was
    cooked."""
    if product.cooked or product.plants_heated:
        return ()
    bought = [c for c in product.components if _is_juice(c)]
    if sum((c.weight for c in bought), Fraction(0)) >= _SHARE * product.mass > 0:
        return tuple(dict.fromkeys(c.name for c in bought))
    if not (_called_juice(formula) or _juiced(formula, product)):
        return ()
    return tuple(dict.fromkeys(c.name for c in product.components if _raw_fruit(c)))


def _juiced(formula: JoinedFormula, product: Product) -> bool:
    """Whether the steps make a drink of raw fruit and vegetables, whatever it is called: a juicer
    presses them, or they are pressed or ground and go into a glass or a bottle."""
    fruit = sum((c.weight for c in product.components if _raw_fruit(c)), Fraction(0))
    if not fruit or fruit < _MOSTLY * product.mass:
        return False
    return _by_a_juicer(formula) or (_crushed(formula) and _in_a_glass(formula))


def _by_a_juicer(formula: JoinedFormula) -> bool:
    return any(_JUICER.search(text) for step in formula.steps for text in _texts(step))


def _crushed(formula: JoinedFormula) -> bool:
    return any("comminutes" in s.effects or _PRESSED.search(s.verb) for s in formula.steps)


def _in_a_glass(formula: JoinedFormula) -> bool:
    """Whether it goes into a glass or a bottle, by what it makes or by the words of a step."""
    makes = formula.formula.makes
    units = (makes.unit, makes.portion_unit) if makes is not None else ()
    texts = [t for s in formula.steps if s.effects & _PUT for t in _texts(s)]
    return any(_GLASS.search(text) for text in (*units, *texts) if text)


def _texts(step: JoinedStep) -> tuple[str, ...]:
    """What is written of a step: its verb, its words, its machine and its vessel."""
    named = (step.machine, step.vessel)
    return (step.verb, *step.step.how, *(one.name for one in named if one is not None))


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
