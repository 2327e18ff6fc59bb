"""Whose scales weigh a formula, and what a slip reported elsewhere may be the reason of."""

from __future__ import annotations

from fractions import Fraction

from generator.measures.words import listed
from generator.records.equipment import Scale
from generator.resolve.house import HEAVIEST, LIGHTEST
from generator.resolve.joined import House, JoinedFormula
from generator.scaling.scales import ScaleFacts
from generator.sheet.weighing import WeighedLine


def scales_for(house: House, formula: JoinedFormula) -> tuple[ScaleFacts, ...]:
    """The kitchen's scales as a formula's station finds them."""
    home = formula.formula.home
    return house.once(("scales", home), house.kitchen, lambda: scales_at(house, home))


def scales_at(house: House, station: str) -> tuple[ScaleFacts, ...]:
    """The kitchen's scales as a station finds them, by its id."""
    return tuple(
        ScaleFacts(
            ident,
            scale_name(house, scale, station),
            scale.division.value,
            scale.accuracy.value,
            scale.capacity.value - (scale.tare.value if scale.tare else 0),
            scale.minimum.value if scale.minimum else Fraction(0),
            scale.is_at(station),
            scale.division.unit,
            house.units.by_name[scale.division.unit].factor,
            scale.is_elsewhere(station),
        )
        for ident, scale in house.scales
    )


def scale_name(house: House, scale: Scale, station: str) -> str:
    """A scale as the crew of a station finds it: another station's with where it is."""
    if not scale.is_elsewhere(station):
        return scale.name
    where = [house.stations[s].name if s in house.stations else s for s in scale.station]
    return f"{scale.name} ({listed(where, 'or')})"


def scales_words(house: House, formula: JoinedFormula) -> tuple[tuple[str, str], ...]:
    """Whose scales count for a formula, in the order they are asked: ("This station", "Meat
    scale"). A group without a scale is left out."""
    station = formula.formula.home
    groups = (
        ("This station", [s for _, s in house.scales if s.is_at(station)]),
        ("The whole house", [s for _, s in house.scales if not s.station]),
        ("Only if none of these can", [s for _, s in house.scales if s.is_elsewhere(station)]),
    )
    return tuple(
        (whose, listed([scale_name(house, s, station) for s in scales], "and"))
        for whose, scales in groups
        if scales
    )


def may_be_weighed(house: House, within: Fraction) -> bool:
    """Whether a scale with a slip of its own may be sure to so many grams, for all that is known
    of it."""
    return any(finest <= within for finest in house.doubted.values())


def measured_wrong(line: WeighedLine) -> bool:
    """Whether a line is written by a measure that weighs what no food weighs."""
    if line.joined.line.amount.kind != "volume":
        return False
    return any(not LIGHTEST <= w.grams / w.ml <= HEAVIEST for w in line.unit_weights if w.ml)
