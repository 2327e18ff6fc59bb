"""Food below its freezing point: how much of its water is ice, and how much heat that holds.

Temperatures are °C, shares of mass; enthalpies J/kg above -40 °C. ASHRAE Handbook—Refrigeration,
chapter "Thermal properties of foods", quotes every rule here beside its author.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from generator.heat.constituents import Composition, Impossible
from generator.heat.constituents import freezing_point as freezing_point
from generator.heat.properties import Array, enthalpy_of, mixed_density, parallel, with_air

LATENT = 333_600.0
"""Heat of fusion of water at 0 °C, J/kg (ASHRAE)."""
REFERENCE = -40.0
"""Where enthalpy is counted from, °C."""
_LOWEST, _HIGHEST = -60.0, 180.0


def bound_water(food: Composition) -> float:
    """Water that doesn't freeze: 0.4 of the protein's mass (H. G. Schwartzberg, 1976)."""
    return min(0.4 * food.likely["protein"], food.likely["water"])


def ice_by_miles(water: float, bound: float, freezes_at: float, celsius: Array | float) -> Array:
    """Ice as a share of the mass: (w - b)(1 - Tf/T) below Tf (C. A. Miles and others, 1974)."""
    warm = np.minimum(np.asarray(celsius, dtype=float), freezes_at)
    return np.asarray((water - bound) * (1 - freezes_at / warm))


def ice_by_tchigeov(water: float, freezes_at: float, celsius: Array | float) -> Array:
    """Ice as a share of the mass: 1.105 w / (1 + 0.7138 / ln(Tf - T + 1)), from -45 °C to Tf
    (G. Tchigeov, 1979)."""
    below = np.maximum(freezes_at - np.asarray(celsius, dtype=float), 0)
    with np.errstate(divide="ignore"):
        return np.asarray(1.105 * water / (1 + 0.7138 / np.log1p(below)))


def enthalpy_by_chen(
    solids: float, water: float, bound: float, freezes_at: float, celsius: float
) -> float:
    """Enthalpy of a food above -40 °C, J/kg, frozen or not (C. S. Chen, Journal of Food Science 50
    (1985) 1158). ``solids`` is the share of all that isn't water."""

    def frozen(t: float) -> float:
        latent = (water - bound) * 333.6 * freezes_at / (REFERENCE * t)
        return (t - REFERENCE) * (1.55 + 1.26 * solids - latent)

    if celsius <= freezes_at:
        return 1000 * frozen(celsius)
    warm = 4.19 - 2.30 * solids - 0.628 * solids**3
    return 1000 * (frozen(freezes_at) + (celsius - freezes_at) * warm)


def specific_heat_by_chen(solids: float) -> float:
    """Specific heat of an unfrozen food, J/(kg K) (Chen 1985)."""
    return 1000 * (4.19 - 2.30 * solids - 0.628 * solids**3)


def frozen_specific_heat_by_chen(
    solids: float, water: float, bound: float, freezes_at: float, celsius: float
) -> float:
    """Apparent specific heat below the freezing point, J/(kg K) (Chen 1985)."""
    return 1000 * (1.55 + 1.26 * solids) - (water - bound) * LATENT * freezes_at / celsius**2


@dataclass(frozen=True)
class Material:
    """A food's properties from frozen to hot, as tables over temperature: enthalpy J/kg,
    conductivity W/(m K) and its integral from the lowest temperature W/m. ``density`` is that of
    the unfrozen food: a body keeps its mass and its size here."""

    celsius: Array
    enthalpy: Array
    conductivity: Array
    density: float
    freezes_at: float

    @property
    def heat(self) -> Array:
        """Enthalpy per volume, J/m³."""
        return self.enthalpy * self.density

    @property
    def conducted(self) -> Array:
        """∫ k dT from the lowest temperature of the table, W/m (Kirchhoff)."""
        steps = np.diff(self.celsius) * (self.conductivity[1:] + self.conductivity[:-1]) / 2
        return np.concatenate(([0.0], np.cumsum(steps)))


def _grid(freezes_at: float) -> Array:
    """Temperatures of a table: dense below the freezing point, where most of the ice forms."""
    below = freezes_at - np.geomspace(1e-3, freezes_at - _LOWEST, 400)[::-1]
    above = np.linspace(freezes_at, _HIGHEST, 400)
    return np.concatenate((below, above))


def material_of(food: Composition, freezes_at: float) -> Material:
    """The tables of a food that freezes from ``freezes_at`` on, ice by Miles.

    Enthalpy is the sum of the constituents', ice 333.6 kJ/kg below water at 0 °C, so that the heat
    of fusion falls with the temperature as it does; conductivity is by the parallel rule. Raises
    Impossible for a freezing point that isn't below 0 °C.
    """
    if not _LOWEST < freezes_at < 0:
        raise Impossible(f"a food doesn't freeze from {freezes_at:g} °C on")
    celsius = _grid(freezes_at)
    ice = ice_by_miles(food.likely["water"], bound_water(food), freezes_at, celsius)
    masses: Mapping[str, float | Array] = {
        **food.likely,
        "water": food.likely["water"] - ice,
        "ice": ice,
    }
    enthalpy = sum(share * enthalpy_of(name, celsius) for name, share in masses.items())
    enthalpy = np.asarray(enthalpy - LATENT * ice)
    enthalpy -= np.interp(REFERENCE, celsius, enthalpy)
    conductivity = with_air(parallel(masses, celsius), food.air)
    warm = max(freezes_at, 0.0)
    density = float(mixed_density(food.likely, warm, food.air))
    return Material(celsius, enthalpy, conductivity, density, freezes_at)


def material_by_phases(
    freezes_at: float,
    latent: float,
    density: float,
    warm: tuple[float, float],
    frozen: tuple[float, float],
    width: float = 0.1,
) -> Material:
    """Tables of a body with two states, as handbooks' examples have it: conductivity W/(m K) and
    specific heat J/(kg K) of each, and the ``latent`` heat J/kg, taken up evenly over ``width`` °C
    below the freezing point."""
    celsius = np.array([_LOWEST - 200, freezes_at - width, freezes_at, _HIGHEST + 400])
    (k_warm, c_warm), (k_frozen, c_frozen) = warm, frozen
    steps = [c_frozen * (celsius[1] - celsius[0]), latent + c_frozen * width]
    steps.append(c_warm * (celsius[3] - celsius[2]))
    enthalpy = np.concatenate(([0.0], np.cumsum(steps)))
    enthalpy -= np.interp(REFERENCE, celsius, enthalpy)
    conductivity = np.array([k_frozen, k_frozen, k_warm, k_warm])
    return Material(celsius, enthalpy, conductivity, density, freezes_at)


def latent_heat(food: Composition) -> float:
    """The heat of freezing all of a food's water, J/kg: what tables of foods print (ASHRAE)."""
    return LATENT * food.likely["water"]


def warm_material(food: Composition) -> Material:
    """The tables of a food that stays above its freezing point: its properties by temperature."""
    celsius = np.linspace(-5.0, _HIGHEST, 400)
    enthalpy = sum(share * enthalpy_of(name, celsius) for name, share in food.likely.items())
    conductivity = with_air(parallel(food.likely, celsius), food.air)
    density = float(mixed_density(food.likely, 20.0, food.air))
    return Material(celsius, np.asarray(enthalpy), conductivity, density, -_HIGHEST)
