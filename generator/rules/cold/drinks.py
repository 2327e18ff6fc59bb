"""Drinks that nothing pasteurised, by what they are made of and not by what they are called: juice,
coffee and tea drawn in cold water.

Food Code 3-801.11(A) and 3-404.11; 21 CFR 120.1(a) counts purée as juice as well, which isn't asked
here. How acid such a drink is isn't known from what is in it, so that packed without air it is food
without a product assessment (Food Code 1-201.10, table B). Which names, steps and shares mean such
a drink are working rules of this manual.
"""

from __future__ import annotations

import re
from fractions import Fraction

from generator.records.effects import HEATS
from generator.resolve.joined import House, JoinedFormula, JoinedStep
from generator.rules.basics.crushing import by_a_juicer
from generator.rules.basics.product import RAW_STATES, Component, Product
from generator.rules.cold.wetted import BREWED, pours_boiling, watery

_JUICE = re.compile(r"\b(?:juices?|cider|smoothies?|nectar|shots?)\b", re.IGNORECASE)
_NO_JUICE = re.compile(
    r"\b(?:vinegar|hard cider|pasteuri[sz]ed|uht|canned|carton|concentrate)\b", re.IGNORECASE
)
_SEASONS = re.compile(r"\b(?:lemon|lime|yuzu|meat|pan|onion|garlic)\b", re.IGNORECASE)
_SHARE = Fraction(1, 4)
"""The share from which juice is the drink, and no seasoning of another food."""
_MOSTLY = Fraction(3, 4)
"""The share of raw fruit and vegetables from which a drink is made of them."""
_GLASS = re.compile(r"\b(?:glass(?:es)?|bottles?|carafes?|jugs?|cups?|shots?)\b", re.IGNORECASE)
_PUT = frozenset({"packs", "fills", "serves"})
_PACKS = frozenset({"packs", "packs-without-air"})
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
    presses them, or they are pressed or ground and go into a glass or a bottle, or what runs off is
    packed."""
    fruit = sum((c.weight for c in product.components if _raw_fruit(c)), Fraction(0))
    if not fruit or fruit < _MOSTLY * product.mass:
        return False
    if _by_a_juicer(formula):
        return True
    return _crushed(formula) and (_in_a_glass(formula) or _runs_off(formula))


def _by_a_juicer(formula: JoinedFormula) -> bool:
    return any(by_a_juicer(_texts(step)) for step in formula.steps)


def _crushed(formula: JoinedFormula) -> bool:
    return any(map(_crushes, formula.steps))


def _crushes(step: JoinedStep) -> bool:
    return "comminutes" in step.effects or _PRESSED.search(step.verb) is not None


_RUNS_OFF = Fraction(3, 4)
"""The most that is left, as a share, of fruit whose juice alone is kept."""
_CUTS = frozenset({"cuts", "slices", "divides"})


def _runs_off(formula: JoinedFormula) -> bool:
    """Whether what is packed is what ran off: strained, pressed to three quarters of its weight or
    less, or pressed uncut, as nobody weighs down whole apples."""
    packed = next((s.number for s in formula.steps if s.effects & _PACKS), 0)
    before = formula.before(packed) if packed else ()
    if not any(map(_crushes, before)):
        return False
    return any(map(_leaves_pulp, before)) or _pressed_uncut(before)


def _leaves_pulp(step: JoinedStep) -> bool:
    less = step.yields is not None and step.yields.mean <= _RUNS_OFF
    return less or "drains" in step.effects


def _pressed_uncut(steps: tuple[JoinedStep, ...]) -> bool:
    if any(s.effects & _CUTS for s in steps):
        return False
    return any(_PRESSED.search(s.verb) for s in steps)


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


def cold_brewed(house: House, formula: JoinedFormula, product: Product) -> tuple[Component, ...]:
    """The coffee or tea in a product that is drawn in water that nothing heats."""
    brewed = tuple(c for c in product.components if BREWED.search(c.name) and not c.heated)
    if not brewed or not watery(product, house):
        return ()
    hot = any(s.effects & HEATS or pours_boiling(s) or _hot(s) for s in formula.steps)
    return () if hot else brewed


def _hot(step: JoinedStep) -> bool:
    at = step.step.at
    return at is not None and at.coolest.celsius >= 60


def unproven_drink(house: House, formula: JoinedFormula, product: Product) -> bool:
    """Whether a product is a raw drink, and neither its pH nor a paper is asked for: nothing shows
    that it needs no control."""
    stated = formula.formula.not_tcs
    proven = stated is not None and bool(stated.document)
    if proven or any("acidifies" in s.effects for s in formula.steps):
        return False
    return bool(raw_juice(formula, product) or cold_brewed(house, formula, product))
