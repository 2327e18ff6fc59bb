"""What a food is made of, and its thermal properties at one temperature, in plain floats.

The properties of the constituents are polynomials in temperature: Y. Choi, M. R. Okos, "Effects of
temperature and composition on the thermal properties of foods", in Food Engineering and Process
Applications 1 (1986) 93–101, as tabulated in the ASHRAE Handbook—Refrigeration, chapter "Thermal
properties of foods", Tables 1 and 2 (valid from -40 to 150 °C, water from 0 and ice to 0 °C).

Nothing here needs numpy, so that `check` can ask it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from generator.heat.ranges import Range

CONSTITUENTS = ("water", "protein", "fat", "carbohydrate", "fibre", "ash")
"""What a food is made of; carbohydrate is without fibre, ash is the minerals with added salt."""

# Choi & Okos (1986): a + b·T + c·T², T in °C. Thermal conductivity, W/(m K).
CONDUCTIVITY = {
    "water": (0.57109, 1.7625e-3, -6.7036e-6),
    "protein": (0.17881, 1.1958e-3, -2.7178e-6),
    "fat": (0.18071, -2.7604e-4, -1.7749e-7),
    "carbohydrate": (0.20141, 1.3874e-3, -4.3312e-6),
    "fibre": (0.18331, 1.2497e-3, -3.1683e-6),
    "ash": (0.32962, 1.4011e-3, -2.9069e-6),
    "ice": (2.2196, -6.2489e-3, 1.0154e-4),
}
# The same: density, kg/m³.
DENSITY = {
    "water": (997.18, 3.1439e-3, -3.7574e-3),
    "protein": (1329.9, -0.5184, 0.0),
    "fat": (925.59, -0.41757, 0.0),
    "carbohydrate": (1599.1, -0.31046, 0.0),
    "fibre": (1311.5, -0.36589, 0.0),
    "ash": (2423.8, -0.28063, 0.0),
    "ice": (916.89, -0.13071, 0.0),
}
# The same: specific heat, J/(kg K). Water from 0 °C by the form that begins with 4.1762; the 4.1289
# of some editions is 1.1 % below the specific heat of real water.
SPECIFIC_HEAT = {
    "water": (4176.2, -9.0864e-2, 5.4731e-3),
    "protein": (2008.2, 1.2089, -1.3129e-3),
    "fat": (1984.2, 1.4733, -4.8008e-3),
    "carbohydrate": (1548.8, 1.9625, -5.9399e-3),
    "fibre": (1845.9, 1.8306, -4.6509e-3),
    "ash": (1092.6, 1.8896, -3.6817e-3),
    "ice": (2062.3, 6.0769, 0.0),
}
# The same table: water that is not frozen, below 0 °C.
COLD_WATER = (4081.7, -5.3062, 0.99516)

AIR_CONDUCTIVITY = 0.026
"""Still air at room temperature, W/(m K): ASHRAE Handbook—Fundamentals, properties of air."""
MOST_OFF = 0.005
"""How far stated shares may be from 1 in all, as labels and tables round them."""


class Impossible(ValueError):
    """Inputs that no body can have; the message says which, in words for people."""


def _check_share(name: str, share: Range) -> None:
    if name not in CONSTITUENTS:
        known = ", ".join(CONSTITUENTS)
        raise Impossible(f"{name} is no constituent; known are {known}")
    if not 0 <= share.low <= share.high <= 1:
        raise Impossible(f"the share of {name} is not between 0 and 100 %")


@dataclass(frozen=True)
class Composition:
    """What a food is made of: the mass share of each constituent, each perhaps within bounds, and
    ``air``, the share of its volume that is air.

    The likely shares add up to 1. Raises Impossible where they don't, or a share is no share.
    """

    shares: Mapping[str, Range]
    air: float = 0.0
    likely: Mapping[str, float] = field(init=False, compare=False)

    def __post_init__(self) -> None:
        for name, share in self.shares.items():
            _check_share(name, share)
        if not 0 <= self.air < 1:
            raise Impossible("the share of air is not between 0 and 100 %")
        total = sum(share.likely for share in self.shares.values())
        if abs(total - 1) > MOST_OFF:
            raise Impossible(f"the shares add up to {100 * total:.1f} %, not 100 %")
        likely = {name: self.shares[name].likely / total for name in self.shares}
        object.__setattr__(self, "likely", {n: likely.get(n, 0.0) for n in CONSTITUENTS})

    @staticmethod
    def of(**shares: float) -> Composition:
        """A composition of exact mass shares: ``Composition.of(water=0.7, protein=0.3)``."""
        return Composition({name: Range.exact(value) for name, value in shares.items()})

    def with_share(self, name: str, value: float) -> Composition:
        """The same food with another share of one constituent; the others keep their proportions
        to each other. Raises Impossible where nothing else could make up the rest."""
        rest = 1 - self.likely[name]
        if rest <= 0:
            raise Impossible(f"there is nothing beside {name}")
        others = {n: s * (1 - value) / rest for n, s in self.likely.items() if n != name}
        shares = {n: Range.exact(s) for n, s in {**others, name: value}.items()}
        return Composition(shares, self.air)


@dataclass(frozen=True)
class Properties:
    """Thermal properties at one temperature: conductivity W/(m K), density kg/m³, specific heat
    J/(kg K)."""

    conductivity: float
    density: float
    specific_heat: float

    def __post_init__(self) -> None:
        for name in ("conductivity", "density", "specific_heat"):
            value = getattr(self, name)
            if not (value > 0 and math.isfinite(value)):
                raise Impossible(f"{name.replace('_', ' ')} {value:g} is not above zero")

    @property
    def diffusivity(self) -> float:
        """k/(ρ c), m²/s."""
        return self.conductivity / (self.density * self.specific_heat)


def polynomial(coefficients: tuple[float, float, float], celsius: float) -> float:
    """a + b·T + c·T²."""
    a, b, c = coefficients
    return a + celsius * (b + celsius * c)


def unfrozen(food: Composition, celsius: float) -> Properties:
    """The properties of a food that holds no ice, at one temperature: volumes add, heats by mass,
    conductivity by the parallel rule, air by Maxwell and Eucken's."""
    masses = {name: share for name, share in food.likely.items() if share}
    volumes = {n: share / polynomial(DENSITY[n], celsius) for n, share in masses.items()}
    whole = sum(volumes.values())
    k = sum(v * polynomial(CONDUCTIVITY[n], celsius) for n, v in volumes.items()) / whole
    if food.air:
        top = 2 * k + AIR_CONDUCTIVITY - 2 * food.air * (k - AIR_CONDUCTIVITY)
        k *= top / (2 * k + AIR_CONDUCTIVITY + food.air * (k - AIR_CONDUCTIVITY))
    heats = {**SPECIFIC_HEAT, "water": COLD_WATER} if celsius < 0 else SPECIFIC_HEAT
    specific = sum(share * polynomial(heats[n], celsius) for n, share in masses.items())
    return Properties(k, (1 - food.air) / whole, specific)


@dataclass(frozen=True)
class Solid:
    """What a body is made of: conductivity W/(m K) and diffusivity m²/s."""

    conductivity: float
    diffusivity: float

    def __post_init__(self) -> None:
        for value in (self.conductivity, self.diffusivity):
            if not (value > 0 and math.isfinite(value)):
                raise Impossible(f"a conductivity or a diffusivity of {value:g}")


def freezing_point(food: Composition) -> Range:
    """The initial freezing point of a food, °C, within bounds.

    Q. T. Pham's regression (1996): T = -4.66 x/w - 46.4 a/w, with the shares of water w, ash a and
    dissolved others x. How much of the carbohydrate is dissolved isn't known: none of it is the
    upper bound, all of it the lower, half of it the likely figure; the regression itself is off by
    up to 0.7 °C.
    """
    water = food.likely["water"]
    if water <= 0:
        raise Impossible("a food without water has no freezing point")
    by_ash = -46.4 * food.likely["ash"] / water
    by_sugar = -4.66 * food.likely["carbohydrate"] / water
    high = min(by_ash + 0.7, -0.1)
    likely = min(by_ash + by_sugar / 2, high)
    return Range(min(by_ash + by_sugar - 0.7, likely), likely, high)
