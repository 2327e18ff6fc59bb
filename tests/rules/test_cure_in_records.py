"""A cure in a record that says no size and not every weight of its base: the lines it does weigh say
how large the batch can be. Each dose is worked out by hand: 0.24 % of 30 kg of meat is 72 g."""

from __future__ import annotations

from pathlib import Path

import pytest
from broken_kitchens import BASES
from conftest import compute, edit, lay

FORMULA = "formulas/pork-bake.yaml"
MEAT = (
    "pork-jowl: {name: Pork jowl, species: pork, state: raw, form: intact, allergens: none}\n"
    "pork-fat: {name: Pork belly, species: pork, state: raw, form: intact, allergens: none}\n"
)
HEAD = "formula: pork-bake\nrevision: 1\nlot: b2\nday: 2026-11-04\n"
SHOULDER, FAT, JOWL = "pork-shoulder", "pork-fat", "pork-jowl"


def said(folder: Path, used: dict[str, str], more: str = "") -> str:
    """ "danger", "note" or nothing, for a record of what was ``used``; the base is 20 kg, 8 kg and
    2 kg of three meats by the sheet, at factor 10."""
    project = lay("base", folder / "kitchen")
    BASES["cured-mince"].lay_over(project)
    three = "    pork-shoulder: 2 kg\n    pork-fat: 800 g\n    pork-jowl: 200 g\n"
    edit(project, FORMULA, "    pork-shoulder: 3 kg\n", three)
    (project / "standards/ingredients/meat.yaml").write_text(MEAT, encoding="utf-8")
    lines = "".join(
        f"  - {{item: {item.split()[0]}, {f'weight: {weight}, ' if weight else ''}lot: X 1}}\n"
        for item, weight in used.items()
    )
    records = project / "standards/records"
    records.mkdir(exist_ok=True)
    (records / "pork-bake-b2.yaml").write_text(f"{HEAD}{more}used:\n{lines}", encoding="utf-8")
    manual = compute(project)
    assert not manual.errors, [f.message for f in manual.errors]
    found = [f for f in manual.findings if f.code == "record-cure"]
    assert len(found) < 2
    for one in found:
        assert one.message.startswith("DANGER") == (one.severity == "warning")
        assert "for this batch" not in one.message
    return {"warning": "danger", "note": "note"}[found[0].severity] if found else ""


@pytest.mark.parametrize(
    ("used", "more"),
    [
        ({SHOULDER: "20 kg", FAT: ""}, ""),
        ({SHOULDER: "", FAT: "8 kg"}, ""),
        ({SHOULDER: "20 kg", FAT: "8 kg"}, ""),  # the third isn't there at all
        ({SHOULDER: "", "salt": "480 g"}, ""),
        ({SHOULDER: "", "salt": "480 g", "house-spice": "300 g"}, ""),
        ({SHOULDER: "20 kg", "salt": "4.8 kg"}, ""),  # ten times the salt, too
        ({"salt": "480 g"}, ""),
        ({SHOULDER: ""}, "made: 40 kg\n"),
        ({SHOULDER: "", FAT: "", JOWL: ""}, "made: 40 kg\n"),
    ],
)
@pytest.mark.parametrize(
    ("cure", "how"), [("720 g", "danger"), ("72 g", ""), ("76 g", ""), ("30 g", "")]
)
def test_what_is_weighed_says_the_dose(
    tmp_path: Path, used: dict[str, str], more: str, cure: str, how: str
) -> None:
    assert said(tmp_path, {**used, "pink-cure": cure}, more) == how
    assert said(tmp_path / "turned", {"pink-cure": cure, **used}, more) == how


@pytest.mark.parametrize(
    ("used", "cure"),
    [
        ({SHOULDER: ""}, "720 g"),  # nothing is weighed beside it
        ({}, "720 g"),
        ({SHOULDER: "20 kg", "pork-shoulder again": ""}, "720 g"),  # and more of it, unweighed
        ({SHOULDER: "20 kg", FAT: "800 g"}, "72 g"),  # the one speaks for it, the other against it
    ],
)
def test_what_nobody_can_say_is_a_note_still(
    tmp_path: Path, used: dict[str, str], cure: str
) -> None:
    assert said(tmp_path, {**used, "pink-cure": cure}) == "note"


def test_lines_that_disagree_are_taken_at_their_most(tmp_path: Path) -> None:
    used = {SHOULDER: "20 kg", FAT: "800 g"}
    assert said(tmp_path / "a", {**used, "pink-cure": "90 g"}) == "danger"
    assert said(tmp_path / "b", {**used, "pink-cure": "7 g"}) == ""
