"""Rounding: once, at the edge, to a scale's division or to the strict side of a limit."""

from __future__ import annotations

import math
from collections.abc import Iterable
from fractions import Fraction
from typing import Literal

Side = Literal["up", "down"]


def half_up(value: Fraction, step: Fraction = Fraction(1)) -> Fraction:
    """``value`` rounded to the nearest multiple of ``step`` (same unit), halves away from zero.

    Raises ValueError for a step that is not above zero.
    """
    (over, under), (each, of) = value.as_integer_ratio(), step.as_integer_ratio()
    if each <= 0:
        raise ValueError("a step must be above zero")
    return Fraction(nearest(over * of, under * each) * each, of)


def total(values: Iterable[Fraction]) -> Fraction:
    """The exact sum of ``values`` (same unit), 0 of none: over one common denominator, and brought
    to lowest terms once. Sums are asked for by the ten thousand."""
    return _added(value.as_integer_ratio() for value in values)


def total_of(pairs: Iterable[tuple[Fraction, Fraction]]) -> Fraction:
    """The exact sum of the products of ``pairs``, as of grams and what a gram takes up."""
    return _added(
        (over * above, under * below)
        for (over, under), (above, below) in (
            (one.as_integer_ratio(), other.as_integer_ratio()) for one, other in pairs
        )
    )


def _added(ratios: Iterable[tuple[int, int]]) -> Fraction:
    above, below = 0, 1
    for over, under in ratios:
        if under == below:
            above += over
        else:
            common = math.lcm(below, under)
            above = above * (common // below) + over * (common // under)
            below = common
    return Fraction(above, below)


def nearest(numerator: int, denominator: int) -> int:
    """The whole number nearest to ``numerator / denominator``, halves away from zero.

    The denominator is above zero. Whole numbers only: figures are rounded by the ten thousand.
    """
    count = (2 * abs(numerator) + denominator) // (2 * denominator)
    return count if numerator >= 0 else -count


def to_side(value: Fraction, side: Side, step: Fraction = Fraction(1)) -> Fraction:
    """``value`` moved ``up`` or ``down`` to a multiple of ``step``; a multiple stays as it is."""
    if step <= 0:
        raise ValueError("a step must be above zero")
    over, under = value.numerator * step.denominator, value.denominator * step.numerator
    count = -(-over // under) if side == "up" else over // under
    return Fraction(count * step.numerator, step.denominator)


def decimals_of(step: Fraction) -> int:
    """How many decimals a display with this step shows: 5 → 0, 0.1 → 1, 0.05 → 2, 0.25 → 2.

    Raises ValueError for a step no decimal display can show (1/3).
    """
    for places in range(10):
        if (step * 10**places).denominator == 1:
            return places
    raise ValueError(f"{step} can't be shown on a decimal display")


def significant(value: Fraction, digits: int = 2) -> Fraction:
    """``value`` rounded half-up to so many significant digits; 0 stays 0."""
    if value == 0:
        return Fraction(0)
    exponent = math.floor(math.log10(abs(float(value))))
    while abs(value) >= Fraction(10) ** (exponent + 1):
        exponent += 1
    while abs(value) < Fraction(10) ** exponent:
        exponent -= 1
    return half_up(value, Fraction(10) ** (exponent - digits + 1))
