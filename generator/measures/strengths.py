"""How strong a solution is, in ppm: the milligrams in a litre of water, as test strips read it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from generator.files.finding import Refused, clipped
from generator.measures.marks import figure_of, refuse_point, typed_line
from generator.measures.words import NARROW, plain


@dataclass(frozen=True)
class Strength:
    """A strength in ppm: from ``least`` to ``most``; ``most`` is None where one figure is stated,
    which is the least."""

    least: Fraction
    most: Fraction | None = None

    def __str__(self) -> str:
        if self.most is None:
            return f"{plain(self.least)}{NARROW}ppm"
        return f"{plain(self.least)} to {plain(self.most)}{NARROW}ppm"


_FIGURE = r"(\d{1,5}(?:[.,]\d{1,2})?)"
_STRENGTH = re.compile(
    rf"{_FIGURE}\s*(?:ppm|mg/l)?(?:\s*(?:to|–|—|-)\s*{_FIGURE})?\s*(?:ppm|mg/l)", re.IGNORECASE
)
_BARE = re.compile(rf"{_FIGURE}(?:\s*(?:to|–|—|-)\s*{_FIGURE})?")
_HELP = "Write ppm (or mg/L, which is the same in water), as in 50 to 100 ppm."


def read_strength(text: str) -> Strength:
    """``200 ppm``, ``50 to 100 ppm``, ``12.5–25 mg/L``. Raises Refused."""
    typed = typed_line(text)
    refuse_point(typed[:40])
    found = _STRENGTH.fullmatch(typed) if len(typed) <= 40 else None
    if found is None:
        fixes = [f"{typed} ppm"] if len(typed) <= 40 and _BARE.fullmatch(typed) else []
        if fixes:
            words = f"`{typed}` has no unit."
            raise Refused("strength-without-unit", words, _HELP, fixes)
        raise Refused("strength-unreadable", f"`{clipped(text)}` is not a strength.", _HELP)
    least = figure_of(found[1])
    most = figure_of(found[2]) if found[2] else None
    if least <= 0:
        raise Refused("strength-unreadable", f"`{typed}`: there is nothing in the water.", _HELP)
    if most is not None and most <= least:
        fixes = [f"{found[2]} to {found[1]} ppm"] if most < least else [f"{found[1]} ppm"]
        raise Refused("range-doubtful", f"`{typed}`: the smaller end comes first.", "", fixes)
    return Strength(least, most)
