"""How long freezing takes, by the formulas of handbooks: cross-checks of the enthalpy method.

Shapes are described by ``size``, the full thickness or diameter, m. All else is SI.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from generator.heat.bodies import Body
from generator.heat.constituents import Impossible

Simple = Literal["slab", "cylinder", "sphere"]


@dataclass(frozen=True)
class Freezing:
    """A food that is frozen in a medium: ``latent`` J/kg is the heat its water gives off,
    ``warm`` and ``frozen`` are specific heats J/(kg K), ``conductivity`` is that of the frozen
    food W/(m K), ``density`` and ``frozen_density`` kg/m³; temperatures °C."""

    latent: float
    warm: float
    frozen: float
    conductivity: float
    density: float
    frozen_density: float
    freezes_at: float
    start: float
    target: float
    medium: float
    h: float

    def __post_init__(self) -> None:
        if not self.medium < self.target <= self.freezes_at <= self.start:
            raise Impossible("to freeze, start ≥ freezing point ≥ target > medium")
        for value in (self.latent, self.warm, self.frozen, self.conductivity, self.h):
            if not value > 0:
                raise Impossible("heats, conductivity and coefficient are above zero")


PLANK: dict[Simple, tuple[float, float]] = {
    "slab": (1 / 2, 1 / 8),
    "cylinder": (1 / 4, 1 / 16),
    "sphere": (1 / 6, 1 / 24),
}
"""Plank's factors P and R for a full thickness or diameter (R. Plank, Zeitschrift für die gesamte
Kälte-Industrie 20 (1913) 109; Encyclopedia of Food Sciences and Nutrition, "Freezing")."""


def plank_brick(b1: float, b2: float) -> tuple[float, float]:
    """Plank's factors of a brick a × b1·a × b2·a, a its least side (R. Plank 1913, 1941, as in the
    ASHRAE Handbook and R. L. Earle's *Unit Operations in Food Processing*).

    Raises Impossible for a ratio below 1.
    """
    if not (b1 >= 1 and b2 >= 1):
        raise Impossible("a brick's ratios are to its least side")
    b1, b2 = max(b1, 1 + 1e-7), max(b2, 1 + 2e-7)
    p = b1 * b2 / (2 * (b1 * b2 + b1 + b2))
    q = math.sqrt((b1 - b2) * (b1 - 1) + (b2 - 1) ** 2)
    if math.isinf(b1 * b2):
        return PLANK["slab"]
    r, s = (b1 + b2 + 1 + q) / 3, (b1 + b2 + 1 - q) / 3

    def part(m: float) -> float:
        return (m - 1) * (b1 - m) * (b2 - m) * math.log(m / (m - 1))

    return p, (part(r) - part(s)) / (8 * q) + (2 * b1 + 2 * b2 - 1) / 72


def plank_seconds(size: float, factors: tuple[float, float], food: Freezing) -> float:
    """Plank: t = ρ L/(Tf - Ta)·(P a/h + R a²/k). Only the latent heat counts: too short by the
    sensible heat before and after."""
    p, r = factors
    through = p * size / food.h + r * size**2 / food.conductivity
    return food.density * food.latent / (food.freezes_at - food.medium) * through


def pham_shape(b1: float, b2: float, biot: float) -> float:
    """Equivalent heat transfer dimension of a brick whose other sides are b1 and b2 times its least
    one; ``biot`` is h·(least side)/k (A. C. Cleland, R. L. Earle 1982; Q. T. Pham 1991, as in the
    ASHRAE Handbook): 1 for a slab, to 3."""

    def held(x: float) -> float:
        return x / (float(biot**1.34) + x)

    def of(b: float, least: float, power: float) -> float:
        x = held(2.32 * b**-1.77)
        return x / b + (1 - x) * least / float(b**power)

    return 1 + of(b1, 0.73, 2.5) + of(b2, 0.50, 3.69)


def pham_seconds(half: float, shape: float, food: Freezing) -> float:
    """Pham (Journal of Food Technology 21 (1986) 209): cooling and freezing with a mean freezing
    temperature 1.8 + 0.263 Tc + 0.105 Ta. ``half`` is half the thickness or the radius, m;
    ``shape`` the heat transfer dimension, 1 for a slab, 2 for a long cylinder, 3 for a sphere."""
    mean = 1.8 + 0.263 * food.target + 0.105 * food.medium
    before = food.density * food.warm * (food.start - mean)
    while_frozen = food.frozen_density * (food.latent + food.frozen * (mean - food.target))
    above = (food.start + mean) / 2 - food.medium
    below = mean - food.medium
    biot = food.h * half / food.conductivity
    return half / (shape * food.h) * (before / above + while_frozen / below) * (1 + biot / 2)


_CLELAND_EARLE: dict[Simple, tuple[tuple[float, ...], tuple[float, ...]]] = {
    "slab": ((0.5072, 0.2018, 0.3224, 0.0105, 0.0681), (0.1684, 0.2740, -0.0135)),
    "cylinder": ((0.3751, 0.0999, 0.4008, 0.0710, -0.5865), (0.0133, 0.0415, 0.3957)),
    "sphere": ((0.1084, 0.0924, 0.2310, -0.3114, 0.6739), (0.0784, 0.0386, -0.1694)),
}


def cleland_earle_seconds(size: float, shape: Simple, to_minus_10: float, food: Freezing) -> float:
    """Cleland and Earle's regression of Plank's factors, to -10 °C in the centre (Journal of Food
    Science 42 (1977) 1390; 44 (1979) 958, as in the ASHRAE Handbook). ``to_minus_10`` is the heat
    given off between the freezing point and -10 °C, J/m³."""
    over = food.freezes_at - food.medium
    plank = food.density * food.warm * (food.start - food.freezes_at) / to_minus_10
    stefan = food.frozen_density * food.frozen * over / to_minus_10
    biot = food.h * size / food.conductivity
    (p0, p1, p2, p3, p4), (r0, r1, r2) = _CLELAND_EARLE[shape]
    p = p0 + p1 * plank + stefan * (p2 * plank + p3 / biot + p4)
    r = r0 + stefan * (r1 * plank + r2)
    return to_minus_10 / over * (p * size / food.h + r * size**2 / food.conductivity)


@dataclass(frozen=True)
class CrossCheck:
    """A handbook's formula and the time it gives, s."""

    name: str
    seconds: float


def cross_checks(body: Body, food: Freezing) -> tuple[CrossCheck, ...]:
    """What Plank's and Pham's formulas say of a body with the same all round it; none for a
    cylinder with ends, which they don't have."""
    name = body.name.removeprefix("long ")
    sizes = sorted(axis.size for axis in body.axes)
    simple: dict[str, Callable[[], tuple[float, tuple[float, float], float, float]]] = {
        "slab": lambda: (sizes[0], PLANK["slab"], sizes[0] / 2, 1.0),
        "sphere": lambda: (2 * sizes[0], PLANK["sphere"], sizes[0], 3.0),
    }
    if name == "brick":
        b1, b2 = sizes[1] / sizes[0], sizes[2] / sizes[0]
        shape = pham_shape(b1, b2, food.h * sizes[0] / food.conductivity)
        of = (sizes[0], plank_brick(b1, b2), sizes[0] / 2, shape)
    elif body.name == "long cylinder":
        of = (2 * sizes[0], PLANK["cylinder"], sizes[0], 2.0)
    elif name in simple:
        of = simple[name]()
    else:
        return ()
    size, factors, half, shape = of
    return (
        CrossCheck("Plank", plank_seconds(size, factors, food)),
        CrossCheck("Pham", pham_seconds(half, shape, food)),
    )
