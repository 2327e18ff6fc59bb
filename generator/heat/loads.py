"""The heat a batch gives off as it chills: the ice that takes it up, and how fast it comes at
first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from generator.heat.bodies import Body
from generator.heat.case import Around
from generator.heat.constituents import Composition, unfrozen

FUSION = 333_600.0
"""Heat of fusion of ice at 0 °C, J/kg (ASHRAE Handbook—Refrigeration)."""
WATER_HEAT = 4_180.0
"""Specific heat of water from 5 to 80 °C, J/(kg K), within 0.5 % (Choi and Okos 1986)."""


def heat_given_off(food: Composition, kilos: float, start: float, end: float) -> float:
    """What so many kg give off from one temperature to another, J; both above freezing."""
    return kilos * unfrozen(food, (start + end) / 2).specific_heat * (start - end)


@dataclass(frozen=True)
class IceBath:
    """What chills a batch: ice that melts, kg, and how much more for each kg of tap water in the
    bath."""

    ice: float
    for_each_kilo_of_water: float


def ice_for(heat: float, tap: float) -> IceBath:
    """The ice that takes up so much heat, J, in a bath that stays at 0 °C, its water from the tap
    at so many °C. Without what the room and the vessel bring: more is needed than this."""
    return IceBath(heat / FUSION, max(tap, 0.0) * WATER_HEAT / FUSION)


def first_watts(body: Body, around: Mapping[str, Around], celsius: float) -> float:
    """The most heat a body gives off at first, W, all of it at one temperature."""
    areas = body.areas()
    return sum(areas[f] * a.h.likely * (celsius - a.course.after(0.0)) for f, a in around.items())
