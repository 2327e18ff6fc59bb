"""Handbooks' formulas beside a predicted freezing, where they apply: the same all round a body, one
place, a medium that stays as it is."""

from __future__ import annotations

import numpy as np

from generator.heat.case import AS_STATED, Case, Made, Stated
from generator.heat.freezing import CrossCheck, Freezing, cross_checks
from generator.heat.ice import LATENT, Material, bound_water, ice_by_miles
from generator.heat.properties import Impossible, mixed_density, mixed_specific_heat, unfrozen

FROZEN_AT = -20.0
"""Where the properties of frozen food are taken for these formulas, °C."""


def freezing_checks(case: Case, target: float) -> tuple[CrossCheck, ...]:
    """What Plank's and Pham's formulas say of a case's freezing to a target, °C; none where they
    don't apply."""
    try:
        food = _freezing(case, target)
    except Impossible:
        return ()
    return () if food is None else cross_checks(case.body, food)


def _freezing(case: Case, target: float) -> Freezing | None:
    point = case.stuff.freezes_at
    around = list(case.places[0].around.values())
    alike = all(a.h == around[0].h and a.course == around[0].course for a in around)
    low, high = around[0].course.extremes
    if point is None or not alike or len(case.places) > 1 or low != high:
        return None
    material = case.stuff.material(AS_STATED)
    stated = _of_stated if isinstance(case.stuff, Stated) else _of_food
    latent, warm, frozen, k, density, frozen_density = stated(case, material)
    start, h = case.start.likely, around[0].h.likely
    return Freezing(
        latent, warm, frozen, k, density, frozen_density, point.likely, start, target, low, h
    )


_Figures = tuple[float, float, float, float, float, float]


def _of_stated(case: Case, material: Material) -> _Figures:
    stuff = case.stuff
    assert isinstance(stuff, Stated) and stuff.frozen is not None
    frozen = stuff.frozen
    warm = stuff.capacity.likely / stuff.density
    k, density = frozen.conductivity, stuff.density
    return frozen.latent, warm, frozen.specific_heat, k, density, density


def _of_food(case: Case, material: Material) -> _Figures:
    stuff = case.stuff
    assert isinstance(stuff, Made)
    food = stuff.composition
    water, bound = food.likely["water"], bound_water(food)
    ice = float(ice_by_miles(water, bound, material.freezes_at, FROZEN_AT))
    masses = {**food.likely, "water": water - ice, "ice": ice}
    frozen = float(mixed_specific_heat(masses, FROZEN_AT))
    k = float(np.interp(FROZEN_AT, material.celsius, material.conductivity))
    density = float(mixed_density(masses, FROZEN_AT, food.air))
    warm = unfrozen(food, max(case.start.likely, 0.0))
    latent = LATENT * (water - bound)
    return latent, warm.specific_heat, frozen, k, material.density, density
