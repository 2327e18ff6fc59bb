"""Food that holds a poison of its own: cassava, fiddleheads, wild mushrooms, ackee, puffer fish and
the like, and what each source says is done to it before anybody eats it.

`shared/natural-poisons.yaml` has the foods. Law where the pack in force has a row of it (Food Code
3-201.16), advice of authorities else. Which words mean a food, and how cool a step may be that
still cooks it through, are working rules of this manual.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import Literal, NamedTuple

from generator.files.finding import Finding, Severity
from generator.measures.temperature import Temperature
from generator.measures.words import breakable, duration, listed, with_verb
from generator.records.ingredient import Ingredient
from generator.reference.row_kinds import WordsRow
from generator.reference.rows import NaturalPoison
from generator.resolve.joined import House, JoinedFormula, JoinedStep
from generator.rules.basics.context import EndContext, EndOutcome, cited
from generator.rules.basics.product import Component
from generator.rules.basics.said import any_of
from generator.rules.store.raw_beans import BOILS, boil_for, boils, how_boiled, is_gentle

COOKS_FROM = Temperature.of(75, "°C")
"""The coolest that a step's `at` may be that still cooks a vegetable through."""
CORE_FROM = Temperature.of(70, "°C")
"""The same of its core."""
STEAM_MOST = Temperature.of(105, "°C")
"""The hottest `at` that is steam or water, and no oven."""

_STEAMS = re.compile(r"\bsteam", re.IGNORECASE)
SIMMERS = 3
"""How many times as long as it should boil food simmers, so that it is only doubted no more."""

Safe = Literal["", "briefly", "through"]


def natural_poisons(context: EndContext) -> EndOutcome:
    """What is said of food with a poison of its own that is eaten: an error where nothing takes it
    out, or no paper says where it comes from; a warning where that isn't known, or sources
    disagree."""
    if not context.fate.eaten:
        return EndOutcome()
    findings: list[Finding] = []
    for poison, parts in _poisonous(context):
        said = _said(context, poison, parts)
        if said is not None:
            findings.append(_finding(context, poison, said))
    return EndOutcome((), tuple(findings))


class _Said(NamedTuple):
    """What is said of a food: the finding's code, whether it is only asked, the words."""

    code: str
    asked: bool
    words: str


def _poisonous(context: EndContext) -> Iterator[tuple[NaturalPoison, list[Component]]]:
    """The poisonous foods in it, each with the components that are such food."""
    house = context.house
    frail = house.kitchen.serves == "highly-susceptible"
    found = [(c, poisons) for c in context.product.components if (poisons := _poisons_of(house, c))]
    for poison in house.library.natural_poisons.values() if found else ():
        parts = [c for c, poisons in found if poison in poisons]
        if parts and (frail or not poison.frail_only):
            yield poison, parts


def _said(context: EndContext, poison: NaturalPoison, parts: list[Component]) -> _Said | None:
    """What is wrong with a poisonous food here; None where it is made safe, or its paper named."""
    if poison.paper:
        return _without_paper(poison, parts)
    if not (poison.cooked or poison.boiled_for):
        names = _names(parts)
        words = f"{listed(names)} can't be made safe in a kitchen. {poison.why}"
        return _Said("not-for-eating", False, words)
    return _not_made_safe(context.formula, poison, parts)


def _without_paper(poison: NaturalPoison, parts: list[Component]) -> _Said | None:
    """What is said where no paper says where such food comes from."""
    bare = [c for c in parts if c.facts is None or not c.facts.approved_source]
    if not bare:
        return None
    words = f"no paper says where {with_verb(_names(bare), 'comes')} from. {poison.why}"
    return _Said("source-not-approved", False, words)


def _not_made_safe(
    formula: JoinedFormula, poison: NaturalPoison, parts: list[Component]
) -> _Said | None:
    """What is said where no step takes the poison out, or none says for how long it does."""
    how = [(c, _made_safe(formula, poison, c)) for c in parts]
    raw = _names(c for c, safe in how if not safe)
    if raw:
        return _Said("not-made-safe", False, f"{_undone(poison, raw)}. {poison.why}")
    short = _names(c for c, safe in how if safe == "briefly")
    if short:
        words = f"{listed(short)}: for how long is it boiled? {poison.why}"
        return _Said("not-made-safe", True, words)
    wet = _in_its_water(formula, parts) if poison.drained else []
    if wet:
        words = f"no step pours off the water {with_verb(wet, 'is')} boiled in. {poison.why}"
        return _Said("not-made-safe", True, words)
    return None


def _undone(poison: NaturalPoison, names: list[str]) -> str:
    """What no step does: "no step boils Bamboo shoots for 8 min"."""
    if poison.boiled_for is None:
        return f"no step cooks {listed(names)} through"
    return f"no step boils {listed(names)} for {duration(poison.boiled_for.seconds)}"


def _in_its_water(formula: JoinedFormula, parts: list[Component]) -> list[str]:
    """The names of what stays in the water it is boiled in; what came by another formula isn't
    asked."""
    return _names(c for c in parts if not c.through and _keeps_water(formula, c))


def _finding(context: EndContext, poison: NaturalPoison, said: _Said) -> Finding:
    formula, library = context.formula.formula, context.house.library
    frail = context.house.kitchen.serves == "highly-susceptible"
    lenient = said.asked or (poison.severity == "warning" and not (frail and poison.for_the_frail))
    severity: Severity = "warning" if lenient else "error"
    law = context.house.pack.row_for(WordsRow, poison.law, "source") if poison.law else None
    return Finding(
        said.code,
        severity,
        f"{formula.name}: {said.words}",
        formula.key_place("name"),
        breakable(poison.fix),
        source=cited(context.house, law[1]) if law else library.source_title(poison.source),
        about=frozenset({context.formula.id}),
    )


def boiled_for(house: House, part: Component) -> Fraction | None:
    """How many seconds of boiling make a food safe, kidney beans and soy among them; None for food
    that needs none, and for food that is only asked about."""
    of_beans = boil_for(part)
    if of_beans is not None:
        return of_beans
    found = (p for p in _poisons_of(house, part) if p.severity == "error")
    times = (p.boiled_for for p in found)
    return max((time.seconds for time in times if time is not None), default=None)


def made_safe(house: House, formula: JoinedFormula, part: Component) -> Safe:
    """How a formula made ahead makes a poisonous food safe, beans among them: ``through``,
    or ``briefly`` where it doesn't say for how long; "" where it doesn't, and of all other food."""
    beans = how_boiled(formula, part)
    if beans:
        return beans
    found = (_made_safe(formula, p, part) for p in _poisons_of(house, part))
    return min(found, key=("", "briefly", "through").index, default="")


def _poisons_of(house: House, part: Component) -> tuple[NaturalPoison, ...]:
    """The poisons a food may hold."""

    def found() -> tuple[NaturalPoison, ...]:
        names = _called(part)
        return tuple(p for p in house.library.natural_poisons.values() if _is(p, part, names))

    return house.once(("poisons", part.item, part.name), part.facts, found)


def _made_safe(formula: JoinedFormula, poison: NaturalPoison, part: Component) -> Safe:
    """Whether the steps since a food was taken in, or a formula it was made in before, take its
    poison out."""
    since = formula.since_taken({part.part})
    if poison.boiled_for is not None:
        return part.boiled if part.boiled == "through" else _boiled(poison, since) or part.boiled
    done = poison.cooked and any(map(cooks_through, since))
    return "through" if done else part.boiled


def _boiled(poison: NaturalPoison, since: tuple[JoinedStep, ...]) -> Safe:
    """Whether steps boil a food for as long as its source says: ``briefly`` where one doesn't say
    for how long. Of food that is only asked about a long simmer is enough."""
    least = poison.boiled_for.seconds if poison.boiled_for is not None else Fraction(0)
    boiling = [step for step in since if in_boiling(step)]
    asked = poison.severity == "warning"
    if any(_lasts(step, least) for step in boiling):
        return "through"
    if asked and any(_simmers(step, least) for step in since):
        return "through"
    return "briefly" if any(step.step.time is None for step in boiling) else ""


def cooks_through(step: JoinedStep) -> bool:
    """Whether a step cooks a vegetable through, by what it states: nothing kept warm, in a slow
    cooker, or set to less than 75 °C."""
    if not step.effects & {"cooks", "reheats"}:
        return False
    at, target = step.step.at, step.step.target
    if at is not None:
        return at.coolest >= COOKS_FROM
    core = target.coolest if target is not None and target.kind == "core" else None
    if core is not None:
        return core >= CORE_FROM
    return "cooks" in step.effects and not is_gentle(step)


def in_boiling(step: JoinedStep) -> bool:
    """Whether food is in boiling water at a step, or in steam as hot."""
    if boils(step):
        return True
    at = step.step.at
    if at is None:
        return cooks_through(step) and _STEAMS.search(step.verb) is not None
    return "cooks" in step.effects and at.coolest >= BOILS and at.warmest <= STEAM_MOST


def _simmers(step: JoinedStep, seconds: Fraction) -> bool:
    """Whether food simmers so long that nobody asks how hot: in water, at no stated temperature."""
    wet = "in-water" in step.effects and step.step.at is None
    return wet and cooks_through(step) and _lasts(step, SIMMERS * seconds)


def _lasts(step: JoinedStep, seconds: Fraction) -> bool:
    time = step.step.time
    return time is not None and time.shortest >= seconds


def _keeps_water(formula: JoinedFormula, part: Component) -> bool:
    """Whether the water such food is boiled in stays with it: it was in water, and nothing is
    drained or left behind from that step on."""
    since = formula.since_taken({part.part})
    first = next((n for n, s in enumerate(since) if "in-water" in s.effects), None)
    if first is None:
        return False
    return not any("drains" in s.effects or s.step.leaves for s in since[first:])


def _called(part: Component) -> str:
    """All that is said of what a food is: its names, and what its record states."""
    stated = _stated(part.facts) if part.facts is not None else ()
    return " / ".join((*part.names, *stated))


def _is(poison: NaturalPoison, part: Component, names: str) -> bool:
    """Whether a component is such food, by all it is called; nothing that a plant made ready to eat
    or sealed, unless nothing makes it safe."""
    made = part.facts is not None and _made_by_a_plant(poison, part.facts)
    return not made and _named(poison, names)


def _stated(facts: Ingredient) -> Iterator[str]:
    """What a record states that a name may say too."""
    if facts.arrives == "frozen":
        yield "frozen"
    if facts.form == "dry":
        yield "dried"


def _made_by_a_plant(poison: NaturalPoison, facts: Ingredient) -> bool:
    """Whether a plant made such food safe: it sealed it, or packed it ready to eat."""
    if not (poison.paper or poison.cooked or poison.boiled_for):
        return False
    return facts.sealed or (facts.commercially_packed and not poison.frail_only)


def _named(poison: NaturalPoison, names: str) -> bool:
    also = not poison.also or _has(poison.also, names)
    return also and _has(poison.known_by, names) and not _has(poison.unless, names)


@functools.lru_cache(16384)
def _has(words: tuple[str, ...], names: str) -> bool:
    if not words:
        return False
    found: re.Match[str] | None = any_of(words).search(names)
    return found is not None


def _names(parts: Iterable[Component]) -> list[str]:
    return list(dict.fromkeys(c.name for c in parts))
