"""The quick series in plain floats: what the whole one says, at once, for a body with one medium
round it."""

from __future__ import annotations

import math
import random
import subprocess
import sys
from dataclasses import replace

import pytest

from generator.heat.bodies import Body, Course, brick, cylinder, slab, sphere
from generator.heat.case import Around, Case, Made, Place
from generator.heat.chilling import Deadline, outcomes, stages_of
from generator.heat.constituents import Composition
from generator.heat.prediction import predict
from generator.heat.quick import bessels, fits, quick
from generator.heat.ranges import Range

BODIES = [
    brick(0.325, 0.176, 0.06),
    cylinder(0.035, 0.23),
    cylinder(0.035),
    sphere(0.03),
    slab(0.04),
]
FOOD = Composition(
    {
        "water": Range(0.62, 0.70, 0.76),
        "protein": Range.exact(0.10),
        "fat": Range(0.02, 0.08, 0.14),
        "carbohydrate": Range.exact(0.09),
        "fibre": Range.exact(0.01),
        "ash": Range.exact(0.02),
    }
)


def in_one_medium(body: Body, h: Range, celsius: float, start: float = 57.2) -> Case:
    around = {face: Around(h, Course.constant(celsius)) for face in body.faces}
    return Case(body, Made(FOOD), Range.off_by(start, 1), (Place(around),), (21.1, 5.0))


@pytest.mark.parametrize(
    ("x", "zero", "one"), [(1, 0.7651976866, 0.4400505857), (10, -0.2459357645, 0.0434727462)]
)
def test_bessel_functions(x: float, zero: float, one: float) -> None:
    """F. W. J. Olver in Abramowitz and Stegun, Handbook of Mathematical Functions, table 9.1."""
    assert bessels(x) == pytest.approx((zero, one), abs=1e-9)


@pytest.mark.parametrize("body", BODIES, ids=lambda b: b.name)
@pytest.mark.parametrize(
    "h", [Range(6, 9.5, 13), Range(20, 32, 50), Range(100, 300, 1000)], ids=str
)
def test_it_says_what_the_whole_series_says(body: Body, h: Range) -> None:
    """The band's times within a second in an hour, the course within 0.02 °C."""
    case = in_one_medium(body, h, 1.0)
    assert fits(case)
    whole, at_once = predict(case), quick(case)
    for target in whole.targets:
        found = at_once.time_to(target.celsius)
        for edge in ("low", "likely", "high"):
            assert getattr(found, edge) == pytest.approx(getattr(target.seconds, edge), rel=3e-4)
    for row in whole.rows[2::7]:
        found = at_once.at(row.seconds)
        assert found.likely == pytest.approx(row.celsius.likely, abs=0.02)
        assert found.high == pytest.approx(row.celsius.high, abs=0.02)


def test_a_clock_counts_alike_in_both() -> None:
    case = in_one_medium(brick(0.325, 0.176, 0.06), Range(20, 32, 50), 1.0)
    case = replace(case, start=Range(56.2, 57.2, 80.0), clock=57.2)
    whole, at_once = predict(case), quick(case)
    for target in whole.targets:
        found = at_once.time_to(target.celsius)
        for edge in ("low", "likely", "high"):
            assert getattr(found, edge) == pytest.approx(getattr(target.seconds, edge), rel=1e-3)
    for row in whole.rows[4::9]:
        found = at_once.at(row.seconds)
        assert found.low == pytest.approx(row.celsius.low, abs=0.05)


def test_random_bodies_chilled_and_heated() -> None:
    dice = random.Random(20)
    for _ in range(25):
        body = dice.choice(
            [
                brick(*(dice.uniform(0.01, 0.2) for _ in range(3))),
                cylinder(dice.uniform(0.01, 0.1), dice.uniform(0.02, 0.2)),
                sphere(dice.uniform(0.01, 0.1)),
            ]
        )
        h = Range.within(10 ** dice.uniform(0.5, 3.5), 0.2)
        cold = dice.random() < 0.6
        medium, start = (2.0, 60.0) if cold else (90.0, 8.0)
        case = in_one_medium(body, h, medium, start)
        target = 20.0 if cold else 75.0
        (whole,) = predict(Case(case.body, case.stuff, case.start, case.places, (target,))).targets
        assert quick(case).time_to(target).likely == pytest.approx(whole.seconds.likely, rel=3e-4)


def test_what_it_is_not_for() -> None:
    body = brick(0.3, 0.2, 0.05)
    case = in_one_medium(body, Range.exact(20), 3.0)
    around = dict(case.places[0].around)
    around["top"] = Around(Range.exact(8), Course.constant(20.0))
    assert not fits(Case(body, case.stuff, case.start, (Place(around),), ()))
    assert not fits(in_one_medium(body, Range.exact(20), -20.0))
    ramp = {f: Around(Range.exact(20), Course.ramp(20, 3, 600)) for f in body.faces}
    assert not fits(Case(body, case.stuff, case.start, (Place(ramp),), ()))


def test_stages_are_judged_alike_by_both() -> None:
    deadlines = (Deadline(21.1, 7200), Deadline(5.0, 4 * 3600, after_stage=True))
    for depth in (0.02, 0.04, 0.06, 0.09):
        case = in_one_medium(brick(0.3, 0.2, depth), Range(6.3, 9.5, 13), 3.0)
        _, whole = outcomes(case, deadlines)
        for one, other in zip(whole, stages_of(case, deadlines), strict=True):
            assert one.verdict == other.verdict
            assert one.seconds.likely == pytest.approx(other.seconds.likely, rel=1e-3)


def test_it_is_never_there_in_a_medium_that_is_too_warm() -> None:
    case = in_one_medium(slab(0.04), Range.exact(20), 8.0)
    assert math.isinf(quick(case).time_to(5.0).likely)
    assert quick(case).time_to(60.0).likely == 0


def test_it_needs_no_numbers_in_bulk() -> None:
    code = (
        "import sys, generator.heat.quick, generator.heat.chilling; print('numpy' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
