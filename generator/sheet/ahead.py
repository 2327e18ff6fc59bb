"""What has to be made ahead for a batch, at every level."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from generator.measures.kilos import kilos
from generator.measures.words import counted
from generator.sheet.by_products import gives_of
from generator.sheet.sheet import Batch, Sheet
from generator.sheet.walked import Walk
from generator.sheet.weighing import WeighedLine, piece_words


@dataclass(frozen=True)
class Ahead:
    """A made-ahead formula that a batch needs: how much of it, finished, in grams; in whole pieces
    or fills where a line counts it; ``level`` 1 goes into the batch, 2 into what goes into it,
    which ``into`` names; ``called`` is what one and more of what is counted are called. A
    by-product comes out of the formula called ``of``, whose largest batch ``gives`` so many grams
    of it."""

    id: str
    name: str
    grams: Fraction
    level: int
    count: Fraction | None = None
    into: str = ""
    called: tuple[str, str] = ("", "")
    of: str = ""
    gives: Fraction | None = None


def made_ahead(walks: Mapping[str, Walk], sheet: Sheet, batch: Batch) -> dict[str, Fraction]:
    """How much of each made-ahead formula a batch needs, in grams of its finished weight, what
    goes into it by another one apart."""
    return {
        one.id: one.grams for one in ahead_of(walks, sheet.walk, batch.factor) if one.level == 1
    }


def ahead_of(
    walks: Mapping[str, Walk], walk: Walk, factor: Fraction, level: int = 1
) -> list[Ahead]:
    """What has to be made ahead for a formula at a factor: what goes into it, then what goes into
    that, at every level, in the order of the lines."""
    need: dict[str, Fraction] = {}
    counts: dict[str, Fraction] = {}
    for line in walk.lines:
        sub = line.joined.formula
        if sub is not None and sub in walks:
            need[sub] = need.get(sub, Fraction(0)) + line.grams * factor
            if line.joined.line.amount.kind == "count":
                count = counted_in(walks[sub], line) * factor
                counts[sub] = counts.get(sub, Fraction(0)) + count
    found: list[Ahead] = []
    for sub, grams in need.items():
        made = walks[sub]
        into = walk.formula.formula.name if level > 1 else ""
        name, called = made.formula.formula.name, _called(made)
        by = made.formula.formula.by_product
        of = by.name if by is not None else ""
        gives = gives_of(made, walks)
        found.append(Ahead(sub, name, grams, level, counts.get(sub), into, called, of, gives))
        if made.figures.yielded:
            found += ahead_of(walks, made, grams / made.figures.yielded, level + 1)
    return found


def counted_in(made: Walk, line: WeighedLine) -> Fraction:
    """How many a line counts of what is made ahead: of its pieces, where several are in a fill."""
    amount, makes = line.joined.line.amount, made.formula.formula.makes
    in_fills = makes is not None and amount.unit in (makes.unit, makes.plural)
    return amount.value * (made.figures.to_a_fill if in_fills else 1)


def _called(made: Walk) -> tuple[str, str]:
    """What one and more of what is made ahead are called, where it is counted."""
    makes = made.formula.formula.makes
    if makes is None:
        return "", ""
    if made.figures.to_a_fill == 1:
        return makes.unit, makes.plural
    return piece_words(next(ln for ln in made.lines if ln.joined.item == makes.piece))


def of_words(one: Ahead) -> str:
    """Where a by-product comes from, and how much there is of it at most; empty for what is made
    for itself."""
    if not one.of:
        return ""
    most = f", at most {kilos(one.gives)} a batch" if one.gives is not None else ""
    return f"out of {one.of}{most}"


def ahead_words(one: Ahead) -> str:
    """How much of what is made ahead: "2.4 kg"; with the count where a line counts it: "300 legs,
    66 kg"; out of how many whole ones where it is no whole number of them."""
    if one.count is None or not one.called[0]:
        return kilos(one.grams)
    if one.count.denominator != 1:
        return f"{kilos(one.grams)}, out of {counted(math.ceil(one.count), *one.called)}"
    return f"{counted(one.count, *one.called)}, {kilos(one.grams)}"
