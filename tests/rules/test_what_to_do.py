"""What an answer says to do about a log that doesn't pass, and what it leaves unsaid."""

from __future__ import annotations

import datetime
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from commands import run
from conftest import ROOT
from test_review import REHEATING, c, found

Course = Sequence[tuple[int, float]]
"""(minutes, °C)"""
GOOD = [(0, 80), (15, 60), (40, 45), (80, 25), (100, 18), (140, 12), (180, 8), (240, 3.5)]


def chilled(folder: Path, course: Course, form: str = "json") -> Any:
    start = datetime.datetime(2026, 11, 26, 6)
    log = folder / "log.csv"
    rows = [
        f"{start + datetime.timedelta(minutes=m):%Y-%m-%d %H:%M},{round(t, 1)}" for m, t in course
    ]
    log.write_text("time,temp_c\n" + "\n".join(rows) + "\n", encoding="utf-8")
    said = run(
        ROOT,
        *("review", str(log), "--formula", "brown-turkey-stock", "--step", "chill"),
        *("--as-of", "2026-11-29", "--format", form),
    )
    assert said.returncode == 0, said.stderr
    return json.loads(said.stdout) if form == "json" else said.stdout


@pytest.mark.parametrize(
    ("course", "action"),
    [
        # still warm as the log ends, half an hour after the miss
        ([*GOOD[:2], (40, 50), (100, 38), (140, 30), (165, 26)], "reheat to 75 °C once"),
        # the same food, cold hours later
        ([*GOOD[:2], (40, 50), (100, 38), (140, 30), (165, 24), (260, 8), (330, 3)], "Too late"),
        # cooled in time, then warm: it is a miss of holding cold
        ([*GOOD, (300, 4), (430, 4), (500, 9), (620, 12)], "don't know how long"),
    ],
)
def test_the_action_fits_the_end_of_the_log(tmp_path: Path, course: Course, action: str) -> None:
    answer = chilled(tmp_path, course)
    assert answer["verdict"] == "fail" and action in answer["corrective_action"]
    assert action == "reheat to 75 °C once" or "reheat to" not in answer["corrective_action"]


def test_two_batches_in_one_file_are_named(tmp_path: Path) -> None:
    again = [(m + 1440, t) for m, t in [(0, 80), (20, 59), (120, 35), (200, 22), (300, 3)]]
    answer = chilled(tmp_path, [*GOOD, *again])
    assert answer["verdict"] != "pass" and "More than one batch?" in answer["why"]
    # a reheating that is read on its way is no second batch
    warm = [(260, 20), (280, 45), (300, 60), (320, 50), (400, 4)]
    assert "batch" not in chilled(tmp_path, [*GOOD, *warm])["why"]


def test_a_stage_says_nothing_where_nobody_can_report(tmp_path: Path) -> None:
    steady = [(m, 80 - m * 1.4) for m in range(16)] + [(m, 60 - m * 0.2) for m in range(16, 90)]
    course = [*steady, *((m, 3.0) for m in range(90, 200))]
    answer = chilled(tmp_path, course)
    assert answer["verdict"] == "cannot tell"
    assert {s["verdict"] for s in answer["per_probe"][0]["stages"]} == {"cannot tell"}
    lines = [ln for ln in chilled(tmp_path, course, "text").splitlines() if " within " in ln]
    stages = [ln for ln in lines if ln.startswith("  ")]
    assert stages and not any("pass" in ln or "fail" in ln for ln in stages)


def test_where_only_the_time_is_open_that_is_said() -> None:
    course = [(0, 4), (1800, 15), (10800, 20), (12000, 75), (12600, 92)]
    answer = found([(s, c(t)) for s, t in course], REHEATING)
    assert answer.verdict == "cannot tell"
    why = answer.why.replace("\u00a0", " ")
    assert why.startswith(
        "It was at 165 °F (74 °C). The readings are too far apart to show whether it stayed there for 15 s"
    )
    assert "within 2 h of 41 °F (5 °C): up to 3 h 20 min" in why
