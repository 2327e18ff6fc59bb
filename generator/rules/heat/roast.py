"""The roast chart's conditions: one whole roast alone, in an oven of the oven chart; and once it is
cooked so, while it is whole, the chart again for reheating it and a row of its own for holding it
hot."""

from __future__ import annotations

import re
from fractions import Fraction

from generator.records.formula import Line
from generator.reference.row_kinds import OvenRow
from generator.resolve.joined import JoinedStep
from generator.rules.basics.context import StepContext, both
from generator.rules.basics.limit import figure_of
from generator.rules.basics.product import Component, Product, changed

ROASTS = ("beef", "lamb", "pork")
_CURED_ROASTS = ("beef", "pork")
GROUP = "roast"
_CUTS = frozenset({"cuts", "slices", "comminutes"})
"""What leaves no roast whole, whatever its line says."""
_SMALL = re.compile(
    r"\b(dic|cub|slic|strip|minc|ground|grind|chop|chunk|shred|steak|cutlet|escalope|medallion|pieces|batons?)"
)
"""How small pieces are called: a joint isn't."""
_STEWED = re.compile(r"\bstew")


def roast_chart_fits(context: StepContext) -> str:
    """Why the roast chart may not be used here; empty if it may.

    Food Code 3-401.11(B): whole meat roasts, by the oven chart for the oven and the weight.
    """
    product = context.before
    raw = product.raw_animals
    if len(raw) != 1:
        return "it is for one whole roast alone, never for a mixture"
    meat = raw[0]
    if meat.species not in ROASTS or not (meat.form == "intact" or _cured(product, meat)):
        return (
            "it is for whole, intact roasts of beef, lamb or pork, and for whole cured ones "
            "of beef or pork"
        )
    if product.stuffed:
        return "it is not for stuffed food"
    if _SMALL.search(meat.name.lower()) or _STEWED.search(meat.name.lower()):
        return "it is for whole roasts, but by its name this comes in pieces"
    if _in_a_pot(product, meat):
        return "it is for one whole roast alone, but liquid or vegetables are in the pan with it"
    if meat.pieces:
        return (
            "it is for whole roasts, but this was cut, filled or portioned first (is each piece "
            "one whole roast, as a joint is? write `whole: yes` on its line)"
        )
    return _oven_chart(context)


def _in_a_pot(product: Product, meat: Component) -> bool:
    """Whether anything moist is with the meat but what seasons it: a crust or a rub is a tenth of
    it at most, a working rule of ours; a pickle it took up is in it."""
    others = [c for c in product.components if c is not meat and c.form != "dry" and not c.function]
    beside = sum((c.grams for c in others if c.part != meat.part), Fraction(0))
    return not meat.cured_roast and not product.cures_in_it and beside * 10 > meat.grams


def _cured(product: Product, meat: Component) -> bool:
    """Whether a raw roast is a cured one, which may be injected: corned beef, and pork such as ham.

    3-401.11(A)(2) asks more of meat that isn't intact, as injected meat (1-201.10), except as (B)
    says; and (B) names these. It came so by its ingredient's word, or a cure that holds nitrite was
    taken in with it here.
    """
    here = any(c.cures and c.nitrite for c in product.components)
    return meat.form == "injected" and meat.species in _CURED_ROASTS and (meat.cured_roast or here)


def stays_whole(line: Line) -> bool:
    """Whether what a line takes is whole once it is made ready: nothing is cut, or its word is that
    each piece is one whole roast, and how it is made ready doesn't say otherwise."""
    return not line.prepare or (line.whole and not _SMALL.search(line.prepare.lower()))


def in_pieces(product: Product, effects: frozenset[str]) -> Product:
    """The product after a step, its raw pieces marked as no whole roast where it cuts them up, or
    fills or portions them and no line says that each stays one."""
    cut = bool(effects & _CUTS)
    if not cut and "fills" not in effects:
        return product
    marked = tuple(
        changed(c, pieces=True) if c.raw_animal and (cut or not c.whole) else c
        for c in product.components
    )
    return changed(product, components=marked)


def roast_again(context: StepContext) -> bool:
    """Whether the roast chart counts for reheating: the unsliced rest of a roast cooked by it,
    alone, in an oven of the oven chart. Food Code 3-403.11(E)."""
    return context.before.whole_roast and not _oven_chart(context)


def not_again(context: StepContext) -> str:
    """Why the roast chart doesn't count for reheating a whole roast cooked by it; empty for other
    food."""
    return _oven_chart(context) if context.before.whole_roast else ""


def _oven_chart(context: StepContext) -> str:
    """Why the step isn't in an oven of the oven chart for the weight; empty if it is."""
    step = context.step
    heat = _heat(step)
    if heat is None:
        return "it needs an oven whose `heat` is stated: still, convection or high-humidity"
    makes = context.formula.formula.makes
    if makes is None or makes.fill_weight is None or _filled_later(context):
        return "the weight of one roast is not stated (`makes: {fill_weight: …}`)"
    if step.step.at is None:
        return "the oven's temperature is not stated (`at`)"
    for _, row in context.house.pack.rows_of(OvenRow):
        if row.oven == heat and _weight_fits(row, makes.fill_weight.value):
            return _oven_fits(context, row)
    return "the oven chart has no row for this oven and weight"


def _heat(step: JoinedStep) -> str | None:
    """How the oven of a step heats by the oven chart: a bag that no moisture passes, named at this
    very step, makes it high humidity; None where there is no oven, or nothing is stated."""
    if step.machine is None or step.machine.kind != "oven":
        return None
    bag = step.vessel if step.step.vessel else None
    if bag is not None and bag.moisture_tight:
        return "high-humidity"
    return step.machine.heat


def _filled_later(context: StepContext) -> bool:
    """Whether what `fill_weight` says is filled only after this step: then it is no roast's."""
    formula, number = context.formula, context.step.number
    before = any("fills" in s.effects for s in formula.upto(number))
    return not before and any("fills" in s.effects for s in formula.after(number))


def _weight_fits(row: OvenRow, grams: Fraction) -> bool:
    if row.weight_under is not None:
        return grams < row.weight_under.value
    return row.weight_from is not None and grams >= row.weight_from.value


def _oven_fits(context: StepContext, row: OvenRow) -> str:
    at, limit = context.step.step.at, row.value
    assert at is not None
    fits = limit <= at.coolest if row.bound == "min" else at.warmest <= limit
    if fits:
        return ""
    figure = figure_of(limit, row.printed, row.bound, context.accuracy)
    words = "or hotter" if row.bound == "min" else "or cooler"
    return (
        f"the oven chart requires {both(limit, figure.shown_c, figure.shown_f)} {words}, and "
        f"it is at {at}"
    )
