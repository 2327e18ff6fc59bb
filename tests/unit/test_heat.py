"""Conduction at its limits, energy kept, stages joined, bands: what must hold of any prediction."""

from __future__ import annotations

import math
import random
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import yaml
from conftest import ROOT
from each_row import each_row
from hypothesis import given, settings
from hypothesis import strategies as st

from generator.files.finding import BrokenData
from generator.heat.axes import cylinder_roots, modes_of, overlap, slab_roots, sphere_roots
from generator.heat.bodies import (
    Body,
    Course,
    Face,
    Stage,
    brick,
    cylinder,
    everywhere,
    in_series,
    slab,
    sphere,
)
from generator.heat.case import Around, Case, Made, Place, Stated
from generator.heat.ice import Material, material_of
from generator.heat.media import load_media
from generator.heat.prediction import predict, time_to
from generator.heat.properties import Composition, Impossible, Properties, unfrozen
from generator.heat.ranges import Range
from generator.heat.series import At, Series, Solid
from generator.heat.volumes import Volumes

K, ALPHA = 0.5, 1.4e-7
CAPACITY = K / ALPHA
FOOD = Solid(K, ALPHA)
MIDDLE = np.array([0.5])
BODIES = [slab(0.04), cylinder(0.03), cylinder(0.03, 0.08), sphere(0.03), brick(0.1, 0.06, 0.04)]
FISH = Composition.of(water=0.80, protein=0.18, fat=0.01, ash=0.01)


def middle_of(body: Body) -> At:
    return tuple(np.array([0.5 if a.kind == "slab" else 0.0]) for a in body.axes)


def mean_of(body: Body) -> At:
    return (None,) * len(body.axes)


# -- limits ---------------------------------------------------------------------------------------


@each_row("body", BODIES, ids=lambda b: b.name)
def test_without_resistance_inside_a_body_is_one_lump(body: Body) -> None:
    """Bi → 0: T = Ta + (T0 - Ta)·exp(-h A t / (ρ c V)), the same everywhere."""
    h = 1e-4
    lasting = CAPACITY * body.volume() / (h * sum(body.areas().values()))
    found = Series(body, [FOOD], [Stage(everywhere(body, h, 10))], 90, lasting / 20)
    times = np.array([0.2, 1.0, 3.0]) * lasting
    expected = 10 + 80 * np.exp(-times / lasting)
    assert found.at(times, middle_of(body)).ravel() == pytest.approx(expected, abs=2e-3)
    assert found.at(times, mean_of(body)).ravel() == pytest.approx(expected, abs=2e-3)


@pytest.mark.parametrize("h", [math.inf, 1e9])
def test_with_a_face_held_at_its_medium(h: float) -> None:
    """Bi → ∞: the sums of Carslaw and Jaeger, 3.3 (slab) and 9.3 (sphere), at the middle."""
    n = np.arange(60)
    for fourier in (0.05, 0.2, 1.0):
        wall = (
            4
            / np.pi
            * np.sum(
                (-1.0) ** n / (2 * n + 1) * np.exp(-((2 * n + 1) ** 2) * np.pi**2 * fourier / 4)
            )
        )
        ball = 2 * np.sum((-1.0) ** n * np.exp(-((n + 1) ** 2) * np.pi**2 * fourier))
        for body, size, theta in ((slab(0.04), 0.02, wall), (sphere(0.03), 0.03, ball)):
            seconds = fourier * size**2 / ALPHA
            found = Series(body, [FOOD], [Stage(everywhere(body, h, 0.0))], 1.0, seconds)
            at = found.at(np.array([seconds]), middle_of(body)).ravel()[0]
            assert at == pytest.approx(float(theta), abs=1e-5)


BIOT = st.one_of(st.just(0.0), st.just(math.inf), st.floats(-12, 12).map(lambda x: float(10.0**x)))


@given(BIOT, BIOT)
def test_roots_are_found_for_any_biot_numbers(first: float, last: float) -> None:
    """One in each (iπ, (i+1)π), and each solves (b² - B0·B1) sin b = b (B0 + B1) cos b."""
    roots = slab_roots(first, last, 12)
    order = np.arange(12)
    assert np.all(roots >= order * np.pi - 1e-12) and np.all(roots <= (order + 1) * np.pi + 1e-12)
    phase = order * np.pi + np.arctan2(first, roots) + np.arctan2(last, roots)
    assert roots == pytest.approx(phase, abs=1e-9)
    still = first == 0 and last == 0
    assert np.all(roots[1:] > 0) and (roots[0] == 0) == still


@given(BIOT)
def test_roots_of_round_bodies(biot: float) -> None:
    ball, rod = sphere_roots(biot, 12), cylinder_roots(biot, 12)
    assert np.all(np.diff(ball) > 0) and np.all(np.diff(rod) > 0)
    order = np.arange(12)
    assert np.all((ball >= order * np.pi) & (ball <= (order + 1) * np.pi))
    if 0 < biot < math.inf:
        off = ball * np.cos(ball) + (biot - 1) * np.sin(ball)
        assert np.abs(off).max() <= 1e-8 * (1 + biot) * (1 + ball.max())


@given(BIOT, BIOT, BIOT, BIOT)
@settings(max_examples=10)
def test_a_projection_keeps_what_a_body_holds(a: float, b: float, c: float, d: float) -> None:
    """Onto functions of other faces the mean goes over whole, as far as the terms go."""
    old, new = modes_of("slab", 0.1, (a, b), 8), modes_of("slab", 0.1, (c, d), 160)
    state = np.exp(-np.arange(8.0))
    moved = overlap(old, new) @ state
    assert float(new.average @ moved) == pytest.approx(float(old.average @ state), abs=0.01)


# -- energy ---------------------------------------------------------------------------------------


def test_energy_closes_in_the_series() -> None:
    """What goes through the faces is what the body gains, within 0.1 %: unlike faces, a ramp, then
    another stage."""
    body = brick(0.12, 0.08, 0.05)
    first = {
        **everywhere(body, 60, Course.ramp(20, 90, 1200)),
        "top": Face(15, Course.constant(140)),
    }
    second = {**everywhere(body, 200, 2.0), "top": Face(8, Course.constant(5))}
    found = Series(body, [FOOD, FOOD], [Stage(first, 3000), Stage(second)], 10, 4)
    areas, gained, exchanged = body.areas(), 0.0, 0.0
    for began, ended, faces in ((0.0, 3000.0, first), (3000.0, 9000.0, second)):
        times = began + (ended - began) * np.linspace(0, 1, 3001) ** 3
        flow = np.zeros_like(times)
        for number, axis in enumerate(body.axes):
            for end, name in enumerate(axis.faces):
                where = tuple(np.array([float(end)]) if i == number else None for i in range(3))
                surface = found.at(times, where).ravel()
                course = faces[name].course
                air = np.array([course.after(t - began) for t in times])
                flow += faces[name].h * areas[name] * (air - surface)
        went = (flow[1:] + flow[:-1]) / 2 * np.diff(times)
        gained, exchanged = gained + float(went.sum()), exchanged + float(np.abs(went).sum())
        held = (
            CAPACITY * body.volume() * (found.at(np.array([ended - 1e-6]), (None,) * 3).item() - 10)
        )
        print(f"{abs(gained - held) / exchanged:.2e} of what was exchanged")
        assert gained == pytest.approx(held, abs=1e-3 * exchanged)


@pytest.mark.parametrize(
    "body", [slab(0.03), sphere(0.02), brick(0.06, 0.05, 0.03)], ids=lambda b: b.name
)
def test_energy_closes_while_it_freezes(body: Body) -> None:
    solver = Volumes(
        body, material_of(FISH, -1.0), [Stage(everywhere(body, 40, -25))], 8.0, 20.0, 8
    )
    solver.at(np.array([4000.0]), middle_of(body))
    whole = 2 ** sum(axis.kind == "slab" for axis in body.axes)
    heat = solver.table.heat_at(np.array(8.0))
    held = float(np.sum((solver._heat - heat) * solver.grid.volumes))
    assert held < 0 and solver.gained == pytest.approx(held, rel=1e-6)
    assert solver.grid.volumes.sum() * whole == pytest.approx(body.volume(), rel=1e-12)


# -- stages, media, and the other solver ----------------------------------------------------------


@each_row("body", BODIES, ids=lambda b: b.name)
def test_a_stage_cut_in_two_is_the_same_stage(body: Body) -> None:
    faces = everywhere(body, 30, 80)
    whole = Series(body, [FOOD], [Stage(faces)], 5, 30)
    cut = Series(body, [FOOD, FOOD], [Stage(faces, 900), Stage(faces)], 5, 30)
    times = np.array([300.0, 899, 930, 1500, 4000])
    where = middle_of(body)
    assert cut.at(times, where) == pytest.approx(whole.at(times, where), abs=2e-3)


def test_a_body_never_starts_over_from_an_even_temperature() -> None:
    """Taken out of the oven the middle goes on warming by the heat that is on its way."""
    body = brick(0.2, 0.15, 0.08)
    oven, room = everywhere(body, 40, 180), everywhere(body, 8, 20)
    found = Series(body, [FOOD, FOOD], [Stage(oven, 3600), Stage(room)], 5, 60)
    times = np.array([3599.0, 3700, 4500, 5400])
    middle = found.at(times, (MIDDLE, MIDDLE, MIDDLE)).ravel()
    mean = found.at(times, (None,) * 3).ravel()
    assert middle[0] < middle[1] < middle[2] < middle[3] < mean[3]
    assert mean[0] > mean[1] > mean[2]
    even = Series(body, [FOOD], [Stage(room)], float(mean[0]), 60).at(
        times[-1:] - 3600, (MIDDLE,) * 3
    )
    assert middle[3] < even.item() - 5


def test_a_step_of_a_medium_is_another_stage() -> None:
    body = brick(0.1, 0.08, 0.05)
    step = Course(((0.0, 90.0), (1200.0, 90.0), (1200.0, 3.0)))
    one = Series(body, [FOOD], [Stage(everywhere(body, 50, step))], 5, 60)
    two = [Stage(everywhere(body, 50, 90), 1200), Stage(everywhere(body, 50, 3))]
    other = Series(body, [FOOD, FOOD], two, 5, 60)
    times = np.array([600.0, 1199, 1300, 3000, 6000])
    where = (MIDDLE, MIDDLE, np.array([0.5, 0.8]))
    assert one.at(times, where) == pytest.approx(other.at(times, where), abs=2e-3)


@each_row("body", BODIES, ids=lambda b: b.name)
def test_an_insulated_body_keeps_its_heat_and_evens_out(body: Body) -> None:
    """Between two places, wrapped: the mean stays, the middle comes to it, and then it cools."""
    stages = [
        Stage(everywhere(body, 100, 90), 600),
        Stage(everywhere(body, 0, 20), 40_000),
        Stage(everywhere(body, 50, 2)),
    ]
    found = Series(body, [FOOD] * 3, stages, 5, 30)
    times = np.array([600.0, 700, 40_500, 44_000])
    mean = found.at(times, mean_of(body)).ravel()
    middle = found.at(times, middle_of(body)).ravel()
    assert mean[1:3] == pytest.approx([mean[0]] * 2, abs=0.05)
    assert middle[0] < mean[0] - 0.1 and middle[2] == pytest.approx(mean[2], abs=0.6)
    assert mean[3] < mean[2] - 5


def test_early_temperatures_do_not_overshoot() -> None:
    for body in BODIES:
        found = Series(body, [FOOD], [Stage(everywhere(body, 500, 95))], 5, 60)
        early = found.at(np.linspace(0, 90, 31), middle_of(body)).ravel()
        assert early[0] == 5 and early.max() < 20 and np.all(np.diff(early) >= -1e-3), body.name


def even_material(k: float, capacity: float) -> Material:
    celsius = np.linspace(-60, 200, 200)
    return Material(celsius, capacity / 1000 * celsius, np.full(200, k), 1000.0, -200.0)


@pytest.mark.parametrize("body", BODIES[:4], ids=lambda b: b.name)
def test_both_solvers_agree(body: Body) -> None:
    """Series and finite volumes: two stages, the second with unlike faces where there are two."""
    second = everywhere(body, 25, 3)
    if "top" in body.faces:
        second["top"] = Face(8, Course.constant(10))
    stages = [Stage(everywhere(body, 60, Course.ramp(20, 95, 300)), 1500), Stage(second)]
    ours = Series(body, [FOOD, FOOD], stages, 10, 20)
    other = Volumes(body, even_material(K, CAPACITY), stages, 10, 5, None, 2.0)
    times = np.array([400.0, 1400, 2000, 5000])
    where = tuple(np.array([0.3, 0.6]) for _ in body.axes)
    assert other.at(times, where) == pytest.approx(ours.at(times, where), abs=0.1)


def test_walls_in_series() -> None:
    assert in_series(600, [(0.006, 1.5)]) == pytest.approx(1 / (1 / 600 + 0.004))
    assert in_series(math.inf, [(0.006, 1.5)]) == pytest.approx(250)
    assert in_series(600, []) == pytest.approx(600) and in_series(0, [(0.006, 1.5)]) == 0


def test_a_course_of_a_medium() -> None:
    course = Course(((0, 20), (60, 80), (60, 50), (120, 50)))
    assert [course.after(t) for t in (0, 30, 60, 90, 500)] == [20, 50, 50, 50, 50]
    assert course.before(60) == 80 and course.steepest == pytest.approx(1.0)
    assert course.moved(5).extremes == (25, 85)
    with pytest.raises(Impossible):
        Course(((60, 20), (0, 80)))


# -- predictions ----------------------------------------------------------------------------------

PAN = brick(0.325, 0.176, 0.060)


def around(body: Body, h: Range, celsius: float) -> dict[str, Around]:
    return {face: Around(h, Course.constant(celsius)) for face in body.faces}


def case_of(body: Body, h: float, air: float, start: float, *targets: float) -> Case:
    stuff = Stated(Range.within(0.53, 0.07), Range.exact(1080 * 3410.0))
    place = Place(around(body, Range.within(h, 0.25), air))
    return Case(body, stuff, Range.off_by(start, 1.0), (place,), targets)


SIZES = st.tuples(*[st.floats(0.015, 0.2)] * 3)


@given(SIZES, st.floats(1.01, 1.5), st.floats(2, 300))
@settings(max_examples=15)
def test_thicker_never_cools_faster(
    sizes: tuple[float, float, float], more: float, h: float
) -> None:
    thin, thick = brick(*sizes), brick(sizes[0], sizes[1], sizes[2] * more)
    times = [time_to(case_of(body, h, 2, 60), 21).seconds for body in (thin, thick)]
    assert times[0] <= times[1] * (1 + 1e-6)


@given(SIZES, st.floats(80, 150), st.floats(1, 60), st.floats(2, 300))
@settings(max_examples=15)
def test_a_hotter_medium_is_never_slower(
    sizes: tuple[float, float, float], air: float, hotter: float, h: float
) -> None:
    body = brick(*sizes)
    slow, fast = (time_to(case_of(body, h, t, 5), 75).seconds for t in (air, air + hotter))
    assert fast <= slow * (1 + 1e-6)


@given(SIZES, st.floats(2, 300), st.floats(1.05, 3))
@settings(max_examples=10)
def test_a_higher_coefficient_is_never_slower(
    sizes: tuple[float, float, float], h: float, more: float
) -> None:
    body = brick(*sizes)
    slow, fast = (time_to(case_of(body, c, 2, 60), 21).seconds for c in (h, h * more))
    assert fast <= slow * (1 + 1e-6)


def tightened(case: Case, share: float) -> Case:
    """The same case with every input's bounds this much nearer to its likely figure."""

    def nearer(r: Range) -> Range:
        return Range(
            r.likely - share * (r.likely - r.low), r.likely, r.likely + share * (r.high - r.likely)
        )

    assert isinstance(case.stuff, Stated)
    places = tuple(
        replace(p, around={f: replace(a, h=nearer(a.h)) for f, a in p.around.items()})
        for p in case.places
    )
    return replace(
        case,
        stuff=replace(case.stuff, conductivity=nearer(case.stuff.conductivity)),
        start=nearer(case.start),
        size=nearer(case.size),
        degrees=case.degrees * share,
        places=places,
    )


@given(SIZES, st.floats(3, 200), st.booleans(), st.floats(0.1, 0.9))
@settings(max_examples=8)
def test_the_band_holds_the_likely_time_and_never_widens(
    sizes: tuple[float, float, float], h: float, heats: bool, share: float
) -> None:
    body = brick(*sizes)
    case = case_of(body, h, 92, 5, 75) if heats else case_of(body, h, 3, 60, 21)
    wide = predict(case).targets[0].seconds
    tight = predict(tightened(case, share)).targets[0].seconds
    exact = predict(case.exact()).targets[0].seconds
    assert wide.low <= tight.low <= tight.likely <= tight.high <= wide.high
    assert wide.likely == tight.likely == exact.low == exact.high


def test_each_row_of_a_course_holds_its_likely_temperature() -> None:
    found = predict(case_of(PAN, 15, 3, 80, 57, 21, 5))
    assert len(found.rows) == 61 and found.rows[0].celsius == Range(79, 80, 81)
    for row in found.rows:
        assert row.celsius.low <= row.celsius.likely <= row.celsius.high
    times = [t.seconds.likely for t in found.targets]
    assert times == sorted(times)


def test_bands_are_no_wider_than_those_of_drawn_samples() -> None:
    """300 draws of the same inputs gave a cook ±11 %, a chill to 21 °C -25/+45 %, to 5 °C +90 %."""
    bath = {**around(PAN, Range.within(600, 0.20), 92)}
    bath["top"] = Around(Range.within(20, 0.20), Course.constant(92))
    cook = replace(case_of(PAN, 600, 92, 5, 75), places=(Place(bath),))
    band = predict(cook).targets[0].seconds
    assert band.low / band.likely >= 0.89 and band.high / band.likely <= 1.11
    for h in (8, 15, 30):
        to_21, to_5 = (t.seconds for t in predict(case_of(PAN, h, 3, 80, 21, 5)).targets)
        assert to_21.low / to_21.likely >= 0.75 and to_21.high / to_21.likely <= 1.45
        assert to_5.high / to_5.likely <= 1.90


@pytest.mark.parametrize(
    ("h", "air", "start", "target"), [(15, 3, 60, 21), (400, 92, 5, 75), (30, 1, 60, 5)]
)
def test_nine_draws_in_ten_lie_in_the_band(
    h: float, air: float, start: float, target: float
) -> None:
    """Every input drawn by itself, its bounds holding nine of ten: so does the band."""
    case = case_of(PAN, h, air, start, target)
    band = predict(case).targets[0].seconds
    dice, inside = random.Random(20), 0
    draws = 120
    for _ in range(draws):
        off = [dice.gauss(0, 1 / 1.645) for _ in range(5)]
        body = PAN.scaled(1 + 0.02 * off[0])
        stuff = Stated(Range.exact(0.53 * (1 + 0.07 * off[1])), Range.exact(1080 * 3410.0))
        place = Place(around(body, Range.exact(h * max(1 + 0.25 * off[2], 0.05)), air + off[3]))
        drawn = Case(body, stuff, Range.exact(start + off[4]), (place,), (target,))
        inside += band.low <= time_to(drawn.exact(), target).seconds <= band.high
    print(f"{inside} of {draws} draws in {band.low / 60:.0f} to {band.high / 60:.0f} min")
    assert 0.83 * draws <= inside <= 0.97 * draws


def test_what_may_never_be_reached_has_no_late_edge() -> None:
    found = predict(case_of(PAN, 15, 4.5, 60, 5)).targets[0].seconds
    assert math.isfinite(found.likely) and math.isinf(found.high)
    never = predict(case_of(PAN, 15, 5.5, 60, 5)).targets[0].seconds
    assert math.isinf(never.likely) and math.isfinite(never.low)


def test_the_hot_spot_leaves_the_middle_when_food_moves() -> None:
    """Seared and then chilled, the last point above 38 °C lies between the middle and the face."""
    stuff = Stated(Range.exact(0.5), Range.exact(0.5 / 1.4e-7))
    hot = Place(around(slab(0.08), Range.exact(400), 95), seconds=600)
    cold = Place(around(slab(0.08), Range.exact(60), 2))
    case = Case(slab(0.08), stuff, Range.exact(5), (hot, cold), (38,)).exact()
    found = time_to(case, 38)
    assert 0 < found.seconds < 3600
    assert 0.55 < found.where[0] < 0.99


def test_freezing_widens_with_what_is_not_known() -> None:
    body = slab(0.03)
    place = (Place(around(body, Range.within(30, 0.25), -25)),)
    known = Case(body, Made(FISH, Range.exact(-1.0), 0.0), Range.exact(5), place, (-10,))
    unknown = replace(known, stuff=Made(FISH, None, 0.15))
    narrow, wide = (predict(one).targets[0].seconds for one in (known, unknown))
    assert narrow.low <= narrow.likely <= narrow.high
    assert wide.high - wide.low > narrow.high - narrow.low


# -- what no body can be, and the media -----------------------------------------------------------


def test_what_no_body_can_be() -> None:
    for wrong in (
        lambda: slab(0.0),
        lambda: brick(0.1, -0.1, 0.1),
        lambda: sphere(math.inf),
        lambda: Solid(0.0, 1e-7),
        lambda: Properties(0.5, 1000, -1),
        lambda: Face(-1, Course.constant(5)),
        lambda: Stage({}, 0.0),
        lambda: Composition.of(water=0.5),
        lambda: Composition.of(water=1.2, fat=-0.2),
        lambda: Composition({"mud": Range.exact(1.0)}),
        lambda: Composition({"water": Range.exact(1.0)}, air=1.0),
        lambda: material_of(FISH, 1.0),
        lambda: Case(slab(0.1), Made(FISH), Range.exact(5), (), ()),
        lambda: Case(slab(0.1), Made(FISH), Range.exact(5), (Place({}),), ()),
    ):
        with pytest.raises(Impossible):
            wrong()
    with pytest.raises(ValueError):
        Range(2, 1, 3)


def test_air_and_a_share_that_is_otherwise() -> None:
    whipped = Composition({n: Range.exact(s) for n, s in FISH.likely.items()}, air=0.5)
    full, light = unfrozen(FISH, 20.0), unfrozen(whipped, 20.0)
    assert light.density == pytest.approx(full.density / 2)
    assert 0.2 * full.conductivity < light.conductivity < 0.5 * full.conductivity
    wetter = FISH.with_share("water", 0.9).likely
    assert sum(wetter.values()) == pytest.approx(1) and wetter["water"] == pytest.approx(0.9)
    assert wetter["protein"] / wetter["fat"] == pytest.approx(18)


def test_media_follow_from_what_was_read() -> None:
    """Each range by the rule in the file's head, and each source is known."""
    known = yaml.safe_load((ROOT / "shared/sources.yaml").read_text("utf-8"))
    media = load_media(ROOT / "shared")
    assert {"still-air", "oven", "steam", "stirred-water"} <= set(media)
    for medium in media.values():
        figures = sorted(f.h for f in medium.read)
        assert all(f.source in known for f in medium.read), medium.id
        bounds = any(re.search(r"the least|the most|typically less", f.of) for f in medium.read)
        assert medium.h.low <= figures[0] and figures[-1] <= medium.h.high, medium.id
        if not bounds:
            assert medium.h.low == pytest.approx(0.7 * figures[0], rel=0.02)
            assert medium.h.high == pytest.approx(1.3 * figures[-1], rel=0.02)
            assert figures[0] <= medium.h.likely <= figures[-1]
        else:
            mean = math.sqrt(figures[0] * figures[-1])
            assert medium.h.likely == pytest.approx(mean, rel=0.05), medium.id


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "empty"),
        ("media: 5\n", "no entries"),
        ("media:\n  air: {name: air}\n", "air"),
        (
            "media:\n  air: {name: a, words: b, range: {low: x, likely: 1, high: 2}, read: []}\n",
            "not a figure",
        ),
        (
            "media:\n  air: {name: a, words: b, range: {low: 3, likely: 1, high: 2}, read: []}\n",
            "not in order",
        ),
        (
            "media:\n  air: {name: a, words: b, range: {low: 1, likely: 1, high: 2}, read: []}\n",
            "a source",
        ),
    ],
)
def test_media_that_cannot_be_used(tmp_path: Path, text: str, said: str) -> None:
    (tmp_path / "media.yaml").write_text(text, "utf-8")
    with pytest.raises(BrokenData) as broken:
        load_media(tmp_path)
    assert said in str(broken.value)


def test_media_are_read_again_once_their_file_changed(tmp_path: Path) -> None:
    text = (ROOT / "shared/media.yaml").read_text("utf-8")
    (tmp_path / "media.yaml").write_text(text, "utf-8")
    first = load_media(tmp_path)
    assert load_media(tmp_path) is first
    assert "name: still air," in text
    (tmp_path / "media.yaml").write_text(
        text.replace("name: still air,", "name: quiet air,", 1), "utf-8"
    )
    assert load_media(tmp_path)["still-air"].name.startswith("quiet air,")
