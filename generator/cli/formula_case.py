"""A formula's cooling step as a case: its vessel, how deep it is filled, the chiller it is in.

Nothing is known of what is in it but its water, so that the band is wide. Raises Refused for what
can't be predicted, with what is missing.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from generator.files.finding import Refused, clipped
from generator.heat.bodies import Body, Course, brick, cylinder
from generator.heat.case import DEGREES_OFF, Around, Case, Made, Place
from generator.heat.chilling import UNKNOWN, Deadline
from generator.heat.media import Medium
from generator.heat.properties import unfrozen
from generator.heat.ranges import Range
from generator.measures.amounts import read_amount
from generator.records.equipment import Cold, Equipment, Vessel
from generator.rules.basics.limit import CoolingLimit
from generator.sheet.sheet import Sheet

KITCHEN_AIR = 20.0
"""What the air above an ice bath is taken to be, °C. Ours."""


@dataclass(frozen=True)
class FormulaCase:
    """A cooling step: the case at the depth it is filled to, at any other, and its stages."""

    step: str
    vessel: Vessel
    chiller: Cold
    depth: float | None
    case: Case
    at_depth: Callable[[float], Case] | None
    deadlines: tuple[Deadline, ...]
    most_depth: float


def formula_case(
    sheet: Sheet,
    equipment: Mapping[str, Equipment],
    media: Mapping[str, Medium],
    step: str | None,
    vessel: str | None,
    depth: str | None,
    chiller: str | None,
) -> FormulaCase:
    """The case of a formula's cooling step; ``vessel``, ``depth`` and ``chiller`` in place of the
    step's own. Raises Refused."""
    limit = _limit(sheet, step)
    held = _vessel(sheet, limit, equipment, vessel)
    cold = _cold(sheet, limit, equipment, chiller)
    assert limit.clock is not None
    start = float(limit.clock.value.celsius)
    deadlines = tuple(
        Deadline(float(s.figure.value.celsius), float(s.within_s), s.after_stage)
        for s in limit.stages
        if not s.advised
    )

    def case(body: Body) -> Case:
        around = _around(body, held, cold, media)
        stuff = Made(UNKNOWN)
        return Case(body, stuff, Range.off_by(start, DEGREES_OFF), (Place(around),), ())

    if held.shape == "casing":
        if depth is not None:
            raise Refused("depth-of-casing", f"{held.name} is a casing: it has no depth.")
        body = cylinder(_side(held, "diameter") / 2, _side(held, "length"))
        return FormulaCase(limit.step, held, cold, None, case(body), None, deadlines, 0.0)
    filled = _depth(sheet, held, depth)
    at = {"box": _box, "cylinder": _upright}[held.shape](held)
    most = _side(held, "depth")
    return FormulaCase(
        limit.step, held, cold, filled, case(at(filled)), lambda d: case(at(d)), deadlines, most
    )


def _limit(sheet: Sheet, step: str | None) -> CoolingLimit:
    """The step's limit for cooling, with a clock that starts hot."""
    limits = [
        limit
        for limit in sheet.walk.limits
        if isinstance(limit, CoolingLimit) and limit.number and limit.clock is not None
    ]
    if step is not None:
        limits = [limit for limit in limits if step in (limit.step, str(limit.number))]
    if not limits:
        of = f"step `{clipped(step)}` of {sheet.name}" if step is not None else sheet.name
        raise Refused(
            "nothing-to-predict",
            f"{of} has no limit for cooling hot food.",
            "Only cooling is predicted from a formula. Describe anything else with --body.",
        )
    return limits[0]


def _vessel(
    sheet: Sheet, limit: CoolingLimit, equipment: Mapping[str, Equipment], typed: str | None
) -> Vessel:
    """What the food is in: what is named, the step's own, or the last it was put in before."""
    if typed is not None:
        found = _named(equipment, typed, "vessel")
        assert isinstance(found, Vessel)
        return found
    for joined in reversed(sheet.formula.steps[: limit.number]):
        if joined.vessel is not None:
            return joined.vessel
    known = [i for i, e in equipment.items() if isinstance(e, Vessel)]
    raise Refused(
        "vessel-missing",
        f"Nothing says what {sheet.name} is chilled in.",
        "Write `vessel` at the step, or name one with --vessel.",
        [f"--vessel {ident}" for ident in known[:3]],
    )


def _cold(
    sheet: Sheet, limit: CoolingLimit, equipment: Mapping[str, Equipment], typed: str | None
) -> Cold:
    """What it is chilled in: what is named, or the step's own."""
    found: Equipment | None = sheet.formula.steps[limit.number - 1].cold
    if typed is not None:
        found = _named(equipment, typed, "chiller")
    if isinstance(found, Cold):
        return found
    known = [i for i, e in equipment.items() if isinstance(e, Cold)]
    raise Refused(
        "chiller-missing",
        f"Nothing says where {sheet.name} is chilled.",
        "Write `in` at the step, or name a chiller with --in.",
        [f"--in {ident}" for ident in known[:3]],
    )


def _named(equipment: Mapping[str, Equipment], typed: str, word: str) -> Equipment:
    kind = Vessel if word == "vessel" else Cold
    fit = {i: e for i, e in equipment.items() if isinstance(e, kind)}
    found = fit.get(typed)
    if found is None:
        near = difflib.get_close_matches(typed, fit, n=1)
        help = f"Did you mean {near[0]}?" if near else f"Known: {', '.join(fit)}."
        raise Refused("equipment-unknown", f"There is no {word} `{clipped(typed)}`.", help)
    return found


def _side(vessel: Vessel, name: str) -> float:
    """An inside measure, m. Raises Refused where it isn't stated."""
    side = getattr(vessel.inside, name)
    if side is None:
        raise Refused(
            "vessel-measure-missing",
            f"{vessel.name} has no inside {name}.",
            "Measure it. Write it under `inside`.",
        )
    return float(side.value) / 1000


def _box(vessel: Vessel) -> Callable[[float], Body]:
    length, width = _side(vessel, "length"), _side(vessel, "width")
    return lambda depth: brick(length, width, depth)


def _upright(vessel: Vessel) -> Callable[[float], Body]:
    radius = _side(vessel, "diameter") / 2
    return lambda depth: cylinder(radius, depth)


def _depth(sheet: Sheet, vessel: Vessel, typed: str | None) -> float:
    """How deep the food is, m: as typed; by the weight of a fill; or up to the headspace."""
    most = _side(vessel, "depth")
    if typed is not None:
        amount = read_amount(typed, sheet.house.units, pieces=False)
        if amount.kind != "length":
            raise Refused("depth-unreadable", f"`{clipped(typed)}` is no depth.", "As in 40 mm.")
        if float(amount.value) / 1000 > most:
            raise Refused(
                "depth-too-great", f"{vessel.name} is {1000 * most:g} mm deep.", "Name another."
            )
        return float(amount.value) / 1000
    headspace = float(vessel.headspace.value) / 1000 if vessel.headspace is not None else 0.0
    brim = most - headspace
    makes = sheet.formula.formula.makes
    if makes is None or makes.fill_weight is None or vessel is not sheet.formula.vessel:
        return brim
    density = unfrozen(UNKNOWN, 20.0).density
    area = (
        math.pi / 4 * _side(vessel, "diameter") ** 2
        if vessel.shape == "cylinder"
        else _side(vessel, "length") * _side(vessel, "width")
    )
    return min(brim, float(makes.fill_weight.value) / 1000 / density / area)


def _around(
    body: Body, vessel: Vessel, cold: Cold, media: Mapping[str, Medium]
) -> dict[str, Around]:
    """What is at each face. In an ice bath an open vessel has the kitchen's air above it, a bag or
    a casing is under water."""
    air = Course.constant(float(cold.air.warmest.celsius))
    if cold.kind != "ice-bath":
        medium = media["blast-air" if cold.kind == "blast-chiller" else "still-air"]
        return {face: Around(medium.h, air, medium.name) for face in body.faces}
    still, stirred = media["still-water"].h, media["stirred-water"].h
    h = Range(still.low, math.sqrt(still.likely * stirred.likely), stirred.high)
    found = {face: Around(h, air, "ice water, stirred or not") for face in body.faces}
    if vessel.shape != "casing" and not vessel.moisture_tight:
        above = media["still-air"]
        found["top"] = Around(above.h, Course.constant(KITCHEN_AIR), above.name)
    return found
