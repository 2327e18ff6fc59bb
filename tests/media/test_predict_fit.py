"""`predict FORMULA --fit LOG`: a coefficient out of a logged run, kept at the equipment, and what is
no log of the step."""

from __future__ import annotations

import datetime
import json
import math
import random
from dataclasses import replace
from pathlib import Path

import pytest
from commands import run
from each_row import each_row

from generator.files.finding import Refused
from generator.heat.bodies import Course, brick
from generator.heat.case import Around, Case, Made, Place
from generator.heat.constituents import Composition
from generator.heat.fitting import NotThisStep, fit
from generator.heat.prediction import predict
from generator.heat.quick import core_of
from generator.heat.ranges import Range
from generator.intake.fitted_file import with_fitted

FOOD = Composition.of(water=0.72, protein=0.1, fat=0.08, carbohydrate=0.07, fibre=0.01, ash=0.02)
ENTRY = [
    "vessel: pan",
    "h: 20 to 24 W/(m2 K)",
    'log: "a.csv"',
    "date: 2026-11-24",
    "residual: 1 °C",
]


def pan(h: float = 32.0, open_top: bool = False) -> Case:
    body = brick(0.3, 0.2, 0.05)
    around = {f: Around(Range(20, h, 50), Course.constant(1.0)) for f in body.faces}
    if open_top:
        around["top"] = Around(Range(6, 9, 13), Course.constant(20.0))
    return Case(body, Made(FOOD), Range.off_by(57.0, 1), (Place(around),), ())


def course(
    h: float, delay: float = 0.0, noise: float = 0.0, seed: int = 1
) -> list[tuple[float, float]]:
    """Readings every 5 minutes of a pan chilled with a coefficient, from 60 °C."""
    dice = random.Random(seed)
    around = {f: Around(Range.exact(h), Course.constant(1.0)) for f in pan().body.faces}
    case = replace(pan().exact(), start=Range.exact(60.0), places=(Place(around),))
    core = core_of(case)
    times = [300.0 * n for n in range(36)]
    return [(t, core.at(t - delay) + dice.gauss(0, noise) if t > delay else 60.0) for t in times]


def test_it_finds_the_coefficient_and_the_delay_of_a_course() -> None:
    found = fit(pan(), course(24.0, delay=240.0))
    assert found.h.likely == pytest.approx(24.0, rel=0.005)
    assert found.delay == pytest.approx(240, abs=5) and found.off < 0.02
    assert len(found.residuals) == 36


@pytest.mark.parametrize("seed", range(4))
def test_its_bounds_hold_it_and_are_narrower_than_before(seed: int) -> None:
    h = random.Random(seed).uniform(18, 45)
    found = fit(pan(), course(h, noise=0.4, seed=seed))
    assert found.h.low <= h <= found.h.high
    assert found.h.high / found.h.low < 50 / 20


def test_more_noise_is_more_uncertainty() -> None:
    calm, rough = (fit(pan(), course(24.0, noise=noise)[:14]).h for noise in (0.05, 1.2))
    assert rough.high / rough.low > 1.05 * calm.high / calm.low


def test_unlike_media_are_fitted_by_the_whole_series() -> None:
    """An open pan: it can't be done in plain floats."""
    case = replace(pan(36.0, open_top=True).exact(), start=Range.exact(60.0))
    rows = predict(case, 2.5 * 3600).rows[::3]
    readings = [(r.seconds, r.celsius.likely) for r in rows]
    found = fit(pan(open_top=True), readings)
    assert found.h.likely == pytest.approx(36, rel=0.03)


@each_row(
    ("readings", "why"),
    [
        (course(24.0)[:5], "5 readings"),
        ([(t, 66 - c) for t, c in course(24.0)], "gets warmer"),
        ([(t, 60.0) for t, _ in course(24.0)], "changes by less"),
        ([(t, 1.8 * c + 32) for t, c in course(24.0)], "is it in °F"),
        ([(t / 60, c) for t, c in course(24.0)], "no coefficient brings"),
        ([(t, c - 8) for t, c in course(60.0)], "nothing round the food does"),
        (course(24.0)[:3] + course(24.0)[-3:], "nothing was read for 155 min"),
        (course(24.0)[:9] + course(24.0)[5:], "its times go back"),
        ([(t, math.nan if t == 1500 else c) for t, c in course(24.0)], "is no temperature"),
        (
            course(24.0)[:12] + [(t, 1 + c / 5) for t, c in course(24.0)[12:]],
            "no coefficient brings",
        ),
        (course(24.0)[:15] + [(t + 1800, c) for t, c in course(24.0)[15:]], "bends otherwise"),
        (
            [(0.8 * t, 20 + 40 * math.exp(-t / 9000)) for t, _ in course(24.0)],
            "are known of such a place",
        ),
        ([(t, 5 + c / 10) for t, c in course(24.0)], "changes by less"),
        (course(200.0), "are known of such a place"),
        ([(t, 60 - (t / 300) ** 2 / 25) for t, _ in course(24.0)], "no coefficient brings"),
    ],
)
def test_what_is_no_log_of_the_step(readings: list[tuple[float, float]], why: str) -> None:
    with pytest.raises(NotThisStep, match=why):
        fit(pan(), readings)


# -- keeping --------------------------------------------------------------------------------------


def test_it_is_added_to_the_equipments_own_lines_and_nothing_else_changes() -> None:
    text = "oven:\n  kind: oven\n\nblast:\n  kind: blast-chiller\n  air: 1 °C # cold\n\nfridge:\n  air: 3 °C\n"
    found = with_fitted(text, "blast", "pan", ENTRY)
    assert (
        found.replace(
            "\n".join(["  fitted:", "    - vessel: pan", *(f"      {e}" for e in ENTRY[1:])])
            + "\n",
            "",
        )
        == text
    )
    again = with_fitted(found, "blast", "pan", ["vessel: pan", "h: 30 to 33 W/(m2 K)"])
    assert again.count("vessel: pan") == 1 and "30 to 33" in again and "20 to 24" not in again
    other = with_fitted(found, "blast", "tub", ["vessel: tub", "h: 30 to 33 W/(m2 K)"])
    assert "vessel: pan" in other and "vessel: tub" in other
    assert other.endswith("fridge:\n  air: 3 °C\n")


def test_it_is_added_to_equipment_on_one_line() -> None:
    text = "blast: {kind: blast-chiller, air: 1 °C} # ours\r\npan: {kind: vessel}\r\n"
    found = with_fitted(text, "blast", "pan", ENTRY)
    assert found.startswith("blast: {kind: blast-chiller, air: 1 °C, fitted: [{vessel: ")
    assert found.endswith("}]} # ours\r\npan: {kind: vessel}\r\n")
    for ident, written in (("blast", found), ("anchor", text)):
        with pytest.raises(Refused, match="lines of its own"):
            with_fitted(written, ident, "pan", ENTRY)


def log_of(readings: list[tuple[float, float]], path: Path) -> Path:
    start = datetime.datetime(2026, 11, 24, 14, 0)
    rows = [f"{(start + datetime.timedelta(seconds=t)).isoformat()},{c:.1f}" for t, c in readings]
    path.write_text("time,temp_c\n" + "\n".join(rows) + "\n", encoding="utf-8")
    return path


def test_a_probe_that_was_taken_out_early_is_not_the_slowest(tmp_path: Path) -> None:
    """Two probes: the one in the middle to the end, and one that was pulled out while it was warm."""
    from zoneinfo import ZoneInfo

    from generator.cli.predicted_fit import slowest
    from generator.review.readings import read_log

    start = datetime.datetime(2026, 11, 24, 14, 0)
    rows = []
    for t, c in course(24.0):
        at = (start + datetime.timedelta(seconds=t)).isoformat()
        rows.append(f"{at},{c:.1f},{c:.1f}" if t < 3000 else f"{at},{c:.1f},")
    path = tmp_path / "two.csv"
    path.write_text("Time,Probe 1 (°C),Probe 2 (°C)\n" + "\n".join(rows) + "\n", encoding="utf-8")
    log = read_log(path, ZoneInfo("America/New_York"))
    assert len(log.series) == 2
    assert len(slowest(log, cools=True).readings) == 36


@pytest.fixture
def logged(kitchen: Path, tmp_path: Path) -> tuple[Path, Path]:
    """A small kitchen, and a run of its pork bake in the blast chiller."""
    told = run(kitchen, "predict", "pork-bake", "--format", "json")
    curve = json.loads(told.stdout)["curve"]
    readings = [(60 * row["t_min"], row["likely_c"]) for row in curve][::2]
    return kitchen, log_of(readings, tmp_path / "run.csv")


def predicted(kitchen: Path, *words: str) -> dict[str, object]:
    done = run(kitchen, "predict", "pork-bake", *words, "--format", "json")
    assert done.returncode == 0, done.stderr
    found: dict[str, object] = json.loads(done.stdout)
    return found


def test_a_kept_run_narrows_the_band_and_changes_no_verdict(logged: tuple[Path, Path]) -> None:
    kitchen, log = logged
    before = predicted(kitchen)["stages"]
    said = run(kitchen, "check").stdout, run(kitchen, "limits", "pork-bake").stdout
    asked = predicted(kitchen, "--fit", str(log))
    assert (asked["step"], asked["log"], asked["probe"]) == ("chill", "run.csv", "probe")
    assert (
        asked["kept"] is False
        and "fitted" not in (kitchen / "standards/equipment/house.yaml").read_text()
    )
    kept = run(kitchen, "predict", "pork-bake", "--fit", str(log), "--keep")
    assert kept.returncode == 0 and "Kept in standards/equipment/house.yaml" in kept.stdout
    assert "date: " in (kitchen / "standards/equipment/house.yaml").read_text()
    after = predicted(kitchen)["stages"]
    assert isinstance(before, list) and isinstance(after, list)
    for old, new in zip(before, after, strict=True):
        assert new["min"]["high"] - new["min"]["low"] < old["min"]["high"] - old["min"]["low"]
        assert new["min"]["likely"] == pytest.approx(old["min"]["likely"], rel=0.03)
    assert (run(kitchen, "check").stdout, run(kitchen, "limits", "pork-bake").stdout) == said
    again = run(kitchen, "predict", "pork-bake", "--fit", str(log))
    assert "agree." in again.stdout


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--keep"], "--keep goes with --fit"),
        (["--fit", "LOG", "--format", "csv"], "text or json"),
        (["--fit", "LOG", "--step", "bake"], "isn't a log of bake"),
        (["--fit", "LOG", "--in", "cold-room"], "isn't a log of chill in Cold room"),
    ],
)
def test_what_is_refused(logged: tuple[Path, Path], words: list[str], said: str) -> None:
    kitchen, log = logged
    words = [str(log) if word == "LOG" else word for word in words]
    done = run(kitchen, "predict", "pork-bake", *words)
    assert done.returncode == 2 and said in done.stderr, done.stderr


@pytest.mark.parametrize(
    ("fitted", "code"),
    [
        (
            "{vessel: tub, h: 20 to 24 W/(m2 K), log: a, date: 2026-11-24, residual: 1 °C}",
            "vessel-unknown",
        ),
        (
            "{vessel: dish, h: 24 to 20 W/(m2 K), log: a, date: 2026-11-24, residual: 1 °C}",
            "coefficient-unreadable",
        ),
        (
            "{vessel: dish, h: 20, log: a, date: 2026-11-24, residual: 1 °C}",
            "coefficient-unreadable",
        ),
    ],
)
def test_a_run_typed_wrong_is_a_finding(kitchen: Path, fitted: str, code: str) -> None:
    path = kitchen / "standards/equipment/house.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(
        text.replace("air: 1 °C}", f"air: 1 °C, fitted: [{fitted}]}}"), encoding="utf-8"
    )
    done = run(kitchen, "check")
    assert done.returncode == 1 and f"[{code}]" in done.stdout
