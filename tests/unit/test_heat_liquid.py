"""A liquid that cools: it moves in its vessel, so its early end is as if it mixed all the time."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from generator.heat.bodies import Course, brick
from generator.heat.case import Around, Case, Made, Place
from generator.heat.constituents import Composition, unfrozen
from generator.heat.prediction import predict
from generator.heat.quick import quick
from generator.heat.ranges import Range

BRINE = Composition(
    {"water": Range.exact(0.92), "carbohydrate": Range.exact(0.03), "ash": Range.exact(0.05)}
)


def case(moves: bool, depth: float = 0.06, h: float = 10.0) -> Case:
    body = brick(0.3, 0.2, depth)
    around = {face: Around(Range.exact(h), Course.constant(3.0)) for face in body.faces}
    stuff = Made(BRINE, moves=moves)
    return Case(body, stuff, Range.exact(57.0), (Place(around),), (21.0, 5.0))


@pytest.mark.parametrize("depth", [0.02, 0.06, 0.15])
def test_its_band_is_only_wider_and_only_at_the_early_end(depth: float) -> None:
    still, moves = quick(case(False, depth)), quick(case(True, depth))
    for celsius in (21.0, 5.0):
        one, other = still.time_to(celsius), moves.time_to(celsius)
        assert other.low < one.low
        assert (other.likely, other.high) == (one.likely, one.high)


def test_mixed_it_is_as_one_temperature_all_through() -> None:
    """The early end by conduction without a limit is that of a body of one temperature, worked out
    by hand: ρ·cp·V/(h·A)·ln; all else exact."""
    mixed = replace(
        case(True), size=Range.exact(1.0), degrees=0.0, stuff=Made(BRINE, off=0.0, moves=True)
    )
    found = unfrozen(BRINE, 13.0)
    area, volume = 2 * (0.3 * 0.2 + 0.3 * 0.06 + 0.2 * 0.06), 0.3 * 0.2 * 0.06
    by_hand = found.density * found.specific_heat * volume / (10 * area) * math.log(54 / 18)
    assert quick(mixed).time_to(21.0).low == pytest.approx(by_hand, rel=0.003)


def test_the_whole_series_says_the_same() -> None:
    found, short = predict(case(True)), quick(case(True))
    for target in found.targets:
        one = short.time_to(target.celsius)
        assert target.seconds.low == pytest.approx(one.low, rel=0.005)
        assert target.seconds.high == pytest.approx(one.high, rel=0.005)
