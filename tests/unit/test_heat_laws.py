"""What must hold of any prediction, tried on random bodies: thicker is slower, hotter is faster, a
band holds what is likely, and what is known better never widens it. And the rules read none of it."""

from __future__ import annotations

import ast
import math
import random
import re
from dataclasses import replace

import pytest
from conftest import ROOT

from generator.heat.bodies import Body, Course, brick, cylinder, slab, sphere
from generator.heat.case import Around, Case, Made, Place
from generator.heat.chilling import Deadline, stages_of
from generator.heat.constituents import Composition
from generator.heat.prediction import predict
from generator.heat.quick import fits, quick
from generator.heat.ranges import Range

EVERYDAY = 40


def random_food(dice: random.Random) -> Composition:
    water = dice.uniform(0.5, 0.85)
    fat = dice.uniform(0.0, 0.6) * (1 - water)
    rest = 1 - water - fat
    off = dice.uniform(0.0, 0.05)
    return Composition(
        {
            "water": Range(water - off, water, water + min(off, 0.05)),
            "fat": Range(max(fat - off, 0), fat, fat + off),
            "protein": Range.exact(0.6 * rest),
            "carbohydrate": Range.exact(0.3 * rest),
            "ash": Range.exact(0.1 * rest),
        }
    )


def random_body(dice: random.Random) -> Body:
    def size() -> float:
        return dice.uniform(0.01, 0.12)

    return dice.choice(
        [
            lambda: slab(size()),
            lambda: brick(size(), size(), size()),
            lambda: cylinder(size()),
            lambda: cylinder(size(), size()),
            lambda: sphere(size()),
        ]
    )()


def random_case(seed: int, heats: bool) -> tuple[Case, float]:
    """A body in one medium, and a target on the way."""
    dice = random.Random(seed)
    body = random_body(dice)
    start, medium = (
        (dice.uniform(2, 20), dice.uniform(80, 100))
        if heats
        else (
            dice.uniform(50, 80),
            dice.uniform(0, 5),
        )
    )
    h = 10 ** dice.uniform(0.7, 3.2)
    off = dice.uniform(0.05, 0.4)
    around = {f: Around(Range.within(h, off), Course.constant(medium)) for f in body.faces}
    case = Case(body, Made(random_food(dice)), Range.off_by(start, 1), (Place(around),), ())
    share = dice.uniform(0.15, 0.8)
    return case, start + share * (medium - start)


def time_of(case: Case, target: float) -> Range:
    assert fits(case)
    return quick(case).time_to(target)


CASES = [(seed, heats) for seed in range(EVERYDAY) for heats in (True, False)]


@pytest.mark.parametrize("heats", [True, False], ids=["heats", "cools"])
def test_thicker_is_never_faster(heats: bool) -> None:
    for seed in range(EVERYDAY):
        case, target = random_case(seed, heats)
        thicker = replace(case, body=case.body.scaled(1.2))
        here, there = time_of(case, target), time_of(thicker, target)
        assert here.low <= there.low and here.likely < there.likely and here.high <= there.high


def test_one_side_thicker_is_never_faster() -> None:
    for seed in range(EVERYDAY):
        case, target = random_case(seed, False)
        number = random.Random(seed).randrange(len(case.body.axes))
        axes = list(case.body.axes)
        axes[number] = replace(axes[number], size=axes[number].size * 1.5)
        thicker = replace(case, body=Body(case.body.name, tuple(axes)))
        assert time_of(case, target).likely <= time_of(thicker, target).likely * (1 + 1e-9)


def moved(case: Case, degrees: float) -> Case:
    around = {
        f: replace(a, course=a.course.moved(degrees)) for f, a in case.places[0].around.items()
    }
    return replace(case, places=(Place(around),))


def test_a_hotter_medium_is_never_slower_to_heat_nor_a_colder_one_to_cool() -> None:
    for seed in range(EVERYDAY):
        for heats, degrees in ((True, 3.0), (False, -3.0)):
            case, target = random_case(seed, heats)
            other = moved(case, degrees)
            if not fits(other):
                continue  # it would freeze
            assert time_of(other, target).likely <= time_of(case, target).likely * 1.002


def test_more_heat_across_the_surface_is_never_slower() -> None:
    for seed in range(EVERYDAY):
        case, target = random_case(seed, seed % 2 == 0)
        around = {
            f: replace(a, h=Range(1.3 * a.h.low, 1.3 * a.h.likely, 1.3 * a.h.high))
            for f, a in case.places[0].around.items()
        }
        more = replace(case, places=(Place(around),))
        assert time_of(more, target).likely < time_of(case, target).likely


def test_the_band_holds_what_is_likely_and_what_is_exact() -> None:
    for seed in range(EVERYDAY):
        case, target = random_case(seed, seed % 2 == 0)
        band, exact = time_of(case, target), time_of(case.exact(), target)
        assert band.low <= band.likely <= band.high
        assert exact.low == exact.likely == exact.high
        assert exact.likely == pytest.approx(band.likely, rel=1e-9)
        course = quick(case)
        for share in (0.1, 0.5, 1.0, 2.0):
            at = course.at(share * band.likely)
            assert at.low <= at.likely <= at.high


def tighter(case: Case, which: str) -> Case:
    """The same with one thing known twice as well."""
    if which == "start":
        return replace(case, start=Range.off_by(case.start.likely, 0.5))
    if which == "size":
        return replace(case, size=Range.within(1.0, 0.01))
    if which == "media":
        return replace(case, degrees=0.5)
    if which == "h":
        around = {
            f: replace(a, h=Range.within(a.h.likely, (a.h.high / a.h.likely - 1) / 2))
            for f, a in case.places[0].around.items()
        }
        return replace(case, places=(Place(around),))
    assert isinstance(case.stuff, Made)
    if which == "conductivity":
        return replace(case, stuff=replace(case.stuff, off=0.03))
    shares = {
        n: Range((s.low + s.likely) / 2, s.likely, (s.high + s.likely) / 2)
        for n, s in case.stuff.composition.shares.items()
    }
    return replace(case, stuff=replace(case.stuff, composition=Composition(shares)))


@pytest.mark.parametrize("which", ["start", "size", "media", "h", "conductivity", "composition"])
def test_what_is_known_better_never_widens_the_band(which: str) -> None:
    for seed in range(EVERYDAY // 2):
        case, target = random_case(seed, seed % 2 == 0)
        wide, narrow = time_of(case, target), time_of(tighter(case, which), target)
        assert narrow.likely == pytest.approx(wide.likely, rel=1e-9)
        assert narrow.low >= wide.low - 1e-6 and narrow.high <= wide.high + 1e-6


@pytest.mark.parametrize(
    "seed", [0, *(pytest.param(s, marks=pytest.mark.slow) for s in range(1, 9))]
)
def test_the_same_holds_of_the_whole_series(seed: int) -> None:
    """Where plain floats don't do: air above, water below."""
    dice = random.Random(seed)
    body = brick(*(dice.uniform(0.02, 0.2) for _ in range(3)))
    water = Around(Range(100, 200, 400), Course.constant(0.5))
    above = Around(Range(6, 9, 13), Course.constant(3.0))
    around = {f: above if f == "top" else water for f in body.faces}
    case = Case(body, Made(random_food(dice)), Range.off_by(60, 1), (Place(around),), (21.0,))
    (here,) = predict(case).targets
    (deeper,) = predict(replace(case, body=body.scaled(1.2))).targets
    (known,) = predict(replace(case, start=Range.exact(60.0))).targets
    assert here.seconds.low < deeper.seconds.low and here.seconds.high < deeper.seconds.high
    assert known.seconds.high - known.seconds.low <= here.seconds.high - here.seconds.low


def test_a_stage_likely_passes_only_by_its_slow_edge() -> None:
    for seed in range(EVERYDAY):
        case, target = random_case(seed, False)
        band = time_of(case, target)
        for seconds in (band.low * 0.9, band.likely, band.high * 1.1):
            (stage,) = stages_of(case, (Deadline(target, seconds),))
            passes, fails = band.high <= seconds, band.low > seconds
            word = "likely passes" if passes else "likely fails" if fails else "too close"
            assert stage.verdict == word


def test_food_that_came_in_hotter_makes_the_early_end_earlier_and_no_other() -> None:
    """Counted from when the clock starts; the slow end, by which a stage passes, stays."""
    for seed in range(EVERYDAY):
        case, target = random_case(seed, False)
        start = case.start
        came = replace(case, start=Range(start.low, start.likely, start.likely + 25.0))
        counted = replace(came, clock=start.likely)
        here, there = time_of(case, target), time_of(counted, target)
        assert there.low <= here.low + 1e-6
        assert there.likely == pytest.approx(here.likely, rel=1e-9)
        assert there.high <= here.high + 1e-6  # it was a degree hotter without a clock
        course = quick(counted)
        assert course.at(0).high <= start.likely + 1e-6


@pytest.mark.slow
def test_five_thousand_more() -> None:
    for seed in range(1000, 6000):
        case, target = random_case(seed, seed % 2 == 0)
        band = time_of(case, target)
        assert 0 < band.low <= band.likely <= band.high and math.isfinite(band.likely)
        thicker = time_of(replace(case, body=case.body.scaled(1.1)), target)
        assert band.likely < thicker.likely


# -- no prediction makes anything pass ------------------------------------------------------------


@pytest.mark.parametrize("room", ["rules", "review", "resolve", "scaling", "records", "reference"])
def test_no_rule_and_no_verdict_reads_a_prediction(room: str) -> None:
    """What a limit is, and whether a log passes, is worked out in rooms that import nothing of
    heat; nor do they import what of `sheet` does."""
    for path in (ROOT / "generator" / room).rglob("*.py"):
        names = {
            name
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
            if isinstance(node, ast.Import | ast.ImportFrom)
            for name in (
                [a.name for a in node.names]
                if isinstance(node, ast.Import)
                else [node.module or ""]
            )
        }
        read = {n for n in names if re.match(r"generator\.(heat|sheet\.heat_)", n)}
        assert not read, f"{path.name} imports {sorted(read)}"


def test_what_a_sheet_is_reads_no_prediction() -> None:
    """Within `sheet` a prediction is read by the warning, by the forecasts, and by the pipeline
    that gathers these: never by the walk, the limits, the batches."""
    readers = {
        path.name
        for path in (ROOT / "generator/sheet").glob("*.py")
        if "heat_" in path.read_text(encoding="utf-8") and not path.name.startswith("heat_")
    }
    assert {n for n in readers if _imports_heat(n)} == {"manual.py"}


def _imports_heat(name: str) -> bool:
    text = (ROOT / "generator/sheet" / name).read_text(encoding="utf-8")
    return re.search(r"^from generator\.(sheet\.heat_|heat)", text, re.M) is not None


def test_a_prediction_adds_warnings_and_takes_nothing_away() -> None:
    """The pipeline only ever appends what the warning yields, and that is never an error."""
    text = (ROOT / "generator/sheet/manual.py").read_text(encoding="utf-8")
    assert text.count("slow_chills(") == 1
    assert "findings.extend(slow_chills(" in text
    warning = (ROOT / "generator/sheet/heat_warning.py").read_text(encoding="utf-8")
    assert re.findall(r'"(error|warning|note)",', warning) == ["warning"]
