"""What needs no date mark once it is opened, as a plant made and packed it: Food Code
3-501.17(G)."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import compute, edit

from generator.sheet.manual import Manual

ALL, SALAD = "ingredients/all.yaml", "formulas/rice-salad.yaml"
CREAM = (
    "  name: Cream\n  species: none\n  state: pasteurised\n  form: liquid\n"
    "  allergens: [milk]\n  commercially_packed: yes\n"
)


def dairy(kitchen: Path, *facts: str, name: str = "Yogurt", plant: bool = True) -> Manual:
    """The clean kitchen with its cream made another ready-to-eat food of a plant."""
    lines = [f"name: {name}", "species: none", "state: pasteurised", "allergens: [milk]"]
    lines += ["commercially_packed: yes"] if plant else []
    edit(kitchen, ALL, CREAM, "".join(f"  {line}\n" for line in (*lines, *facts)))
    return compute(kitchen)


def parts_dated(manual: Manual) -> list[str]:
    dates = manual.walks["rice-salad"].dates
    assert dates is not None and dates.law_day == 7
    return [part.name for part in dates.dated_parts]


def test_yogurt_of_a_plant_brings_no_date_of_its_own(kitchen: Path) -> None:
    """What is made with it here is dated all the same, by (A), from the day it is made."""
    manual = dairy(kitchen, "undated_as: cultured-dairy")
    assert manual.errors == () and manual.shelves["cream"].dates is None
    assert parts_dated(manual) == ["Cooked rice"]


@pytest.mark.parametrize(
    ("facts", "plant"),
    [
        ((), True),
        (("undated_as: cultured-dairy",), False),
        (("undated_as: dry-sausage",), True),
        (("undated_as: preserved-fish",), True),
    ],
)
def test_unsaid_or_not_so_it_is_dated(kitchen: Path, facts: tuple[str, ...], plant: bool) -> None:
    manual = dairy(kitchen, *facts, plant=plant)
    assert parts_dated(manual) == ["Cooked rice", "Yogurt"]
    assert [f.code for f in manual.findings] == ["undated-unused" for _ in facts]


@pytest.mark.parametrize(
    ("cheese", "dated"),
    [("hard", False), ("semisoft", False), ("soft", True), ("pasteurised-process", True)],
)
def test_a_plants_hard_cheese_is_known_by_its_kind(kitchen: Path, cheese: str, dated: bool) -> None:
    manual = dairy(kitchen, f"cheese: {cheese}", name="Cheese")
    assert ("Cheese" in parts_dated(manual)) == dated
    assert (manual.shelves["cream"].dates is not None) == dated


def test_raw_it_is_on_no_list(kitchen: Path) -> None:
    manual = dairy(kitchen, "undated_as: deli-salad", name="Salad")
    assert manual.findings == ()
    edit(
        kitchen,
        ALL,
        "  name: Salad\n  species: none\n  state: pasteurised\n",
        "  name: Salad\n  species: none\n  state: raw\n",
    )
    assert "undated-unused" in [f.code for f in compute(kitchen).findings]


def test_what_the_kitchen_makes_is_dated_as_ever(kitchen: Path) -> None:
    """A formula has no such key: its own yogurt, salad or sausage keeps seven days at most."""
    edit(
        kitchen,
        SALAD,
        "keeps: {cold: 3 days}",
        "keeps: {cold: 8 days}\nundated_as: deli-salad",
    )
    assert "key-unknown" in [f.code for f in compute(kitchen).errors]
    edit(kitchen, SALAD, "\nundated_as: deli-salad", "")
    assert [f.code for f in compute(kitchen).errors] == ["keeps-beyond-law"]


@pytest.mark.parametrize("code", ["us-food-code, edition: 2013", "uk-england, edition: 2013"])
def test_the_list_is_the_packs(kitchen: Path, code: str) -> None:
    edit(kitchen, "kitchen.yaml", "us-food-code, edition: 2022", code)
    manual = dairy(kitchen, "undated_as: cultured-dairy")
    assert ("undated-unused" in [f.code for f in manual.findings]) == code.startswith("uk")
