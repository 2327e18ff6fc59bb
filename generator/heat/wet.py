"""Where water boils, and how warm a surface gets while water evaporates from it.

The saturation line is region 4 of IAPWS R7-97(2012), "Industrial Formulation 1997 for the
Thermodynamic Properties of Water and Steam", equations 30 and 31, from 0 to 374 °C.
"""

from __future__ import annotations

import math

from generator.heat.constituents import Impossible

PRESSURE = 101_325.0
"""The standard atmosphere, Pa."""
_GAMMA = 6.6e-4
_KELVIN, _TRIPLE, _CRITICAL = 273.15, 611.2, 22.064e6
_N = (
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849e0,
    0.65017534844798e3,
)
"""Table 34 of the release."""


def saturation(celsius: float) -> float:
    """The pressure of steam over water, Pa (equation 30). Raises Impossible below 0 °C and above
    the critical point."""
    if not 0 <= celsius <= 373.94:
        raise Impossible(f"steam over water of {celsius:g} °C")
    n, kelvin = _N, celsius + _KELVIN
    t = kelvin + n[8] / (kelvin - n[9])
    a = t * t + n[0] * t + n[1]
    b = n[2] * t * t + n[3] * t + n[4]
    c = n[5] * t * t + n[6] * t + n[7]
    return float(1e6 * (2 * c / (-b + math.sqrt(b * b - 4 * a * c))) ** 4)


def boils_at(pascal: float) -> float:
    """Where water boils under a pressure, °C (equation 31). Raises Impossible outside the line."""
    if not _TRIPLE <= pascal <= _CRITICAL:
        raise Impossible(f"water that boils under {pascal:g} Pa")
    n, b = _N, (pascal / 1e6) ** 0.25
    e = b * b + n[2] * b + n[5]
    f = n[0] * b * b + n[3] * b + n[6]
    g = n[1] * b * b + n[4] * b + n[7]
    d = 2 * g / (-f - math.sqrt(f * f - 4 * e * g))
    root = math.sqrt((n[9] + d) ** 2 - 4 * (n[8] + n[9] * d))
    return float((n[9] + d - root) / 2 - _KELVIN)


def pressure_at(metres: float) -> float:
    """The standard atmosphere's pressure at a height above the sea, Pa (ISO 2533): to 11 km."""
    if not -500 <= metres <= 11_000:
        raise Impossible(f"a kitchen {metres:g} m above the sea")
    return float(PRESSURE * (1 - 2.25577e-5 * metres) ** 5.25588)


def wet_bulb(celsius: float, steam: float) -> float:
    """The temperature of a wet surface in air of so many °C of which ``steam`` is steam, as a
    share of the volume: p_s(T) - p = 0.00066·P·(T_air - T), the equation of the psychrometer.
    Raises Impossible for a share that isn't one."""
    if not 0 <= steam <= 1:
        raise Impossible(f"a share of steam of {steam:g}")
    vapour = min(steam * PRESSURE, saturation(min(celsius, 120.0)))
    low, high = 0.0, min(celsius, boils_at(PRESSURE))
    for _ in range(60):
        middle = (low + high) / 2
        if saturation(middle) - vapour < _GAMMA * PRESSURE * (celsius - middle):
            low = middle
        else:
            high = middle
    return (low + high) / 2
