"""How large a batch can be at most, for its cure: where its record has no size and not every line
of the base a weight, by what it does weigh."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from fractions import Fraction

from generator.files.finding import Refused
from generator.measures.words import plain
from generator.records.made import MadeBatch
from generator.rules.cures.dosing import MILLION
from generator.sheet.dosed import cure_limit, nitrite_in
from generator.sheet.outputs import factor_of
from generator.sheet.walked import Walk
from generator.sheet.weighing import WeighedLine


@dataclass(frozen=True)
class Bounds:
    """The least and the most factor that the lines of a record speak for, and in words what
    does."""

    least: Fraction
    most: Fraction
    words: str


def bounds_by_what_was_weighed(
    walk: Walk,
    record: MadeBatch,
    weighed: Mapping[str, Fraction],
    written: Mapping[str, Fraction],
    cures: Collection[str],
) -> Bounds | None:
    """The factor of a batch by its ``weighed`` lines, in grams by item, each beside what the
    formula has ``written``: those of the base, else any but the ``cures``; where there are none, by
    what was made. None where nothing says it."""
    ratios = {
        item: grams / written[item]
        for item, grams in weighed.items()
        if item not in cures and written.get(item)
    }
    base = {item for _, item in walk.formula.base} & ratios.keys()
    if ratios:
        found = [ratios[item] for item in base or ratios]
        return Bounds(min(found), max(found), "as much as the record weighs beside it")
    if record.made is None:
        return None
    try:
        factor = factor_of(walk, "yield", record.made.value)
    except Refused:
        return None
    return Bounds(factor, factor, "what was made")


def of_the_law(walk: Walk, line: WeighedLine, more_g: Fraction) -> tuple[str, bool]:
    """The dose with so many grams more of a cure in the formula as written, beside the most that
    the law has for it, in words; and whether it is above that, or the law has no figure."""
    limit = cure_limit(walk, line)
    if limit is None:
        return "", True
    ppm = limit.ppm + more_g * nitrite_in(walk, line) / limit.meat_share * MILLION
    words = f" It makes {plain(ppm, 0)} ppm of {limit.substance}; the most is "
    return f"{words}{plain(limit.law_ppm, 0)} ppm.", ppm > limit.law_ppm
