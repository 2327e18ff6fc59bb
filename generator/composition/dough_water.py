"""The water of a dough: how warm it must be for the dough to leave the mixer as warm as wanted, and
the ice in it. Exact, in °C and grams.

The temperature of a mixed dough is taken as the mean of what goes in: flour, room, each preferment
and the water, n in all; the mixer's friction is counted as one more figure. So

    water = n × wanted − (flour + room + preferments) − friction

and friction = n × dough − (flour + room + preferments + water) from a dough that was measured.
Bakers' practice: three figures for a straight dough, four with a preferment (San Francisco Baking
Institute, Artisan I, 2009; T. Lehmann, Pizza Today, June 2018).

Ice takes 144 Btu a pound to melt, as much as cools a pound of water by 144 °F, or 80 °C (Baking
Business, 2023). For ice and tap water to make the water as cold as wanted

    ice = water × (tap − wanted) ÷ (tap + 80)          in °C; tap + 112 in °F
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

MELTS = Fraction(80)
"""°C that as much water cools by while ice melts."""
HOTTEST = Fraction(440, 9)
"""120 °F. Water this hot begins to kill yeast. A working rule of ours: published figures for where
that begins go from 49 to 60 °C, and this is the lowest."""
FREEZES = Fraction(0)


@dataclass(frozen=True)
class Ice:
    """So much of the water as ice, the rest from the tap, in grams."""

    ice_g: Fraction
    tap_g: Fraction


def water_for(wanted: Fraction, others: Sequence[Fraction], friction: Fraction) -> Fraction:
    """How warm the water must be; ``others`` are all that goes in but the water."""
    return (len(others) + 1) * wanted - sum(others, friction)


def friction_from(dough: Fraction, others: Sequence[Fraction], water: Fraction) -> Fraction:
    """The friction that a measured dough shows."""
    return (len(others) + 1) * dough - sum(others, water)


def dough_from(others: Sequence[Fraction], water: Fraction, friction: Fraction) -> Fraction:
    """How warm the dough comes out of the mixer."""
    return sum(others, water + friction) / (len(others) + 1)


def ice_share(tap: Fraction, wanted: Fraction) -> Fraction | None:
    """The share of the water to take as ice; 0 where the tap's is cold enough, None where even all
    of it as ice isn't. ``tap`` is above freezing or at it."""
    if wanted >= tap:
        return Fraction(0)
    share = (tap - wanted) / (tap + MELTS)
    return share if share <= 1 else None


def ice_in(water_g: Fraction, share: Fraction, step: Fraction) -> Ice:
    """So much water with its share of ice, the ice weighed to a ``step`` of the scale."""
    exact = water_g * share / step
    ice = (exact + Fraction(1, 2)).__floor__() * step
    return Ice(min(ice, water_g), max(water_g - ice, Fraction(0)))
