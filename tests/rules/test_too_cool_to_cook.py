"""A step that cooks in heat that cooks nothing is refused, whatever the food is; dry heat below the
boil is asked about."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import compute, edit
from honest_kitchens import PANTRY, lay_out

from generator.files.finding import Finding

FOODS = {
    "carrot": {"name": "Carrots"},
    "flour": {"name": "Wheat flour", "state": "raw", "form": "dry", "allergens": ["wheat"]},
}


def found(path: Path, step: str, food: str = "carrot", formula: str = "") -> list[Finding]:
    facts = {"species": "none", "state": "raw", "allergens": "none", "tcs": "no"}
    PANTRY["asked"] = {**facts, "arrives": "ambient", **FOODS[food]}
    try:
        parts = {"dish": {"asked": "1 kg", "water": "500 g"}}
        process = f"  - do: mix\n    add: [dish]\n{step}  - do: serve\n"
        lay_out(path, {"parts": parts, "formula": formula, "process": process})
    finally:
        del PANTRY["asked"]
    return list(compute(path).findings)


def step(verb: str, at: str, more: str = "    time: 30 min\n") -> str:
    return f"  - do: {verb}\n    at: {at}\n{more}"


OVEN = "    with: oven\n    time: 30 min\n"
FRYER = "    with: fryer\n    time: 6 min\n"
REFUSED = [
    *(step(verb, at) for verb in ("bake", "fry", "simmer") for at in ("40 °C", "40 °F", "18 °C")),
    *(step(verb, "40 °C") for verb in ("boil", "poach", "steam", "roast", "stew", "pasteurise")),
    step("bake", "40 °F", ""),
    step("bake", "129 °F"),
    step("bake", "40 to 180 °C", OVEN),
    "  - do: warm-through\n    does: cooks\n    at: 40 °C\n    time: 1 h\n",
    "  - do: bake\n    target: core 40 °C\n    time: 20 min\n",
]
ACCEPTED = [
    *(step("simmer", at) for at in ("54.5 °C", "85 °C", "200 °F")),
    *(step("bake", at, OVEN) for at in ("180 °C", "400 °F", "110 °C")),
    step("bake", "85 °C", "    with: oven\n    time: 3 h\n"),  # a meringue
    step("roast", "80 °C", "    with: oven\n    time: 8 h\n"),
    step("roast", "85 °C", "    with: oven\n    target: core 80 °C\n    time: 40 min\n"),
    step("fry", "175 °C", FRYER),
    step("confit", "85 °C", "    with: fryer\n    time: 3 h\n"),
    step("steam", "85 °C"),
    step("dry", "40 °C", "    time: 12 h\n"),
    step("melt", "40 °C"),
    "  - do: bake\n    target: core 93 °C\n    time: 40 min\n",
]
ASKED = [
    (step("bake", "180 °F", OVEN), "180 °C"),
    (step("bake", "180 °F", "    with: oven\n"), "180 °C"),
    (step("bake", "85 °C", OVEN), ""),
    (step("fry", "190 °F", FRYER), "190 °C"),
    (step("roast", "200 °F", OVEN), "200 °C"),
]


@pytest.mark.parametrize("text", REFUSED)
def test_heat_that_cooks_nothing(tmp_path: Path, text: str) -> None:
    codes = [f.code for f in found(tmp_path, text) if f.severity == "error"]
    assert codes == ["too-cool-to-cook"], codes


@pytest.mark.parametrize("text", ACCEPTED)
def test_heat_that_cooks(tmp_path: Path, text: str) -> None:
    codes = {f.code for f in found(tmp_path, text)}
    assert not codes & {"too-cool-to-cook", "temperature-implausible"}, codes


@pytest.mark.parametrize(("text", "meant"), ASKED)
def test_dry_heat_below_the_boil(tmp_path: Path, text: str, meant: str) -> None:
    asked = [f for f in found(tmp_path, text) if f.code == "temperature-implausible"]
    assert len(asked) == 1 and asked[0].severity == "warning"
    assert ("Did you mean" in asked[0].message) == bool(meant)
    assert [meant in fix for fix in asked[0].write] == [True] * bool(meant)


def test_batter_is_held_to_it_as_well(tmp_path: Path) -> None:
    codes = [f.code for f in found(tmp_path, step("bake", "40 °F", OVEN), "flour")]
    assert "too-cool-to-cook" in codes


@pytest.mark.parametrize(("typed", "fixed"), [("18 °C", "180 °C"), ("40 °F", "400 °F")])
def test_the_line_offered_is_accepted(tmp_path: Path, typed: str, fixed: str) -> None:
    first = found(tmp_path, step("bake", typed, OVEN))
    (fix,) = [fix for f in first if f.code == "too-cool-to-cook" for fix in f.write]
    assert fix.replace("\N{NO-BREAK SPACE}", " ") == f"at: {fixed}"
    edit(tmp_path, "processes/work.yaml", f"at: {typed}", fix)
    assert not {f.code for f in compute(tmp_path).findings} & {
        "too-cool-to-cook",
        "temperature-implausible",
    }


def test_what_a_guest_orders_undercooked_is_not_asked(tmp_path: Path) -> None:
    said = "undercooked: On request; the menu carries the reminder.\n"
    codes = {f.code for f in found(tmp_path, step("poach", "45 °C"), formula=said)}
    assert "too-cool-to-cook" not in codes
