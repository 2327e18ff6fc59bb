"""Thermal properties of a food from what is in it and how warm it is.

The properties of the constituents are polynomials in temperature: Y. Choi, M. R. Okos, "Effects of
temperature and composition on the thermal properties of foods", in Food Engineering and Process
Applications 1 (1986) 93–101, as tabulated in the ASHRAE Handbook—Refrigeration, chapter "Thermal
properties of foods", Tables 1 and 2 (valid from -40 to 150 °C, water from 0 and ice to 0 °C).

Diffusivity is worked out as k/(ρ c), never from its own polynomials, which are up to 4 % off it.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from generator.heat.constituents import (
    AIR_CONDUCTIVITY,
    COLD_WATER,
    CONDUCTIVITY,
    DENSITY,
    SPECIFIC_HEAT,
)
from generator.heat.constituents import CONSTITUENTS as CONSTITUENTS
from generator.heat.constituents import Composition as Composition
from generator.heat.constituents import Impossible as Impossible
from generator.heat.constituents import Properties as Properties
from generator.heat.constituents import unfrozen as unfrozen

Array = npt.NDArray[np.float64]


def _polynomial(coefficients: tuple[float, float, float], celsius: Array) -> Array:
    a, b, c = coefficients
    return a + celsius * (b + celsius * c)


def conductivity_of(constituent: str, celsius: Array | float) -> Array:
    """Thermal conductivity of one constituent, or of ``ice``, W/(m K)."""
    return _polynomial(CONDUCTIVITY[constituent], np.asarray(celsius, dtype=float))


def density_of(constituent: str, celsius: Array | float) -> Array:
    """Density of one constituent, or of ``ice``, kg/m³."""
    return _polynomial(DENSITY[constituent], np.asarray(celsius, dtype=float))


def specific_heat_of(constituent: str, celsius: Array | float) -> Array:
    """Specific heat of one constituent, or of ``ice``, J/(kg K)."""
    warm = np.asarray(celsius, dtype=float)
    found = _polynomial(SPECIFIC_HEAT[constituent], warm)
    if constituent == "water":
        return np.where(warm < 0, _polynomial(COLD_WATER, warm), found)
    return found


def enthalpy_of(constituent: str, celsius: Array | float) -> Array:
    """Enthalpy of one constituent, or of ``ice``, above its own at 0 °C, J/kg: the integral of its
    specific heat."""
    warm = np.asarray(celsius, dtype=float)

    def integral(coefficients: tuple[float, float, float]) -> Array:
        a, b, c = coefficients
        return warm * (a + warm * (b / 2 + warm * c / 3))

    found = integral(SPECIFIC_HEAT[constituent])
    if constituent == "water":
        return np.where(warm < 0, integral(COLD_WATER), found)
    return found


# -- mixture rules --------------------------------------------------------------------------------


def volume_shares(masses: Mapping[str, float | Array], celsius: Array | float) -> dict[str, Array]:
    """The volume of each constituent in a cubic metre without air: (x/ρ) over the sum of them."""
    each = {name: share / density_of(name, celsius) for name, share in masses.items()}
    whole = sum(each.values())
    return {name: volume / whole for name, volume in each.items()}


def mixed_density(
    masses: Mapping[str, float | Array], celsius: Array | float, air: float = 0.0
) -> Array:
    """Volumes add: ρ = (1 - air) / Σ(x/ρ), kg/m³ (ASHRAE, density of foods)."""
    whole = sum(share / density_of(name, celsius) for name, share in masses.items())
    return np.asarray((1 - air) / whole)


def mixed_specific_heat(masses: Mapping[str, float | Array], celsius: Array | float) -> Array:
    """By mass: c = Σ x c, J/(kg K) (ASHRAE, specific heat of unfrozen foods). With ice among the
    masses it is the sensible part only."""
    found = sum(share * specific_heat_of(name, celsius) for name, share in masses.items())
    return np.asarray(found)


def parallel(masses: Mapping[str, float | Array], celsius: Array | float) -> Array:
    """The parallel rule: k = Σ v k, by volume, W/(m K) (ASHRAE, thermal conductivity)."""
    shares = volume_shares(masses, celsius)
    return np.asarray(sum(v * conductivity_of(name, celsius) for name, v in shares.items()))


def series(masses: Mapping[str, float | Array], celsius: Array | float) -> Array:
    """The series rule: k = 1 / Σ(v/k), W/(m K): the least a mixture can conduct. Far too low for
    frozen food."""
    shares = volume_shares(masses, celsius)
    return np.asarray(1 / sum(v / conductivity_of(name, celsius) for name, v in shares.items()))


def levy(first: Array | float, second: Array | float, share: Array | float) -> Array:
    """Levy's rule for two phases (A. Levy, International Journal of Refrigeration 4 (1981) 223):
    conductivities ``first`` and ``second``, ``share`` the volume share of the first. W/(m K)."""
    ratio = np.asarray(first) / np.asarray(second)
    bend = (ratio - 1) ** 2 / ((ratio + 1) ** 2 + ratio / 2)
    middle = 2 / bend - 1 + 2 * np.asarray(share)
    held = 0.5 * (middle - np.sqrt(middle**2 - 8 * np.asarray(share) / bend))
    top = (2 + ratio) + 2 * (ratio - 1) * held
    return np.asarray(second * top / ((2 + ratio) - (ratio - 1) * held))


def with_air(conductivity: Array | float, air: float) -> Array:
    """Maxwell and Eucken's rule for closed pores of air (A. Eucken, VDI Forschungsheft 353 (1932)):
    the conductivity of what is between them, and the volume share of air."""
    k = np.asarray(conductivity)
    top = 2 * k + AIR_CONDUCTIVITY - 2 * air * (k - AIR_CONDUCTIVITY)
    return np.asarray(k * top / (2 * k + AIR_CONDUCTIVITY + air * (k - AIR_CONDUCTIVITY)))
