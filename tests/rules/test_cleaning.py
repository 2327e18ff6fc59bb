"""Cleaning between steps: it leaves the food alone, and is asked for where raw and ready meet."""

from __future__ import annotations

import html
from fractions import Fraction
from pathlib import Path

import pytest
from conftest import compute, edit

from generator.answers.sheet import sheet_record
from generator.reference.library import read_reference
from generator.reference.row_kinds import TimeRow
from generator.reference.shared_data import installed
from generator.rules.basics.limit import Limit
from generator.sheet.manual import Manual

BAKED = "processes/baked.yaml"
STORE = "  - do: store\n    in: cold-room"
CLEAN = (
    "  - do: clean\n    with: cutter\n    every: 4 h\n"
    "    how: Take it apart, wash, rinse, sanitise, air-dry.\n"
)


def with_cutter(kitchen: Path) -> None:
    edit(
        kitchen,
        "equipment/house.yaml",
        "bowl-mixer: {",
        "cutter: {kind: slicer, name: Cutter}\nbowl-mixer: {",
    )


def slicing(kitchen: Path, before: str = "", raw: bool = False) -> Manual:
    """The pork bake sliced on a cutter; ``raw`` grinds the meat on it too."""
    with_cutter(kitchen)
    edit(kitchen, BAKED, STORE, f"{before}  - do: slice\n    with: cutter\n{STORE}")
    if raw:
        edit(kitchen, BAKED, "add: [meat]", "add: [meat]\n    with: cutter")
    return compute(kitchen)


def codes(manual: Manual) -> list[tuple[str, str]]:
    return [(f.severity, f.code) for f in manual.findings]


def test_the_row() -> None:
    """Food Code 4-602.11(C) as adopted: Minnesota Rules 4626.0845 C and WAC 246-215-04605(3), every
    four hours where used with TCS food."""
    found = read_reference(installed()).packs["us-food-code-2022"].row_for(TimeRow, "tcs", "clean")
    assert found is not None and found[1].within is not None
    assert found[1].within.seconds == 4 * 3600
    assert found[1].clause == "4-602.11(C)"


def test_cleaning_leaves_the_food_as_it_is(kitchen: Path) -> None:
    """Property of every step but the cleaning unit: same state, mass, limits and dates as
    without."""
    plain = compute(kitchen).walks["pork-bake"]
    with_cutter(kitchen)
    for verb in ("grind", "mix", "bake", "chill", "store"):
        edit(kitchen, BAKED, f"  - do: {verb}\n", f"{CLEAN}    id: clean-{verb}\n  - do: {verb}\n")
    manual = compute(kitchen)
    assert manual.findings == ()
    walk = manual.walks["pork-bake"]
    kept = [s for s in walk.steps if "cleans" not in s.step.effects]
    assert len(walk.steps) == len(kept) + 5
    assert [(s.before, s.after) for s in kept] == [(s.before, s.after) for s in plain.steps]
    assert (walk.end, walk.dates, walk.figures) == (plain.end, plain.dates, plain.figures)

    def reported(limit: Limit) -> tuple[str, Fraction | None, str]:
        return limit.id, getattr(limit, "read", None), limit.verdict.status

    assert [reported(lm) for lm in walk.limits] == [reported(lm) for lm in plain.limits]
    batch = manual.sheets["pork-bake"].batches[0]
    assert "cutter" not in {one.equipment for one in batch.step_loads}


def test_cleaning_raises_what_the_machine_raises_and_nothing_of_the_food(kitchen: Path) -> None:
    manual = slicing(kitchen, CLEAN)
    sheet = manual.sheets["pork-bake"]
    number = next(s.step.number for s in sheet.walk.steps if s.step.id == "clean")
    assert {n.id for n in sheet.notices.by_step[number]} == {"slicer-blade"}


def test_raw_then_ready_without_cleaning_is_an_error(kitchen: Path) -> None:
    assert codes(slicing(kitchen, raw=True)) == [("error", "not-cleaned-between")]


def test_cleaned_between_it_is_none(kitchen: Path) -> None:
    assert codes(slicing(kitchen, CLEAN, raw=True)) == []


def test_raw_in_another_formula_is_a_warning(kitchen: Path) -> None:
    with_cutter(kitchen)
    edit(kitchen, BAKED, "add: [meat]", "add: [meat]\n    with: cutter")
    edit(
        kitchen,
        "processes/toss.yaml",
        "add: [rice, dressing]",
        "add: [rice, dressing]\n    with: cutter",
    )
    assert codes(compute(kitchen)) == [("warning", "not-cleaned-between")]
    edit(
        kitchen,
        "processes/toss.yaml",
        "  - do: toss",
        "  - {do: clean, with: cutter}\n  - do: toss",
    )
    assert codes(compute(kitchen)) == []


def test_food_that_is_cooked_afterwards_needs_no_cleaning(kitchen: Path) -> None:
    edit(kitchen, "processes/blend.yaml", "add: [spice]", "add: [spice]\n    with: bowl-mixer")
    edit(
        kitchen,
        "processes/blend.yaml",
        "  - do: store",
        "  - {do: bake, target: core 75 °C}\n  - do: store",
    )
    assert "not-cleaned-between" not in {f.code for f in compute(kitchen).findings}


@pytest.mark.parametrize(
    ("every", "warned"), [("4 h", False), ("2 h", False), ("5 h", True), ("1 day", True)]
)
def test_every_four_hours(kitchen: Path, every: str, warned: bool) -> None:
    manual = slicing(kitchen, CLEAN.replace("4 h", every))
    assert codes(manual) == ([("warning", "cleaned-too-seldom")] if warned else [])


def test_it_stands_on_the_page_and_in_the_answer(kitchen: Path) -> None:
    from generator.pages import make_pages

    manual = slicing(kitchen, CLEAN)
    sheet = manual.sheets["pork-bake"]
    page = next(p for p in make_pages(manual) if p.uri == "range/pork-bake.md")
    shown = html.unescape(page.text).replace("\u00a0", " ")
    assert "Clean and sanitise" in shown and "4 h, and before you start" in shown
    assert "Take it apart, wash, rinse, sanitise, air-dry." in shown
    record = sheet_record(sheet, sheet.batches, manual.walks)
    assert [s["every_s"] for s in record["steps"] if "every_s" in s] == [14400]
