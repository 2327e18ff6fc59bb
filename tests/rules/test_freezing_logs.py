"""Logs of fish frozen against parasites: so cold, for so long, without a break (Food Code
3-402.11(A)); and which limit `--step` means where a step is named store."""

from __future__ import annotations

import datetime
import json
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace

import pytest
from commands import run
from conftest import ROOT
from each_row import each_row
from test_review import c, figure, found, kept_limit

from generator.cli.review import _places
from generator.rules.basics.limit import Hold

DAY, WATCHED = Fraction(24 * 3600), 4 * 3600
FROZEN = replace(kept_limit(figure(-4, "°F", "max"), "parasites"), hold=Hold(DAY, DAY))


def frozen(*course: tuple[float, float]) -> str:
    """The verdict on readings of (hours, °C)."""
    return found([(hour * 3600, c(heat)) for hour, heat in course], FROZEN, WATCHED).verdict


def every(first: int, last: int, heat: float, hours: int = 2) -> list[tuple[float, float]]:
    return [(hour, heat) for hour in range(first, last + 1, hours)]


@each_row(
    ("course", "verdict"),
    [
        (every(0, 24, -20), "pass"),
        (every(0, 24, -19.9), "fail"),
        (every(0, 22, -20), "cannot tell"),  # it may be frozen on
        ([(0, 2), *every(2, 24, -22)], "cannot tell"),  # may have been cold just after the first
        ([(0, 2), *every(2, 26, -22)], "pass"),
        ([*every(0, 20, -22), (21, -12), *every(22, 40, -22)], "fail"),
        ([*every(0, 20, -22), (21, -12), *every(22, 46, -22)], "pass"),  # the time began anew
        ([*every(0, 24, -22), (25, 3)], "pass"),  # thawed once its time was over
        (every(0, 30, -22, 5), "cannot tell"),  # nobody looked for 5 h
    ],
)
def test_fish_is_frozen_so_long_without_a_break(
    course: list[tuple[float, float]], verdict: str
) -> None:
    assert frozen(*course) == verdict


def logged(folder: Path, *rows: tuple[float, float]) -> str:
    start = datetime.datetime(2026, 11, 24, 18)
    lines = [f"{start + datetime.timedelta(hours=h):%Y-%m-%d %H:%M},{t}" for h, t in rows]
    path = folder / "log.csv"
    path.write_text("time,temp_c\n" + "\n".join(lines) + "\n", encoding="utf-8")
    return str(path)


def test_a_step_named_store_is_meant_before_the_finished_foods_store(tmp_path: Path) -> None:
    short = logged(tmp_path, *every(0, 20, -22), (21, -12), *every(22, 28, -22))
    say = ("review", short, "--formula", "char-raw", "--as-of", "2026-11-29", "--format", "json")
    for step in ("store", "2"):
        answer = json.loads(run(ROOT, *say, "--step", step).stdout)
        assert (answer["hazard"], answer["verdict"]) == ("parasites", "fail")
    answer = json.loads(run(ROOT, *say, "--step", "finished").stdout)
    assert answer["hazard"] == "cold_hold"
    refused = run(ROOT, *say, "--step", "freeze")
    assert refused.returncode == 2 and "Its own limit (parasites)" in refused.stderr
    # a formula whose store is the finished food's alone is asked for as ever
    stock = ("review", short, "--formula", "brown-turkey-stock", "--format", "json")
    for step in ("store", "finished"):
        answer = json.loads(run(ROOT, *stock, "--as-of", "2026-11-29", "--step", step).stdout)
        assert answer["hazard"] == "cold_hold"


@pytest.mark.parametrize("first", [0, 1])
def test_of_a_steps_limits_freezing_against_parasites_is_judged_first(first: int) -> None:
    """Whatever order they are in: a log as cold as that shows the holding, too."""
    holding = kept_limit(figure(41, "°F", "max"), "cold_hold")
    limits = (FROZEN, holding) if first == 0 else (holding, FROZEN)
    places = _places(SimpleNamespace(), limits)  # type: ignore[arg-type]
    assert [p.limit.hazard for p in places] == ["parasites", "cold_hold"]
