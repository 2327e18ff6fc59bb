"""`predict` as a person types it: the answer in words, as data, as a table, and what is refused."""

from __future__ import annotations

import csv
import functools
import io
import json
import math
import re
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pint
import pytest
from commands import run
from each_row import each_row

from generator.cli.quantities import PLAUSIBLE, read_quantity

BAKE = "water 68 %, protein 8 %, fat 6 %, carbohydrate 14 %, fibre 1.5 %, ash 2.5 %"
PAN = ["--body", "brick: 325 mm x 176 mm x 60 mm"]
EGG = ["--body", "sphere: diameter 50 mm", "--properties", "k=0.627 W/(m K), alpha=0.151 mm2/s"]
BOILED = ["--faces", "1200 W/(m2 K) at 95 °C", "--start", "5 °C", "--target", "70 °C"]


def predict(*words: str) -> dict[str, Any]:
    done = run(None, "predict", *words, "--format", "json")
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def refused(*words: str) -> str:
    done = run(None, "predict", *words)
    assert done.returncode == 2 and not done.stdout, done.stdout
    assert "Traceback" not in done.stderr
    return done.stderr


def test_an_example_of_a_handbook() -> None:
    """Çengel, Example 4-3: an egg, 14.4 min."""
    found = predict(*EGG, *BOILED, "--exact")
    assert found["to_target_min"]["likely"] == pytest.approx(14.358, abs=0.005)
    assert found["to_target_min"]["low"] == found["to_target_min"]["high"]
    assert found["slowest_at"] == {"radius": 0.0}


@pytest.mark.parametrize(
    ("words", "minutes"),
    [
        # Incropera, Example 5.5, in its two steps; Geankoplis, Example 5.5-1; Janna, Example 4.4.
        (
            [
                "--body",
                "sphere: radius 5 mm",
                "--properties",
                "k=20 W/(m K), alpha=6.66 mm2/s",
                "--faces",
                "10 W/(m2 K) at 20 °C; until 335 °C",
                "--faces",
                "6 kW/(m2 K) at 20 °C",
                "--start",
                "400 °C",
                "--target",
                "50 °C",
            ],
            2.979 / 60,
        ),
        (
            [
                "--body",
                "slab: 203 mm",
                "--properties",
                "k=0.498 W/(m K), rho=1073 kg/m3, cp=3480 J/(kg K)",
                "--faces",
                "39.7 W/(m2 K) at 1.7 °C",
                "--start",
                "37.8 °C",
                "--target",
                "10 °C",
            ],
            18.61 * 60,
        ),
        (
            [
                "--body",
                "sphere: diameter 10.5 cm",
                "--properties",
                "k=0.431 W/(m K), rho=998 kg/m3, cp=2 kJ/(kg K)",
                "--faces",
                "6 W/(m2 K) at 23 °C",
                "--start",
                "4 °C",
                "--target",
                "20 °C",
            ],
            3.797 * 60,
        ),
    ],
)
def test_more_examples_of_handbooks(words: list[str], minutes: float) -> None:
    assert predict(*words, "--exact")["to_target_min"]["likely"] == pytest.approx(minutes, rel=2e-3)


def test_a_freezing_example_has_the_formulas_beside_it() -> None:
    """Singh and Heldman, Example 7.2: Pham gives 3745 s for the sphere."""
    found = predict(
        "--body",
        "sphere: diameter 70 mm",
        "--properties",
        "k=0.5 W/(m K), rho=1000 kg/m3, cp=3600 J/(kg K), freezes=-1.25 °C, "
        "latent=249.9 kJ/kg, frozen k=1.2 W/(m K), frozen cp=1800 J/(kg K)",
        "--faces",
        "50 W/(m2 K) at -40 °C",
        "--start",
        "10 °C",
        "--target",
        "-18 °C",
        "--exact",
    )
    assert found["cross_checks_min"]["Pham"] == pytest.approx(3745 / 60, rel=0.05)
    assert found["to_target_min"]["likely"] == pytest.approx(3745 / 60, rel=0.15)
    assert found["cross_checks_min"]["Plank"] < found["to_target_min"]["likely"]


def test_inch_pound_units_are_the_same_body() -> None:
    metric = predict(*EGG, *BOILED, "--exact")["to_target_min"]["likely"]
    words = [
        "--body",
        "sphere: diameter 1.968503937 in",
        "--properties",
        "k=0.362273827 BTU/(h ft °F), alpha=0.005851239 ft2/h",
        "--faces",
        "211.332 BTU/(h ft2 °F) at 203 °F",
        "--start",
        "41 °F",
        "--target",
        "158 °F",
    ]
    assert predict(*words, "--exact")["to_target_min"]["likely"] == pytest.approx(metric, rel=1e-4)


def test_fahrenheit_is_answered_in_fahrenheit() -> None:
    words = ["--faces", "still-air at 37 °F", "--start", "140 °F", "--target", "70 °F"]
    said = run(None, "predict", *EGG, *words).stdout.replace("\u00a0", " ")
    assert "Sphere, from 140 °F\n70 °F all through" in said
    assert "   140.0    138.2    141.8" in said and "at 37 °F" in said


@functools.cache
def registry() -> pint.UnitRegistry:
    return pint.UnitRegistry()


@each_row(
    ("kind", "unit", "oracle"),
    [
        ("conductivity", "BTU/(h ft °F)", "Btu_it/(hour*foot*delta_degF)"),
        ("conductivity", "W/(m K)", "W/(m*K)"),
        ("coefficient", "BTU/(h ft2 °F)", "Btu_it/(hour*foot**2*delta_degF)"),
        ("coefficient", "kW/(m² K)", "kW/(m**2*K)"),
        ("coefficient", "W/m²·K", "W/(m**2*K)"),
        ("coefficient", "W/m2 °C", "W/(m**2*delta_degC)"),
        ("density", "lb/ft3", "pound/foot**3"),
        ("density", "g/cm³", "g/cm**3"),
        ("specific heat", "BTU/(lb °F)", "Btu_it/(pound*delta_degF)"),
        ("specific heat", "kJ/(kg °C)", "kJ/(kg*delta_degC)"),
        ("specific heat", "J/kg/K", "J/(kg*K)"),
        ("diffusivity", "ft2/h", "foot**2/hour"),
        ("diffusivity", "mm2/s", "mm**2/s"),
        ("latent", "BTU/lb", "Btu_it/pound"),
        ("latent", "kJ/kg", "kJ/kg"),
    ],
)
def test_units_of_heat_are_those_of_pint(kind: Any, unit: str, oracle: str) -> None:
    """Each unit beside a library of units; the figure is one that can be."""
    low, high = PLAUSIBLE[kind]
    factor = float(registry()(oracle).to_base_units().magnitude)
    if kind == "density" or oracle.startswith("mm"):
        factor = float(registry()(oracle).to(("kg/m**3", "m**2/s")[kind != "density"]).magnitude)
    figure = f"{math.sqrt(low * high) / factor:.6f}"
    assert read_quantity(f"{figure} {unit}", kind).likely == pytest.approx(
        float(figure) * factor, rel=1e-9
    )


def test_a_pan_in_words() -> None:
    done = run(
        None,
        "predict",
        *PAN,
        "--composition",
        BAKE,
        "--start",
        "60 °C",
        "--target",
        "21 °C",
        "--faces",
        "top: still-air at 3 °C; rest: stirred-water at 0 °C",
    )
    said = done.stdout.replace("\u00a0", " ")
    assert done.returncode == 0 and done.stderr == ""
    assert said.startswith("Brick, from 60 °C\n21 °C all through: about ")
    assert "First reading: after " in said
    found = re.search(r"Put the probe (\d+) mm above the bottom", said)
    assert found is not None and 38 <= int(found[1]) <= 54  # of 60 mm, under air and in water
    assert "top: still air, cold or at room temperature, 9.5 (6.3 to 13) W/(m² K), at 3 °C" in said
    assert "This is a prediction, not a limit. It never makes a step pass." in said
    assert "what matters most: " in said and "left out: evaporation" in said


def test_the_record_says_what_it_rests_on() -> None:
    found = predict(
        *PAN,
        "--composition",
        BAKE,
        "--start",
        "60 °C",
        "--target",
        "21 °C",
        "--target",
        "5 °C",
        "--faces",
        "top: 15 W/(m2 K) at 3 °C; rest: 300 W/(m2 K) at 0.5 °C",
        "--time",
        "6 h",
    )
    first, last = found["targets"]
    assert first["to_target_min"]["likely"] < last["to_target_min"]["likely"]
    assert found["to_target_min"] == last["to_target_min"]
    band = last["to_target_min"]
    assert band["low"] < band["likely"] < band["high"]
    assert found["first_reading_min"] == band["low"]
    curve = found["curve"]
    assert curve[0] == {"t_min": 0.0, "low_c": 59.0, "likely_c": 60.0, "high_c": 61.0}
    assert curve[-1]["t_min"] == 360.0
    assert all(row["low_c"] <= row["likely_c"] <= row["high_c"] for row in curve)
    assert found["assumed"]["places"][0]["top"]["h"]["likely"] == 15
    assert found["assumed"]["media_off_c"] == 1 and found["assumed"]["size_off_pct"] == 2
    assert "Choi and Okos" in found["basis"]["properties"] and "not a limit" in found["note"]


def test_the_course_as_a_table() -> None:
    done = run(None, "predict", *EGG, *BOILED, "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(done.stdout)))
    assert list(rows[0]) == ["t_min", "low_c", "likely_c", "high_c"] and len(rows) == 61
    warm = [float(row["likely_c"]) for row in rows]
    assert warm[0] == 5 and warm == sorted(warm) and warm[-1] < 95


WARM = ("--start", "60 °C")


def test_a_target_no_medium_reaches() -> None:
    found = predict(*EGG, "--faces", "still-air at 5 °C", "--start", "60 °C", "--target", "5 °C")
    assert found["to_target_min"]["likely"] is None and found["to_target_min"]["high"] is None
    near = predict(*EGG, "--faces", "still-air at 4.5 °C", "--start", "60 °C", "--target", "5 °C")
    assert near["to_target_min"]["likely"] > 0 and near["to_target_min"]["high"] is None
    done = run(None, "predict", *EGG, "--faces", "insulated", "--start", "6 °C", "--target", "5 °C")
    assert "5 °C: it never gets there." in done.stdout.replace("\u00a0", " ")
    far = run(None, "predict", *EGG, "--faces", "still-air at 10 °C", *WARM, "--target", "5 °C")
    assert "5 °C: it never gets there." in far.stdout.replace("\u00a0", " ")
    near = run(None, "predict", *EGG, "--faces", "still-air at 5 °C", *WARM, "--target", "5 °C")
    assert "5 °C: it may never get there, " in near.stdout.replace("\u00a0", " ")


def test_what_speaks_against_a_prediction_is_said() -> None:
    made = ["--body", "slab: 40 mm", "--composition", BAKE, "--start", "5 °C", "--target", "75 °C"]
    hot = predict(*made, "--faces", "oven at 180 °C")
    assert hot["assumed"]["doubts"] == [
        "the surface of wet food stays near 100 °C: it takes longer than this"
    ]
    assert predict(*made, "--faces", "boiling-water at 100 °C")["assumed"]["doubts"] == []
    stated = [*EGG, "--faces", "still-air at -18 °C", "--start", "60 °C", "--target", "5 °C"]
    assert "it is taken not to freeze" in run(None, "predict", *stated).stdout


def test_a_wall_slows_it_and_a_ramp_does_too() -> None:
    def minutes(faces: str) -> float:
        words = ["--start", "5 °C", "--target", "70 °C", "--exact"]
        return float(predict(*EGG, "--faces", faces, *words)["to_target_min"]["likely"])

    plain = minutes("1200 W/(m2 K) at 95 °C")
    assert minutes("1200 W/(m2 K) through 6 mm of 1.5 W/(m K) at 95 °C") > plain * 1.02
    assert minutes("1200 W/(m2 K) at 20 °C to 95 °C in 10 min") > plain * 1.2
    assert minutes("boiling-water at 95 °C") == pytest.approx(plain, rel=0.02)


def test_a_range_of_what_is_in_it_widens_the_band() -> None:
    def width(composition: str) -> float:
        band = predict(
            *PAN,
            "--composition",
            composition,
            "--faces",
            "still-air at 3 °C",
            "--start",
            "60 °C",
            "--target",
            "21 °C",
        )["to_target_min"]
        return float(band["high"] - band["low"])

    sure = "water 70 %, protein 8 %, fat 6 %, carbohydrate 14 %, ash 2 %"
    unsure = "water 60 to 80 %, protein 8 %, fat 6 %, carbohydrate 14 %, ash 2 %"
    assert width(unsure) > width(sure)


def test_a_kitchen_with_a_decimal_comma(kitchen: Path) -> None:
    file = kitchen / "standards/kitchen.yaml"
    file.write_text(file.read_text("utf-8") + "decimal: comma\n", "utf-8")
    words = [
        "--body",
        "slab: 4,5 cm",
        "--properties",
        "k=0,5 W/(m K); alpha=0,14 mm2/s",
        "--faces",
        "still-air at 3 °C",
        "--start",
        "60 °C",
        "--target",
        "21,5 °C",
    ]
    done = run(kitchen, "predict", *words)
    assert done.returncode == 0, done.stderr
    assert "21,5" in done.stdout and "  60,0" in done.stdout
    words[3] = "k=0.5 W/(m K); alpha=0,14 mm2/s"
    assert "decimals with a comma" in run(kitchen, "predict", *words).stderr
    wall = [*EGG[:2], "--properties", "k=0,45 W/(m K); alpha=0,14 mm2/s", "--start", "5 °C"]
    wall += ["--target", "70 °C", "--faces", "1200 W/(m2 K) through 6.5 mm of 1,5 W/(m K) at 95 °C"]
    assert "`6.5`: did you mean 6,5?" in run(kitchen, "predict", *wall).stderr


PLATE = ["--body", "slab: 40 mm", "--properties", "k=0.5 W/(m K), alpha=0.14 mm2/s"]
COLD = ["--faces", "still-air at 3 °C", "--start", "60 °C", "--target", "21 °C"]


@each_row(
    ("words", "said"),
    [
        (["--body", "cube: 3 cm", *PLATE[2:], *COLD], "`cube: 3 cm` is not a body"),
        (["--body", "brick: 3 cm x 4 cm", *PLATE[2:], *COLD], "these sizes make no brick"),
        (["--body", "slab: 3 kg", *PLATE[2:], *COLD], "is not a length"),
        (["--body", "slab: -3 mm", *PLATE[2:], *COLD], "must be above zero"),
        (["--body", "slab: 0 mm", *PLATE[2:], *COLD], "zero"),
        (["--body", "slab: 3", *PLATE[2:], *COLD], "3 of what?"),
        (["--body", "sphere: diameter 9**9 mm", *PLATE[2:], *COLD], "is not an amount"),
        ([*PLATE[:2], *COLD], "What is the body made of?"),
        ([*PLATE, "--composition", BAKE, *COLD], "What is the body made of?"),
        ([*PLATE[:2], "--properties", "k=0.5, alpha=0.14 mm2/s", *COLD], "is not a conductivity"),
        ([*PLATE[:2], "--properties", "k=0.5 W/m2, alpha=1 mm2/s", *COLD], "is not a conductivity"),
        ([*PLATE[:2], "--properties", "k=-0.5 W/(m K), alpha=1 mm2/s", *COLD], "is above zero"),
        ([*PLATE[:2], "--properties", "k=1e99 W/(m K), alpha=1 mm2/s", *COLD], "has such a"),
        ([*PLATE[:2], "--properties", "k=0.5 W/(m K)", *COLD], "needs k, and rho with cp"),
        ([*PLATE[:2], "--properties", "k=0.5 W/(m K), k=1 W/(m K)", *COLD], "twice"),
        ([*PLATE[:2], "--properties", "q=1 W/(m K)", *COLD], "is no property"),
        (
            [*PLATE[:2], "--properties", "q=1 W/(m K)", *COLD],
            "Known: k, rho, cp, alpha, latent, frozen k, frozen cp, freezes.",
        ),
        (
            [
                *PLATE[:2],
                "--properties",
                "k=0.5 W/(m K), rho=1 g/cm3, cp=3 kJ/(kg K), alpha=9 mm2/s",
                *COLD,
            ],
            "alpha is not k/(rho cp)",
        ),
        (
            [*PLATE[:2], "--properties", "k=0.5 W/(m K), alpha=1 mm2/s, latent=2 kJ/kg", *COLD],
            "freezes, latent, frozen k and frozen cp",
        ),
        ([*PLATE[:2], "--composition", "water 50 %", *COLD], "add up to 50.0 %"),
        ([*PLATE[:2], "--composition", "water 150 %", *COLD], "not between 0 and 100 %"),
        ([*PLATE[:2], "--composition", "mud 100 %", *COLD], "is no constituent"),
        ([*PLATE[:2], "--composition", "water much", *COLD], "has no share"),
        ([*PLATE[:2], "--composition", "water 80 to 60 %, fat 30 %", *COLD], "smaller figure"),
        ([*PLATE, "--freezes-at", "-1 °C", *COLD], "goes with --composition"),
        ([*PLATE, "--faces", "sauna at 3 °C", *COLD[2:]], "`sauna` is no medium known here"),
        ([*PLATE, "--faces", "still-air", *COLD[2:]], "how warm is it?"),
        ([*PLATE, "--faces", "top: still-air at 3 °C", *COLD[2:]], "Nothing is said of the bottom"),
        ([*PLATE, "--faces", "side: still-air at 3 °C", *COLD[2:]], "has no face `side`"),
        ([*PLATE, "--faces", "all: insulated; top: insulated", *COLD[2:]], "there twice"),
        ([*PLATE, "--faces", "still-air at 3", *COLD[2:]], "degrees of which scale?"),
        ([*PLATE, "--faces", "still-air at -300 °C", *COLD[2:]], "colder than anything"),
        ([*PLATE, "--faces", "-5 W/(m2 K) at 3 °C", *COLD[2:]], "is above zero"),
        ([*PLATE, "--faces", "still-air through a lid at 3 °C", *COLD[2:]], "is not a wall"),
        ([*PLATE, "--faces", "oven at 150 °C", *COLD], "How long is it in the first place?"),
        ([*PLATE, "--faces", "oven at 150 °C; until 200 °C", *COLD], "it never reaches 200"),
        ([*PLATE, "--faces", "oven at 150 °C; for 0 min", *COLD], "no time at all"),
        ([*PLATE, *COLD, "--time", "0 min"], "is no time"),
        ([*PLATE, *COLD, "--time", "soon"], "is not a time"),
        (
            [
                *PLATE[:2],
                "--composition",
                BAKE,
                "--freezes-at",
                "2 °C",
                "--faces",
                "still-air at -5 °C",
                "--start",
                "10 °C",
            ],
            "doesn't freeze from",
        ),
    ],
)
def test_what_is_refused(words: list[str], said: str) -> None:
    assert said in refused(*words)


def test_the_course_as_a_picture() -> None:
    """The band and the likely line pass through the table's own points, on both scales."""
    done = run(None, "predict", *EGG, *BOILED, "--format", "svg")
    tree = ElementTree.fromstring(done.stdout)
    shapes = {one.tag.partition("}")[2]: one.get("points", "") for one in tree}
    rows = list(
        csv.DictReader(io.StringIO(run(None, "predict", *EGG, *BOILED, "--format", "csv").stdout))
    )
    line = [
        tuple(map(float, p.split(",")))
        for p in tree.findall("{*}polyline")[-1].get("points", "").split()
    ]
    band = shapes["polygon"].split()
    assert len(line) == len(rows) and len(band) == 2 * len(rows)
    scale = [
        (float(one.get("y", "")), one.text.rstrip("°"))
        for one in tree.findall("{*}text")
        if one.text and one.get("text-anchor") == "end" and one.text.endswith("°")
    ]
    (y0, d0), (y1, d1) = scale[0], scale[-1]
    for (_, y), row in zip(line, rows, strict=True):
        drawn = float(d0 or "") + (y - y0) * (float(d1 or "") - float(d0 or "")) / (y1 - y0)
        assert drawn == pytest.approx(float(row["likely_c"]), abs=0.1)
    words = " ".join(one.text or "" for one in tree.iter())
    assert "A prediction, not a limit" in words
