"""Weights in the other system: pounds and ounces for grams, grams for pounds and ounces.

Exact from what the scale shows, with as many decimals as it takes to lose no step of the scale.
Cure and gelling agents stay in the unit of their scale.
"""

from __future__ import annotations

import itertools
from fractions import Fraction

from generator.measures.rounding import half_up
from generator.measures.words import NARROW, fixed
from generator.resolve.joined import House
from generator.sheet.sheet import BatchLine

OUNCES_A_POUND = 16


def to_us(house: House) -> bool:
    """Whether the other system is the US customary one: it goes with the temperature scale."""
    return house.kitchen.temperature == "°C"


def other_weight(house: House, grams: Fraction, division: Fraction, unit: str) -> tuple[str, str]:
    """Figure and unit in the other system of what a scale in ``unit`` with steps of ``division``
    grams shows: ("3 lb 2.30", "oz"). Two empty texts where the scale reads that system already."""
    if (unit in ("oz", "lb")) == to_us(house):
        return "", ""
    one = house.units.by_name["oz"].factor if to_us(house) else Fraction(1)
    places = next(p for p in itertools.count() if one / 10**p <= division)
    total = half_up(grams / one, Fraction(1, 10**places))
    if not to_us(house):
        return fixed(total, places), "g"
    pounds, ounces = divmod(total, OUNCES_A_POUND)
    before = f"{fixed(Fraction(pounds), 0)}{NARROW}lb{NARROW}" if pounds else ""
    return before + fixed(ounces, places), "oz"


def other_line(house: House, line: BatchLine, grams: Fraction) -> tuple[str, str]:
    """:func:`other_weight` for a line of a batch; empty where it stays as its scale reads."""
    facts, scale = line.line.joined.ingredient, line.weighing.scale
    if scale is None or (facts is not None and facts.function in ("cure", "gelling-agent")):
        return "", ""
    return other_weight(house, grams, scale.division, scale.unit)
