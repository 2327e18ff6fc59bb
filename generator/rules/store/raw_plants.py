"""Raw plant food that is a hazard of its own: juice that nothing pasteurised, and kidney beans that
aren't boiled.

Juice: Food Code 3-801.11(A) and 3-404.11; 21 CFR 120.1(a) counts purée as well, which isn't asked
here. Beans: the FDA's advice on red kidney beans, whose lectin boiling destroys and less heat does
not. Which names mean them is a working rule of this manual.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Literal

from generator.files.finding import Finding
from generator.measures.temperature import Temperature
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
_BEANS = re.compile(
    r"\b(?:kidney[ -]beans?|red beans?|rajma|cannellini(?: beans?)?)\b", re.IGNORECASE
)
_COOKED_BEANS = re.compile(r"\b(?:canned|tinned|cooked|boiled|flour|adzuki|green)\b", re.IGNORECASE)
_DRIED = re.compile(r"\bdried\b", re.IGNORECASE)
_GENTLE = re.compile(
    r"\b(?:slow[ -]cooker|crock|sous[ -]vide|circulator|water bath|bain[ -]marie|holding)\b",
    re.IGNORECASE,
)
"""Machines that don't boil, whatever the verb."""
BOILS = Temperature.of(97, "°C")
"""The coolest a pot may be set to that is still meant to boil, at some height."""
LEAST_S = Fraction(30 * 60)
"""How long the FDA says to boil kidney beans."""


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


def raw_beans(product: Product) -> tuple[Component, ...]:
    """The raw kidney beans in it: dried, or soaked."""
    return tuple(c for c in product.components if is_beans(c) and not c.cooked)


def is_beans(part: Component) -> bool:
    """Whether a part came as raw kidney beans, by its names. Dried ones are raw, whatever is stated
    of them."""
    other = part.facts.other_names if part.facts is not None else ()
    names = " / ".join((part.name, part.item.replace("-", " "), *other))
    if not _BEANS.search(names) or _COOKED_BEANS.search(names) or part.species != "none":
        return False
    return part.state in RAW_STATES or part.form == "dry" or bool(_DRIED.search(names))


def beans_not_boiled(context: EndContext) -> EndOutcome:
    """An error where raw kidney beans are eaten that no step boils, a warning where none boils them
    for as long as the FDA says, or none says for how long; other authorities ask for less. What was
    boiled in a formula made ahead counts."""
    short = _boiled_too_little(context) if context.fate.eaten else []
    if not short:
        return EndOutcome()
    raw = [c for c, how in short if not how]
    names = listed(list(dict.fromkeys(c.name for c in raw or [c for c, _ in short])))
    formula = context.formula.formula
    finding = Finding(
        "beans-not-boiled",
        "error" if raw else "warning",
        f"{formula.name}: no step boils {names} for 30 minutes. Raw, or cooked below the boil, "
        "they make people sick.",
        formula.key_place("name"),
        "Soak them, drain them, and boil them in fresh water: `do: boil` with `time: 30 min`. Only "
        "then cook them slowly. A simmer counts at 97 °C and hotter (`at`).",
        source=context.house.library.source_title("fda-kidney-beans-quoted"),
        about=frozenset({context.formula.id}),
    )
    return EndOutcome((), (finding,))


def _boiled_too_little(context: EndContext) -> list[tuple[Component, str]]:
    """The kidney beans that aren't boiled through, and how they are boiled."""
    beans = [c for c in context.product.components if is_beans(c)]
    boiled = [(c, how_boiled(context.formula, c)) for c in beans]
    return [(c, how) for c, how in boiled if how != "through"]


def how_boiled(formula: JoinedFormula, part: Component) -> Literal["", "briefly", "through"]:
    """Whether a formula boils kidney beans of it, from the step on that takes them in, or one they
    were made in before: ``through`` for as long as the FDA says, ``briefly`` for less, or nobody
    says; "" for all other food."""
    if not is_beans(part):
        return ""
    boiling = [step for step in formula.since_taken({part.part}) if boils(step)]
    if part.boiled == "through" or any(map(_long_enough, boiling)):
        return "through"
    return "briefly" if boiling else part.boiled


def boils(step: JoinedStep) -> bool:
    """Whether a step is known to boil what is in it, by its verb or by its temperature, or cooks it
    under pressure: what simmers or poaches may be cooler."""
    if "cooks" not in step.effects:
        return False
    if _under_pressure(step):
        return True
    at = step.step.at
    if at is None:
        return "boils" in step.effects and not is_gentle(step)
    return "in-water" in step.effects and at.coolest >= BOILS


def is_gentle(step: JoinedStep) -> bool:
    """Whether a step is done on a machine that doesn't boil, by its name."""
    return step.machine is not None and _GENTLE.search(step.machine.name) is not None


def _long_enough(step: JoinedStep) -> bool:
    time = step.step.time
    return _under_pressure(step) or (time is not None and time.shortest >= LEAST_S)


def _under_pressure(step: JoinedStep) -> bool:
    return step.machine is not None and step.machine.under_pressure
