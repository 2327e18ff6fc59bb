"""A chill of food as its cooking left it, hotter outside than in the middle, beside the band of the
same chill, which knows the start of the law's clock alone."""

from __future__ import annotations

import random

from generator.heat.bodies import Course, brick
from generator.heat.case import Around, Case, Made, Place
from generator.heat.constituents import Composition
from generator.heat.prediction import time_to
from generator.heat.quick import quick
from generator.heat.ranges import Range

BAKE = Composition(
    {
        "water": Range.exact(0.68),
        "protein": Range.exact(0.08),
        "fat": Range.exact(0.06),
        "carbohydrate": Range.exact(0.14),
        "fibre": Range.exact(0.015),
        "ash": Range.exact(0.025),
    }
)
CLOCK = 57.2


def test_the_band_holds_a_chill_from_uneven_temperatures() -> None:
    """Cooked from cold until the slowest point is done, its temperatures carried into the chiller
    by projection: from the clock's start on it gets to both stages within the band, in 12 random
    cooks and chills."""
    chance = random.Random(1129)
    for _ in range(12):
        depth, done = chance.uniform(0.03, 0.10), chance.uniform(63.0, 80.0)
        bath, h = chance.uniform(done + 4, 98.0), chance.choice([60.0, 300.0, 900.0])
        cold = chance.choice([8.0, 20.0, 60.0, 300.0])
        body, there, air = brick(0.3, 0.2, depth), Course.constant(bath), Course.constant(1.0)
        cook = Place({f: Around(Range.exact(h), there) for f in body.faces}, until=done)
        chill = Place({f: Around(Range.exact(cold), air) for f in body.faces})
        whole = Case(body, Made(BAKE), Range.exact(5.0), (cook, chill), ())
        begun = time_to(whole, CLOCK).seconds
        alone = Case(body, Made(BAKE), Range(CLOCK - 1, CLOCK, bath), (chill,), (), clock=CLOCK)
        band = quick(alone)
        for celsius in (21.1, 5.0):
            carried = time_to(whole, celsius).seconds - begun
            found = band.time_to(celsius)
            assert found.low <= carried <= found.high, (depth, done, bath, h, cold, celsius)
            assert carried <= found.likely  # an even body is later, never sooner
