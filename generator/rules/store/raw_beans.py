"""Beans that are poisonous until they boil: kidney beans, and soy with the milk that is made of it.

Kidney beans: the FDA's advice, whose lectin boiling destroys and less heat does not. Soy: the
University of Guelph's, 10 minutes at the boil and more; its trypsin inhibitors go slowly below it
(Johnson et al., 1980). Which names mean them is a working rule of this manual.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from generator.files.finding import Finding
from generator.measures.temperature import Temperature
from generator.measures.words import duration, listed
from generator.resolve.joined import JoinedFormula, JoinedStep
from generator.rules.basics.context import EndContext, EndOutcome
from generator.rules.basics.product import RAW_STATES, Component, Product

_GENTLE = re.compile(
    r"\b(?:slow[ -]cooker|crock|sous[ -]vide|circulator|water bath|bain[ -]marie|holding)\b",
    re.IGNORECASE,
)
"""Machines that don't boil, whatever the verb."""
_DRIED = re.compile(r"\bdried\b", re.IGNORECASE)
_SOY_MILK = re.compile(r"\bsoya?(?:bean)?[ -](?:milk|drink)\b", re.IGNORECASE)
BOILS = Temperature.of(97, "°C")
"""The coolest a pot may be set to that is still meant to boil, at some height."""
_How = Literal["", "briefly", "through"]


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


def _as_hot_as_boiling(step: JoinedStep) -> bool:
    """Whether a step makes soy as hot as boiling does: boiled, or steamed, roasted or fried. Not
    one whose own target for the core is cooler."""
    if _core_too_cool(step):
        return False
    if boils(step):
        return True
    at = step.step.at
    dry = "cooks" in step.effects and "in-water" not in step.effects and not is_gentle(step)
    return dry and (at is None or at.coolest >= BOILS)


def _may_boil(step: JoinedStep) -> bool:
    """Whether a step simmers or poaches, and nothing says how hot: it may be hot enough."""
    simmers = {"cooks", "in-water"} <= step.effects and step.step.at is None
    return simmers and not (is_gentle(step) or _core_too_cool(step))


def _core_too_cool(step: JoinedStep) -> bool:
    target = step.target
    warmest = target.warmest if target is not None and target.kind == "core" else None
    return warmest is not None and warmest < BOILS


def _never(_: JoinedStep) -> bool:
    return False


@dataclass(frozen=True)
class _Kind:
    """A kind of bean: its code, the words of its names and of those that aren't raw, which steps
    boil it and which may, how many seconds they are to take, what becomes of who eats it raw, what
    to do, and the source that says so."""

    code: str
    named: re.Pattern[str]
    cooked: re.Pattern[str]
    boils: Callable[[JoinedStep], bool]
    may: Callable[[JoinedStep], bool]
    least_s: Fraction
    sick: str
    help: str
    source: str


_KIDNEY = _Kind(
    "beans-not-boiled",
    re.compile(r"\b(?:kidney[ -]beans?|red beans?|rajma|cannellini(?: beans?)?)\b", re.IGNORECASE),
    re.compile(r"\b(?:canned|tinned|cooked|boiled|flour|adzuki|green)\b", re.IGNORECASE),
    boils,
    _never,
    Fraction(30 * 60),
    "Raw, or cooked below the boil, they make people sick.",
    "Soak them, drain them, and boil them in fresh water: `do: boil` with `time: 30 min`. Only "
    "then cook them slowly. A simmer counts at 97 °C and hotter (`at`).",
    "fda-kidney-beans-quoted",
)
_SOY = _Kind(
    "soy-not-boiled",
    re.compile(r"\bsoya?[ -]?beans?\b|" + _SOY_MILK.pattern, re.IGNORECASE),
    re.compile(
        r"\b(?:canned|tinned|cooked|boiled|steamed|roasted|toasted|puffed|fermented|flour|oil|sauce"
        r"|pastes?|curd|sprouts?|lecithin|protein|powder|uht|pasteuri[sz]ed|edamame)\b",
        re.IGNORECASE,
    ),
    _as_hot_as_boiling,
    _may_boil,
    Fraction(10 * 60),
    "Raw soy, and soy that only foams, makes people sick.",
    "Boil it: `do: boil` with `time: 10 min` or more, counted from the boil. Its milk foams up "
    "long before it boils. A simmer counts at 97 °C and hotter (`at`).",
    "guelph-natural-toxins",
)
_KINDS = (_KIDNEY, _SOY)


def raw_beans(product: Product) -> tuple[Component, ...]:
    """The raw kidney beans in it: dried, or soaked."""
    return _raw(product, _KIDNEY)


def raw_soy(product: Product) -> tuple[Component, ...]:
    """The raw soybeans in it, and the milk of them that nobody boiled."""
    return _raw(product, _SOY)


def _raw(product: Product, kind: _Kind) -> tuple[Component, ...]:
    return tuple(c for c in product.components if _kind_of(c) is kind and not c.cooked)


def _kind_of(part: Component) -> _Kind | None:
    """Which kind of beans a part came as raw, by its names; None of any other. Dried ones are raw,
    whatever is stated of them; soy milk too where nothing is stated, unless a plant packed it."""
    if part.species != "none" or part.grown:
        return None
    kind, what = _named(" / ".join(part.names))
    if kind is None:
        return None
    if what == "milk":
        return kind if part.state == "raw" or _unstated(part) else None
    raw = part.state in RAW_STATES or part.form == "dry" or what == "dried"
    return kind if raw else None


def _unstated(part: Component) -> bool:
    """Whether nothing says that somebody boiled it: no state, and no plant that packed it."""
    packed = part.facts is not None and (part.facts.commercially_packed or part.facts.sealed)
    return part.state is None and not packed


@functools.lru_cache(4096)
def _named(names: str) -> tuple[_Kind | None, Literal["", "dried", "milk"]]:
    """The kind of beans some names mean, and whether they mean milk of it, or dried ones; each step
    asks of the same food again."""
    kind = next((k for k in _KINDS if k.named.search(names) and not k.cooked.search(names)), None)
    milk = _SOY_MILK.search(names)
    return kind, "milk" if milk else "dried" if _DRIED.search(names) else ""


def boil_for(part: Component) -> Fraction | None:
    """How many seconds of boiling are advised for a part that came as raw beans; None for all other
    food."""
    kind = _kind_of(part)
    return kind.least_s if kind is not None else None


def beans_not_boiled(context: EndContext) -> EndOutcome:
    """An error where raw kidney beans or soy are eaten that no step boils, a warning where none
    boils them for as long as is advised, or none says for how long; other authorities ask for less.
    What was boiled in a formula made ahead counts."""
    if not context.fate.eaten:
        return EndOutcome()
    found = (_not_boiled(context, kind) for kind in _KINDS)
    return EndOutcome((), tuple(one for one in found if one is not None))


def _not_boiled(context: EndContext, kind: _Kind) -> Finding | None:
    """What is said of the beans of one kind that aren't boiled through; None where all are."""
    short = _boiled_too_little(context, kind)
    if not short:
        return None
    raw = [c for c, how in short if not how]
    names = listed(list(dict.fromkeys(c.name for c in raw or [c for c, _ in short])))
    formula = context.formula.formula
    return Finding(
        kind.code,
        "error" if raw else "warning",
        f"{formula.name}: no step boils {names} for {duration(kind.least_s)}. {kind.sick}",
        formula.key_place("name"),
        kind.help,
        source=context.house.library.source_title(kind.source),
        about=frozenset({context.formula.id}),
    )


def _boiled_too_little(context: EndContext, kind: _Kind) -> list[tuple[Component, str]]:
    """The beans of one kind that aren't boiled through, and how they are boiled."""
    beans = [c for c in context.product.components if _kind_of(c) is kind]
    boiled = [(c, how_boiled(context.formula, c)) for c in beans]
    return [(c, how) for c, how in boiled if how != "through"]


def how_boiled(formula: JoinedFormula, part: Component) -> _How:
    """Whether a formula boils beans of it, from the step on that takes them in, or one they were
    made in before: ``through`` for as long as is advised, ``briefly`` for less, or nobody says; ""
    for all other food."""
    kind = _kind_of(part)
    if kind is None:
        return ""
    since = formula.since_taken({part.part})
    if part.boiled == "through" or any(kind.boils(s) and _long_enough(s, kind) for s in since):
        return "through"
    return "briefly" if any(kind.boils(s) or kind.may(s) for s in since) else part.boiled


def _long_enough(step: JoinedStep, kind: _Kind) -> bool:
    time = step.step.time
    return _under_pressure(step) or (time is not None and time.shortest >= kind.least_s)


def is_gentle(step: JoinedStep) -> bool:
    """Whether a step is done on a machine that doesn't boil, by its name."""
    return step.machine is not None and _GENTLE.search(step.machine.name) is not None


def _under_pressure(step: JoinedStep) -> bool:
    return step.machine is not None and step.machine.under_pressure
