"""`predict FORMULA`: a cooling step's own stages, what is likely, and that it stays a prediction."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from commands import run
from conftest import ROOT

from generator.heat.bodies import Course, slab
from generator.heat.case import Around, Case, Place, Stated
from generator.heat.chilling import Deadline, greatest_depth, outcomes, verdict_of
from generator.heat.ranges import Range


def predicted(project: Path, *words: str) -> dict[str, Any]:
    done = run(project, "predict", *words, "--format", "json")
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found


@pytest.fixture(scope="module")
def bake() -> dict[str, Any]:
    """The demo's soup in its shallow pan, 40 mm deep, in the blast chiller."""
    return predicted(ROOT, "barley-soup", "--step", "chill")


def test_a_chill_is_predicted_by_the_laws_own_stages(bake: dict[str, Any]) -> None:
    first, last = bake["stages"]
    assert first["from_c"] == pytest.approx(57.2222, abs=1e-3)  # 135 °F, where the clock starts
    assert (first["limit_min"], last["limit_min"]) == (120, 360)
    assert first["to_c"] == pytest.approx(21.1111, abs=1e-3) and last["to_c"] == 5
    assert (bake["vessel"], bake["place"], bake["depth_mm"]) == (
        "Shallow pan",
        "Blast chiller",
        40,
    )
    for stage in bake["stages"]:
        band = stage["min"]
        assert band["low"] <= band["likely"] <= band["high"]
        passes, fails = band["high"] <= stage["limit_min"], band["low"] > stage["limit_min"]
        expected = "likely passes" if passes else "likely fails" if fails else "too close"
        assert stage["verdict"] == expected


def test_it_carries_cautions_and_who_governs(bake: dict[str, Any]) -> None:
    assert bake["cautions"] and "local code wins" in bake["governs"]
    assert "never makes a step pass" in bake["note"]
    assert "known from the formula" in bake["assumed_of_the_food"]
    assert "Brown turkey stock" in bake["assumed_of_the_food"]


def test_deep_food_in_a_refrigerator_likely_fails_and_is_told_a_depth() -> None:
    words = ["barley-soup", "--in", "walk-in", "--depth", "65mm"]
    done = run(ROOT, "predict", *words)
    said = done.stdout.replace("\u00a0", " ")
    assert done.returncode == 0
    assert "Shallow pan, 65 mm deep, in Walk-in" in said
    assert said.count("likely fails") == 2
    assert "The greatest depth that likely passes here: " in said
    assert "This is a prediction, not a limit." in said and "local code wins" in said


def test_a_roll_in_its_casing_is_cooked_in_water() -> None:
    """To the step's own target, at the middle; the band is wide, its start isn't known."""
    found = predicted(ROOT, "turkey-chive-roll", "--step", "poach")
    assert found["stages"] == [] and found["depth_mm"] is None
    (target,) = found["targets"]
    assert target["target_c"] == 76 and target["slowest_at"]["radius"] == 0
    band = target["to_target_min"]
    assert 40 < band["low"] < band["likely"] < band["high"] < 150
    said = run(ROOT, "predict", "turkey-chive-roll", "--step", "poach").stdout.replace(
        "\u00a0", " "
    )
    assert "taken for cold food" in said and "76 °C all through: about" in said
    assert "local code wins" in said


def test_a_prediction_changes_no_verdict() -> None:
    """What `limits` and `check` say is the same before and after, whatever was predicted."""
    before = [run(ROOT, *words).stdout for words in (["limits", "vanilla-custard"], ["check"])]
    assert predicted(ROOT, "vanilla-custard")["stages"][0]["verdict"] == "likely passes"
    after = [run(ROOT, *words).stdout for words in (["limits", "vanilla-custard"], ["check"])]
    assert before == after


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["barley-soup", "--step", "simmer"], "Nothing says what"),
        (["walnut-slab", "--step", "mix"], "it doesn't cook, freeze or thaw"),
        (["sausage-plate", "--step", "fry", "--depth", "30mm"], "isn't in water or in an oven"),
        (["roast-chicken", "--step", "roast"], "how thick it is with --depth"),
        (["barley-soup", "--step", "nap"], "There is no step `nap`"),
        (["turkey-chive-roll", "--step", "poach", "--in", "walk-in"], "it has no chiller"),
        (["barley-soup", "--step", "serve"], "has no limit for cooling hot food"),
        (["trout-leek"], "has no limit for cooling hot food"),
        (["barley-soups"], "There is no formula barley-soups"),
        (["millrace-shoulder"], "Nothing says what"),
        (["barley-soup", "--vessel", "shallow-pans"], "There is no vessel `shallow-pans`"),
        (["barley-soup", "--in", "oven"], "There is no chiller `oven`"),
        (["barley-soup", "--depth", "3 kg"], "is no depth"),
        (["barley-soup", "--depth", "90 mm"], "65 mm deep"),
        (["turkey-chive-roll", "--depth", "20 mm"], "is a casing"),
        (["barley-soup", "--body", "slab: 40 mm"], "--body goes with a body"),
        (["barley-soup", "--exact"], "--exact goes with a body"),
        (["--body", "slab: 40 mm", "--in", "walk-in"], "--in goes with a formula"),
        (["--body", "slab: 40 mm"], "--faces is missing"),
        ([], "--body is missing"),
    ],
)
def test_what_is_refused(words: list[str], said: str) -> None:
    done = run(ROOT, "predict", *words)
    assert done.returncode == 2 and said in done.stderr and done.stdout == ""


def test_a_verdict_is_never_kinder_than_its_edges() -> None:
    assert verdict_of(Range(10, 20, 30), 30) == "likely passes"
    assert verdict_of(Range(10, 20, 30.1), 30) == "too close"
    assert verdict_of(Range(30, 35, 40), 30) == "too close"
    assert verdict_of(Range(30.1, 35, 40), 30) == "likely fails"
    assert verdict_of(Range(10, 20, float("inf")), 30) == "too close"


def plate(depth: float) -> Case:
    body = slab(depth)
    around = {f: Around(Range(14, 20, 28), Course.constant(3)) for f in body.faces}
    stuff = Stated(Range.within(0.5, 0.07), Range.exact(3.6e6))
    return Case(body, stuff, Range.off_by(57, 1), (Place(around),), ())


def test_a_stage_after_another_counts_from_its_end() -> None:
    """Two hours, and then four of its own: the second clock starts where the first stage ends."""
    whole = (Deadline(21, 7200), Deadline(5, 6 * 3600))
    apart = (Deadline(21, 7200), Deadline(5, 4 * 3600, after_stage=True))
    _, together = outcomes(plate(0.05), whole)
    _, split = outcomes(plate(0.05), apart)
    assert together[0].seconds == split[0].seconds
    gap = together[1].seconds.likely - together[0].seconds.likely
    assert split[1].seconds.likely == pytest.approx(gap)
    assert split[1].seconds.low <= gap <= split[1].seconds.high


def test_the_greatest_depth_passes_and_the_next_does_not() -> None:
    stages = (Deadline(21, 7200), Deadline(5, 6 * 3600))
    deepest = greatest_depth(plate, stages, 0.2)
    assert deepest is not None and 0.02 <= deepest <= 0.1
    _, here = outcomes(plate(deepest), stages)
    _, deeper = outcomes(plate(deepest + 0.005), stages)
    assert all(one.verdict == "likely passes" for one in here)
    assert any(one.verdict != "likely passes" for one in deeper)
    assert greatest_depth(plate, (Deadline(21, 60),), 0.2) is None
    assert greatest_depth(plate, (Deadline(21, 1e6),), 0.2) == 0.2
