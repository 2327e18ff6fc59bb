"""Raw eggs where a highly susceptible population is served: the ways the code lets through.

Food Code 3-801.11(F)(1) and (2): combined right before cooking for one guest's serving and served
at once, or right before baking as an ingredient that is baked through. And one egg broken for one
guest, which (B)(2) doesn't speak of, cooked as 3-401.11(A)(1) asks and served at once; soft-cooked
it is refused by (C)(2). The formula names the way by `raw_eggs`, its steps have to bear it out;
anything else asks for a pasteurised product. (F)(3), a HACCP plan, isn't held.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from generator.reference.row_kinds import WordsRow
from generator.resolve.joined import House, JoinedFormula, JoinedStep
from generator.rules.basics.context import NOTHING, Outcome, StepContext
from generator.rules.basics.no_figure import in_words
from generator.rules.heat.microwave import in_microwave
from generator.rules.heat.to_order import first_egg, holds, raw_egg, waits

ONE_SERVING, BAKED, ONE_EGG = "one-serving", "baked", "one-egg"
_BAKES = "bakes"


def way_of(house: House, formula: JoinedFormula) -> WordsRow | None:
    """The row for the way a formula names, where nothing in it speaks against that; else None."""
    if (
        house.kitchen.serves != "highly-susceptible"
        or next(problems(house, formula), None) is not None
    ):
        return None
    return _row(house, formula)


def problems(house: House, formula: JoinedFormula) -> Iterator[str]:
    """All that keeps a formula's raw eggs from being let through, as words."""
    way = formula.formula.raw_eggs
    if way is None:
        yield "the formula doesn't say how they are used (`raw_eggs`)"
        return
    if _row(house, formula) is None:
        yield "the rules here allow no such use"
    if formula.formula.undercooked:
        yield "it is undercooked on request"
    cooked = _cooks_them(formula)
    if cooked is None:
        yield "no step cooks them"
        return
    if in_microwave(cooked):
        yield "they are cooked by microwave"
    if way in (ONE_SERVING, ONE_EGG):
        yield from _not_one_order(formula, way)
    else:
        yield from _not_baked_at_once(formula, cooked)


def _not_one_order(formula: JoinedFormula, way: str) -> Iterator[str]:
    """Why it isn't one guest's serving, or not of one egg."""
    if not holds(formula):
        yield "the formula isn't made to one guest's order (`to_order`)"
    if way == ONE_EGG and not _is_one(formula):
        yield (
            "it isn't one egg, counted, for one portion (as in `whole-egg: 1 each`, with "
            "`portion` under `makes`)"
        )


def _not_baked_at_once(formula: JoinedFormula, cooked: JoinedStep) -> Iterator[str]:
    """Why they aren't baked through right after they are combined."""
    if _BAKES not in cooked.effects:
        yield f"they aren't baked ({cooked.verb.lower()})"
    for step in _between(formula, cooked):
        if waits(step):
            yield f"they wait before it is baked ({step.verb.lower()})"


def _is_one(formula: JoinedFormula) -> bool:
    """Whether a formula as written breaks one egg, counted, and makes portions of a weight."""
    eggs = [ln.line.amount for ln in formula.lines if raw_egg(ln.ingredient)]
    makes = formula.formula.makes
    counted = len(eggs) == 1 and eggs[0].kind == "count" and eggs[0].value == 1
    return counted and makes is not None and makes.portion is not None


def more_than_one(formula: JoinedFormula, finished: Fraction) -> bool:
    """Whether a portion asks for more than the one egg of a formula that names one: it weighs more
    than the formula as written gives, ``finished`` in grams."""
    makes = formula.formula.makes
    if formula.formula.raw_eggs != ONE_EGG or makes is None or makes.portion is None:
        return False
    return makes.portion.value > finished


def eggs_at_once(context: StepContext) -> Outcome:
    """The rule in words at the step that cooks such eggs."""
    formula, step = context.formula, context.step
    if "cooks" not in step.effects:
        return NOTHING
    row = way_of(context.house, formula)
    cooked = _cooks_them(formula)
    if row is None or cooked is None or cooked.number != step.number:
        return NOTHING
    names = tuple(dict.fromkeys(ln.name for ln in formula.lines if raw_egg(ln.ingredient)))
    missed = "Eggs left out after you broke them together? Throw them away."
    limit = in_words(context, row, "susceptible", names, "min")
    return Outcome((replace(limit, if_missed=missed),))  # the step's own words are for its heat


def _row(house: House, formula: JoinedFormula) -> WordsRow | None:
    found = house.pack.row_for(WordsRow, formula.formula.raw_eggs or "", "susceptible")
    return found[1] if found is not None else None


def _cooks_them(formula: JoinedFormula) -> JoinedStep | None:
    """The first step that cooks, from the one that takes a raw egg in on."""
    return next(
        (s for s in formula.steps[first_egg(formula, formula.steps) :] if "cooks" in s.effects),
        None,
    )


def _between(formula: JoinedFormula, cooked: JoinedStep) -> tuple[JoinedStep, ...]:
    return tuple(
        s for s in formula.steps[first_egg(formula, formula.steps) :] if s.number < cooked.number
    )
