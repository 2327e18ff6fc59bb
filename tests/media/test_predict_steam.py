"""Steps in steam and in ovens dry and humid: the medium by verb and equipment; and the steps that
aren't predicted, each with its reason."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from commands import run

OVEN = "range-oven: {kind: oven, name: Range oven, heat: convection,"
BAKE = """  - do: bake
    with: range-oven
    at: 180 °C
"""


def kitchen_with(kitchen: Path, machine: str, verb: str, at: str, more: str = "") -> Path:
    """The small kitchen's bake, done another way: in a bag, where ``more`` says so."""
    house = kitchen / "standards/equipment/house.yaml"
    text = house.read_text(encoding="utf-8").replace(OVEN, f"range-oven: {{{machine},")
    house.write_text(text, encoding="utf-8")
    steps = kitchen / "standards/processes/baked.yaml"
    how = f"  - do: {verb}\n    with: range-oven\n{f'    at: {at}' if at else ''}\n{more}"
    steps.write_text(steps.read_text(encoding="utf-8").replace(BAKE, how), encoding="utf-8")
    card = kitchen / "standards/formulas/pork-bake.yaml"
    card.write_text(card.read_text(encoding="utf-8").replace("{bake:", f"{{{verb}:"), "utf-8")
    return kitchen


def predicted(kitchen: Path, verb: str) -> dict[str, Any]:
    words = ("--step", verb, "--depth", "40 mm", "--format", "json")
    done = run(kitchen, "predict", "pork-bake", *words)
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def medium(found: dict[str, Any], face: str = "bottom") -> tuple[str, float, float]:
    place = found["assumed"]["places"][0][face]
    return place["medium"], place["h"]["likely"], place["course_c"][0][1]


def test_steam_under_pressure_is_faster_than_in_a_pot_and_that_than_dry_air(
    kitchen: Path, tmp_path: Path
) -> None:
    times = {}
    for name, machine, verb, at in (
        ("pressure", "kind: pressure-cooker, name: Range cooker", "steam", "115 °C"),
        ("pot", "kind: pot, name: Range pot", "steam", "100 °C"),
        ("combi", "kind: oven, name: Range oven, heat: high-humidity", "steam", "95 °C"),
        ("water", "kind: pot, name: Range pot", "poach", "95 °C"),
        ("dry", "kind: oven, name: Range oven, heat: convection", "bake", "95 °C"),
    ):
        here = tmp_path / name
        shutil.copytree(kitchen, here)
        found = predicted(kitchen_with(here, machine, verb, at), verb)
        times[name] = found["to_target_min"]["likely"]
        if name in ("pressure", "pot"):
            assert medium(found) == ("steam, with some air in it", 2500.0, float(at.split()[0]))
            assert found["slowest_at"]["height"] == pytest.approx(0.5)
        if name == "combi":
            assert medium(found)[0] == "an oven's air full of steam"
            assert "a wet surface" in found["slow_side_min"]
        if name == "dry":
            assert "a wet surface" in found["slow_side_min"]
            assert (
                found["to_target_min"]["high"] is None
            )  # a surface at the wet bulb: perhaps never
    assert times["pressure"] < times["pot"] < times["combi"] < times["dry"]
    assert times["pot"] < times["water"]


def test_humid_air_is_known_better_where_its_humidity_is_stated(kitchen: Path) -> None:
    oven = "kind: oven, name: Range oven, heat: convection"
    kitchen_with(kitchen, oven, "bake", "90 °C", "    humidity: 90 %\n")
    found = predicted(kitchen, "bake")
    band = found["to_target_min"]
    assert band["high"] is not None and band["high"] > band["likely"]


@pytest.mark.parametrize(
    ("machine", "verb", "at", "why"),
    [
        ("kind: fryer, name: Range fryer", "fry", "175 °C", "in hot fat a crust grows"),
        ("kind: griddle, name: Range plate", "fry", "180 °C", "one side is heated"),
        ("kind: pot, name: Range pot", "braise", "", "nothing says how hot Range pot is (`at`)"),
    ],
)
def test_what_is_not_predicted_is_listed_with_its_reason(
    kitchen: Path, machine: str, verb: str, at: str, why: str
) -> None:
    kitchen_with(kitchen, machine, verb, at)
    alone = run(kitchen, "predict", "pork-bake", "--step", verb)
    assert alone.returncode == 2 and f"can't be predicted: {why}" in alone.stderr
    whole = run(kitchen, "predict", "pork-bake", "--format", "json")
    assert why in json.loads(whole.stdout)["not_predicted"][verb]
    said = run(kitchen, "predict", "pork-bake").stdout.replace("\u00a0", " ")
    assert f"Not predicted:\n  {verb}: " in said and why in said


def test_a_formula_without_a_chill_names_its_other_steps(kitchen: Path) -> None:
    done = run(kitchen, "predict", "pork-bake", "--step", "chill")
    assert "Other steps" not in done.stdout  # one was named
    whole = run(kitchen, "predict", "pork-bake").stdout
    assert "Other steps, with --step: bake." in whole
    spice = run(kitchen, "predict", "house-spice")
    assert spice.returncode == 2 and "has no limit for cooling hot food" in spice.stderr
