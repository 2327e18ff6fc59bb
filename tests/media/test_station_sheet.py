"""The station sheet: scales with their divisions, probes with their last check, machines with what
they take, vessels; as the records say it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from conftest import compute, edit, lay

from generator.binder.documents import station_sheets
from generator.binder.sheet_changes import plain_words, sheet_changes
from generator.records.equipment import Scale, Thermometer
from generator.sheet.manual import Manual

NARROW = "\u00a0"


def tables(manual: Manual, station: str) -> dict[str, dict[str, dict[str, str]]]:
    """Each table by its head: each row by its name, its cells by their column."""
    (sheet,) = [
        s for s in station_sheets(manual, station, ("equipment",)) if s["kind"] == "equipment"
    ]
    found: dict[str, dict[str, dict[str, str]]] = {}
    head = ""
    for block in sheet["blocks"]:
        if block["form"] == "head":
            head = block["words"]
            continue
        heads = [c["head"] for c in block["columns"]]
        found[head] = {
            row[0]["words"].replace(NARROW, " "): dict(
                zip(heads[1:], map(words, row[1:]), strict=True)
            )
            for row in block["rows"]
        }
    return found


def words(cell: Any) -> str:
    return plain_words(cell).replace(NARROW, " ")


def test_every_station_has_its_own(demo: Manual) -> None:
    """A scale or a probe named for another station isn't on it; one named for none is on all."""
    for station in demo.house.stations:
        found = tables(demo, station)
        scales = {
            i.name
            for i in demo.standards.equipment.values()
            if isinstance(i, Scale) and not i.is_elsewhere(station)
        }
        probes = {
            i.name
            for i in demo.standards.equipment.values()
            if isinstance(i, Thermometer) and not i.is_elsewhere(station)
        }
        assert set(found["Scales"]) == scales and set(found["Probes"]) == probes
        machines = {
            step.machine.name
            for sheet in demo.sheets.values()
            if station in sheet.formula.formula.station
            for step in sheet.formula.steps
            if step.machine is not None
        }
        assert machines <= set(found.get("Machines", {}))


def test_figures_and_checks(demo: Manual) -> None:
    found = tables(demo, "meat-room")
    fine = found["Scales"]["Fine scale"]
    assert fine["Division"] == "0.1 g steps" and fine["Accuracy"] == "±0.1 g"
    assert fine["Capacity"].startswith("1 kg") and fine["Last check"] == "9 Nov 2026"
    probe = found["Probes"]["Pocket probe"]
    assert probe["Last check"] == "23 Nov 2026, off by 0.4 °C"
    assert found["Probes"]["Spare probe"]["Last check"] == "not recorded"


def test_a_new_check_is_a_change_of_the_sheet(tmp_path: Path) -> None:
    kitchen = lay("base", tmp_path)

    def sheet() -> dict[str, Any]:
        manual = compute(kitchen)
        assert isinstance(manual, Manual) and not manual.errors
        return next(
            s for s in station_sheets(manual, "pass", ("equipment",)) if s["kind"] == "equipment"
        )

    before = sheet()
    old = "accuracy: 1 °C}"
    edit(kitchen, "equipment/house.yaml", old, "accuracy: 1 °C, last_check: 2026-11-20}")
    (change,) = sheet_changes(before, sheet())
    assert change.name == "Pocket probe, last check"
    assert [w.strip().replace(NARROW, " ") for w in (change.old, change.new)] == [
        "not recorded",
        "20 Nov 2026",
    ]


@pytest.mark.parametrize("off", ["0.9 °C", "1 °C"])
def test_as_far_off_as_it_is_said_to_be_is_no_error(tmp_path: Path, off: str) -> None:
    kitchen = lay("base", tmp_path)
    new = f"accuracy: 1 °C, last_check: {{date: 2026-11-20, off_by: {off}}}}}"
    edit(kitchen, "equipment/house.yaml", "accuracy: 1 °C}", new)
    assert not compute(kitchen).errors
