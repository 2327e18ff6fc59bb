"""What is held hot, stored or displayed is there all at once; a part kept apart has loads of its
own at its steps."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import compute, lay

from generator.sheet.manual import Manual

MACHINES = """\
pot: {kind: pot, name: Stock pot, capacity: 4 kg, station: range}
cabinet: {kind: hot-holding, name: Cabinet, capacity: %s, station: range}
"""
PLATE = """\
name: Pork plate
revision: 1
effective: 2026-06-01
approved: R. Osei
station: range
makes: {portion: 200 g, portion_unit: plate}
base: meat
parts:
  meat: {pork-shoulder: 3 kg}
  sauce: {cream: 3 kg}
steps:
  - {do: boil, work_on: sauce, with: pot, target: core 90 °C, time: 20 min}
  - {do: hold-hot, with: cabinet, target: at 65 °C, gives: hot-sauce}
  - {do: roast, work_on: meat, with: range-oven, target: core 72 °C, time: 40 min}
  - {do: serve, add: hot-sauce}
batches: [30 plates]
"""


def put(folder: Path, capacity: str, plate: str = PLATE) -> Manual:
    standards = lay("base", folder) / "standards"
    house = standards / "equipment/house.yaml"
    house.write_text(house.read_text(encoding="utf-8") + MACHINES % capacity, encoding="utf-8")
    (standards / "formulas/plate.yaml").write_text(plate, encoding="utf-8")
    manual = compute(folder)
    assert isinstance(manual, Manual)
    return manual


def test_the_sauce_has_loads_of_its_own(tmp_path: Path) -> None:
    """30 plates are the formula as written: 3 kg of sauce in the pot and in the cabinet, beside 3 kg
    of meat in the oven."""
    manual = put(tmp_path, "3 kg")
    assert not manual.errors, manual.errors
    loads = manual.sheets["plate"].batches[0].step_loads
    assert [(one.step, one.loads.count, one.loads.grams) for one in loads] == [
        ("boil", 1, 3000),
        ("hold-hot", 1, 3000),
        ("roast", 1, 3000),
    ]


def test_what_is_held_does_not_go_through_in_turns(tmp_path: Path) -> None:
    manual = put(tmp_path, "1 kg")
    (found,) = manual.errors
    assert found.code == "load-above-maximum"
    assert "3 times what fits: 1\u00a0kg" in found.message
    assert found.help.replace("\u00a0", " ").startswith("Make 10 plates at most.")


@pytest.mark.parametrize("store", ["do: store, in: cold-room", "do: freeze, in: ice-box"])
def test_what_was_stored_is_taken_out_as_it_is_needed(tmp_path: Path, store: str) -> None:
    """Behind the store the cabinet holds what is served that day."""
    between = (
        "  - {do: chill, in: blast, target: to 4 °C, time: 90 min}\n"
        f"  - {{{store}, id: put-by, target: to 4 °C}}\n"
        "  - {do: reheat, target: core 75 °C for 15 s, time: 30 min}\n"
    ).replace(", target: to 4 °C}\n  - {do: reheat", "}\n  - {do: reheat")
    plate = PLATE.replace("  - {do: hold-hot", between + "  - {do: hold-hot")
    folder = tmp_path / "k"
    standards = lay("base", folder) / "standards"
    house = standards / "equipment/house.yaml"
    text = house.read_text(encoding="utf-8") + MACHINES % "1 kg"
    text += "ice-box: {kind: freezer, name: Ice box, air: -18 °C}\n"
    house.write_text(text, encoding="utf-8")
    (standards / "formulas/plate.yaml").write_text(plate, encoding="utf-8")
    codes = {f.code for f in compute(folder).errors}
    assert "load-above-maximum" not in codes
