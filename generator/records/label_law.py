"""What a law of labels says: how a nutrient's figure is rounded, what energy is counted by, in what
order ingredients stand. One record of ``shared/labelling.yaml`` each."""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from typing import Annotated, Literal

from pydantic import Field, PlainValidator, WithJsonSchema

from generator.files.finding import Place, Refused, clipped
from generator.records.fields import Id, IdList, Words, YesNo, reader
from generator.records.record import Record


def _figure(text: str) -> Fraction:
    if not re.fullmatch(r"[0-9]{1,5}(?:\.[0-9]{1,4})?", text.strip()):
        raise Refused("figure-expected", f"`{clipped(text)}` is not a plain figure.", "As in 0.5.")
    return Fraction(text.strip())


Figure = Annotated[
    Fraction,
    PlainValidator(reader(_figure)),
    WithJsonSchema({"type": ["number", "string"], "form": "A figure.", "examples": ["0.5"]}),
]


class Band(Record):
    """Figures ``below`` one, or ``up_to`` one and it too, are rounded to the nearest ``step``; or
    the label ``says`` something in place of a figure. The last band has neither bound."""

    below: Figure | None = None
    up_to: Figure | None = None
    step: Figure | None = None
    says: Words = ""

    def holds(self, value: Fraction) -> bool:
        """Whether a figure is in it, the bands before it aside."""
        if self.below is not None:
            return value < self.below
        return self.up_to is None or value <= self.up_to


class Tolerance(Record):
    """How far an official sample may be from a declared figure ``below`` one, or ``up_to`` one and
    it too: by an ``amount`` in the row's unit for 100 g, or by ``percent`` of the figure. The last
    has neither bound."""

    below: Figure | None = None
    up_to: Figure | None = None
    amount: Figure | None = None
    percent: Figure | None = None

    def holds(self, value: Fraction) -> bool:
        """Whether it is of a figure, the tolerances before it aside."""
        if self.below is not None:
            return value < self.below
        return self.up_to is None or value <= self.up_to

    def of(self, value: Fraction) -> Fraction:
        """How far a sample may be from a declared figure, in the row's unit."""
        return self.amount if self.amount is not None else value * (self.percent or 0) / 100


class LabelRow(Record):
    """A nutrient as a label declares it: the constituent it ``counts``, its unit and how it is
    rounded; ``daily`` is what 100 % of a day is, ``percent`` how that is rounded; ``part`` says
    that it is part of the row before it that isn't one, ``trace`` that there is so little of it
    that where a food doesn't state it a least amount alone is said; ``tolerances`` are those of
    what is declared for 100 g, none where the law names none."""

    name: Words
    counts: Words
    unit: Literal["g", "mg", "µg", "kcal", "kJ"]
    clause: Words
    read_in: IdList
    bands: tuple[Band, ...]
    daily: Figure | None = None
    percent: Literal["whole", "minerals"] = "whole"
    part: YesNo = False
    trace: YesNo = False
    tolerances: tuple[Tolerance, ...] = ()

    def tolerance(self, declared: Fraction) -> Fraction | None:
        """How far an official sample may be from a declared figure for 100 g, in the row's unit;
        None where the law doesn't say."""
        found = (one for one in self.tolerances if one.holds(declared))
        return next((one.of(declared) for one in found), None)


class EnergyFactors(Record):
    """How much energy a gram has, by the constituent; ``available``: carbohydrate without fibre."""

    clause: Words
    read_in: IdList
    unit: Literal["kcal", "kJ"]
    factors: dict[Id, Figure]


class LabelRule(Record):
    """A rule of the law in a sentence, with its clause and the copy it was read in."""

    clause: Words
    read_in: IdList
    words: Words


class LabelLaw(Record):
    """The law of labels that goes with a list of allergens: ``per`` is what its figures are for
    first. ``water_left``: added water counts by what is left of it; ``contains``: the allergens are
    said again under the list."""

    name: Words
    source: Id
    per: Literal["portion", "100 g"]
    carbohydrate: Literal["total", "available"]
    water_left: YesNo
    contains: YesNo
    energy: tuple[EnergyFactors, ...]
    rows: dict[str, LabelRow]
    percents: dict[str, tuple[Band, ...]] = Field(default_factory=dict)
    rules: dict[Id, LabelRule]

    def copies(self) -> Iterator[tuple[str, Place]]:
        """The copies its rules and rows were read in, each with its place."""
        for one in (*self.energy, *self.rows.values(), *self.rules.values()):
            assert isinstance(one, EnergyFactors | LabelRow | LabelRule)
            yield from ((key, one.place("read_in")) for key in one.read_in)
