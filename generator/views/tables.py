"""Tables of conversion for one kitchen: units, spoons and cups, temperatures. All computed here."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import assert_never

from generator.measures.rounding import half_up, significant
from generator.measures.temperature import Degree, Temperature
from generator.measures.units import Unit, Units
from generator.rules.basics.limit import (
    AcidityLimit,
    Bound,
    CoolingLimit,
    DoseLimit,
    Figure,
    HeatingLimit,
    InWords,
    KeepingLimit,
    Limit,
    NotCovered,
    ShareLimit,
    TimeLimit,
)
from generator.scaling.weights import UnitWeight
from generator.sheet.manual import Manual
from generator.views.limit_view import other_scale

SPOONS_AND_CUPS = ("tsp", "tbsp", "fl oz", "cup", "pt", "qt", "gal")
_PARTS_OF_A_CUP = (Fraction(1, 4), Fraction(1, 3), Fraction(1, 2), Fraction(3, 4), Fraction(1))
_MOST_TIMES = 16
_DIGITS = 4
# The marks of an oven's dial: every 25 °F and every 10 °C.
_DIAL: dict[Degree, range] = {"°F": range(225, 501, 25), "°C": range(100, 261, 10)}


@dataclass(frozen=True)
class Equal:
    """So many of one unit are so many of another: ``value`` exactly, ``shown`` as it is reported.

    ``source`` is the key of the document that defines the units.
    """

    amount: Fraction
    unit: str
    value: Fraction
    other: str
    shown: Fraction
    source: str

    @property
    def exact(self) -> bool:
        return self.shown == self.value


def _equal(units: Units, amount: Fraction, start: Unit, end: Unit) -> Equal:
    value = units.convert(amount, start, end)
    shown = significant(value, _DIGITS)
    return Equal(amount, start.name, value, end.name, shown, start.source or end.source)


def mass_table(units: Units) -> list[Equal]:
    """Ounces and pounds in grams, and grams back."""
    return _pairs(
        units, (("oz", "g"), ("lb", "g"), ("lb", "oz"), ("g", "oz"), ("kg", "lb"), ("kg", "oz"))
    )


def length_table(units: Units) -> list[Equal]:
    """Inches in millimetres, and centimetres back."""
    return _pairs(units, (("in", "mm"), ("cm", "in")))


@dataclass(frozen=True)
class Measure:
    """What one of the kitchen's own measures, or one piece, weighs in grams.

    ``unit`` is empty for a piece. ``weight`` is the published figure it comes from; ``other_size``
    says that the source's cup or spoon is of another size than the kitchen's.
    """

    unit: str
    grams: Fraction
    weight: UnitWeight
    other_size: bool = False


def measures_of(units: Units, weights: Iterable[UnitWeight]) -> list[Measure]:
    """Unit weights for the kitchen's own cups and spoons: a published cup is its source's, so one
    of another size is scaled by volume. A measure the kitchen's set lacks is reported in
    millilitres."""
    found: list[Measure] = []
    for weight in weights:
        if weight.ml is None:
            found.append(Measure("", weight.grams, weight))
            continue
        own = units.by_name.get(weight.word)
        if own is None or own.missing:
            found.append(Measure("ml", weight.grams / weight.ml, weight, True))
        else:
            grams = weight.grams * own.factor / weight.ml
            found.append(Measure(own.name, grams, weight, own.factor != weight.ml))
    return found


def _pairs(units: Units, pairs: Iterable[tuple[str, str]]) -> list[Equal]:
    known = units.by_name
    return [
        _equal(units, Fraction(100 if start == "g" else 1), known[start], known[end])
        for start, end in pairs
        if start in known and end in known
    ]


def spoon_table(units: Units) -> list[Equal]:
    """The kitchen's spoons and cups in millilitres, then in one another where that is a whole
    number of the smaller. A measure the kitchen's set doesn't have is left out."""
    own = [units.by_name[n] for n in SPOONS_AND_CUPS if n in units.by_name]
    own = [unit for unit in own if not unit.missing]
    ml = units.by_name["ml"]
    rows: list[Equal] = []
    for unit in own:
        parts = _PARTS_OF_A_CUP if unit.name == "cup" else (Fraction(1),)
        rows += [_equal(units, part, unit, ml) for part in parts]
    for number, unit in enumerate(own):
        for smaller in own[:number]:
            times = unit.factor / smaller.factor
            if times.denominator == 1 and 1 < times <= _MOST_TIMES:
                rows.append(_equal(units, Fraction(1), unit, smaller))
    return rows


@dataclass(frozen=True)
class LimitDegrees:
    """A temperature of a limit in its unit of record, and in the other: ``exact``, and ``shown``
    on the strict side."""

    value: Temperature
    bound: Bound
    exact: Fraction
    shown: Fraction

    @property
    def other(self) -> Degree:
        return other_scale(self.value.unit)


def limit_table(manual: Manual) -> list[LimitDegrees]:
    """Every temperature that is in a limit of this manual, hottest first."""
    figures: dict[tuple[Fraction, Degree, str], LimitDegrees] = {}
    for sheet in manual.sheets.values():
        for limit in sheet.walk.limits:
            for figure in _figures(limit):
                unit = other_scale(figure.value.unit)
                row = LimitDegrees(
                    figure.value, figure.bound, figure.value.in_unit(unit), figure.shown(unit)
                )
                figures[(figure.value.celsius, figure.value.unit, figure.bound)] = row
    return sorted(figures.values(), key=lambda r: (-r.value.celsius, r.bound))


def _figures(limit: Limit) -> Iterable[Figure]:
    match limit:
        case CoolingLimit():
            yield limit.figure
            if limit.clock is not None:
                yield limit.clock
            for stage in limit.stages:
                yield stage.figure
        case HeatingLimit() | KeepingLimit():
            yield limit.figure
        case DoseLimit() | ShareLimit() | AcidityLimit() | TimeLimit() | InWords() | NotCovered():
            return
        case _:
            assert_never(limit)


@dataclass(frozen=True)
class OvenDegrees:
    """A mark of an oven's dial in the other unit: exactly, and the nearest whole degree.

    ``used`` says that some step of this kitchen is done at it.
    """

    value: Temperature
    exact: Fraction
    shown: Fraction
    used: bool


def oven_table(manual: Manual, unit: Degree) -> list[OvenDegrees]:
    """The dial's marks in ``unit`` and what this kitchen's steps are kept at in it, each in the
    other unit, coolest first."""
    used = {
        end.in_unit(unit)
        for process in manual.standards.processes.values()
        for step in process.steps
        if step.at is not None and step.at.coolest.unit == unit
        for end in (step.at.coolest, step.at.warmest)
    }
    other = other_scale(unit)
    rows: list[OvenDegrees] = []
    for figure in sorted(used | {Fraction(mark) for mark in _DIAL[unit]}):
        value = Temperature.of(figure, unit)
        exact = value.in_unit(other)
        rows.append(OvenDegrees(value, exact, half_up(exact), figure in used))
    return rows
