"""The roast chart's conditions: one whole roast alone, in an oven of the oven chart; and once it is
cooked so, while it is whole, the chart again for reheating it and a row of its own for holding it hot."""

from __future__ import annotations

from fractions import Fraction

from generator.measures.words import NARROW, plain
from generator.reference.rows import Row
from generator.rules.context import StepContext, both
from generator.rules.limit import figure_of

ROASTS = ("beef", "lamb", "pork")
GROUP = "roast"


def roast_chart_fits(context: StepContext) -> str:
    """Why the roast chart may not be used here; empty if it may.

    Food Code 3-401.11(B): whole meat roasts, by the oven chart for the oven and the weight.
    """
    product = context.before
    raw = product.raw_animals
    if len(raw) != 1:
        return "it is for one whole roast alone, never for a mixture"
    meat = raw[0]
    if meat.species not in ROASTS or meat.form != "intact":
        return "it is for whole, intact roasts of beef, lamb or pork"
    if product.stuffed:
        return "it is not for stuffed food"
    return _oven_chart(context)


def roast_again(context: StepContext) -> bool:
    """Whether the roast chart counts for reheating: the unsliced rest of a roast cooked by it, alone,
    in an oven of the oven chart. Food Code 3-403.11(E)."""
    return context.before.whole_roast and not _oven_chart(context)


def not_again(context: StepContext) -> str:
    """Why the roast chart doesn't count for reheating a whole roast cooked by it; empty for other food."""
    return _oven_chart(context) if context.before.whole_roast else ""


def _oven_chart(context: StepContext) -> str:
    """Why the step isn't in an oven of the oven chart for the weight; empty if it is."""
    step = context.step
    if step.machine is None or step.machine.kind != "oven" or step.machine.heat is None:
        return "it needs an oven whose `heat` is stated: still, convection or high-humidity"
    makes = context.formula.formula.makes
    if makes is None or makes.fill is None:
        return "the weight of one roast is not stated (`makes: {fill: …}`)"
    if step.step.at is None:
        return "the oven's temperature is not stated (`at`)"
    for _, row in context.house.pack.rows_of("oven"):
        if row.oven == step.machine.heat and _weight_fits(row, makes.fill.value):
            return _oven_fits(context, row)
    return "the oven chart has no row for this oven and weight"


def _weight_fits(row: Row, grams: Fraction) -> bool:
    if row.weight_under is not None:
        return grams < row.weight_under.value
    return row.weight_from is not None and grams >= row.weight_from.value


def _oven_fits(context: StepContext, row: Row) -> str:
    at, limit = context.step.step.at, row.value
    assert at is not None and limit is not None and row.bound is not None
    fits = limit <= at if row.bound == "min" else at <= limit
    if fits:
        return ""
    figure = figure_of(limit, row.printed, row.bound, context.accuracy)
    words = "or hotter" if row.bound == "min" else "or cooler"
    return (
        f"the oven chart asks for {both(limit, figure.shown_c, figure.shown_f)} {words}, and it is at "
        f"{plain(at.in_unit(at.unit))}{NARROW}{'°C' if at.unit == 'degC' else '°F'}"
    )
