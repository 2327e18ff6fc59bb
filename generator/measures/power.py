"""The heat a machine gives or takes away in a time: ``3 kW``, ``800 W``, ``12000 Btu/h``."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from generator.files.finding import Refused, clipped
from generator.measures.marks import as_written, decimal_mark, figure_of, refuse_point

_WATTS = {
    "w": Fraction(1),
    "kw": Fraction(1000),
    "btu/h": Fraction("1055.05585262") / 3600,
    "btu/hr": Fraction("1055.05585262") / 3600,
}
"""NIST SP 811, B.8: the international table Btu."""
MOST = Fraction(500_000)
"""W no machine of a kitchen has. Ours."""
_TYPED = re.compile(r"(\d{1,9}(?:[.,]\d{1,6})?)\s*([A-Za-z/]{1,8})", re.ASCII)


@dataclass(frozen=True)
class Power:
    """A power, W, as it was written."""

    watts: Fraction
    text: str


def read_power(text: str) -> Power:
    """Raises Refused for what is no power, is none at all, or more than a machine has."""
    typed = " ".join(text.split())
    refuse_point(typed)
    match = _TYPED.fullmatch(typed)
    factor = _WATTS.get(match[2].casefold()) if match is not None else None
    if match is None or factor is None or ("," in match[1] and decimal_mark() == "point"):
        raise _unreadable(f"`{clipped(typed)}` is not a power.")
    watts = figure_of(match[1]) * factor
    if not 0 < watts <= MOST:
        raise _unreadable(f"`{clipped(typed)}`: no machine of a kitchen has such a power.")
    return Power(watts, typed)


def _unreadable(words: str) -> Refused:
    help = as_written("Write what its plate says with its unit, as in 800 W, 3.5 kW, 12000 Btu/h.")
    return Refused("power-unreadable", words, help)
