"""How hot the core of a food can be: what no reading of it may pass."""

from __future__ import annotations

from fractions import Fraction

from generator.measures.temperature import Temperature, TemperatureDifference
from generator.resolve.joined import House
from generator.rules.basics.check_points import check_readings
from generator.sheet.sheet import Sheet

_SALTED = TemperatureDifference(Fraction(2))
"""What is dissolved in food lets it boil a little hotter than water: a working rule of this
manual."""
_DRY, _MOSTLY = Fraction(2, 5), Fraction(1, 2)
"""Food of which the half is sugar, fat or as dry (less water than this) may be hotter than
boiling."""


def boiling(house: House) -> Temperature:
    """What water boils at in this kitchen; where its altitude isn't stated, at sea level."""
    for reading in check_readings(house.library, house.kitchen.altitude):
        if reading.name == "Boiling water":
            return reading.reads
    rows = [p.reads for p in house.library.check_points.values() if p.feet is not None]
    return max(rows, key=lambda t: t.celsius)


def no_hotter(house: House, sheet: Sheet | None) -> Temperature | None:
    """What no core of ``sheet``'s food is hotter than, the probe's accuracy with it; None for food
    that may be."""
    if sheet is not None and _mostly_dry(sheet):
        return None
    return boiling(house) + house.probe.accuracy + _SALTED


def _mostly_dry(sheet: Sheet) -> bool:
    """Whether half of a food or more is known to be sugar, fat or as dry: it may be hotter than
    boiling water. What isn't known counts as wet."""
    end = sheet.walk.end
    dry = sum(
        (c.grams for c in end.components if c.water is not None and c.water < _DRY), Fraction(0)
    )
    whole = sum((c.grams for c in end.components), Fraction(0))
    return whole > 0 and dry >= whole * _MOSTLY
