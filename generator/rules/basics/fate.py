"""What becomes of a finished food: served, kept, passed on, cooked later. Said, or concluded from
its steps.

What is left unsaid counts as both kept and eaten as it is, the strictest of all: no rule may hang
on a line that a chef can leave out.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from generator.records.effects import HEATS
from generator.resolve.joined import JoinedFormula, JoinedLine, JoinedStep
from generator.rules.basics.flour import mostly_flour
from generator.rules.basics.product import RAW_STATES, Product

_TO_THE_GUEST = frozenset({"serves", "holds-hot", "holds-by-time", "displays"})


@dataclass(frozen=True)
class Fate:
    """``served``: its last step serves it, or holds it for service. ``kept``: some of it goes into
    store. ``eaten``: it is eaten as it is, and not only made into another formula or cooked by
    whoever buys it. ``to_the_guest``: its last step serves it, so that nothing is left."""

    served: bool
    kept: bool
    eaten: bool
    to_the_guest: bool = False


def work_of(formula: JoinedFormula) -> tuple[JoinedStep, ...]:
    """The steps of a formula that have food in them."""
    return tuple(step for step in formula.steps if "cleans" not in step.effects)


def fate_of(formula: JoinedFormula) -> Fate:
    """What becomes of a formula's food."""
    record, steps = formula.formula, work_of(formula)
    last = steps[-1].effects if steps else frozenset()
    served = bool(last & _TO_THE_GUEST)
    passed_on = bool(formula.used_in) and not served
    kept = record.keeps is not None or not served
    eaten = served or not (passed_on or record.cooked_later)
    return Fate(served, kept, eaten, "serves" in last)


LEAVEN = re.compile(r"\b(?:yeast|levain|leaven|starter|sourdough|poolish|biga)\b", re.IGNORECASE)
"""What a dough or a preferment is raised with: hardly anybody eats one as it is."""


def raw_dough(formula: JoinedFormula, product: Product) -> bool:
    """Whether it is dough, batter or a preferment that nothing heated yet, and that another formula
    or whoever buys it cooks: raw flour is no ready-to-eat food. What is eaten as it is stays
    so."""
    if fate_of(formula).eaten or any(step.effects & HEATS for step in formula.steps):
        return False
    return mostly_flour(product.components)


def chilled_on_the_way(formula: JoinedFormula) -> bool:
    """Whether the food is heated, cooled, and hot again. What is cooked in part is raw still: its
    chill puts nothing by."""
    heated = cooled = False
    for step in work_of(formula):
        if step.effects & (HEATS | {"holds-hot"}) and cooled:
            return True
        heated = heated or bool(step.effects & HEATS - {"part-cooks"})
        cold = step.cold is not None or bool(step.effects & {"cools", "freezes"})
        cooled = cooled or (heated and cold)
    return False


def put_by_before_hold(formula: JoinedFormula) -> bool:
    """Whether the finished food is put into the cold, or stored, before it is held by time: the
    stock that `keeps` then speaks of. What is put by raw, before it is cooked, is no such stock."""
    held = next((s.number for s in formula.steps if "holds-by-time" in s.effects), 0)
    before = formula.before(held) if held else ()
    ready = _cooked_at(formula, before)
    return any(_puts_by(s) for s in before if s.number > ready)


def _cooked_at(formula: JoinedFormula, steps: tuple[JoinedStep, ...]) -> int:
    """The number of the first of ``steps`` that cooks, once the last raw food of an animal is in;
    that of the last that takes such food in, or 0, where none cooks."""
    raw = {ln.part for ln in formula.lines if _raw_animal(ln)}
    taken = max((s.number for s in steps if raw & set(s.parts)), default=0)
    cooks = [s.number for s in steps if "cooks" in s.effects and s.number >= taken]
    return min(cooks, default=taken)


def _raw_animal(line: JoinedLine) -> bool:
    facts = line.ingredient
    return facts is not None and facts.species != "none" and facts.state in RAW_STATES


def _puts_by(step: JoinedStep) -> bool:
    return step.cold is not None or bool(step.effects & {"cools", "freezes", "stores"})
