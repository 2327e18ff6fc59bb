"""The plural of a word nobody wrote it for, and sizes that are asked for in it."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from conftest import BASE, compute

from generator.measures.words import counted, plural_of
from generator.sheet.manual import Manual


@pytest.mark.parametrize(
    ("one", "many"),
    [
        ("load", "loads"),
        ("glass", "glasses"),
        ("box", "boxes"),
        ("dish", "dishes"),
        ("sandwich", "sandwiches"),
        ("tray", "trays"),
        ("patty", "patties"),
        ("y", "ys"),
        ("dosa", "dosas"),
        ("loaf", "loaves"),
        ("meatloaf", "meatloaves"),
        ("rye loaf", "rye loaves"),
        ("half", "halves"),
        ("vine leaf", "vine leaves"),
        ("knife", "knives"),
        ("chef", "chefs"),
        ("puff", "puffs"),
        ("beef", "beefs"),
        ("carafe", "carafes"),
    ],
)
def test_the_plural_is_english(one: str, many: str) -> None:
    assert plural_of(one) == many
    assert counted(2, one).endswith(many) and counted(1, one).endswith(one)


@pytest.mark.parametrize("unit", ["glass", "box", "dish", "patty", "tray", "loaf"])
@pytest.mark.parametrize("key", ["unit", "portion_unit"])
def test_a_size_is_asked_for_in_the_plural(tmp_path: Path, unit: str, key: str) -> None:
    weight = "fill_weight" if key == "unit" else "portion"
    root = tmp_path / "kitchen"
    shutil.copytree(BASE, root)
    (root / "standards/formulas/drink.yaml").write_text(
        "name: Drink\nrevision: 1\neffective: 2026-01-05\napproved: R. Osei\nstation: range\n"
        f"makes: {{{weight}: 300 g, {key}: {unit}}}\nparts: {{all: {{tap: 3 kg}}}}\n"
        f"batches: [10 {plural_of(unit)}]\nsteps: [{{do: fill, add: all}}, {{do: serve}}]\n"
    )
    (root / "standards/ingredients/tap.yaml").write_text(
        "tap: {name: Tap water, species: none, state: ready-to-eat, form: liquid, "
        "allergens: none, tcs: no}\n"
    )
    manual = compute(root)
    assert isinstance(manual, Manual), manual.errors
    assert not [f.message for f in manual.findings if "drink" in f.about and f.severity == "error"]
    assert manual.sheets["drink"].batches[0].label.replace("\u202f", " ").endswith(plural_of(unit))
