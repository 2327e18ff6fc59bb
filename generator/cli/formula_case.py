"""A formula's cooling step as a case: its vessel, how deep it is filled, the chiller it is in; or
its cooking step in water, if the food is in a casing or a bag that no water gets into.

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
from generator.records.equipment import Cold, Equipment, Machine, Vessel
from generator.rules.basics.limit import CoolingLimit, HeatingLimit
from generator.sheet.sheet import Sheet

KITCHEN_AIR = 20.0
"""What the air above an ice bath is taken to be, °C. Ours."""


COLD_START = Range(3.0, 8.0, 20.0)
"""What food is taken to be at before it is cooked, °C. Ours."""


@dataclass(frozen=True)
class FormulaCase:
    """A step: the case at the depth it is filled to, at any other, and the stages of its cooling;
    none where it is cooked."""

    step: str
    vessel: Vessel
    place: Cold | Machine
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
    """The case of a formula's step; ``vessel``, ``depth`` and ``chiller`` in place of the step's
    own. Raises Refused."""
    limit = _limit(sheet, step)
    if isinstance(limit, HeatingLimit):
        return _cooked(sheet, limit, equipment, media, vessel, depth, chiller)
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

    body, filled = _body(sheet, held, depth)
    if filled is None:
        return FormulaCase(limit.step, held, cold, None, case(body), None, deadlines, 0.0)
    at, most = _SHAPED[held.shape](held), _side(held, "depth")
    return FormulaCase(
        limit.step, held, cold, filled, case(body), lambda d: case(at(d)), deadlines, most
    )


def _limit(sheet: Sheet, step: str | None) -> CoolingLimit | HeatingLimit:
    """The step's limit for cooling, with a clock that starts hot; where a step is named, perhaps
    for cooking."""
    for limit in sheet.walk.limits:
        named = step is None or step in (limit.step, str(limit.number))
        if not named or not limit.number:
            continue
        if isinstance(limit, CoolingLimit) and limit.clock is not None:
            return limit
        if isinstance(limit, HeatingLimit) and step is not None:
            return limit
    of = f"step `{clipped(step)}` of {sheet.name}" if step is not None else sheet.name
    raise Refused("nothing-to-predict", f"{of} has no limit for cooling hot food.", _ELSE)


_ELSE = (
    "From a formula, cooling is predicted, and with --step food cooked in water in a casing or a "
    "closed bag. Describe anything else with --body."
)


def _cooked(
    sheet: Sheet,
    limit: HeatingLimit,
    equipment: Mapping[str, Equipment],
    media: Mapping[str, Medium],
    vessel: str | None,
    depth: str | None,
    chiller: str | None,
) -> FormulaCase:
    """Food in a casing or a closed bag, all of it under hot water. Raises Refused for another."""
    joined = sheet.formula.steps[limit.number - 1]
    if chiller is not None:
        raise Refused("predict-usage", f"{limit.step} cooks: it has no chiller.", "Leave --in out.")
    held = _vessel(sheet, limit, equipment, vessel)
    machine, celsius = _in_water(sheet, limit, held)
    target = joined.target
    wanted = limit.figure.value if target is None else target.coolest or limit.figure.value
    water = Course.constant(celsius)
    medium = media["boiling-water"]
    h, name = medium.h, medium.name
    if water.last < _AT_A_BOIL:
        still = media["still-water"].h
        h, name = Range(still.low, math.sqrt(still.likely * h.likely), h.high), "hot water"
    body, filled = _body(sheet, held, depth)
    places = (Place({face: Around(h, water, name) for face in body.faces}),)
    case = Case(body, Made(UNKNOWN), COLD_START, places, (float(wanted.celsius),))
    return FormulaCase(limit.step, held, machine, filled, case, None, (), 0.0)


def _in_water(sheet: Sheet, limit: HeatingLimit, held: Vessel) -> tuple[Machine, float]:
    """The machine with the water a step cooks in, and how warm that is, °C. Raises Refused for
    another way, or where the water gets at the food."""
    joined = sheet.formula.steps[limit.number - 1]
    machine, at = joined.machine, joined.step.at
    closed = held.shape == "casing" or held.moisture_tight
    if machine is None or machine.kind not in ("bath", "pot", "kettle") or at is None or not closed:
        of = f"{limit.step} of {sheet.name} isn't cooked in water in a casing or a closed bag."
        raise Refused("nothing-to-predict", of, _ELSE)
    return machine, float(at.coolest.celsius)


_AT_A_BOIL = 95.0


def _body(sheet: Sheet, held: Vessel, depth: str | None) -> tuple[Body, float | None]:
    """The food in its vessel, and how deep it is there; a casing has no depth. Raises Refused."""
    if held.shape == "casing":
        if depth is not None:
            raise Refused("depth-of-casing", f"{held.name} is a casing: it has no depth.")
        return cylinder(_side(held, "diameter") / 2, _side(held, "length")), None
    filled = _depth(sheet, held, depth)
    return _SHAPED[held.shape](held)(filled), filled


def _vessel(
    sheet: Sheet,
    limit: CoolingLimit | HeatingLimit,
    equipment: Mapping[str, Equipment],
    typed: str | None,
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
        f"Nothing says what {sheet.name} is in.",
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


_SHAPED = {"box": _box, "cylinder": _upright}


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
