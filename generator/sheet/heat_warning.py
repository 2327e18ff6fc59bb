"""A warning where the spec's own chill likely misses the law's time, with what likely helps here.

Likely misses means that even the early end of the predicted band is too late, steam off an open top
counted in. Where the band holds the limit, it is too close to say, and nothing is said. A warning
is all that comes of it: it makes nothing pass, and without it nothing passes either.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path

from generator.files.finding import Finding, Refused
from generator.heat.case import Case, Place
from generator.heat.chilling import Outcome, stages_of
from generator.heat.constituents import Impossible
from generator.heat.media import load_media
from generator.heat.quick import fits, likely_times
from generator.heat.ranges import Range
from generator.measures.about import degrees, time_words
from generator.measures.temperature import Degree
from generator.records.equipment import Equipment
from generator.resolve.joined import House
from generator.rules.basics.limit import CoolingLimit
from generator.sheet.composed import MadeBy
from generator.sheet.heat_case import Asked, FormulaCase, chill_case, cooling_limits
from generator.sheet.heat_places import Media
from generator.sheet.heat_remedies import Remedy, remedies_of
from generator.sheet.sheet import Sheet
from generator.sheet.walk import Walk

_STEAM = 14.0
"""What evaporates from an open, wet surface of 40 °C in cold air takes with it, W/(m² K): 2.4 MJ/kg
at the rate that goes with a convection of 5 W/(m² K) (Lewis). Shared by top and bottom it is 7 to
each. Ours; a skin of fat or a lid leaves it out."""


def slow_chills(
    house: House,
    sheets: Mapping[str, Sheet],
    walks: Mapping[str, Walk],
    equipment: Mapping[str, Equipment],
) -> Iterator[Finding]:
    """The chills that likely miss, a warning each."""
    media: Media | None = None
    for sheet in sheets.values():
        for limit in cooling_limits(sheet):
            media = media if media is not None else _media(house.library.folder)
            if not media:
                return
            found = _slow(sheet, limit, walks, equipment, media)
            if found is not None:
                yield found


def _media(folder: Path) -> Media:
    """What food is chilled in; nothing where the reference data can't be read."""
    from generator.files.finding import BrokenData

    try:
        return load_media(folder)
    except BrokenData:
        return {}


def _slow(
    sheet: Sheet,
    limit: CoolingLimit,
    walks: Mapping[str, Walk],
    equipment: Mapping[str, Equipment],
    media: Media,
) -> Finding | None:
    """The warning of one chill, if it likely misses: asked first without what is in the food, which
    is quick and makes the little difference that the band's early end makes up for."""
    asked = Asked(sheet, None, equipment, media)
    try:
        rough = chill_case(asked, limit)
        if not fits(_kindest(rough)) or not _may_miss(rough):
            return None
        asked = replace(asked, made=MadeBy(sheet.house, walks)[sheet.id])
        case = chill_case(asked, limit)
        stages = stages_of(_kindest(case), case.deadlines)
        late = next((one for one in stages if one.verdict == "likely fails"), None)
        if late is None:
            return None
        return _finding(asked, limit, case, late)
    except (Refused, Impossible):
        return None


def _may_miss(case: FormulaCase) -> bool:
    times = likely_times(_kindest(case), [d.celsius for d in case.deadlines])
    before = 0.0
    for deadline, seconds in zip(case.deadlines, times, strict=True):
        spent = seconds - before if deadline.after_stage else seconds
        if not spent <= deadline.seconds:
            return True
        before = seconds
    return False


def _kindest(asked: FormulaCase) -> Case:
    """The case with the air above an open ice bath taken for ice water: it chills faster so, and
    what is late even then is late. Where a top is open, steam takes heat from it as well."""
    case = asked.case
    around = dict(case.places[0].around)
    coldest = min(around.values(), key=lambda a: a.course.last)
    if any(a.course != coldest.course for a in around.values()):
        around = dict.fromkeys(around, coldest)
    elif not asked.filled.closed and asked.vessel is not None and "top" in around:
        for face in ("top", "bottom"):
            h = around[face].h
            more = Range(h.low + _STEAM / 2, h.likely + _STEAM / 2, h.high + _STEAM / 2)
            around[face] = replace(around[face], h=more)
    return replace(case, places=(Place(around),))


def _finding(asked: Asked, limit: CoolingLimit, case: FormulaCase, late: Outcome) -> Finding:
    sheet = asked.sheet
    unit = sheet.house.kitchen.temperature
    deep = f", {1000 * case.depth:.0f} mm deep" if case.depth is not None else ""
    held = case.vessel.name if case.vessel is not None else "it"
    took = (
        "never gets there"
        if math.isinf(late.seconds.low)
        else f"likely takes {time_words(late.seconds.low)} or more"
    )
    remedies = list(remedies_of(asked, limit, case))
    joined = sheet.formula.steps[limit.number - 1]
    return Finding(
        "chill-likely-too-slow",
        "warning",
        f"{sheet.name}, {limit.step}: {held}{deep}, in {case.place.name} {took} to "
        f"{degrees(late.deadline.celsius, unit)}. The limit is "
        f"{time_words(late.deadline.seconds)}. It is a prediction.",
        joined.step.place("in"),
        _help(remedies, unit),
        about=frozenset({sheet.id}),
    )


def _help(remedies: list[Remedy], unit: Degree) -> str:
    if not remedies:
        return "Fill it shallower, cut it smaller, use ice water or a blast chiller. Probe it."
    shown = [
        f"{one.words}: {degrees(one.first.deadline.celsius, unit)} in "
        f"{time_words(one.first.seconds.low)} to {time_words(one.first.seconds.high)}"
        for one in remedies
    ]
    return f"What likely passes here: {'; '.join(shown)}. Probe it."
