"""Published worked examples of heating, chilling, freezing and thawing, and exact answers beside them.

Each case names its book and example. A figure read from a chart is up to 4 °C or 8 % off the exact
series, so the published answer is held loosely and the exact one tightly. `exact` figures are sums
of 40 to 60 terms, worked out apart from this program; cases of series F and C5 to C7 come from two
independent solvers that agree.
"""

from __future__ import annotations

import csv
import datetime
import math
from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from each_row import each_row

from generator.heat.axes import modes_of, slab_roots
from generator.heat.bodies import (
    Body,
    Course,
    Face,
    Stage,
    brick,
    cylinder,
    everywhere,
    slab,
    sphere,
)
from generator.heat.case import Around, Case, Made, Place, Stated
from generator.heat.freezing import (
    PLANK,
    Freezing,
    cleland_earle_seconds,
    pham_seconds,
    pham_shape,
    plank_brick,
    plank_seconds,
)
from generator.heat.ice import (
    LATENT,
    bound_water,
    enthalpy_by_chen,
    freezing_point,
    frozen_specific_heat_by_chen,
    ice_by_tchigeov,
    latent_heat,
    material_of,
    specific_heat_by_chen,
    warm_material,
)
from generator.heat.prediction import time_to
from generator.heat.properties import (
    Composition,
    Impossible,
    conductivity_of,
    density_of,
    levy,
    parallel,
    series,
    specific_heat_of,
    unfrozen,
)
from generator.heat.quick import core_of
from generator.heat.ranges import Range
from generator.heat.series import At, Series, Solid
from generator.heat.volumes import Volumes
from generator.heat.wet import boils_at, pressure_at, saturation
from generator.measures.temperature import Temperature
from generator.review.log_reduction import equivalent_minutes
from generator.review.readings import Reading

HERE = Path(__file__).parent
BAKE = Composition.of(water=0.68, protein=0.08, fat=0.06, carbohydrate=0.14, fibre=0.015, ash=0.025)
BEEF = Composition.of(water=0.745, protein=0.21, fat=0.03, ash=0.015)
FISH = Composition.of(water=0.80, protein=0.18, fat=0.01, ash=0.01)
MIDDLE = np.array([0.5])


def rows_of(name: str) -> list[dict[str, str]]:
    with (HERE / name).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def temperatures(
    body: Body,
    k: float,
    alpha: float,
    faces: Mapping[str, Face],
    start: float,
    seconds: float,
    where: At,
) -> np.ndarray:
    """By series, at one time."""
    found = Series(body, [Solid(k, alpha)], [Stage(faces)], start, seconds)
    return found.at(np.array([seconds]), where)[0].ravel()


def seconds_to(
    body: Body, k: float, alpha: float, h: float, air: float, start: float, to: float
) -> float:
    """When the slowest point of a body with the same all round it reaches a temperature."""
    around = {f: Around(Range.exact(h), Course.constant(air)) for f in body.faces}
    stuff = Stated(Range.exact(k), Range.exact(k / alpha))
    case = Case(body, stuff, Range.exact(start), (Place(around),), (to,)).exact()
    return time_to(case, to).seconds


# -- A. properties --------------------------------------------------------------------------------


def test_ice_in_a_beef_carcass() -> None:
    """ASHRAE Handbook—Refrigeration, Thermal properties of foods, Example 1."""
    ice = float(ice_by_tchigeov(0.5821, -1.7, -20.0))
    assert ice == pytest.approx(0.51825, abs=1e-4)
    assert ice == pytest.approx(0.52, abs=0.005)
    assert 150 * ice == pytest.approx(77.74, abs=0.02)


def test_heat_of_cooling_lamb() -> None:
    """The same, Example 2: 150 kg from 10 to 0 °C. It works out with water's 4.1762 alone."""
    lamb = Composition.of(water=0.7342, protein=0.2029, fat=0.0525, ash=0.0106)
    specific = unfrozen(lamb, 5.0).specific_heat
    assert specific == pytest.approx(3590.8, rel=1e-3)
    assert 150 * specific * 10 / 1000 == pytest.approx(5390, rel=3e-3)


@pytest.mark.parametrize(("celsius", "published"), [(-20, 48.79), (-1.7, 243.14), (10, 280.38)])
def test_enthalpy_of_beef_by_chen(celsius: float, published: float) -> None:
    """The same, Example 3."""
    found = enthalpy_by_chen(1 - 0.5821, 0.5821, 0.4 * 0.1748, -1.7, celsius)
    assert found / 1000 == pytest.approx(published, abs=0.02)


def test_heat_of_freezing_beef() -> None:
    """The same, Example 3: 150 kg from 10 to -20 °C; 34 700 kJ by Chen, 1 % more by constituents."""

    def chen(celsius: float) -> float:
        return enthalpy_by_chen(1 - 0.5821, 0.5821, 0.4 * 0.1748, -1.7, celsius)

    assert 0.15 * (chen(10) - chen(-20)) == pytest.approx(34_700, rel=1.5e-3)
    carcass = Composition.of(water=0.5821, protein=0.1748, fat=0.2331, ash=0.01)
    material = material_of(carcass, -1.7)
    low, high = np.interp([-20, 10], material.celsius, material.enthalpy)
    assert 0.15 * float(high - low) == pytest.approx(35_068, rel=1e-3)


@each_row("row", rows_of("foods_thermal.csv"), ids=lambda r: r["id"])
def test_foods_of_the_handbook(row: dict[str, str]) -> None:
    """ASHRAE Table 3: heat above and below freezing, latent heat, and the freezing point."""
    share = {n: float(row[f"{n}_pct"]) / 100 for n in ("water", "protein", "fat", "fibre", "ash")}
    whole = float(row["carbohydrate_with_fibre_pct"]) / 100
    food = Composition.of(**share, carbohydrate=whole - share["fibre"])
    above = 1000 * float(row["cp_above_kj_kg_k"])
    assert specific_heat_by_chen(1 - share["water"]) == pytest.approx(above, rel=9e-3)
    sum_of_parts = unfrozen(food, 5.0).specific_heat
    assert 0.976 * above <= sum_of_parts <= above
    point, solids = float(row["freezes_at_c"]), 1 - share["water"]
    below = frozen_specific_heat_by_chen(solids, share["water"], bound_water(food), point, -40.0)
    assert below == pytest.approx(1000 * float(row["cp_below_kj_kg_k"]), rel=0.03)
    if row["latent_kj_kg"]:
        assert latent_heat(food) / 1000 == pytest.approx(float(row["latent_kj_kg"]), abs=1)
    bounds = freezing_point(food)
    assert bounds.low <= point <= bounds.high


@each_row(
    ("name", "rho", "cp", "k"),
    [
        ("protein", 1319.532, 2031.853, 0.20164),
        ("fat", 917.239, 2011.746, 0.17512),
        ("carbohydrate", 1592.891, 1585.674, 0.22743),
        ("fibre", 1304.182, 1880.652, 0.20704),
        ("ash", 2418.187, 1128.919, 0.35648),
        ("water", 995.740, None, 0.60366),
    ],
)
def test_constituents_at_20_degrees(name: str, rho: float, cp: float | None, k: float) -> None:
    """CoolProp 8.0.0, its fluids of foods after Choi and Okos. Its water's heat is the 4.1289 form."""
    assert float(density_of(name, 20.0)) == pytest.approx(rho, rel=1e-5)
    assert float(conductivity_of(name, 20.0)) == pytest.approx(k, rel=2e-5)
    if cp is not None:
        assert float(specific_heat_of(name, 20.0)) == pytest.approx(cp, rel=1e-5)
    else:
        assert float(specific_heat_of(name, 20.0)) == pytest.approx(4180, rel=2e-3)


@pytest.mark.parametrize(
    ("celsius", "k", "rho", "cp"),
    [(5, 0.4823, 1091, 3394), (40, 0.52658, 1083.12, 3414.01), (60, 0.5460, 1075, 3428)],
)
def test_a_mixture(celsius: float, k: float, rho: float, cp: float) -> None:
    found = unfrozen(BAKE, celsius)
    assert found.conductivity == pytest.approx(k, rel=2e-4)
    assert found.density == pytest.approx(rho, rel=5e-4)
    assert found.specific_heat == pytest.approx(cp, rel=2e-4)


def test_mixture_rules() -> None:
    assert unfrozen(BAKE, 40.0).diffusivity == pytest.approx(1.4240e-7, rel=1e-4)
    assert float(series(BAKE.likely, 35.0)) == pytest.approx(0.4186, rel=2e-4)
    assert float(levy(0.6, 0.2, 0.75)) == pytest.approx(0.4692, abs=1e-4)
    assert float(parallel(BAKE.likely, 40.0)) == pytest.approx(0.52658, rel=1e-5)


# -- B. conduction --------------------------------------------------------------------------------


@each_row("row", rows_of("eigenvalues.csv"), ids=lambda r: r["id"])
def test_first_roots_and_coefficients(row: dict[str, str]) -> None:
    """Çengel, Table 4-2, to its four decimals: the half thickness of a wall, the radius of the rest."""
    kind = row["shape"]
    assert kind in ("slab", "cylinder", "sphere")
    found = modes_of(kind, 1.0, (0.0, float(row["biot"])), 3)  # type: ignore[arg-type]
    assert found.roots[0] == pytest.approx(float(row["zeta1"]), abs=6e-5)
    assert found.ones[0] == pytest.approx(float(row["c1"]), abs=6e-5)


@each_row("row", rows_of("eigenvalues_unlike_faces.csv"), ids=lambda r: r["id"])
def test_roots_of_unlike_faces(row: dict[str, str]) -> None:
    roots = slab_roots(float(row["biot_first"]), float(row["biot_last"]), 4)
    assert roots == pytest.approx([float(row[f"root{n}"]) for n in (1, 2, 3, 4)], abs=1e-8)


def test_boiling_an_egg() -> None:
    """Çengel, Heat and Mass Transfer, Example 4-3."""
    minutes = seconds_to(sphere(0.025), 0.627, 0.151e-6, 1200, 95, 5, 70) / 60
    assert minutes == pytest.approx(14.4, rel=5e-3)
    assert minutes == pytest.approx(14.358, abs=0.005)


def test_a_pipe_wall_heated_by_oil() -> None:
    """Incropera, 6th edition, Example 5.4: one face insulated."""
    faces = {"bottom": Face(0.0, Course.constant(60)), "top": Face(500, Course.constant(60))}
    where: At = (np.array([0.0, 1.0]),)
    cold, hot = temperatures(slab(0.040), 63.9, 18.8e-6, faces, -20, 480, where)
    assert cold == pytest.approx(42.9, abs=0.15)
    assert (cold, hot) == pytest.approx((43.017, 45.364), abs=2e-3)
    assert 500 * (hot - 60) == pytest.approx(-7318, abs=2)


def test_brass_plates_in_an_oven() -> None:
    """Çengel, Example 4-4, by chart."""
    body = slab(0.04)
    where: At = (np.array([1.0]),)
    (surface,) = temperatures(body, 110, 33.9e-6, everywhere(body, 120, 500), 20, 420, where)
    assert surface == pytest.approx(281.5, abs=2.5)
    assert surface == pytest.approx(279.58, abs=0.02)


def test_a_long_steel_shaft() -> None:
    """Çengel, Example 4-5, by chart: centre, and the heat given off per metre."""
    body = cylinder(0.1)
    faces = everywhere(body, 80, 200)
    (centre,) = temperatures(body, 14.9, 3.95e-6, faces, 600, 2700, (np.array([0.0]),))
    (mean,) = temperatures(body, 14.9, 3.95e-6, faces, 600, 2700, (None,))
    heat = 7900 * 477 * math.pi * 0.1**2 * (600 - mean) / 1000
    assert centre == pytest.approx(360, abs=5)
    assert centre == pytest.approx(364.30, abs=0.02)
    assert heat == pytest.approx(29_360, rel=0.03)
    assert heat == pytest.approx(30_106, rel=2e-3)


def test_a_short_brass_cylinder() -> None:
    """Çengel, Examples 4-8 and 4-9, by chart."""
    body = cylinder(0.05, 0.12)
    faces = everywhere(body, 60, 25)
    where: At = (np.array([0.0]), np.array([0.5, 1.0]))
    centre, top = temperatures(body, 110, 3.39e-5, faces, 120, 900, where)
    (mean,) = temperatures(body, 110, 3.39e-5, faces, 120, 900, (None, None))
    heat = 8530 * 380 * body.volume() * (120 - mean) / 1000
    assert (centre, top) == pytest.approx((63, 62), abs=0.5)
    assert (centre, top) == pytest.approx((62.73, 62.12), abs=0.01)
    assert heat == pytest.approx(172, rel=0.03)
    assert heat == pytest.approx(176.35, rel=1e-3)


def test_a_short_aluminium_cylinder_off_its_centre() -> None:
    """Holman (SI), Examples 4-9 and 4-10, by chart."""
    body = cylinder(0.025, 0.10)
    faces = everywhere(body, 525, 70)
    where: At = (np.array([0.5]), np.array([0.0625]))
    (point,) = temperatures(body, 215, 8.4e-5, faces, 200, 60, where)
    (mean,) = temperatures(body, 215, 8.4e-5, faces, 200, 60, (None, None))
    heat = 2707 * 896 * body.volume() * (200 - mean) / 1000
    assert point == pytest.approx(104.5, abs=4)
    assert point == pytest.approx(108.19, abs=0.02)
    assert heat == pytest.approx(40.2, rel=0.08)
    assert heat == pytest.approx(43.39, rel=1e-3)


def test_a_long_iron_beam() -> None:
    """Som, Example 4.10, by chart: a beam is a brick without ends."""
    body = brick(100.0, 0.30, 0.20)
    seconds = seconds_to(body, 73, 2.034e-5, 100, 730, 30, 310)
    assert seconds == pytest.approx(1200, rel=0.07)
    assert seconds == pytest.approx(1281, abs=1)


def test_butter_on_a_plate() -> None:
    """Geankoplis, 3rd edition, Example 5.3-2, by chart: the bottom insulated."""
    faces = {"bottom": Face(0.0, Course.constant(297.1)), "top": Face(8.52, Course.constant(297.1))}
    where: At = (np.array([1.0, 1 - 0.0254 / 0.0462, 0.0]),)
    found = temperatures(slab(0.0462), 0.197, 0.197 / (998 * 2300), faces, 277.6, 18_000, where)
    assert found == pytest.approx([292.2, 288.3, 287.4], abs=0.3)
    assert found == pytest.approx([292.389, 288.313, 287.169], abs=2e-3)


def test_a_can_of_pea_puree() -> None:
    """Geankoplis, Examples 5.3-3 and 5.3-4, by chart: long, then with its ends."""
    long, can = cylinder(0.0681 / 2), cylinder(0.0681 / 2, 0.1016)
    k, alpha = 0.830, 2.007e-7
    centre: At = (np.array([0.0]),)
    (of_long,) = temperatures(long, k, alpha, everywhere(long, 4540, 115.6), 29.4, 2700, centre)
    of_can = temperatures(
        can, k, alpha, everywhere(can, 4540, 115.6), 29.4, 2700, (*centre, MIDDLE)
    )[0]
    assert of_long == pytest.approx(104.4, abs=2) and of_can == pytest.approx(106.6, abs=2)
    assert of_long == pytest.approx(106.08, abs=0.01)
    assert of_can == pytest.approx(108.39, abs=0.01)


def test_chilling_a_beef_slab() -> None:
    """Geankoplis, Example 5.5-1, by chart."""
    hours = seconds_to(slab(0.203), 0.498, 0.498 / (1073 * 3480), 39.7, 1.7, 37.8, 10) / 3600
    assert hours == pytest.approx(19.3, rel=0.04)
    assert hours == pytest.approx(18.61, abs=0.01)


def test_warming_an_orange() -> None:
    """Janna, Engineering Heat Transfer, Example 4.4, by chart."""
    hours = seconds_to(sphere(0.0525), 0.431, 0.431 / (998 * 2000), 6, 23, 4, 20) / 3600
    assert hours == pytest.approx(3.72, rel=0.03)
    assert hours == pytest.approx(3.797, abs=2e-3)


def test_a_sphere_in_two_steps() -> None:
    """Incropera, Example 5.5: cooled in air, then in water. The second stage starts from the
    temperatures the first leaves."""
    body = sphere(0.005)
    stuff = Stated(Range.exact(20), Range.exact(3000.0 * 1000))

    def round_it(h: float) -> dict[str, Around]:
        return {"surface": Around(Range.exact(h), Course.constant(20))}

    air = Case(body, stuff, Range.exact(400), (Place(round_it(10)),), (335,)).exact()
    assert time_to(air, 335).seconds == pytest.approx(94, rel=5e-3)  # lumped it is 93.7
    both = Case(
        body,
        stuff,
        Range.exact(400),
        (Place(round_it(10), until=335), Place(round_it(6000))),
        (50,),
    ).exact()
    found = time_to(both, 50).seconds
    assert found == pytest.approx(3.08, rel=0.04)
    assert found == pytest.approx(2.979, rel=2e-3)


def test_the_frostbite_limit() -> None:
    """Çengel, Example 4-11: surface 2 °C while the centre is 8 °C, in air of -15 °C. Late, the ratio
    of both is cos ζ = 17/23, which h = 20.2 gives."""
    body = slab(0.030)
    where: At = (np.array([0.5, 1.0]),)
    centre, surface = temperatures(body, 0.45, 1.3e-7, everywhere(body, 20.2, -15), 25, 9000, where)
    assert (surface + 15) / (centre + 15) == pytest.approx(17 / 23, abs=5e-4)
    assert pytest.approx(20, rel=0.015) == 20.2


def test_a_can_in_boiling_water() -> None:
    """Singh and Heldman, Example 4.27, a 303 × 406 can; the exact answer."""
    can = cylinder(0.0405, 0.111)
    alpha = 0.34 / (900 * 3500)
    found = temperatures(
        can, 0.34, alpha, everywhere(can, 2000, 100), 35, 1800, (np.array([0.0]), MIDDLE)
    )[0]
    assert found == pytest.approx(49.62, abs=0.01)
    assert found == pytest.approx(48.5, abs=1.5)


def test_a_solid_without_an_end() -> None:
    """Geankoplis, Example 5.3-1: the ground, as a slab so thick that its other face feels nothing."""
    faces = {
        "bottom": Face(0.0, Course.constant(-17.8)),
        "top": Face(11.36, Course.constant(-17.8)),
    }
    (surface,) = temperatures(slab(2.0), 0.865, 4.65e-7, faces, 15.6, 18_000, (np.array([1.0]),))
    assert surface == pytest.approx(-5.2, abs=0.1)
    assert surface == pytest.approx(-5.168, abs=0.01)


# -- C. freezing and thawing ----------------------------------------------------------------------


def test_plank_of_a_sphere() -> None:
    """Singh and Heldman, Example 7.1: 0.72 h at h = 50."""

    def hours(h: float) -> float:
        food = Freezing(250e3, 3600, 1800, 1.2, 1000, 1000, -1.25, -1.25, -1.25, -40, h)
        return plank_seconds(0.07, PLANK["sphere"], food) / 3600

    assert hours(50) == pytest.approx(0.72, rel=5e-3)
    assert hours(50) == pytest.approx(0.7231, rel=1e-4) and hours(30) == pytest.approx(
        1.0018, rel=1e-4
    )


def test_pham_of_a_sphere() -> None:
    """Singh and Heldman, Example 7.2: 3745 s."""
    food = Freezing(0.75 * 333.2e3, 3600, 1800, 1.2, 1000, 950, -1.25, 10, -18, -40, 50)
    assert pham_seconds(0.035, 3, food) == pytest.approx(3745, rel=2e-3)
    assert pham_seconds(0.035, 3, food) == pytest.approx(3743.2, rel=1e-4)


def test_plank_of_a_beef_block() -> None:
    """Singh and Heldman: 1.0 × 0.6 × 0.25 m, P 0.3 and R 0.085 read from the chart, 18.7 h."""
    p, r = plank_brick(2.4, 4.0)
    assert (p, r) == pytest.approx((0.3, 0.085), abs=5e-4)
    assert r == pytest.approx(0.08467, abs=1e-5)
    food = Freezing(0.745 * 333.22e3, 3600, 1800, 1.108, 1050, 1050, -1.75, -1.75, -1.75, -30, 30)
    assert plank_seconds(0.25, (p, r), food) / 3600 == pytest.approx(18.7, rel=0.01)


def test_limits_of_the_shape_factors() -> None:
    assert plank_brick(1.0, 1.0) == pytest.approx((1 / 6, 1 / 24), abs=1e-4)
    assert plank_brick(1e5, 1e5) == pytest.approx((1 / 2, 1 / 8), abs=1e-4)
    assert pham_shape(1e5, 1e5, 5.0) == pytest.approx(1.0, abs=1e-4)


def frozen_hours(
    body: Body, food: Composition, point: float, h: float, air: float, start: float, to: float
) -> float:
    around = {f: Around(Range.exact(h), Course.constant(air)) for f in body.faces}
    stuff = Made(food, Range.exact(point), 0.0)
    return (
        time_to(Case(body, stuff, Range.exact(start), (Place(around),), (to,)).exact(), to).seconds
        / 3600
    )


@pytest.mark.parametrize(
    ("thickness", "h", "air", "start", "solver", "pham", "cleland", "plank"),
    [
        (0.100, 30, -30, 5, 6.42, 7.07, 6.35, 5.39),
        (0.050, 15, -18, 4, 8.63, 9.06, 7.76, 7.07),
        (0.0635, 17, -28.9, 0, 5.56, 6.24, 5.49, 5.04),
    ],
)
def test_freezing_a_slab_of_beef(
    thickness: float,
    h: float,
    air: float,
    start: float,
    solver: float,
    pham: float,
    cleland: float,
    plank: float,
) -> None:
    """To -10 °C in the centre: an independent enthalpy solver, and the formulas beside it."""
    found = frozen_hours(slab(thickness), BEEF, -1.0, h, air, start, -10.0)
    assert found == pytest.approx(solver, rel=0.01)
    material = material_of(BEEF, -1.0)
    k = float(np.interp(-20, material.celsius, material.conductivity))
    to_minus_10 = float(np.diff(np.interp([-10, -1], material.celsius, material.heat))[0])
    latent = LATENT * (0.745 - bound_water(BEEF))
    food = Freezing(
        latent,
        unfrozen(BEEF, 2.0).specific_heat,
        2000.0,
        k,
        material.density,
        material.density * 0.95,
        -1.0,
        max(start, -1.0),
        -10.0,
        air,
        h,
    )
    assert pham_seconds(thickness / 2, 1.0, food) / 3600 == pytest.approx(pham, rel=0.06)
    by_ce = cleland_earle_seconds(thickness, "slab", to_minus_10, food) / 3600
    assert by_ce == pytest.approx(cleland, rel=0.06)
    assert plank_seconds(thickness, PLANK["slab"], food) / 3600 == pytest.approx(plank, rel=0.08)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("h", "air", "start", "target", "hours"),
    [(10, -18, 5, -10, 12.0), (20, -30, 5, -10, 4.06), (8, 3, -18, 0, 37.8)],
)
def test_freezing_and_thawing_a_bake(
    h: float, air: float, start: float, target: float, hours: float
) -> None:
    """60 × 176 × 325 mm in three dimensions, beside an independent solver converged to 0.3 %."""
    found = frozen_hours(brick(0.325, 0.176, 0.060), BAKE, -1.5, h, air, start, target)
    assert found == pytest.approx(hours, rel=0.015)


@pytest.mark.parametrize(
    ("h", "minutes"),
    [
        (100, (52.8, 52.9, 55.6)),
        (200, (40.0, 40.1, 42.0)),
        (350, (34.6, 34.7, 36.4)),
        (500, (32.5, 32.6, 34.2)),
    ],
)
def test_thawing_a_slab_of_fish(h: float, minutes: tuple[float, float, float]) -> None:
    """25 mm of white fish from -18 °C in running water of 18 °C: the core at -1, 0 and 4 °C."""
    body = slab(0.025)
    stages = [Stage(everywhere(body, h, 18.0))]
    solver = Volumes(body, material_of(FISH, -1.0), stages, -18.0, 30.0)
    times = np.linspace(0, 4000, 4001)
    core = solver.at(times, (MIDDLE,)).ravel()
    for degrees, expected in zip((-1, 0, 4), minutes, strict=True):
        assert times[int(np.argmax(core >= degrees))] / 60 == pytest.approx(expected, rel=0.02)


# -- F. regression curves: two independent solvers agree within 0.02 °C and 0.05 min --------------

PAN = brick(0.325, 0.176, 0.060)
STUFF = Solid(0.53, 0.53 / (1080 * 3410))
MIXED = Solid(0.52658, 1.4240e-7)


def in_a_bath(course: Course, top: Course | None = None) -> dict[str, Face]:
    return {**everywhere(PAN, 600, course), "top": Face(20, top or course)}


def test_heating_a_pan() -> None:
    found = Series(PAN, [STUFF], [Stage(in_a_bath(Course.constant(92)))], 5, 600)
    times = np.array([10, 20, 30, 60, 90, 120]) * 60.0
    for height, expected in (
        (0.50, [6.941, 15.592, 25.059, 47.584, 63.011, 73.403]),
        (0.66, [7.062, 13.964, 22.279, 44.537, 60.832, 71.977]),
    ):
        curve = found.at(times, (MIDDLE, MIDDLE, np.array([height]))).ravel()
        assert curve == pytest.approx(expected, abs=0.005)


def pan_case(around: Mapping[str, Face], start: float) -> Case:
    said = {f: Around(Range.exact(face.h), face.course) for f, face in around.items()}
    stuff = Stated(Range.exact(0.53), Range.exact(1080 * 3410.0))
    return Case(PAN, stuff, Range.exact(start), (Place(said),), ()).exact()


def test_the_slowest_point_of_a_pan_is_not_its_middle() -> None:
    case = pan_case(in_a_bath(Course.constant(92)), 5)
    found = time_to(case, 75)
    assert found.seconds / 60 == pytest.approx(130.87, abs=0.05)
    assert found.where[:2] == (0.5, 0.5) and found.where[2] == pytest.approx(0.66, abs=0.02)


def test_chilling_a_pan_in_moving_air() -> None:
    case = pan_case(everywhere(PAN, 15, 3), 80)
    to_57, to_21, to_5 = (time_to(case, t).seconds / 60 for t in (57, 21, 5))
    assert to_57 == pytest.approx(71.53, abs=0.05)
    assert to_21 - to_57 == pytest.approx(150.47, abs=0.05)
    assert to_5 - to_57 == pytest.approx(425.18, abs=0.05)


def test_a_clock_that_starts_on_the_way_down() -> None:
    """The same pan, its times counted from 57 °C: nothing starts over from an even temperature,
    which would take a sixth longer."""
    case = replace(pan_case(everywhere(PAN, 15, 3), 80), clock=57.0)
    for found in (lambda t: time_to(case, t).seconds, core_of(case).time_to):
        assert found(21) / 60 == pytest.approx(150.47, abs=0.1)
        assert found(5) / 60 == pytest.approx(425.18, abs=0.1)
        assert found(57) == pytest.approx(0, abs=2)
    even = time_to(pan_case(everywhere(PAN, 15, 3), 57), 21).seconds / 60
    assert even == pytest.approx(1.16 * 150.47, rel=0.03)


def test_chilling_a_pan_in_ice_water_under_air() -> None:
    around = {**everywhere(PAN, 300, 0.5), "top": Face(8, Course.constant(3))}
    case = pan_case(around, 80)
    to_57, to_21 = (time_to(case, t).seconds / 60 for t in (57, 21))
    assert to_57 == pytest.approx(55.01, abs=0.05)
    assert to_21 - to_57 == pytest.approx(97.22, abs=0.05)
    found = Series(PAN, [STUFF], [Stage(around)], 80, 600)
    heights = np.linspace(0.30, 0.98, 69)
    late = found.at(np.array([(55.01 + 239.26) * 60]), (MIDDLE, MIDDLE, heights))
    assert late.max() == pytest.approx(5, abs=0.02)


@pytest.mark.parametrize(
    ("seconds", "theta", "mean"),
    [
        (600, [0.69826, 0.88118, 0.87646, 0.62183, 0.10523], 0.71335),
        (1800, [0.46480, 0.57286, 0.53028, 0.34165, 0.05481], 0.43631),
        (3600, [0.23011, 0.28206, 0.25804, 0.16437, 0.02623], 0.21308),
    ],
)
def test_a_slab_with_unlike_faces(seconds: float, theta: list[float], mean: float) -> None:
    faces = {"bottom": Face(20, Course.constant(0.0)), "top": Face(300, Course.constant(0.0))}
    found = Series(slab(0.040), [STUFF], [Stage(faces)], 1.0, seconds)
    at = np.array([0, 0.25, 0.5, 0.75, 1.0])
    assert found.at(np.array([seconds]), (at,)).ravel() == pytest.approx(theta, abs=2e-4)
    assert found.at(np.array([seconds]), (None,)).ravel()[0] == pytest.approx(mean, abs=2e-5)


def test_a_pan_with_hotter_air_above() -> None:
    """Unlike media: the steady rise is exact, which a sum of products never reaches."""
    stage = Stage(in_a_bath(Course.constant(92), Course.constant(140)))
    found = Series(PAN, [MIXED], [stage], 5, 600)
    where: At = (MIDDLE, MIDDLE, np.array([0.55]))
    at, late = found.at(np.array([94.27 * 60, 1e7]), where).ravel()
    assert at == pytest.approx(75, abs=0.02)
    assert late - 92 == pytest.approx(17.122, abs=1e-3)


def test_a_pan_in_a_bath_that_warms() -> None:
    course = Course.ramp(20, 92, 900)
    found = Series(PAN, [MIXED], [Stage(in_a_bath(course))], 5, 600)
    where: At = (MIDDLE, MIDDLE, np.array([0.55]))
    assert found.at(np.array([136.03 * 60]), where).ravel()[0] == pytest.approx(75, abs=0.02)


def test_finite_volumes_agree_with_the_curves() -> None:
    """The other solver on the same cases, to its own tolerance of 0.1 °C."""
    food = warm_material(Composition.of(water=1.0))
    celsius = food.celsius
    still = type(food)(
        celsius, 3410.0 * celsius, np.full_like(celsius, 0.53), 1080.0, food.freezes_at
    )
    solver = Volumes(PAN, still, [Stage(everywhere(PAN, 15, 3))], 80.0, 30.0, 16)
    times = np.array([30, 60, 120, 240]) * 60.0
    curve = solver.at(times, (MIDDLE, MIDDLE, MIDDLE)).ravel()
    assert curve == pytest.approx([73.155, 61.243, 41.623, 18.655], abs=0.1)
    faces = {"bottom": Face(20, Course.constant(0.0)), "top": Face(300, Course.constant(0.0))}
    one = Volumes(slab(0.040), still, [Stage(faces)], 100.0, 5.0)
    at = np.array([0.25, 0.5, 0.75])
    theta = one.at(np.array([1800.0]), (at,)).ravel() / 100
    assert theta == pytest.approx([0.57286, 0.53028, 0.34165], abs=1e-3)


# -- D. lethality ---------------------------------------------------------------------------------


def equivalent(points: list[tuple[float, float]], reference_c: float, z_c: float) -> float:
    """Minutes at the reference by straight lines between (min, °F) points, as `review` counts."""
    start = datetime.datetime(2026, 1, 1, tzinfo=datetime.UTC)
    readings = [
        Reading(start + datetime.timedelta(minutes=t), Temperature.of(Fraction(f), "°F"), 0)
        for t, f in points
    ]
    return equivalent_minutes(readings, Fraction(10**6), reference_c, z_c)


def test_a_can_by_straight_lines_between_readings() -> None:
    """Geankoplis, 3rd edition, Example 9.12-2: 2.5 min by a graph; 2.385 by straight lines, which is
    the rule here."""
    points = [(0, 80), (15, 165), (25, 201), (30, 212.5), (40, 225), (50, 230.5), (64, 235)]
    found = equivalent(points, (250 - 32) / 1.8, 18 / 1.8)
    assert found == pytest.approx(2.385, abs=1e-3)
    assert found == pytest.approx(2.5, rel=0.06)


def test_a_constant_course_and_an_equivalent_one() -> None:
    """t·10^((T - Tref)/z); after Stumbo, 85 °C for 15 min with z 8.7 is 0.167 min at 102 °C."""
    steady = [(0, 185.0), (15, 185.0)]
    assert equivalent(steady, 102.0, 8.7) == pytest.approx(0.16675, abs=1e-4)
    ramp = [(0, 158.0), (10, 176.0)]  # 70 to 80 °C
    exact = 10 * 7.5 / (math.log(10) * 10) * (10 ** (10 / 7.5) - 1)
    assert equivalent(ramp, 70.0, 7.5) == pytest.approx(exact, rel=1e-6)


# -- E. boiling -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("megapascal", "kelvin"), [(0.1, 372.755919), (1.0, 453.035632), (10.0, 584.149488)]
)
def test_where_water_boils(megapascal: float, kelvin: float) -> None:
    """IAPWS R7-97(2012), Table 36, and back by equation 30."""
    celsius = boils_at(1e6 * megapascal)
    assert celsius + 273.15 == pytest.approx(kelvin, abs=1e-6)
    assert saturation(celsius) == pytest.approx(1e6 * megapascal, rel=1e-6)


BOILING = [r for r in rows_of("boiling_points.csv") if r["id"].startswith(("BP-C-", "BP-CM-"))]


@each_row("row", BOILING, ids=lambda r: r["id"])
def test_where_water_boils_by_height(row: dict[str, str]) -> None:
    """The standard atmosphere with the saturation line, worked out apart to 0.01 °C; 100 - z/300 is
    within 0.05 °C of it."""
    metres = float(row["altitude_m"])
    pascal = pressure_at(metres)
    assert pascal == pytest.approx(1000 * float(row["pressure_kPa"]), abs=1)
    assert boils_at(pascal) == pytest.approx(float(row["temp_C"]), abs=0.006)
    assert boils_at(pascal) == pytest.approx(100 - metres / 300, abs=0.05)


def test_at_sea_level_it_is_a_little_under_100() -> None:
    assert boils_at(101_325) == pytest.approx(99.974, abs=0.002)
    for wrong in (500.0, 3e7):
        with pytest.raises(Impossible):
            boils_at(wrong)
    with pytest.raises(Impossible):
        saturation(-1.0)


# -- kitchen practice -----------------------------------------------------------------------------


def test_a_frozen_slice_in_lukewarm_water() -> None:
    """15 mm of meat from -18 °C in water of 30 °C moved now and then: about ten minutes, as cooks
    know it. No source: a check that the answer is of that kind."""
    body = slab(0.015)
    minutes = []
    for h in (130.0, 250.0, 440.0):
        stages = [Stage(everywhere(body, h, 30.0))]
        solver = Volumes(body, material_of(BEEF, -1.0), stages, -18.0, 5.0)
        times = np.linspace(0, 3000, 3001)
        core = solver.at(times, (MIDDLE,)).ravel()
        minutes.append(times[int(np.argmax(core >= 0))] / 60)
    assert minutes == sorted(minutes, reverse=True)
    assert 5 <= minutes[-1] <= minutes[0] <= 15
