"""Hot food that is off the heat before it is served, with nothing that holds it; and a chill of raw,
part-cooked food, which puts nothing by."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from conftest import BASE, compute

from generator.sheet.manual import Manual
from generator.sheet.walked import Walk

DUCK = "duck: {name: Whole duck, species: duck, state: raw, form: intact, allergens: none}\n"
HEAD = (
    "name: Hung duck\nrevision: 1\neffective: 2026-01-05\napproved: R. Osei\nstation: range\n"
    "parts: {all: {duck: 10 kg}}\nbatches: [10 kg total]\nsteps:\n"
)
ROAST = "{do: roast, with: range-oven, at: 200 °C, time: 50 min, target: core 77 °C}"
ALLOWED = (
    "authorisations:\n  - {for: part-cook, authority: Port Sable, document: Letter 9, "
    "from: 2026-01-01, until: 2028-01-01}\n"
)


def made(folder: Path, *steps: str) -> tuple[Walk, list[str]]:
    """The walk of a duck by these steps, and the codes of its warnings and errors."""
    root = folder / "kitchen"
    shutil.copytree(BASE, root)
    (root / "standards/ingredients/duck.yaml").write_text(DUCK)
    with (root / "standards/kitchen.yaml").open("a") as kitchen:
        kitchen.write(ALLOWED)
    text = HEAD + "".join(f"  - {step}\n" for step in steps)
    (root / "standards/formulas/hung-duck.yaml").write_text(text)
    manual = compute(root)
    assert isinstance(manual, Manual), manual.errors
    found = [f.code for f in manual.findings if "hung-duck" in f.about and f.severity != "note"]
    return manual.walks["hung-duck"], found


@pytest.mark.parametrize(
    ("wait", "asked"),
    [
        ("{do: rest, time: 20 min}", False),
        ("{do: rest, time: 1 h 59 min}", False),
        ("{do: rest, time: 2 h}", True),
        ("{do: cool, time: 3 h}", True),
        ("{do: rest, time: 4 h}", True),
        ("{do: hold-by-time, time: 3 h, procedure: Procedure 2}", False),
        ("{do: hold-hot, target: at 60 °C, time: 3 h}", False),
    ],
)
def test_hot_food_left_off_the_heat_is_asked_about(tmp_path: Path, wait: str, asked: bool) -> None:
    """Nobody holds it hot or by a written procedure (3-501.16, 3-501.19)."""
    _, found = made(tmp_path, ROAST.replace("roast,", "roast, add: all,"), wait, "do: serve")
    assert ("served-off-the-heat" in found) == asked, found


def test_a_chill_between_scalding_and_roasting_gives_no_days(tmp_path: Path) -> None:
    """It is raw until it is roasted, and nothing of it is kept: no date, so no label."""
    walk, found = made(
        tmp_path,
        "{do: part-cook, add: all, at: 100 °C, time: 1 min, procedure: Duck 1}",
        "{do: chill, in: blast, target: to 4 °C, time: 45 min}",
        ROAST,
        "do: serve",
    )
    assert not found
    assert walk.dates is not None and walk.dates.kind == "hot" and walk.dates.day is None
