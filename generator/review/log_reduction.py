"""Lethality of a logged course: information beside a verdict, never a part of it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from fractions import Fraction

from generator.review.readings import Reading, seconds_between

REFERENCE_C, Z_C = 70.0, 7.5
"""70 °C, and the z that the printed list of equivalents to 70 °C for 2 min (60 °C for 45 min … 80
°C for 6 s) follows when it is rounded up; tests/rules/test_review.py holds it."""


def equivalent_minutes(
    readings: Sequence[Reading],
    longest_gap_s: Fraction,
    reference_c: float = REFERENCE_C,
    z_c: float = Z_C,
) -> float:
    """Minutes at ``reference_c`` that kill as much as the logged course: ∫ 10^((T − Tref)/z) dt.

    The temperature runs straight between readings; on a straight piece the integral is exact,
    Δt · (L₁ − L₀)/ln(L₁/L₀). Pauses longer than ``longest_gap_s`` count nothing. ``z_c`` is the
    rise in °C that makes the time a tenth. Source: Bigelow, "The logarithmic nature of thermal
    death time curves", Journal of Infectious Diseases 29 (1921), for the law of the exponent (from
    memory).
    """
    total = 0.0
    for a, b in itertools.pairwise(readings):
        seconds = seconds_between(a.at, b.at)
        if seconds > longest_gap_s:
            continue
        first = 10 ** ((float(a.temperature.celsius) - reference_c) / z_c)
        last = 10 ** ((float(b.temperature.celsius) - reference_c) / z_c)
        ratio = last / first
        mean = first if abs(ratio - 1) < 1e-9 else (last - first) / math.log(ratio)
        total += mean * float(seconds) / 60
    return total
