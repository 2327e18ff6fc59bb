"""`predict FORMULA`: what a whole load does to what it is in, where the equipment says enough; and
that it stays a prediction."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from commands import run

HOUSE = "standards/equipment/house.yaml"
FRIDGE = "name: Cold room, air: 3 °C"
OVEN = "heat: convection, capacity: 20 kg"
SINK = "sink: {kind: ice-bath, name: Ice sink, air: 0 °C, water: 20 l, ice: %s}\n"


def with_house(kitchen: Path, old: str, new: str) -> Path:
    path = kitchen / HOUSE
    path.write_text(path.read_text(encoding="utf-8").replace(old, new), encoding="utf-8")
    return kitchen


def predicted(kitchen: Path, *words: str) -> dict[str, Any]:
    done = run(kitchen, "predict", "pork-bake", *words, "--format", "json")
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def said(kitchen: Path, *words: str) -> str:
    return run(kitchen, "predict", "pork-bake", *words).stdout.replace("\u00a0", " ")


def test_a_warm_load_lifts_a_refrigerator_and_is_slower_there(kitchen: Path) -> None:
    """A weak one and a strong one; the verdict counts the load, and the band holds both ends."""
    alone = predicted(kitchen, "--in", "cold-room")
    assert alone["loads"] == []
    weak = predicted(with_house(kitchen, FRIDGE, f"{FRIDGE}, power: 250 W"), "--in", "cold-room")
    small, large = weak["loads"]
    assert weak["stages"] == alone["stages"]  # one fill in air that stays as it is
    assert small["kg"] < large["kg"] and small["furthest_c"] < large["furthest_c"]
    assert large["furthest_c"] > 10 and large["back_after_min"] > small["back_after_min"]
    assert large["course_c"][-1][1] == pytest.approx(3, abs=0.1)
    assert max(c for _, c in large["course_c"]) >= large["furthest_c"]
    for now, before in zip(large["reached"], alone["stages"], strict=True):
        assert now["min"]["low"] == before["min"]["low"]
        assert now["min"]["likely"] > before["min"]["likely"]
        assert now["min"]["high"] > before["min"]["high"]
        passes = now["min"]["high"] <= now["limit_min"]
        assert (now["verdict"] == "likely passes") is passes
    words = said(kitchen, "--in", "cold-room")
    assert f"A load of {large['kg']:.1f} kg: Cold room gets to about " in words
    assert "°C for 15 min, and is back after about " in words
    strong = predicted(
        with_house(kitchen, "power: 250 W", "power: 12000 Btu/h"), "--in", "cold-room"
    )
    assert all(one["furthest_c"] == pytest.approx(3, abs=0.1) for one in strong["loads"])
    assert "Cold room stays as cold as it is." in said(kitchen, "--in", "cold-room")


def test_what_is_not_stated_is_said_to_be_unknown(kitchen: Path) -> None:
    assert (
        "How far the load lifts it isn't known: Blast chiller has no `power` or `pull_up`."
        in said(kitchen)
    )
    bake = said(kitchen, "--step", "bake")
    assert "How far the load cools it isn't known: Range oven has no `power`." in bake


def test_ice_that_lasts_and_ice_that_is_gone(kitchen: Path) -> None:
    path = with_house(kitchen, "shape: box", "moisture_tight: yes, shape: box") / HOUSE
    text = path.read_text(encoding="utf-8")
    path.write_text(text + SINK % "15 kg", encoding="utf-8")
    for load in predicted(kitchen, "--in", "sink")["loads"]:
        assert load["furthest_c"] == 0 and load["ice_gone_after_min"] is None
    assert "its ice lasts; about " in said(kitchen, "--in", "sink")
    path.write_text(text + SINK % "1 kg", encoding="utf-8")
    _, large = predicted(kitchen, "--in", "sink")["loads"]
    assert large["ice_gone_after_min"] < 30 and large["furthest_c"] > 3
    assert {r["verdict"] for r in large["reached"]} != {"likely passes"}
    assert "Add ice before that." in said(kitchen, "--in", "sink")
    path.write_text(text + SINK.replace(", ice: %s", ""), encoding="utf-8")
    unknown = said(kitchen, "--in", "sink")
    assert "Whether its ice lasts isn't known: Ice sink has no `ice`." in unknown


def test_a_cold_load_in_an_oven_and_in_a_bath(kitchen: Path) -> None:
    with_house(kitchen, OVEN, f"{OVEN}, power: 2 kW")
    small, large = predicted(kitchen, "--step", "bake")["loads"]
    assert large["held_at_c"] == 180 and large["furthest_c"] < small["furthest_c"] < 180
    assert large["reached"][0]["verdict"] is None
    bath = kitchen / HOUSE
    tank = "tank: {kind: bath, name: Long tank, water: 12 l, power: 1 kW}\n"
    bath.write_text(bath.read_text(encoding="utf-8") + tank, encoding="utf-8")
    steps = kitchen / "standards/processes/baked.yaml"
    text = steps.read_text(encoding="utf-8").replace("do: bake", "do: poach")
    text = text.replace("with: range-oven", "with: tank").replace("180 °C", "80 °C")
    steps.write_text(text, encoding="utf-8")
    card = kitchen / "standards/formulas/pork-bake.yaml"
    card.write_text(card.read_text(encoding="utf-8").replace("{bake:", "{poach:"), encoding="utf-8")
    found = predicted(kitchen, "--step", "poach")
    _, large = found["loads"]
    assert large["held_at_c"] == 80 and 40 < large["furthest_c"] < 79
    assert large["reached"][0]["min"]["likely"] > found["to_target_min"]["likely"]
    assert "Long tank falls to about " in said(kitchen, "--step", "poach")


def test_less_power_never_passes_more_and_no_limit_reads_it(kitchen: Path) -> None:
    ranked = ["likely passes", "too close", "likely fails"]
    limits = run(kitchen, "limits", "pork-bake", "--format", "json").stdout
    before = f"{FRIDGE}"
    worst = []
    for watts in (2000, 300, 120):
        new = f"{FRIDGE}, power: {watts} W"
        with_house(kitchen, before, new)
        before = new
        loads = predicted(kitchen, "--in", "cold-room", "--depth", "20 mm")["loads"]
        worst.append(max(ranked.index(r["verdict"]) for one in loads for r in one["reached"]))
        assert run(kitchen, "limits", "pork-bake", "--format", "json").stdout == limits
    assert worst == sorted(worst) and worst[0] < worst[-1]


def test_water_that_is_said_to_be_stirred_or_not_makes_the_band_narrow(kitchen: Path) -> None:
    """And what isn't said holds both."""
    path = with_house(kitchen, "shape: box", "moisture_tight: yes, shape: box") / HOUSE
    text = path.read_text(encoding="utf-8")
    bands = {}
    for stirred in ("", ", stirred: yes", ", stirred: no"):
        path.write_text(
            text + f"sink: {{kind: ice-bath, name: Sink, air: 0 °C{stirred}}}\n", "utf-8"
        )
        first = predicted(kitchen, "--in", "sink", "--depth", "50 mm")["stages"][0]["min"]
        bands[stirred] = (first["low"], first["likely"], first["high"])
    unsaid, yes, no = bands.values()
    assert unsaid[0] <= yes[0] * 1.15 and unsaid[2] >= no[2] * 0.98
    assert yes[1] < unsaid[1] < no[1]
    assert yes[2] / yes[1] < 1.2 and yes[0] / yes[1] > 0.72  # it came in as hot as it was cooked
    assert no[2] / no[1] < 1.45


PULL_UP = "pull_up: {load: %s, at: 60 °C, lifted_to: %s, back: %s}"


def test_a_measured_load_goes_before_a_power(kitchen: Path) -> None:
    """Twice the heat lifts it twice as far; a longer lift is slower; past what was measured there is
    no late end, so that nothing passes by it; the early end is as if nothing was lifted."""
    both = f"{FRIDGE}, power: 250 W, " + PULL_UP % ("20 kg", "8 °C", "2 h")
    said_of = predicted(with_house(kitchen, FRIDGE, both), "--in", "cold-room")
    alone = said_of["stages"]
    small, large = said_of["loads"]
    for one in (small, large):
        start = alone[0]["from_c"]
        heat = one["kg"] * (start - 3) / (20 * (60 - 3))
        assert one["heat_beside_the_measured"] == pytest.approx(heat, rel=1e-4)
        assert one["furthest_c"] == pytest.approx(3 + 5 * heat, abs=0.01)
        for now, before in zip(one["reached"], alone, strict=True):
            assert now["min"]["low"] == before["min"]["low"]
            assert now["min"]["likely"] > before["min"]["likely"]
            assert now["min"]["high"] is None or now["min"]["high"] > before["min"]["high"]
    words = said(kitchen, "--in", "cold-room")
    assert "goes by the load that was measured" in words and "of its plate" not in words
    longer = PULL_UP % ("20 kg", "8 °C", "4 h")
    slow = predicted(
        with_house(kitchen, PULL_UP % ("20 kg", "8 °C", "2 h"), longer), "--in", "cold-room"
    )
    for now, before in zip(slow["loads"], said_of["loads"], strict=True):
        assert now["reached"][-1]["min"]["likely"] > before["reached"][-1]["min"]["likely"]


def test_more_heat_than_was_measured_never_likely_passes(kitchen: Path) -> None:
    strong = f"{FRIDGE}, " + PULL_UP % ("100 g", "4 °C", "5 min")
    found = predicted(with_house(kitchen, FRIDGE, strong), "--in", "cold-room", "--depth", "10 mm")
    for load in found["loads"]:
        assert load["heat_beside_the_measured"] > 1.25
        assert load["reached"] == [] and load["furthest_c"] is None and load["course_c"] == []
    words = said(kitchen, "--in", "cold-room")
    assert "more heat than was measured (`pull_up`), so how far it lifts Cold room isn't" in words
    assert "Then 21.1" not in words and "twice the heat" not in words


def test_a_freezer_is_not_asked_for_a_power_it_may_not_have(kitchen: Path) -> None:
    with_house(
        kitchen, "kind: blast-chiller, name: Blast chiller", "kind: freezer, name: Blast chiller"
    )
    words = said(kitchen)
    assert "How far the load lifts it isn't known.\n" in words and "`power`" not in words


def test_a_load_of_any_size(kitchen: Path) -> None:
    """The size options of `batch`: twice the food brings twice the heat; one fill goes on as it did."""
    one, two = (predicted(kitchen, "--total", f"{kilos} kg") for kilos in (8, 16))
    (small,), (large,) = one["batches"], two["batches"]
    assert large["heat_kwh"] == pytest.approx(2 * small["heat_kwh"], rel=1e-4)
    assert one["stages"] == two["stages"]
    refused = run(kitchen, "predict", "pork-bake", "--total", "8 kg", "--portions", "3")
    assert refused.returncode == 2 and "One batch size at a time" in refused.stderr
    body = run(None, "predict", "--body", "slab: 40 mm", "--portions", "3")
    assert body.returncode == 2 and "--portions goes with a formula" in body.stderr


@pytest.mark.parametrize("words", [["--portions", "0"], ["--fills", "00"], ["--total", "0kg"]])
def test_no_batch_at_all(kitchen: Path, words: list[str]) -> None:
    """What is typed on the command line is no line of a file that could be deleted."""
    done = run(kitchen, "batch", "pork-bake", *words)
    assert done.returncode == 2 and "is zero" in done.stderr
    assert "Write how much" in done.stderr and "Delete" not in done.stderr
