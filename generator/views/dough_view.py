"""The water of a dough in words: how warm, how it was worked out, how much ice; and what a page
carries so that a browser can ask for the day's temperatures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from generator.composition.dough_water import FREEZES, HOTTEST, MELTS
from generator.measures.marks import decimal_sign
from generator.measures.rounding import decimals_of
from generator.measures.temperature import Degree, Temperature, TemperatureDifference
from generator.measures.words import NARROW, listed, plain
from generator.resolve.joined import House
from generator.scaling.scales import ScaleFacts
from generator.sheet.dough_day import (
    ASK_TAP,
    COLDEST,
    COOLS,
    NO_ICE,
    NO_WATER,
    ONLY_ICE,
    SOURCES,
    WARMEST,
    DoughDay,
    Iced,
    Wanted,
    hot_words,
    liquid_words,
    other_liquids,
    wanted_of,
    waters,
)
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet

RULE = (
    "A mixed dough is as warm as the mean of what goes in, the water with it. The mixer's friction "
    "counts as one more. Ice: water × (tap − wanted) ÷ (tap + {melts}). Measure the dough. If it "
    "is off, work the friction out again."
)


def degrees(value: Temperature, unit: Degree) -> str:
    """A temperature to a tenth in the kitchen's scale."""
    return f"{plain(value.in_unit(unit), 1)}{NARROW}{unit}"


def of_friction(value: TemperatureDifference, unit: Degree) -> str:
    """A friction to a tenth in the kitchen's scale."""
    return f"{plain(value.in_unit(unit), 1)}{NARROW}{unit}"


def melts_in(unit: Degree) -> Fraction:
    """What is added to the tap's temperature in the formula of the ice: 80 in °C, 112 in °F."""
    return Temperature(-MELTS, unit).in_unit(unit) * -1


def rule_in(unit: Degree) -> str:
    """The rule, in the kitchen's scale."""
    return RULE.format(melts=plain(melts_in(unit)))


def sum_words(wanted: Wanted, unit: Degree) -> str:
    """What the water is, before the day's temperatures are taken off: "4 × 25 °C − 12 °C"."""
    words = f"{wanted.count} × {degrees(wanted.temperature, unit)}"
    if wanted.friction is None:
        return f"{words} − the mixer's friction"
    left = wanted.count * wanted.temperature.in_unit(unit) - wanted.friction.in_unit(unit)
    friction = of_friction(wanted.friction, unit)
    return f"{words} − {friction} of friction = {plain(left, 1)}{NARROW}{unit}"


def dough_rows(house: House, day: DoughDay, unit: Degree) -> list[tuple[str, str]]:
    """The water of a day, in reading order."""
    wanted = day.wanted
    taken = [
        f"{name} {degrees(one, unit)}" for name, one in zip(wanted.asked, day.others, strict=True)
    ]
    friction = of_friction(day.friction, unit)
    known = "as measured" if day.measured else "as stated"
    rows = [
        ("Water", degrees(day.water, unit)),
        (
            "Worked out",
            f"{wanted.count} × {degrees(wanted.temperature, unit)} − {' − '.join(taken)} − "
            f"friction {friction}, {known}",
        ),
    ]
    rows += [("Ice", ice_words(one)) for one in day.lines]
    rows += [("Mind", words) for words in day.notes]
    return [*rows, ("Rule", rule_in(unit)), ("Source", _sources(house))]


_LOADS = ", each of {} loads"
_OF_ICE, _FROM_TAP, _NONE = " of ice and ", " from the tap", "no ice. Warm the tap's water to it."


def _sources(house: House) -> str:
    """What the rule rests on."""
    return "; ".join(house.library.source_title(key) for key in SOURCES)


def ice_words(one: Iced) -> str:
    """A line's water as ice and from the tap, as its scale shows them."""
    scale = one.line.weighing.scale
    whose = one.line.name + (_LOADS.format(one.loads) if one.loads > 1 else "")
    if not one.ice.ice_g:
        return f"{whose}: {_NONE}"
    ice, tap = (_shown(scale, grams) for grams in (one.ice.ice_g, one.ice.tap_g))
    return f"{whose}: {ice}{_OF_ICE}{tap}{_FROM_TAP}"


def _shown(scale: ScaleFacts | None, grams: Fraction) -> str:
    if scale is None:
        return f"{plain(grams, 1)}{NARROW}g"
    return f"{scale.shows(grams)}{NARROW}{scale.unit}"


@dataclass(frozen=True)
class DoughForm:
    """What a formula page says of its dough's water: the sum without the day's temperatures, which
    are asked for by name; whether the friction is asked for as well; the record of the script."""

    wanted: str
    sum: str
    less: str
    asked: tuple[str, ...]
    asks_friction: bool
    unit: Degree
    rule: str
    source: str
    record: Mapping[str, object]


def dough_form(manual: Manual, sheet: Sheet) -> DoughForm | None:
    """The form of a dough that says how warm it is wanted; None for any other formula."""
    dough = manual.dough(sheet.id)
    wanted = wanted_of(sheet.walk, dough) if dough is not None else None
    if dough is None or wanted is None:
        return None
    unit = manual.house.kitchen.temperature
    friction = wanted.friction.in_unit(unit) if wanted.friction is not None else None
    record = {
        "sign": decimal_sign(),
        "unit": unit,
        "words": {
            **_words(unit),
            "liquids": liquid_words(other_liquids(sheet.house, dough, sheet.walk)),
        },
        "least": _exact(Temperature(COLDEST, unit).in_unit(unit)),
        "most": _exact(Temperature(WARMEST, unit).in_unit(unit)),
        "n": wanted.count,
        "wanted": _exact(wanted.temperature.in_unit(unit)),
        "friction": None if friction is None else _exact(friction),
        "melts": _exact(melts_in(unit)),
        "freezes": _exact(Temperature(FREEZES, unit).in_unit(unit)),
        "hot": _exact(Temperature(HOTTEST, unit).in_unit(unit)),
        "sizes": [
            [
                _line(line.name, line.loads, line.weighing.grams, line.weighing.scale)
                for line in found
            ]
            for found in (waters(sheet.house, dough, batch) for batch in sheet.batches)
        ],
    }
    return DoughForm(
        degrees(wanted.temperature, unit),
        sum_words(wanted, unit),
        listed(wanted.asked),
        tuple(name.capitalize() for name in wanted.asked),
        wanted.friction is None,
        unit,
        rule_in(unit),
        _sources(manual.house),
        record,
    )


def _words(unit: Degree) -> dict[str, str]:
    """What the script says, in the words of the command."""
    bounds = (degrees(Temperature(one, unit), unit) for one in (COLDEST, WARMEST))
    return {
        "wrong": f"Write figures from {' to '.join(bounds)}.",
        "cools": COOLS,
        "frozen": "A tap so cold is ice. Measure it again.",
        "hot": hot_words(unit),
        "none": NO_ICE,
        "cold": ONLY_ICE,
        "tap": ASK_TAP,
        "dry": NO_WATER,
        "loads": _LOADS,
        "ice": _OF_ICE,
        "rest": _FROM_TAP,
        "noice": _NONE,
        "share": "{} of the water as ice.",
        "water": "Water ",
        "friction": "Friction ",
    }


def _line(
    name: str, loads: int, grams: Fraction, scale: ScaleFacts | None
) -> tuple[str, int, str, str, str, int, str]:
    """A line of water for the script: its name, loads, grams of a load, the scale's step and unit
    in grams, the decimals it shows, and the unit's word."""
    division = scale.division if scale is not None else Fraction(1)
    unit_g = scale.unit_g if scale is not None else Fraction(1)
    word = scale.unit if scale is not None else "g"
    places = decimals_of(division / unit_g) if scale is not None else 1
    return name, loads, _exact(grams), _exact(division), _exact(unit_g), places, word


def _exact(value: Fraction) -> str:
    return f"{value.numerator}/{value.denominator}"
