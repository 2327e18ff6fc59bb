"""`predict FORMULA`: a cooling step's own stages, what is likely, and that it stays a prediction."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from commands import run
from conftest import ROOT
from each_row import each_row

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
    assert "known within bounds only: water" in bake["assumed_of_the_food"]
    assert "Brown turkey stock" in bake["assumed_of_the_food"]


def test_deep_food_in_a_refrigerator_likely_fails_and_is_told_a_depth() -> None:
    words = ["barley-soup", "--in", "walk-in", "--depth", "65mm"]
    done = run(ROOT, "predict", *words)
    said = done.stdout.replace("\u00a0", " ")
    assert done.returncode == 0
    assert "Shallow pan, 65 mm deep, in Walk-in" in said
    assert said.count("likely fails") == 2
    assert "The greatest depth that likely passes here: " in said
    assert "Stir it, then put the probe in the middle." in said  # a soup
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


@each_row(
    ("words", "said"),
    [
        (["barley-soup", "--step", "simmer"], "Nothing says what"),
        (["walnut-slab", "--step", "mix"], "it doesn't cook, freeze or thaw"),
        (["sausage-plate", "--step", "fry", "--depth", "30mm"], "one side is heated"),
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


# -- other steps ----------------------------------------------------------------------------------


def test_food_in_an_open_dish_in_an_oven() -> None:
    """Water boils off its surface: no point of the course is above 100 °C, and how wet it stays
    widens the band to the slow side."""
    found = predicted(ROOT, "vanilla-custard", "--step", "bake")
    assert found["kind"] == "cook" and found["vessel"] == "Custard cup"
    assert max(row["high_c"] for row in found["curve"]) <= 101.0  # the media within 1 °C
    assert "a wet surface" in found["slow_side_min"]
    assert found["known_of_the_food"] == ["water", "protein", "fat", "carbohydrate", "fibre", "ash"]
    assert found["carry_over_c"] >= 0 and found["peak_after_min"] >= 0


def test_what_the_heat_would_kill_counts_for_nothing() -> None:
    found = predicted(ROOT, "turkey-chive-roll", "--step", "poach")
    minutes = found["lethality"]["equivalent_min_at_70_c"]
    assert minutes["low"] <= minutes["likely"] <= minutes["high"]
    assert "for nothing" in found["lethality"]["counts"]
    said = run(ROOT, "predict", "turkey-chive-roll", "--step", "poach").stdout
    assert "It counts for nothing: measure it." in said
    assert "Taken out then, it gets no warmer inside." in said.replace("\u00a0", " ")


def test_a_piece_of_food_without_a_vessel_is_a_slab() -> None:
    """Frozen trout, thawed in a refrigerator: it is there when no ice is left, and never past what
    its chiller holds."""
    thaw = ("trout-leek", "--step", "thaw", "--in", "walk-in", "--depth")
    found = predicted(ROOT, *thaw, "20 mm")
    assert (found["kind"], found["vessel"], found["depth_mm"]) == ("thaw", None, 20)
    (target,) = found["targets"]
    band = target["to_target_min"]
    assert target["target_c"] == 0 and band["low"] < band["likely"] < band["high"]
    assert found["assumed"]["start_c"]["likely"] <= -18
    thicker = predicted(ROOT, *thaw, "30 mm")["to_target_min"]
    assert thicker["likely"] > 1.4 * band["likely"]
    cold = predicted(ROOT, "trout-leek", "--step", "thaw", "--depth", "20 mm")
    assert cold["to_target_min"]["high"] is None  # air of 1 °C, within 1 °C: perhaps never


def test_freezing_has_handbooks_beside_it() -> None:
    found = predicted(ROOT, "char-raw", "--step", "freeze", "--depth", "25 mm")
    likely = found["to_target_min"]["likely"]
    assert found["kind"] == "freeze" and found["targets"][0]["target_c"] == -10
    checks = found["cross_checks_min"]
    assert 0.7 * likely < checks["Plank"] < likely and 0.85 * likely < checks["Pham"] < 1.3 * likely


def test_ice_water_takes_so_much_ice() -> None:
    """8 bags from 57.2 to 5 °C: the heat they give off, over the heat of melting ice."""
    found = predicted(ROOT, "chuck-in-bags")
    for batch in found["batches"]:
        assert batch["ice_kg"] == pytest.approx(batch["heat_kwh"] * 3.6e6 / 333_600, rel=1e-3)
        assert batch["ice_for_each_kg_of_tap_water_kg"] == pytest.approx(0.2506, abs=1e-3)
    small, large = found["batches"]
    assert large["ice_kg"] == pytest.approx(2 * small["ice_kg"], rel=0.01)
    said = run(ROOT, "predict", "chuck-in-bags").stdout
    assert "of ice" in said and "kitchen's air" not in said  # packed: nothing is open


def test_a_chiller_takes_up_the_heat_of_a_batch(bake: dict[str, Any]) -> None:
    whole, half = bake["batches"]
    assert whole["heat_kwh"] == pytest.approx(2 * half["heat_kwh"], rel=0.01)
    assert 0.3 < whole["heat_kwh"] < 2


def test_dough_is_not_predicted() -> None:
    done = run(ROOT, "predict", "mill-loaf", "--step", "bake")
    assert done.returncode == 2 and "the air in it isn't known" in done.stderr


def test_unlike_depths_of_one_food() -> None:
    """Deeper is slower, and what is in it is told once for both."""
    shallow, deep = (
        predicted(ROOT, "barley-soup", "--depth", f"{mm} mm")["stages"][0]["min"]["likely"]
        for mm in (30, 60)
    )
    assert deep > 1.5 * shallow


def test_a_liquid_is_never_said_to_fail_for_standing_still() -> None:
    """A brine counts as mixing at its early end, and says so; a roll in its casing doesn't."""
    brine = json.loads(run(ROOT, "predict", "bay-brine", "--format", "json").stdout)
    assert brine["may_move"] is True
    assert brine["stages"][0]["min"]["low"] < 120 < brine["stages"][0]["min"]["likely"]
    assert brine["stages"][0]["verdict"] == "too close"
    words = run(ROOT, "predict", "bay-brine").stdout
    assert "as if it mixed all the time" in words and "Stir it, then put" in words
    assert "nothing is stirred" not in words
    roll = json.loads(run(ROOT, "predict", "turkey-chive-roll", "--format", "json").stdout)
    assert roll["may_move"] is False
    custard = json.loads(run(ROOT, "predict", "vanilla-custard", "--format", "json").stdout or "{}")
    assert not custard.get("may_move")  # baked, it has set
