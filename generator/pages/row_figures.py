"""The figures of a row of law as its source prints them: number, unit, the words behind."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeAlias, assert_never

from generator.measures.temperature import Temperature
from generator.measures.times import Time
from generator.measures.words import duration, duration_figure, plain
from generator.reference.row_kinds import PowerCutRow, SanitiserRow, WarewashRow

SIDE = {"min": "or more", "max": "or less", None: ""}
HEAT = {"min": "or hotter", "max": "or colder", None: ""}

Upkeep: TypeAlias = SanitiserRow | WarewashRow | PowerCutRow
"""The kinds of row that no formula asks for."""


@dataclass(frozen=True)
class RowFigure:
    """One figure of a row as the source prints it: number, unit, the words behind it."""

    number: str
    unit: str
    words: str


def figure(value: Temperature | None, words: str) -> Iterator[RowFigure]:
    if value is not None:
        yield RowFigure(plain(value.in_unit(value.unit)), value.unit, words)


def held(hold: Time | None) -> str:
    """How long a row's temperature is held, behind it."""
    if hold is None:
        return ""
    return f" for {duration(hold.seconds)}" if hold.seconds else ", any one reading"


def most(within: Time | None) -> Iterator[RowFigure]:
    """The most time it may last."""
    if within is not None:
        hours, unit = duration_figure(within.seconds, days=False)
        yield RowFigure(hours, unit, "at most")


def bare(value: Fraction | None, unit: str, words: str) -> Iterator[RowFigure]:
    """A figure that is no temperature and no time, as exactly as the row holds it."""
    if value is not None:
        yield RowFigure(plain(value), unit, words)


def _strengths(row: SanitiserRow) -> Iterator[RowFigure]:
    """A solution's strength, pH, warmth and time."""
    yield from bare(row.strength_from, "mg/L", "or more")
    yield from bare(row.strength_below, "mg/L", "is too much for this row")
    yield from bare(row.strength_most, "mg/L", "or less")
    yield from bare(row.ph_most, "pH", "or less")
    yield from bare(row.hardness_most, "mg/L", "hardness or less")
    yield from figure(row.value, HEAT["min"])
    if row.contact is not None:
        yield RowFigure(*duration_figure(row.contact.seconds, days=False), "on it, at least")


def figures_of_upkeep(row: Upkeep) -> Iterator[RowFigure]:
    """The figures of a row of washing, sanitising, or a power cut."""
    match row:
        case SanitiserRow():
            yield from _strengths(row)
        case WarewashRow():
            yield from figure(row.value, f"{HEAT[row.bound]}{held(row.hold)}")
        case PowerCutRow():
            yield from figure(row.value, HEAT[row.bound])
            yield from most(row.within)
        case _:
            assert_never(row)
