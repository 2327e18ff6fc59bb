"""What has to be made ahead for a batch, at every level."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from generator.measures.kilos import kilos
from generator.measures.words import counted
from generator.sheet.sheet import Batch, Sheet
from generator.sheet.walked import Walk


@dataclass(frozen=True)
class Ahead:
    """A made-ahead formula that a batch needs: how much of it, finished, in grams; in whole pieces
    or fills where a line counts it; ``level`` 1 goes into the batch, 2 into what goes into it,
    which ``into`` names."""

    id: str
    name: str
    grams: Fraction
    level: int
    count: Fraction | None = None
    into: str = ""


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
                counts[sub] = counts.get(sub, Fraction(0)) + line.joined.line.amount.value * factor
    found: list[Ahead] = []
    for sub, grams in need.items():
        made = walks[sub]
        into = walk.formula.formula.name if level > 1 else ""
        found.append(Ahead(sub, made.formula.formula.name, grams, level, counts.get(sub), into))
        if made.figures.yielded:
            found += ahead_of(walks, made, grams / made.figures.yielded, level + 1)
    return found


def ahead_words(walks: Mapping[str, Walk], one: Ahead) -> str:
    """How much of what is made ahead: "2.4 kg"; with the count where a line counts it: "300 legs,
    66 kg"."""
    makes = walks[one.id].formula.formula.makes
    if one.count is None or makes is None or one.count.denominator != 1:
        return kilos(one.grams)
    return f"{counted(one.count, makes.unit, makes.plural)}, {kilos(one.grams)}"
