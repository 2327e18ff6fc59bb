"""Grams as people say them: in grams and kilograms, or ounces and pounds where the kitchen weighs
so."""

from __future__ import annotations

from fractions import Fraction

from generator.measures.marks import weights_in_force
from generator.measures.words import NARROW, plain

POUND = Fraction("453.59237")
"""A pound in grams, exactly: NIST Handbook 44, appendix C."""
OUNCE = POUND / 16


def kilos(grams: Fraction) -> str:
    """Grams as a person says them: 620 g, 3.5 kg; 5.3 oz, 2.25 lb where the kitchen weighs in
    pounds."""
    return NARROW.join(kilos_figure(grams))


def kilos_figure(grams: Fraction) -> tuple[str, str]:
    """The same as a figure and its unit: ("3.5", "kg")."""
    if weights_in_force() == "us":
        if grams >= POUND:
            return plain(grams / POUND, 2), "lb"
        return plain(grams / OUNCE, 1), "oz"
    if grams >= 1000:
        return plain(grams / 1000, 2), "kg"
    return plain(grams, 1), "g"


def kilos_step(grams: Fraction) -> Fraction:
    """The last digit that :func:`kilos` shows of so many grams, in grams."""
    if weights_in_force() == "us":
        return POUND / 100 if grams >= POUND else OUNCE / 10
    return Fraction(10) if grams >= 1000 else Fraction(1, 10)


def small_weight(grams: Fraction, places: int) -> str:
    """A weight as a message says it, to so many decimals: 2.126 g; 0.075 oz in a pound kitchen."""
    if weights_in_force() == "us":
        return f"{plain(grams / OUNCE, places)} oz"
    return f"{plain(grams, places)} g"
