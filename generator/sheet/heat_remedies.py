"""What in this kitchen likely chills a food in time, where its own chill likely doesn't.

In the order of what is least trouble: the same vessel filled less deep, the kitchen's ice baths, a
casing's food cut, its blast chillers. Each is worked out anew, and named only where every stage
likely passes. A prediction, like what it is a remedy of.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from generator.heat.bodies import Body, Dimension, cylinder
from generator.heat.case import Case, Place
from generator.heat.chilling import Outcome, greatest_depth, stages_of
from generator.heat.constituents import Impossible
from generator.heat.quick import fits
from generator.measures.words import counted
from generator.records.equipment import Cold
from generator.rules.basics.limit import CoolingLimit
from generator.sheet.heat_case import Asked, FormulaCase, chill_case

MOST = 4
"""So many remedies are named: one of each kind."""
_SHORTEST, _CUT = 20, 10
"""Casings are cut to no less than so many mm, in steps of so many. Ours."""


@dataclass(frozen=True)
class Remedy:
    """What would likely do, and in how long the first stage is then over."""

    words: str
    first: Outcome


def remedies_of(asked: Asked, limit: CoolingLimit, case: FormulaCase) -> Iterator[Remedy]:
    """What likely passes, least trouble first. Ice water counts without the air above it: as if the
    top gave off no heat."""
    found = [
        *_shallower(asked, case),
        *_elsewhere(asked, limit, case, "ice-bath"),
        *_cut(case),
        *_elsewhere(asked, limit, case, "blast-chiller"),
    ]
    yield from found[:MOST]


def _passes(case: Case, asked: FormulaCase) -> Outcome | None:
    """The first stage, where all likely pass."""
    stages = stages_of(without_top(case), asked.deadlines)
    return stages[0] if all(one.verdict == "likely passes" for one in stages) else None


def _shallower(asked: Asked, case: FormulaCase, where: str = "") -> Iterator[Remedy]:
    """The greatest depth that likely passes there; only where the house has vessels enough for its
    smallest batch."""
    if case.at_depth is None or case.depth is None or not (where or fits(case.case)):
        return
    at_depth: Callable[[float], Case] = case.at_depth
    depth = greatest_depth(lambda d: without_top(at_depth(d)), case.deadlines, case.depth)
    if depth is None:
        return
    each = math.ceil(case.depth / depth - 1e-9)
    if not _enough(asked, case, each):
        return
    stages = stages_of(without_top(at_depth(depth)), case.deadlines)
    split = f", one fill in {counted(each, 'vessel', 'vessels')}" if each > 1 else ""
    yield Remedy(f"{where}{1000 * depth:.0f} mm deep{split}", stages[0])


def _enough(asked: Asked, case: FormulaCase, each: int) -> bool:
    """Whether the house has as many vessels as its smallest batch needs, so many for a fill; it has
    where nothing says how many there are."""
    held = case.vessel
    fills = [b.yields.fills for b in asked.sheet.batches if b.yields.fills is not None]
    if held is None or held.count is None or not fills or held is not asked.sheet.formula.vessel:
        return True
    return math.ceil(min(fills)) * each <= held.count


def _elsewhere(asked: Asked, limit: CoolingLimit, case: FormulaCase, kind: str) -> Iterator[Remedy]:
    """The first of the kitchen's ice baths or blast chillers in which it likely passes: as deep as
    it is, stirred, or shallower there."""
    for ident, place in asked.equipment.items():
        if isinstance(place, Cold) and place.kind == kind:
            ways = [(words, there) for words, there in _ways(place) if there is not case.place]
            tried = [(words, _there(asked, limit, ident, there)) for words, there in ways]
            found = next(_in_one(asked, tried), None)
            if found is not None:
                yield found
                return


def _in_one(asked: Asked, tried: list[tuple[str, FormulaCase]]) -> Iterator[Remedy]:
    """What likely passes in one chiller, by the words of each way to use it."""
    for words, other in tried:
        first = _passes(other.case, other)
        if first is not None:
            yield Remedy(words, first)
    for words, other in tried:
        yield from _shallower(asked, other, f"{words}, ")


def _there(asked: Asked, limit: CoolingLimit, ident: str, place: Cold) -> FormulaCase:
    """The chill in another chiller, as that is now or would be."""
    equipment = {**asked.equipment, ident: place}
    return chill_case(replace(asked, chiller=ident, equipment=equipment), limit)


def _ways(place: Cold) -> Iterator[tuple[str, Cold]]:
    """A chiller as it is; an ice bath also stirred, where it isn't said to be."""
    yield place.name, place
    if place.kind == "ice-bath" and place.stirred is not True:
        yield f"{place.name}, stirred all the time", place.model_copy(update={"stirred": True})


def _cut(case: FormulaCase) -> Iterator[Remedy]:
    """A casing's food cut across, in the chiller it is in: the longest piece that likely passes."""
    held = case.vessel
    if held is None or held.shape != "casing" or case.place.kind == "ice-bath":
        return
    radius, length = (axis.size for axis in case.case.body.axes)
    for mm in range(int(1000 * length) // _CUT * _CUT, _SHORTEST - 1, -_CUT):
        try:
            first = _passes(replace(case.case, body=cylinder(radius, mm / 1000)), case)
        except Impossible:
            return
        if first is not None:
            yield Remedy(f"cut across, {mm} mm long", first)
            return


def without_top(case: Case) -> Case:
    """An open pan in ice water as a pan twice as deep with water all round it: so its top gives off
    no heat."""
    around = case.places[0].around
    courses = {a.course for a in around.values()}
    if len(courses) == 1:
        return case
    water = around["bottom"]
    body = case.body
    axes = tuple(
        Dimension(a.kind, 2 * a.size, a.faces) if "top" in a.faces else a for a in body.axes
    )
    twice = Body(body.name, axes)
    return replace(case, body=twice, places=(Place(dict.fromkeys(twice.faces, water)),))
