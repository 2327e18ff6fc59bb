"""Powdered infant formula made up here: the water's heat, and how long it may wait.

WHO and FAO, Safe preparation, storage and handling of powdered infant formula, 2007: made up with
water of 70 °C or hotter, cooled at once, given within two hours, thrown away after 24 hours in a
refrigerator. It isn't sterile, and babies die of what may grow in it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from typing import NamedTuple

from generator.files.finding import Finding, Severity
from generator.measures.temperature import Temperature
from generator.measures.words import breakable, duration, with_verb
from generator.records.kept import Keeps
from generator.resolve.joined import JoinedFormula, JoinedStep
from generator.rules.basics.context import DAY_S, EndContext, EndOutcome
from generator.rules.basics.product import Component
from generator.rules.basics.without_cold import is_water
from generator.rules.cold.wetted import pours_boiling

_POWDER = re.compile(
    r"\b(?:infant formula|baby formula|infant milk|formula milk|follow-on formula)\b", re.IGNORECASE
)
_READY = re.compile(r"\b(?:ready[ -]to[ -]feed|ready[ -]made|liquid|sterile)\b", re.IGNORECASE)
HOT = Temperature.of(70, "°C")
WAITS_S = Fraction(2 * 3600)
KEEPS_S = DAY_S
_FIGURE = re.compile(r"(?<![\d.,])(\d{2,3})\s?°\s?([CF])\b")


def infant_formula(context: EndContext) -> EndOutcome:
    """What is said of infant formula that is made up with water: an error where it waits too long
    out of the cold or is kept too long in it, or its water is cooler than 70 °C; a warning where
    nobody says how hot it is."""
    parts = context.product.components
    powder = [c for c in parts if _POWDER.search(c.name) and not _READY.search(c.name)]
    wet = any(c.form == "liquid" or is_water(context.house, c) for c in parts)
    if not (powder and wet):
        return EndOutcome()
    names = list(dict.fromkeys(c.name for c in powder))
    said = (*_heat(context, powder, names), *waits(context, names, WAITS_S), *keeps(context, names))
    source = "who-infant-formula-2007"
    return EndOutcome((), tuple(finding_of(context, "infant-formula", source, s) for s in said))


class Said(NamedTuple):
    """What is said, and under which key of the formula."""

    severity: Severity
    words: str
    help: str
    key: str = "name"


def finding_of(context: EndContext, code: str, source: str, said: Said) -> Finding:
    """What is ``said`` of a formula, as a finding by the id of its ``source``."""
    formula = context.formula.formula
    return Finding(
        code,
        said.severity,
        f"{formula.name}: {said.words}",
        formula.key_place(said.key),
        said.help,
        source=context.house.library.source_title(source),
        about=frozenset({context.formula.id}),
    )


def _heat(context: EndContext, powder: list[Component], names: list[str]) -> Iterator[Said]:
    """What is said of the water's heat, where the powder is mixed in here."""
    here = [c for c in powder if not c.through]
    if not here:
        return
    hottest = _hottest(context.formula, here)
    if hottest is not None and hottest >= HOT:
        return
    said = "nobody says how hot the water is" if hottest is None else f"the water is {hottest}"
    yield Said(
        "warning" if hottest is None else "error",
        f"{said} when {with_verb(names, 'goes')} in. Cooler than {HOT} it doesn't kill the germs "
        "in the powder.",
        "Write it at the step that mixes it: `how: Stir the powder into water of "
        f"{breakable(str(HOT))} or hotter.` Then cool it at once.",
    )


def _hottest(formula: JoinedFormula, powder: list[Component]) -> Temperature | None:
    """What the step at which powder goes in states; else the hottest that is said of it, and of
    those before it."""
    first = formula.taken_at({p.part for p in powder})
    at = formula.step(first).step.at
    if at is not None:
        return at.coolest
    found = [t for step in formula.upto(first) for t in _said_of(step)]
    return max(found, key=lambda t: t.celsius, default=None)


def _said_of(step: JoinedStep) -> Iterator[Temperature]:
    if "boils" in step.effects or pours_boiling(step):
        yield Temperature.of(100, "°C")
    if step.step.at is not None:
        yield step.step.at.coolest
    if step.target is not None and step.target.coolest is not None:
        yield step.target.coolest
    for line in step.step.how:
        for figure, unit in _FIGURE.findall(line):
            yield Temperature.of(figure, "°C" if unit == "C" else "°F")


def waits(context: EndContext, names: list[str], most: Fraction) -> Iterator[Said]:
    """What is said of the time it is out of the cold, at a stretch: ``most`` seconds may be."""
    spells = (*context.course.over, context.course.spell)
    longest = max((s.seconds for s in spells if s is not None), default=Fraction(0))
    if longest > most:
        yield Said(
            "error",
            f"{with_verb(names, 'is')} out of the cold for {duration(longest)}. "
            f"{duration(most)} is the most.",
            "Make it up later, or chill it at once and keep it in a refrigerator (`in`).",
        )


def keeps(context: EndContext, names: list[str]) -> Iterator[Said]:
    """What is said of the days it is kept, those in a formula made ahead with them; asked where
    some of it is kept and nobody says for how long."""
    stated = context.formula.formula.keeps
    if context.fate.kept and not _says_how_long(stated):
        yield Said(
            "error",
            f"{with_verb(names, 'is')} kept, and nothing says how long. {duration(KEEPS_S)} is the "
            "most.",
            "Write `keeps: {cold: 1 day}`. Is nothing kept? End its process with `do: serve`.",
        )
    cold = stated.cold.seconds if stated is not None and stated.cold is not None else Fraction(0)
    ahead = max((p.days or 0 for p in context.parts_to_date), default=0) * DAY_S
    if cold and cold + ahead > KEEPS_S:
        yield Said(
            "error",
            f"{with_verb(names, 'is')} kept for {duration(cold + ahead)}. {duration(KEEPS_S)} is "
            "the most.",
            "Make it up each day: `keeps: {cold: 1 day}`."
            if not ahead
            else "Give it on the day it is made up: delete `keeps`.",
            "keeps",
        )


def _says_how_long(stated: Keeps | None) -> bool:
    return stated is not None and any((stated.cold, stated.frozen, stated.dry))
