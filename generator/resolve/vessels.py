"""What a vessel holds by its inside measures."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Literal

Shape = Literal["cylinder", "box", "casing"]


def volume_ml(
    shape: Shape,
    diameter: Fraction | None,
    length: Fraction | None,
    width: Fraction | None,
    depth: Fraction | None,
) -> Fraction | None:
    """The volume of a vessel in ml from its inside measures in mm, or None if one is missing.

    A cylinder is upright: π/4 × diameter² × depth. A casing lies filled: π/4 × diameter² ×
    length. A box is length × width × depth. 1000 mm³ are 1 ml. A ``depth`` less the headspace gives
    what may be filled. π is taken in floats: far finer than any tape measures.
    """
    circle = Fraction(math.pi) / 4
    sides: tuple[Fraction | None, ...]
    if shape == "box":
        factor, sides = Fraction(1), (length, width, depth)
    else:
        factor, sides = circle, (diameter, diameter, depth if shape == "cylinder" else length)
    for side in sides:
        if side is None:
            return None
        factor *= max(side, Fraction(0))
    return factor / 1000
