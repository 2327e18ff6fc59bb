"""What is round the food in a chiller, a freezer, a bath, an oven: media with their coefficients
within bounds, how warm they are, and what a wet surface does."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from generator.files.finding import Refused
from generator.heat.bodies import Body, Course
from generator.heat.case import Around
from generator.heat.media import Medium
from generator.heat.ranges import Range
from generator.heat.wet import PRESSURE, saturation, wet_bulb
from generator.measures.ranges import TemperatureSpan
from generator.measures.words import date
from generator.records.equipment import Cold, Machine
from generator.resolve.joined import JoinedStep
from generator.sheet.heat_shape import Filled

Media = Mapping[str, Medium]
KITCHEN_AIR = 20.0
"""What the air above an ice bath, or round food that was taken out, is taken to be, °C. Ours."""
_AT_A_BOIL = 95.0
_IN_WATER = ("bath", "pot", "kettle")


def in_the_cold(filled: Filled, cold: Cold, media: Media, air: Course) -> dict[str, Around]:
    """What is at each face in a chiller. In an ice bath an open vessel has the kitchen's air above
    it, a bag or a casing is under water."""
    body, own = filled.body, fitted_here(filled, cold)
    if cold.kind != "ice-bath":
        medium = media["blast-air" if cold.kind == "blast-chiller" else "still-air"]
        h, name = own or (medium.h, medium.name)
        return {face: Around(h, air, name) for face in body.faces}
    h, name = own or (water_of(media, cold.stirred), f"ice water, {_STIRRED[cold.stirred]}")
    found = {face: Around(h, air, name) for face in body.faces}
    if not filled.closed and "top" in found and filled.vessel is not None:
        above = media["still-air"]
        found["top"] = Around(above.h, Course.constant(KITCHEN_AIR), above.name)
    return found


def fitted_here(filled: Filled, place: Cold | Machine) -> tuple[Range, str] | None:
    """The coefficient that a logged run in this vessel gave, and what it is called; the last one
    written. None where there is none."""
    for run in reversed(place.fitted):
        if run.vessel == filled.vessel_id:
            low, high = run.h.low, run.h.high
            name = f"{place.name}, by the log of {date(run.date)}"
            return Range(low, math.sqrt(low * high), high), name
    return None


_STIRRED = {True: "stirred", False: "not stirred", None: "stirred or not"}


def water_of(media: Media, stirred: bool | None = None) -> Range:
    """Water that is stirred, or hardly moves; from the one to the other where nothing says."""
    still, moving = media["still-water"].h, media["stirred-water"].h
    if stirred is not None:
        return moving if stirred else still
    return Range(still.low, math.sqrt(still.likely * moving.likely), moving.high)


def in_air(body: Body, media: Media, celsius: float = KITCHEN_AIR) -> dict[str, Around]:
    """Still air all round: food that was taken out."""
    medium = media["still-air"]
    return {f: Around(medium.h, Course.constant(celsius), medium.name) for f in body.faces}


def cooking(
    joined: JoinedStep, filled: Filled, media: Media, course: Course | None = None
) -> dict[str, Around]:
    """What is at each face of food that cooks in water, in steam or in an oven. Raises Refused for
    another way of cooking, and where nothing says how hot it is."""
    machine, at = _cooker(joined)
    celsius = float(at.coolest.celsius)
    own = fitted_here(filled, machine)
    if own is not None:
        h, name = own
        at_it = Course.constant(celsius if machine.kind != "oven" else min(celsius, 100.0))
        return {face: Around(h, at_it, name) for face in filled.body.faces}
    if machine.kind == "oven":
        return _in_an_oven(joined, machine, filled, media, celsius)
    if machine.under_pressure or joined.step.do == _STEAMED:
        return _in_steam(filled, media, celsius)
    return _in_water(filled, media, course or Course.constant(celsius), machine.stirred)


_STEAMED = "steam"
_WHY_NOT = {
    "fryer": "in hot fat a crust grows while water boils off, and neither is worked out",
    "griddle": "one side is heated and the food is turned",
    "microwave": "it is heated from inside",
    "hot-holding": "hot holding keeps food hot, it doesn't cook it",
}


def _cooker(joined: JoinedStep) -> tuple[Machine, TemperatureSpan]:
    """What it is cooked in, and how hot that is. Raises Refused with why it can't be predicted."""
    machine, at = joined.machine, joined.step.at
    if machine is None:
        why = "nothing says what it is cooked in (`with`)"
    elif machine.kind not in (*_IN_WATER, "oven") and not machine.under_pressure:
        kind = machine.kind.replace("-", " ")
        why = _WHY_NOT.get(machine.kind, f"nothing is known here of heat in a {kind}")
    elif at is None:
        why = f"nothing says how hot {machine.name} is (`at`)"
    else:
        return machine, at
    raise Refused(
        "nothing-to-predict",
        f"{joined.verb} can't be predicted: {why}.",
        "Steps are predicted that cook in water, in steam or in an oven. Describe anything else "
        "with --body.",
    )


def _in_steam(filled: Filled, media: Media, celsius: float) -> dict[str, Around]:
    """Steam that condenses on all of it; what air is left in it makes it slower."""
    steam, water = media["steam"].h, media["boiling-water"].h
    h = Range(water.low, steam.low, steam.high)
    course = Course.constant(celsius)
    return {face: Around(h, course, "steam, with some air in it") for face in filled.body.faces}


def _in_water(
    filled: Filled, media: Media, course: Course, stirred: bool | None
) -> dict[str, Around]:
    """All of it under water, if it is closed; else in a covered bath, with water to half its
    height and moist air of the same temperature above."""
    body, medium = filled.body, media["boiling-water"]
    h, name = medium.h, medium.name
    if course.last < _AT_A_BOIL:
        still = media["still-water"].h
        name = f"hot water, {_STIRRED[stirred]}"
        h = Range(still.low, math.sqrt(still.likely * h.likely), h.high)
        h = h if stirred is None else water_of(media, stirred)
    found = {face: Around(h, course, name) for face in body.faces}
    if filled.closed or filled.vessel is None:
        return found
    air = media["still-air"].h
    for face in body.faces:
        if face == "top":
            found[face] = Around(air, course, "the air of a covered bath")
        elif face != "bottom":
            half = Range(*((a + w) / 2 for a, w in zip(_edges(air), _edges(h), strict=True)))
            found[face] = Around(half, course, f"{name} to half its height")
    return found


def _edges(h: Range) -> tuple[float, float, float]:
    return h.low, h.likely, h.high


def _in_an_oven(
    joined: JoinedStep, machine: Machine, filled: Filled, media: Media, celsius: float
) -> dict[str, Around]:
    """Hot air all round. Where the food's own surface is in it, water boils off it, so that it is
    no warmer than 100 °C likely."""
    medium = media["oven" if machine.heat in (None, "still") else "oven-fan"]
    body, steam = filled.body, _humidity(joined, machine, celsius)
    dry = Around(medium.h, Course.constant(celsius), medium.name)
    if machine.heat == "high-humidity" and celsius <= 100:
        moist = math.sqrt(medium.h.likely * media["steam"].h.low)
        h = Range(medium.h.likely, moist, media["steam"].h.low)
        dry = Around(h, dry.course, "an oven's air full of steam")
    found = dict.fromkeys(body.faces, dry)
    if filled.closed:
        return found
    bare = body.faces if filled.vessel is None else ("top",)
    if celsius <= 100:
        slow = wet_bulb(celsius, _LEAST_STEAM if steam is None else steam)
        wet = replace(dry, wet=Around(Range.exact(dry.h.likely), Course.constant(slow), dry.name))
        return {face: wet if face in bare else dry for face in found}
    wet = wetted(dry, celsius, steam)
    metal = replace(wet, wet=None, name=f"{medium.name}, behind a wall")
    return {face: wet if face in bare else metal for face in found}


_LEAST_STEAM = 0.2
"""The steam in an oven's air, where nothing says, at the least: what boils off food is in it. A wet
surface is then at that air's wet bulb. Ours."""


def _humidity(joined: JoinedStep, machine: Machine, celsius: float) -> float | None:
    """The share of the oven's air that is steam, by volume; None where nothing says. Up to 100 °C
    the step's humidity is relative to saturated air, above it an oven shows the share itself. A
    combination oven that is humid is taken as half steam. Ours."""
    full = min(saturation(min(celsius, 100.0)) / PRESSURE, 1.0)
    if joined.step.humidity is not None:
        return float(joined.step.humidity.lowest) / 100 * full
    return min(0.5, full) if machine.heat == "high-humidity" else None


_BETWEEN = 50.0


def wetted(dry: Around, celsius: float, steam: float | None) -> Around:
    """Air above 100 °C at a wet surface: likely as a medium of 100 °C that brings as much heat to
    a surface of 50 °C; at the least as air of the wet bulb's temperature, or of 100 °C where the
    oven's humidity isn't known. No wet food is warmer than 100 °C inside. Ours."""
    more = (celsius - _BETWEEN) / (100 - _BETWEEN)
    h = dry.h
    likely = Range(h.low * more, h.likely * more, h.high * more)
    least = 100.0 if steam is None else min(100.0, wet_bulb(celsius, steam))
    boiling = Course.constant(100.0)
    slow = Around(Range.exact(h.likely), Course.constant(least), dry.name)
    return Around(likely, boiling, f"{dry.name}, the surface wet", slow)
