"""Figures with a fraction as a cook writes them: ½, 1½, 1/2, 1 1/2."""

from __future__ import annotations

import re
from fractions import Fraction

VULGAR = {
    "½": Fraction(1, 2),
    "¼": Fraction(1, 4),
    "¾": Fraction(3, 4),
    "⅓": Fraction(1, 3),
    "⅔": Fraction(2, 3),
    "⅛": Fraction(1, 8),
    "⅜": Fraction(3, 8),
    "⅝": Fraction(5, 8),
    "⅞": Fraction(7, 8),
    "⅙": Fraction(1, 6),
    "⅚": Fraction(5, 6),
    "⅕": Fraction(1, 5),
}


def mixed(match: re.Match[str]) -> Fraction:
    """The figure of a match with the groups ``int top bottom``, ``whole vulgar`` and ``only``.

    Raises ZeroDivisionError for a fraction of nothing.
    """
    if match["top"]:
        return int(match["int"] or 0) + Fraction(int(match["top"]), int(match["bottom"]))
    return int(match["whole"] or 0) + VULGAR[match["vulgar"] or match["only"]]
