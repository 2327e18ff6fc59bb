"""Rows of the tables of conversions: what a measure weighs, units, heats in the other scale."""

from __future__ import annotations

from dataclasses import dataclass

from generator.measures.rounding import significant
from generator.measures.words import NARROW, kitchen_fraction, plain
from generator.records.ingredient import Ingredient
from generator.resolve.joined import House
from generator.scaling.weights import UnitWeight
from generator.sheet.weighing import unit_weights_of
from generator.views.limit_view import other_scale
from generator.views.tables import Equal, Measure, OvenDegrees


def household_weights(house: House, facts: Ingredient) -> tuple[UnitWeight, ...]:
    """What its measures weigh; nothing for what is weighed in grams only, everywhere."""
    return () if facts.function in ("cure", "gelling-agent") else unit_weights_of(house, facts)


def measure_words(measure: Measure) -> str:
    """A measure by its name: "1 cup packed"; a piece by its word: "one clove"."""
    word, detail = measure.weight.word, measure.weight.detail
    if not measure.unit:
        return "one piece" if word in ("each", "ea", "piece") else f"one {word}"
    if measure.unit == "ml":  # a single millilitre is no measure
        return f"100{NARROW}ml {detail}".strip()
    return f"1{NARROW}{measure.unit} {detail}".strip()


def about_words(measure: Measure) -> str:
    """What a measure weighs, to two digits and "about": sources differ by up to 7 %."""
    grams = measure.grams * 100 if measure.unit == "ml" else measure.grams
    return f"about{NARROW}{plain(significant(grams))}{NARROW}g"


_MOST_PLACES = 12


@dataclass(frozen=True)
class RowView:
    """One line of a table: what, how much that is, and whether the figure is exact; ``more`` is
    what the page says beyond that."""

    left: str
    right: str
    mark: str
    more: str = ""


def equal_row(row: Equal) -> RowView:
    amount = kitchen_fraction(row.amount) or plain(row.amount)
    figure = f"{plain(row.shown, 10)}{NARROW}{row.other}"
    left = f"{amount}{NARROW}{row.unit}"
    if row.exact:
        return RowView(left, figure, "exact")
    return RowView(left, figure, "rounded", _exactly(row))


def _exactly(row: Equal) -> str:
    """The exact figure of one that is rounded, where its decimals come to an end."""
    if (row.value * 10**_MOST_PLACES).denominator != 1:
        return ""
    return f"; exactly {plain(row.value, _MOST_PLACES)}{NARROW}{row.other}"


def oven_row(row: OvenDegrees) -> RowView:
    sign = other_scale(row.value.unit)
    mark = (
        "exact" if row.shown == row.exact else f"rounded from {plain(row.exact, 1)}{NARROW}{sign}"
    )
    return RowView(
        str(row.value),
        f"{plain(row.shown)}{NARROW}{sign}",
        mark,
        " · used here" if row.used else "",
    )
