"""A log that meets the law and misses the kitchen's own target says both."""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

from commands import run
from conftest import lay
from test_review import FOOD_CODE_COOLING, c, cook_limit, f, figure, kept_limit, log_of

from generator.answers.own_target import target_missed
from generator.measures.temperature import Temperature
from generator.review.verdicts import judge
from generator.rules.basics.limit import Probed

ROWS = cook_limit(
    ("158", figure(158, "°F", "min"), Fraction(0)),
    ("155", figure(155, "°F", "min"), Fraction(17)),
    ("145", figure(145, "°F", "min"), Fraction(180)),
)
M = 60


def said(limit: Probed, *courses: list[tuple[float, Temperature]]) -> list[str]:
    log = log_of(*courses)  # type: ignore[arg-type]
    return [n.replace("\u00a0", " ") for n in target_missed(log, judge(log, limit, Fraction(300)))]


def test_a_row_of_law_met_and_the_target_missed() -> None:
    own = replace(ROWS, target="core 74 °C")
    (note,) = said(own, [(0, f(150)), (M, f(156)), (2 * M, f(157))])
    assert note.startswith("P0: the kitchen's own target, core 74 °C, was missed. It was never at")
    assert "157 °F" in note
    assert said(own, [(0, f(150)), (M, f(156)), (2 * M, c(74))]) == []
    assert said(own, [(0, f(100))]) == []  # it fails: nothing more is to be said


def test_the_hold_of_the_target_counts() -> None:
    own = replace(ROWS, target="core 70 °C for 10 min")
    held = [(-0.1, c(69)), *((M * m, c(71)) for m in range(11))]
    assert said(own, held) == []
    (note,) = said(own, [*held[:11], (9 * M + 0.1, c(69))])
    assert "for 9 min only" in note
    (note,) = said(own, held[:11])
    assert "and the readings end at 71 °C" in note


def test_a_target_without_a_time_is_held_as_long_as_its_row() -> None:
    """The page asks for 70 °C for 15 s where the row asks for 15 s at 63 °C; `review` said of the
    target that it was missed at "70 °C, any one reading"."""
    row = cook_limit(("145", figure(145, "°F", "min"), Fraction(15)))
    own = replace(row, target="core 70 °C")
    assert said(own, [(0, c(71)), (15, c(71))]) == []
    (note,) = said(own, [(0, c(64)), (15, c(65))])
    assert "It was never at 70 °C (158 °F) for 15 s" in note and "any one reading" not in note


def test_of_two_probes_the_one_that_missed_is_named() -> None:
    own = replace(ROWS, target="core 74 °C")
    (note,) = said(own, [(0, c(75))], [(0, c(73))])
    assert note.startswith("P1: ")


def test_without_a_target_the_row_on_the_page_counts() -> None:
    (note,) = said(ROWS, [(M * m, f(146)) for m in range(5)])
    assert "the row on the page was missed, but the law was met" in note
    assert said(ROWS, [(0, f(158))]) == []
    assert said(replace(ROWS, target="from the formula"), [(0, f(158))]) == []


def test_cooled_and_held_by_the_law_and_not_by_the_target() -> None:
    h = 3600
    course = [(0, c(58)), (h, c(20)), (4 * h, c(4))]
    (note,) = said(replace(FOOD_CODE_COOLING, target="to 3 °C"), course)  # type: ignore[arg-type]
    assert "to 3 °C, was missed. The coldest reading was 4 °C" in note
    assert said(replace(FOOD_CODE_COOLING, target="to 4 °C"), course) == []  # type: ignore[arg-type]
    hot = replace(kept_limit(figure(135, "°F", "min"), "hot_hold"), target="at 63 °C")
    (note,) = said(hot, [(0, c(64)), (200, c(62))])
    assert "62 °C" in note and "line 3" in note
    cold = replace(kept_limit(figure(41, "°F", "max"), "cold_hold"), target="below 3 °C")
    (note,) = said(cold, [(0, c(2)), (200, c(4))])
    assert "4 °C" in note
    lax = replace(cold, target="below 8 °C")
    assert said(lax, [(0, c(2)), (200, c(4))]) == []


def test_review_says_both(tmp_path: Path) -> None:
    project = lay("base", tmp_path / "kitchen")
    (project / "mkdocs.yml").write_text("site_name: x\n")
    formula = project / "standards/formulas/pork-bake.yaml"
    text = formula.read_text()
    formula.write_text(text.replace("core 72 °C", "core 85 °C"))
    log = tmp_path / "log.csv"
    rows = [f"2026-11-25 14:0{m},{52 + 4 * m}" for m in range(8)]
    log.write_text("time,temp_c\n" + "\n".join(rows) + "\n")
    step = ("--formula", "pork-bake", "--step", "bake")
    said = run(project, "review", str(log), *step).stdout.replace("\u00a0", " ")
    assert said.startswith("Pass. It met "), said
    assert "But it misses the kitchen's own target" in said.splitlines()[0]
    assert "the kitchen's own target, core 85 °C, was missed. It was never at 85 °C" in said
    answer = json.loads(run(project, "review", str(log), *step, "--format", "json").stdout)
    assert answer["target"] == "core 85 °C" and answer["target_missed"]
