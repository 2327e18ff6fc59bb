"""Food and what is round it, each changing the other: heat is never lost, and the ends are those
worked out by hand."""

from __future__ import annotations

import random
from dataclasses import replace

import numpy as np
import pytest
from each_row import each_row

from generator.heat.bodies import Body, Course, Face, Stage, brick, cylinder, slab, sphere
from generator.heat.case import AS_STATED, Around, Case, Place, Stated
from generator.heat.constituents import Impossible
from generator.heat.exchange import Exchange, Store, exchange, main_course
from generator.heat.loads import FUSION, WATER_HEAT
from generator.heat.ranges import Range
from generator.heat.series import Series

K, DENSITY, SPECIFIC = 0.5, 1050.0, 3600.0
STUFF = Stated(Range.exact(K), Range.exact(DENSITY * SPECIFIC), DENSITY)
PAN, ROLL = brick(0.30, 0.20, 0.05), cylinder(0.035, 0.23)


def case_of(body: Body, h: float, medium: float, start: float) -> Case:
    around = {f: Around(Range.exact(h), Course.constant(medium)) for f in body.faces}
    return Case(body, STUFF, Range.exact(start), (Place(around),), ())


def off_by(found: Exchange) -> float:
    """What is missing in the balance, as a share of the food's heat."""
    missing = found.machine_gave - found.food_took - found.medium_took
    return abs(missing / found.food_took)


def mean_by_series(case: Case, found: Exchange) -> np.ndarray:
    """The food's mean in the course that was found, by the series alone."""
    faces = {f: Face(a.h.likely, found.course) for f, a in case.places[0].around.items()}
    solid = case.stuff.solid(AS_STATED, 20.0)
    series = Series(case.body, [solid], [Stage(faces)], case.start.likely, 20.0)
    times = np.array(found.times[1:])
    return np.asarray(series.at(times, (None,) * len(case.body.axes))).ravel()


def test_a_cold_load_in_a_bath_without_power_ends_where_both_are_alike() -> None:
    """10 kg of 5 °C in 40 kg of water of 80 °C: by hand."""
    found = exchange(case_of(ROLL, 600, 80, 5), 10, Store(80, 80, 0, 40), 6 * 3600)
    food, water = 10 * SPECIFIC, 40 * WATER_HEAT
    end = (food * 5 + water * 80) / (food + water)
    assert found.medium[-1] == pytest.approx(end, abs=0.02)
    assert found.food[-1] == pytest.approx(end, abs=0.02)
    assert abs(found.machine_gave) < 1e-3 and off_by(found) < 1e-9


def test_a_bath_that_warms_takes_its_heat_from_its_machine() -> None:
    """40 kg from 15 to 80 °C with 6 kW, a gram of food in it: P t = m c ΔT."""
    found = exchange(case_of(ROLL, 600, 80, 15), 1e-3, Store(15, 80, 6000, 40), 3600)
    seconds = 40 * WATER_HEAT * 65 / 6000
    reached = next(t for t, c in zip(found.times, found.medium, strict=True) if c >= 79.99)
    assert reached == pytest.approx(seconds, abs=2 * found.times[1])
    halfway = np.interp(seconds / 2, found.times, found.medium)
    assert halfway == pytest.approx((15 + 80) / 2, abs=0.1)


def test_ice_melts_by_the_heat_of_the_food_and_then_the_water_warms() -> None:
    case = case_of(ROLL, 440, 0, 60)
    lasts = exchange(case, 10, Store(0, 0, 0, 20, 15), 4 * 3600)
    assert set(lasts.medium) == {0.0} and lasts.ice_gone() is None
    assert 15 - lasts.ice[-1] == pytest.approx(-lasts.food_took / FUSION, rel=1e-9)
    assert lasts.food_took == pytest.approx(-10 * SPECIFIC * 60, rel=2e-3)
    short = exchange(case, 10, Store(0, 0, 0, 10, 2), 4 * 3600)
    gone = short.ice_gone()
    assert gone is not None and 0 < gone < 3600
    end = (10 * SPECIFIC * 60 - 2 * FUSION) / (10 * SPECIFIC + 12 * WATER_HEAT)
    assert short.medium[-1] == pytest.approx(end, abs=0.05)
    assert off_by(lasts) < 1e-9 and off_by(short) < 1e-9


def test_a_refrigerator_takes_away_no_more_than_it_can() -> None:
    case = case_of(PAN, 9.5, 3, 60)
    found = exchange(case, 12, Store(3, 3, 250), 10 * 3600)
    step = found.times[1]
    given = -12 * SPECIFIC * np.diff(found.food) / step
    lifted = np.array(found.medium[1:]) > 3.01
    assert given.max() <= 250 * 1.001
    assert given[lifted][1:-1] == pytest.approx(250, rel=1e-3)
    off, at = found.furthest(3)
    back = found.back_after(3, 0.5)
    assert off > 5 and at <= step and back is not None and 900 < back < 6 * 3600
    strong = exchange(case, 12, Store(3, 3, 5000), 10 * 3600)
    assert set(strong.medium) == {3.0} and strong.course == Course(((0.0, 3.0), (36_000.0, 3.0)))
    assert strong.back_after(3, 0.5) == 0.0


def test_a_cold_oven_comes_back() -> None:
    found = exchange(case_of(PAN, 30, 180, 5), 20, Store(180, 180, 3000), 3 * 3600)
    off, _ = found.furthest(180, over=900)
    assert off < -10 and found.medium[-1] == 180 and off_by(found) < 1e-9
    assert abs(off) < abs(found.furthest(180)[0])  # a quarter of an hour is kinder than a moment


def random_exchange(seed: int) -> tuple[Case, float, Store, float]:
    dice = random.Random(seed)
    body = dice.choice(
        [
            slab(dice.uniform(0.01, 0.08)),
            brick(*(dice.uniform(0.02, 0.3) for _ in range(3))),
            cylinder(dice.uniform(0.01, 0.06), dice.uniform(0.05, 0.3)),
            sphere(dice.uniform(0.01, 0.06)),
        ]
    )
    kilos = dice.uniform(0.5, 40)
    sort = dice.choice(("fridge", "bath", "ice"))
    if sort == "ice":
        store = Store(0, 0, 0, dice.uniform(5, 40), dice.uniform(0.5, 20))
        return case_of(body, dice.uniform(70, 500), 0, dice.uniform(40, 80)), kilos, store, 7200.0
    if sort == "bath":
        held = dice.uniform(60, 95)
        store = Store(held, held, dice.uniform(500, 9000), dice.uniform(5, 80))
        return case_of(body, dice.uniform(100, 900), held, 5), kilos, store, 7200.0
    case = case_of(body, dice.uniform(6, 40), 3, dice.uniform(40, 80))
    return case, kilos, Store(3, 3, dice.uniform(100, 2000)), 20_000.0


@each_row("seed", range(12))
def test_heat_is_never_lost(seed: int) -> None:
    """To 0.1 %: by its own balance, and by the series in the course that came out of it."""
    case, kilos, store, seconds = random_exchange(seed)
    found = exchange(case, kilos, store, seconds)
    assert off_by(found) < 1e-3
    apart = kilos * SPECIFIC * (mean_by_series(case, found)[-1] - case.start.likely)
    assert apart == pytest.approx(found.food_took, rel=1e-3, abs=50 * kilos)


def test_more_food_never_moves_it_less_and_more_power_never_more() -> None:
    for seed in range(12):
        case, kilos, store, seconds = random_exchange(seed)
        here = abs(exchange(case, kilos, store, seconds).furthest(store.held_at)[0])
        more = exchange(case, 1.5 * kilos, store, seconds)
        strong = exchange(case, kilos, replace(store, power=1.5 * store.power), seconds)
        assert abs(more.furthest(store.held_at)[0]) >= here - 1e-6
        assert abs(strong.furthest(store.held_at)[0]) <= here + 1e-6


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(12, 400))
def test_heat_is_never_lost_four_hundred_times(seed: int) -> None:
    test_heat_is_never_lost(seed)


def test_a_course_is_told_in_few_straight_lines() -> None:
    found = exchange(case_of(PAN, 9.5, 3, 60), 12, Store(3, 3, 250), 10 * 3600)
    points = found.course.points
    assert len(points) < 40
    told = np.interp(found.times, *zip(*points, strict=True))
    assert np.abs(told - np.array(found.medium)).max() <= 0.05


def test_what_can_not_be() -> None:
    case = case_of(PAN, 9.5, 3, 60)
    assert main_course(case) == Course.constant(3)
    for wrong in ((0.0, 3600.0), (5.0, 0.0)):
        with pytest.raises(Impossible):
            exchange(case, wrong[0], Store(3, 3, 100), wrong[1])
    with pytest.raises(Impossible):
        Store(0, 0, -1)
    with pytest.raises(Impossible):
        Store(5, 0, 0, 10, 3)
