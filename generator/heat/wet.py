"""How warm a surface gets while water evaporates from it: the wet bulb's temperature."""

from __future__ import annotations

import math

from generator.heat.constituents import Impossible

PRESSURE = 101_325.0
"""The standard atmosphere, Pa."""
_GAMMA = 6.6e-4


def saturation(celsius: float) -> float:
    """The pressure of steam over water, Pa, from 0 to 120 °C, by Magnus's equation with O. A.
    Alduchov's and R. E. Eskridge's figures (Journal of Applied Meteorology 35 (1996) 601): within
    0.4 % up to 50 °C, 3 % at 100 °C."""
    return 610.94 * math.exp(17.625 * celsius / (celsius + 243.04))


def wet_bulb(celsius: float, steam: float) -> float:
    """The temperature of a wet surface in air of so many °C of which ``steam`` is steam, as a
    share of the volume: p_s(T) - p = 0.00066·P·(T_air - T), the equation of the psychrometer.
    Raises Impossible for a share that isn't one."""
    if not 0 <= steam <= 1:
        raise Impossible(f"a share of steam of {steam:g}")
    vapour = min(steam * PRESSURE, saturation(min(celsius, 120.0)))
    low, high = 0.0, min(celsius, 100.0)
    for _ in range(60):
        middle = (low + high) / 2
        if saturation(middle) - vapour < _GAMMA * PRESSURE * (celsius - middle):
            low = middle
        else:
            high = middle
    return (low + high) / 2
