"""Whether a formula may be cured at all, and as what: the variance, the strength, bacon or not, a
mix made ahead.

Food Code 3-502.11(B) asks for the variance; 9 CFR 424.22(b) gives bacon doses of its own. What
isn't said is refused.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from generator.files.finding import Finding, Place
from generator.measures.words import listed, with_verb
from generator.records.ingredient import Ingredient
from generator.resolve.joined import JoinedLine
from generator.rules.basics.context import (
    EndContext,
    EndOutcome,
    StepContext,
    authorisation_problem,
)
from generator.rules.basics.paper import paper
from generator.rules.basics.product import Component
from generator.rules.cures.dosing import takes_up

PREMIX = "premix"
"""A cure mix or a brine made ahead, by its formula's word."""
_BELLY = re.compile(r"\bbell(y|ies)\b")


@dataclass(frozen=True)
class Refusal(Exception):
    """Why a cure can't be dosed: code, words, fix, and where it is written."""

    code: str
    message: str
    help: str
    place: Place | None = None


def may_cure(context: StepContext, taken: list[JoinedLine]) -> None:
    """Raises Refusal for a cure that can't be dosed, or that nobody allowed."""
    for line in taken:
        if line.ingredient is None and line.line.amount.kind not in ("mass", "percent"):
            raise Refusal(  # its own formula was asked
                "grams-only",
                f"{line.name}: there is a cure in it. Weigh it in grams only.",
                "Write grams, or a percentage of the base.",
                line.line.place("amount"),
            )
        for cure in _cures_of(context, line):
            _may_dose(cure, line)
    reason = _no_variance(context)
    if reason:
        raise Refusal(
            "cure-without-variance",
            f"{context.formula.formula.name}: {reason}",
            "Record it under `authorisations` in kitchen.yaml: for, authority, document, from, "
            "until.",
        )
    for line in taken:
        if line.ingredient is not None and line.ingredient.nitrate is not None:
            raise not_held(
                f"{with_verb(line.name, 'has')} nitrate in it. There is no dose for it here.", line
            )


def _cures_of(context: StepContext, line: JoinedLine) -> list[Ingredient]:
    """The cures a line brings: its ingredient, or those in the mix or the brine it is."""
    if line.ingredient is not None:
        return [line.ingredient]
    inside = (c for c in context.before.components if c.came == line.item and c.cures)
    return [c.facts for c in inside if c.facts is not None]


def _may_dose(cure: Ingredient, line: JoinedLine) -> None:
    """Raises Refusal for a cure whose nitrite isn't known, on a line of it or of a mix with it."""
    if cure.nitrite_from == "vegetable":
        raise Refusal(
            "cure-natural",
            f"{cure.name}: a cure from vegetables can't be dosed.",
            "Its nitrite isn't known closely enough. Use a cure with its nitrite on the label.",
            line.line.place("amount"),
        )
    if cure.nitrite is None:
        raise Refusal(
            "cure-strength-missing",
            f"{cure.name}: how much of it is nitrite?",
            "Add `nitrite` to the ingredient, as its label says. Nothing is guessed. A cure of "
            "unknown strength can't be dosed.",
            line.line.place("amount"),
        )


def made_ahead(context: StepContext, line: JoinedLine) -> bool:
    """Whether it is a cure mix or a brine that another formula uses, by the formula's word: its
    dose is worked out where it meets the meat. Raises Refusal for meat or fish in it."""
    if context.formula.formula.cured_as != PREMIX:
        return False
    flesh = [
        c for c in (*context.before.components, *context.to_come) if takes_up(context.house, c)
    ]
    if flesh:
        raise Refusal(
            "premix-with-meat",
            f"{line.name}: this formula says it is a cure mix or a brine, but there is "
            f"{flesh[0].name} in it.",
            "Write how it is cured under `cured_as`, or take the meat out.",
            context.formula.formula.place("cured_as"),
        )
    return True


def not_held(message: str, line: JoinedLine) -> Refusal:
    help = "Ask your regulatory authority. Until then this standard can't be approved."
    return Refusal("cure-not-covered", message, help, line.line.place("amount"))


def _no_variance(context: StepContext) -> str:
    asked = paper(context.house)
    none = f"curing needs a {asked}. None is on file."
    return authorisation_problem(context.house, "cure", none, f"the {asked} for curing")


def without_meat(line: JoinedLine) -> Refusal:
    return Refusal(
        "cure-not-covered",
        f"{line.name}: there is no meat for it to cure at this step.",
        "Add the cure with the meat, or after it. Is this a cure mix or a brine for another "
        f"formula? Write `cured_as: {PREMIX}`.",
    )


def ask_for_bacon(context: StepContext, meat: list[Component], method: str) -> None:
    """Raises Refusal for a belly, with its skin or without, that isn't said to be bacon or not:
    bacon has doses of its own (9 CFR 424.22(b)), and they are the lower ones."""
    formula = context.formula.formula
    bellies = [
        c
        for c in meat
        if c.species in (None, "pork") and (c.cure.skin or _BELLY.search(c.name.lower()))
    ]
    if not bellies or formula.bacon is False:
        return
    ways = [f"`cured_as: bacon-{way}`" for way in ("dry", "immersion", "pumped")]
    way = (
        f"`cured_as: bacon-{method}`"
        if method in ("dry", "immersion", "pumped")
        else listed(ways, "or")
    )
    name = bellies[0].name
    message = f"{name}: is this belly bacon? Bacon has its own doses. The formula doesn't say."
    if formula.bacon:
        message = f"{name}: the formula says it is bacon, but it is cured as something else."
    raise Refusal(
        "bacon-or-not",
        message,
        f"Write {way} if it is, `bacon: no` if it isn't.",
        formula.place("cured_as") if formula.cured_as else formula.key_place("name"),
    )


def never_cured(context: EndContext) -> EndOutcome:
    """The error of a formula that says how it is cured, and has no cure in it: meat that is taken
    for cured, and isn't."""
    formula = context.formula.formula
    if formula.cured_as in (None, PREMIX) or any(_brings(context, ln) for ln in _lines(context)):
        return EndOutcome()
    finding = Finding(
        "cure-missing",
        "error",
        f"{formula.name}: there is no cure in it, but the formula says it is cured (`cured_as: "
        f"{formula.cured_as}`).",
        formula.key_place("cured_as"),
        "Write the cure's line. Is it salted without nitrite? Delete `cured_as`.",
        about=frozenset({context.formula.id}),
    )
    return EndOutcome((), (finding,))


def _lines(context: EndContext) -> Iterator[JoinedLine]:
    """The lines, and what may be in their place."""
    for line in context.formula.lines:
        yield from (line, *line.may_be)


def _brings(context: EndContext, line: JoinedLine) -> bool:
    """Whether a line is a cure; or is made ahead, and brought one, or all of it was drained, so
    that nothing here says what it brought."""
    if line.ingredient is not None:
        return line.ingredient.function == "cure" or line.ingredient.nitrite is not None
    here = [c for c in context.product.components if c.part == line.part]
    return not here or any(c.function == "cure" for c in here)
