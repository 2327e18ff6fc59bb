"""How a step of a formula likely goes: chilled, cooked, frozen or thawed; as text, JSON, a table.

Each stage of the law with its time and what that means; when to take the first reading; what the
food does once it is out; what ice it takes. All of it a prediction, never a limit.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from generator.answers.cautions import cautions_record, with_cautions
from generator.cli.predicted import (
    NO_LIMIT,
    as_number,
    course_lines,
    minutes_of,
    never_words,
    picture_of,
    probe_words,
    record_of,
    rests_on,
    table_of,
    target_lines,
)
from generator.cli.predicted_killed import Killed, killed_by, killed_lines, killed_record
from generator.cli.predicted_load import LoadPrediction, load_lines, load_record, loads_of
from generator.heat.case import DEGREES_OFF
from generator.heat.chilling import Outcome, greatest_depth, outcomes
from generator.heat.constituents import unfrozen
from generator.heat.loads import first_watts, heat_given_off, ice_for
from generator.heat.prediction import Prediction, predict
from generator.heat.removal import CarryOver, carry_over
from generator.measures.about import degrees, time_words
from generator.measures.temperature import Degree
from generator.measures.words import NARROW, listed, plain
from generator.sheet.heat_case import FormulaCase
from generator.sheet.heat_food import Food
from generator.sheet.heat_places import KITCHEN_AIR
from generator.sheet.sheet import Batch, Sheet

_WORDS = {
    "likely passes": "likely passes",
    "likely fails": "likely fails",
    "too close": "too close to call: probe it",
}
_STARTS = {
    "chill": "where the law's clock starts",
    "cook": "taken for cold food",
    "freeze": "taken for what it is before it is frozen",
    "thaw": "taken for what the freezer holds it at",
}
_GUIDED_START = "where it is hot no more: guidance names no start"
_NOT_STIRRED = "nothing is stirred"
_LIQUID = (
    "much of it went in as liquid, which may move: the early end is as if it mixed all the time, "
    "the likely figure and the late end as if it stood still"
)


@dataclass(frozen=True)
class StepPrediction:
    """All that is predicted of a step."""

    asked: FormulaCase
    found: Prediction
    stages: tuple[Outcome, ...]
    deepest: float | None
    carried: CarryOver | None
    killed: Killed | None
    loads: tuple[LoadPrediction, ...] = ()


Others = tuple[list[str], list[tuple[str, str]]]
"""A formula's other steps that can be predicted, and those that can't with the reason."""


def step_answer(sheet: Sheet, asked: FormulaCase, form: str, others: Others = ([], [])) -> str:
    """The whole answer in a form: text, json, csv or svg; ``others`` are named behind it."""
    said = _predicted(asked)
    if form == "svg":
        return picture_of(said.found, _corners(said), sheet.house.kitchen.temperature)
    said = replace(said, loads=loads_of(asked, sheet, said.found))
    if form == "csv":
        return table_of(said.found)
    if form == "json":
        can, cannot = others
        more = {"other_steps": can, "not_predicted": dict(cannot)} if can or cannot else {}
        return json.dumps({**_record(sheet, said), **more}, ensure_ascii=False, indent=2)
    return with_cautions("\n".join([_text(sheet, said), *_other_lines(others)]), sheet)


def _corners(said: StepPrediction) -> list[tuple[float, float | None]]:
    """What the step has to reach, °C, and by how many s from the start of its clock."""
    corners: list[tuple[float, float | None]] = []
    within = 0.0
    for one in said.stages:
        within = one.deadline.seconds + (within if one.deadline.after_stage else 0.0)
        corners.append((one.deadline.celsius, within))
    return corners or [(target.celsius, None) for target in said.found.targets]


def _other_lines(others: Others) -> Iterator[str]:
    can, cannot = others
    if can:
        yield f"Other steps, with --step: {listed(can)}."
    if cannot:
        yield "Not predicted:"
        yield from (f"  {step}: {why}" for step, why in cannot)


def _predicted(asked: FormulaCase) -> StepPrediction:
    if not asked.deadlines:
        found = predict(asked.case)
        carried, killed = None, None
        if asked.kind == "cook" and math.isfinite(found.targets[-1].seconds.likely):
            assert asked.after is not None
            carried = carry_over(asked.case, found.targets[-1].celsius, asked.after)
            killed = killed_by(found, asked.hold_s)
        return StepPrediction(asked, found, (), None, carried, killed)
    found, stages = outcomes(asked.case, asked.deadlines)
    deepest = None
    if asked.at_depth is not None and not asked.case.freezes:
        deepest = greatest_depth(asked.at_depth, asked.deadlines, asked.filled.most)
    return StepPrediction(asked, found, stages, deepest, None, None)


# -- numbers --------------------------------------------------------------------------------------


def _record(sheet: Sheet, said: StepPrediction) -> dict[str, Any]:
    asked = said.asked
    record = {
        "formula": sheet.id,
        "step": asked.step,
        "kind": asked.kind,
        "vessel": asked.vessel.name if asked.vessel is not None else None,
        "place": asked.place.name,
        "depth_mm": None if asked.depth is None else as_number(1000 * asked.depth),
        "stages": [
            {
                "from_c": as_number(one.start),
                "to_c": as_number(one.deadline.celsius),
                "min": minutes_of(one.seconds),
                "limit_min": as_number(one.deadline.seconds / 60),
                "counts_from": "the stage before" if one.deadline.after_stage else "the start",
                "verdict": one.verdict,
            }
            for one in said.stages
        ],
        **({"guidance": asked.guidance} if asked.guidance else {}),
        "greatest_depth_mm": None if said.deepest is None else as_number(1000 * said.deepest),
        **record_of(asked.case, said.found),
        "assumed_of_the_food": ". ".join(_food_lines(asked.food)),
        "known_of_the_food": list(asked.food.known),
        "may_move": asked.moves,
    }
    if said.carried is not None:
        record["carry_over_c"] = as_number(said.carried.degrees)
        record["peak_after_min"] = as_number(said.carried.seconds / 60)
    if said.killed is not None:
        record["lethality"] = killed_record(said.killed)
    record["loads"] = [load_record(asked, one) for one in said.loads]
    if asked.kind == "chill":
        record["batches"] = [_of_a_batch(asked, sheet, batch) for batch in sheet.batches]
    return {**record, **cautions_record(sheet)}


def _of_a_batch(asked: FormulaCase, sheet: Sheet, batch: Batch) -> dict[str, Any]:
    """What a whole batch gives off on its way down."""
    heat = _heat(asked, batch)
    bath = ice_for(heat, KITCHEN_AIR)
    return {
        "size": batch.label,
        "heat_kwh": as_number(heat / 3.6e6),
        "ice_kg": as_number(bath.ice),
        "ice_for_each_kg_of_tap_water_kg": as_number(bath.for_each_kilo_of_water),
    }


def _heat(asked: FormulaCase, batch: Batch) -> float:
    """J of a whole batch, from where the clock starts to the end of the last stage."""
    kilos = asked.kilos(batch)
    start, end = asked.case.start.likely, asked.deadlines[-1].celsius
    return heat_given_off(asked.food.composition, kilos, start, max(end, 0.0))


# -- words ----------------------------------------------------------------------------------------


def _text(sheet: Sheet, said: StepPrediction) -> str:
    asked = said.asked
    unit = sheet.house.kitchen.temperature
    lines = [
        f"{sheet.name}, {asked.step}: {_what(asked)}, in {asked.place.name}",
        f"  from {degrees(asked.case.start.likely, unit)}, "
        f"{_GUIDED_START if asked.guidance else _STARTS[asked.kind]}",
        *_came_lines(asked, unit),
    ]
    for target in said.found.targets if not asked.deadlines else ():
        lines += target_lines(asked.case, target, unit)
    lines += [_stage_line(one, unit, asked) for one in said.stages]
    lines += [asked.guidance] if asked.guidance else []
    if said.stages:
        lines.append(f"First reading: after {time_words(said.stages[0].seconds.low)}.")
        where = probe_words(asked.case.body, said.found.targets[0].where)
        lines.append("Stir it, then put the probe in the middle." if asked.moves else where)
    lines += [
        *_out_lines(said, unit),
        *_open_lines(asked, unit),
        *_depth_lines(said),
        *_batch_lines(asked, sheet),
        *load_lines(asked, said.loads, unit),
    ]
    lines += ["", *course_lines(said.found, unit), "", *rests_on(asked.case, said.found, unit)]
    lines += [
        f"  {words}"
        for words in (*_food_lines(asked.food), _LIQUID if asked.moves else _NOT_STIRRED)
    ]
    return "\n".join([*lines, "", NO_LIMIT])


def _came_lines(asked: FormulaCase, unit: Degree) -> list[str]:
    """That food which came in hotter is colder outside when the clock starts."""
    clock, hottest = asked.case.clock, asked.case.start.high
    if clock is None or hottest <= clock + DEGREES_OFF:
        return []
    return [f"  the early end is as if all of it came in at {degrees(hottest, unit)}"]


def _what(asked: FormulaCase) -> str:
    deep = "" if asked.depth is None else f"{1000 * asked.depth:.0f} mm"
    if asked.vessel is None:
        return f"a slab of {deep}"
    return f"{asked.vessel.name}, {deep} deep" if deep else asked.vessel.name


def _stage_line(one: Outcome, unit: Degree, asked: FormulaCase) -> str:
    band = one.seconds
    whose = "guidance" if asked.guidance else "limit"
    limit = f"{whose} {time_words(one.deadline.seconds)}: {_WORDS[one.verdict]}"
    if math.isinf(band.likely):
        return f"{degrees(one.deadline.celsius, unit)}: {never_words(band)}; {limit}."
    after = " after the stage before" if one.deadline.after_stage else ""
    last = "perhaps never" if math.isinf(band.high) else time_words(band.high)
    return (
        f"{degrees(one.deadline.celsius, unit)}: about {time_words(band.likely)}{after} "
        f"({time_words(band.low)} to {last}); {limit}."
    )


def _out_lines(said: StepPrediction, unit: Degree) -> Iterator[str]:
    """What the slowest point does once the food is out; what the heat has killed by then."""
    carried = said.carried
    if carried is None:
        return
    shown = carried.degrees if unit == "°C" else carried.degrees * 1.8
    if shown < 0.5:
        yield "Taken out then, it gets no warmer inside."
    else:
        rise = f"{plain(Fraction(round(shown)))}{NARROW}{unit}"
        peak = time_words(carried.seconds)
        yield f"Taken out then, it still gets about {rise} warmer inside, in {peak}."
    if said.killed is not None:
        yield from killed_lines(said.killed, unit)


def _open_lines(asked: FormulaCase, unit: Degree) -> list[str]:
    """What is above an open vessel in an ice bath."""
    open_top = asked.vessel is not None and not asked.filled.closed
    if asked.place.kind != "ice-bath" or not open_top:
        return []
    air = degrees(KITCHEN_AIR, unit)
    return [
        f"Its top is in the kitchen's air, taken as {air}. If it is a closed bag under water, "
        "write `moisture_tight: yes` at the vessel.",
    ]


def _depth_lines(said: StepPrediction) -> list[str]:
    asked = said.asked
    if not asked.deadlines or asked.at_depth is None or asked.case.freezes:
        return []
    if said.deepest is None:
        return ["No depth likely passes here. Use ice water, a blast chiller, or smaller pieces."]
    return [f"The greatest depth that likely passes here: {1000 * said.deepest:.0f} mm."]


def _batch_lines(asked: FormulaCase, sheet: Sheet) -> Iterator[str]:
    """What a batch brings into a chiller, or what ice it takes."""
    if asked.kind != "chill":
        return
    for batch in sheet.batches:
        heat = _heat(asked, batch)
        if asked.place.kind == "ice-bath":
            bath = ice_for(heat, KITCHEN_AIR)
            more = plain(Fraction(round(100 * bath.for_each_kilo_of_water), 100), 2)
            yield (
                f"A batch of {batch.label} melts {_kilos(bath.ice)} of ice, and {more} kg more for "
                "each kg of tap water. Have more: the room melts some."
            )
        else:
            watts = _watts(asked, batch)
            yield (
                f"A batch of {batch.label} brings {plain(Fraction(round(heat / 3.6e4), 100), 2)} "
                f"kWh of heat into it, up to {watts} W at first."
            )


def _watts(asked: FormulaCase, batch: Batch) -> str:
    body = asked.case.body
    kilos = asked.kilos(batch)
    each = body.volume() * unfrozen(asked.food.composition, 20.0).density
    around = asked.case.places[0].around
    watts = first_watts(body, around, asked.case.start.likely) * kilos / each
    return plain(Fraction(round(watts, -1)))


def _kilos(kilos: float) -> str:
    return f"{plain(Fraction(round(10 * kilos), 10), 1)}{NARROW}kg"


def _food_lines(food: Food) -> list[str]:
    """How far what is in the food is known."""
    if not food.known and len(food.usual) > 5:
        return ["what is in it isn't known: 50 to 90 % water is assumed"]
    found = []
    if food.known:
        found.append(f"known from the formula: {listed(list(food.known))}")
    loose = [n for n in food.composition.shares if n not in food.known]
    if loose:
        by = f", left open by {listed(list(food.open_by[:4]))}" if food.open_by else ""
        found.append(f"known within bounds only: {listed(loose)}{by}")
    return found
