"""How a formula's food likely chills or cooks, as text, JSON and a table: each stage of the law
with its time, what that means, and what would likely do."""

from __future__ import annotations

import json
import math
from typing import Any

from generator.answers.cautions import cautions_record, with_cautions
from generator.cli.formula_case import KITCHEN_AIR, FormulaCase
from generator.cli.predicted import (
    NO_LIMIT,
    as_number,
    course_lines,
    degrees,
    minutes_of,
    record_of,
    rests_on,
    table_of,
    target_lines,
    time_words,
)
from generator.heat.chilling import Outcome
from generator.heat.prediction import Prediction
from generator.measures.temperature import Degree
from generator.sheet.sheet import Sheet

_WORDS = {
    "likely passes": "likely passes",
    "likely fails": "likely fails",
    "too close": "too close to call: probe it",
}
_STARTS = {True: "where the law's clock starts", False: "taken for cold food (3 to 20 °C)"}
_UNKNOWN = "what is in it isn't known: 50 to 90 % water is assumed, and nothing is stirred"


def chill_answer(
    sheet: Sheet,
    asked: FormulaCase,
    found: Prediction,
    stages: tuple[Outcome, ...],
    deepest: float | None,
    form: str,
) -> str:
    """The whole answer in a form: text, json or csv."""
    if form == "csv":
        return table_of(found)
    if form == "json":
        record = _record(sheet, asked, found, stages, deepest)
        return json.dumps(record, ensure_ascii=False, indent=2)
    return with_cautions(_text(sheet, asked, found, stages, deepest), sheet)


def _record(
    sheet: Sheet,
    asked: FormulaCase,
    found: Prediction,
    stages: tuple[Outcome, ...],
    deepest: float | None,
) -> dict[str, Any]:
    return {
        "formula": sheet.id,
        "step": asked.step,
        "vessel": asked.vessel.name,
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
            for one in stages
        ],
        "greatest_depth_mm": None if deepest is None else as_number(1000 * deepest),
        **record_of(asked.case, found),
        "assumed_of_the_food": _UNKNOWN,
        **cautions_record(sheet),
    }


def _text(
    sheet: Sheet,
    asked: FormulaCase,
    found: Prediction,
    stages: tuple[Outcome, ...],
    deepest: float | None,
) -> str:
    unit = sheet.house.kitchen.temperature
    deep = "" if asked.depth is None else f", {1000 * asked.depth:.0f} mm deep"
    lines = [
        f"{sheet.name}, {asked.step}: {asked.vessel.name}{deep}, in {asked.place.name}",
        f"  from {degrees(asked.case.start.likely, unit)}, {_STARTS[bool(asked.deadlines)]}",
    ]
    for target in found.targets if not asked.deadlines else ():
        lines += target_lines(asked.case, target, unit)
    lines += [_stage_line(one, unit) for one in stages]
    if stages:
        lines.append(f"First reading: after {time_words(stages[0].seconds.low)}.")
    lines += [*_open_lines(asked, unit), *_depth_lines(asked, deepest)]
    lines += [
        "",
        *course_lines(found, unit),
        "",
        *rests_on(asked.case, found, unit),
        f"  {_UNKNOWN}",
    ]
    return "\n".join([*lines, "", NO_LIMIT])


def _stage_line(one: Outcome, unit: Degree) -> str:
    band = one.seconds
    limit = f"limit {time_words(one.deadline.seconds)}: {_WORDS[one.verdict]}"
    if math.isinf(band.likely):
        return f"{degrees(one.deadline.celsius, unit)}: it never gets there; {limit}."
    after = " after the stage before" if one.deadline.after_stage else ""
    last = "perhaps never" if math.isinf(band.high) else time_words(band.high)
    return (
        f"{degrees(one.deadline.celsius, unit)}: about {time_words(band.likely)}{after} "
        f"({time_words(band.low)} to {last}); {limit}."
    )


def _open_lines(asked: FormulaCase, unit: Degree) -> list[str]:
    """What is above an open vessel in an ice bath."""
    if asked.place.kind != "ice-bath" or asked.depth is None or asked.vessel.moisture_tight:
        return []
    air = degrees(KITCHEN_AIR, unit)
    return [
        f"Its top is in the kitchen's air, taken as {air}. If it is a closed bag under water, "
        "write `moisture_tight: yes` at the vessel.",
    ]


def _depth_lines(asked: FormulaCase, deepest: float | None) -> list[str]:
    if asked.at_depth is None or asked.case.freezes:
        return []
    if deepest is None:
        return ["No depth likely passes here. Use ice water, a blast chiller, or smaller pieces."]
    return [f"The greatest depth that likely passes here: {1000 * deepest:.0f} mm."]
