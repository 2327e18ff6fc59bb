"""Figures that are measured and lift a limit, each held to what can be: a pH, how far a pH meter
may be off, a water activity.

A figure beyond is a decimal mark in the wrong place, or the figure of another measure. Bounds:

* a pH: limes, the sourest food of FDA's table, *Approximate pH of Foods and Food Products*, have
  1.8 to 2.0; a solution's scale ends at 14.
* a pH of a solution: at 1 it holds 0.1 mol of acid in a litre, which is what a pH is; no solution
  that sanitises is so sour.
* a water activity: 1 is pure water, by its definition (FDA, Inspection Technical Guide 39); 0.11
  is over a saturated solution of lithium chloride (Greenspan 1977: 11.3 % at 25 °C), the driest of
  the salts a meter is usually checked with.
* a pH meter is off by 0.01 or more: an extension's guide asks 0.02 of one for food; finer than
  half of that is a slip.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated

from pydantic import PlainValidator

from generator.files.finding import Refused, clipped
from generator.measures.marks import as_written
from generator.measures.temperature import TemperatureDifference, read_difference
from generator.measures.words import plain
from generator.records.fields import DIFFERENCE_SCHEMA, NUMBER_SCHEMA, read_figure, reader


@dataclass(frozen=True)
class Bounds:
    """What a figure may be, from ``least`` to ``most``; ``what`` it is in words, and ``why`` it is
    no more and no less."""

    what: str
    least: Fraction
    most: Fraction
    why: str


PH_OF_FOOD = Bounds(
    "pH of food",
    Fraction("1.8"),
    Fraction(14),
    "The sourest food, lime, has 1.8. The scale ends at 14.",
)
PH_OF_SOLUTION = Bounds(
    "pH of a solution that sanitises",
    Fraction(1),
    Fraction(14),
    "At 1 it is strong acid. The scale ends at 14.",
)
WATER_ACTIVITY = Bounds(
    "water activity",
    Fraction("0.11"),
    Fraction(1),
    "Pure water has 1. No food a meter can measure is drier than 0.11.",
)
METER = Bounds(
    "accuracy of a pH meter",
    Fraction("0.01"),
    Fraction(1),
    "Meters for food are off by 0.02 to 0.2. Write what its maker says.",
)


def read_within(bounds: Bounds) -> Callable[[str], Fraction]:
    """A reader of a plain figure within ``bounds``. It raises Refused for any other, with the
    figure a decimal mark further on where that can be."""

    def read(text: str) -> Fraction:
        figure = read_figure(text)
        refuse_beyond(bounds, figure, text)
        return figure

    return read


def refuse_beyond(bounds: Bounds, figure: Fraction, typed: str) -> None:
    """Raises Refused for a ``figure`` that can't be what it is said to be."""
    if bounds.least <= figure <= bounds.most:
        return
    raise Refused(
        "figure-implausible",
        f"`{clipped(typed)}` can't be the {bounds.what}. {as_written(bounds.why)}",
        "Check the figure, its decimal mark and what was measured.",
        meant(bounds, figure),
    )


def meant(bounds: Bounds, figure: Fraction) -> list[str]:
    """What may be meant by a figure that can't be: its decimal mark one place or two further."""
    shifted = [figure * 10, figure * 100] if figure < bounds.least else [figure / 10, figure / 100]
    fits = [one for one in shifted if bounds.least <= one <= bounds.most]
    return [as_written(plain(one, 6, grouped=False)) for one in fits[:1]]


LEAST_OFF = TemperatureDifference(Fraction(1, 20), "°C")
"""No probe for food is less off: ours, a tenth of the finest that such probes are sold with."""


def read_probe_error(text: str) -> TemperatureDifference:
    """How far a probe may be off. Raises Refused for less than any probe for food is."""
    found = read_difference(text)
    if found.celsius >= LEAST_OFF.celsius:
        return found
    raise Refused(
        "figure-implausible",
        f"`{clipped(text)}`: a probe for food is off by more than that.",
        "Every reading counts it in. Write what its maker or its last check says.",
    )


ProbeError = Annotated[
    TemperatureDifference, PlainValidator(reader(read_probe_error)), DIFFERENCE_SCHEMA
]
Ph = Annotated[Fraction, PlainValidator(reader(read_within(PH_OF_FOOD))), NUMBER_SCHEMA]
SolutionPh = Annotated[Fraction, PlainValidator(reader(read_within(PH_OF_SOLUTION))), NUMBER_SCHEMA]
MeterError = Annotated[Fraction, PlainValidator(reader(read_within(METER))), NUMBER_SCHEMA]
WaterActivity = Annotated[
    Fraction, PlainValidator(reader(read_within(WATER_ACTIVITY))), NUMBER_SCHEMA
]
