"""The clean kitchen as a bakehouse: flours, a ripening and a baking process, and doughs."""

from __future__ import annotations

import shutil
from pathlib import Path

from conftest import BASE, compute

from generator.sheet.manual import Manual


def kitchen_with(folder: Path, formulas: dict[str, str]) -> Manual:
    """The clean kitchen with flours, and formulas of a dough beside its own."""
    shutil.copytree(BASE / "standards", folder / "standards")
    standards = folder / "standards"
    flour = "species: none, state: raw, form: dry, allergens: [wheat], tcs: no"
    (standards / "ingredients/bakers.yaml").write_text(
        f"bread-flour: {{name: Bread flour, {flour}, foodstuff: flour-bread}}\n"
        f"rye-flour: {{name: Rye flour, {flour}, foodstuff: flour-rye-dark}}\n"
        f"whole-wheat-flour: {{name: Whole wheat flour, {flour}, foodstuff: flour-whole-wheat}}\n"
        "water: {name: Tap water, species: none, state: ready-to-eat, form: liquid, "
        "allergens: none, tcs: no, foodstuff: water-tap}\n"
        "dark-beer: {name: Dark beer, species: none, state: ready-to-eat, form: liquid, "
        "allergens: [wheat], tcs: no}\n"
        f"yeast: {{name: Dry yeast, {flour}}}\n"
        f"levain-culture: {{name: Liquid levain culture, {flour}}}\n"
        f"rye-culture: {{name: Rye sourdough culture, {flour}}}\n"
    )
    (standards / "processes/ripen.yaml").write_text(
        "name: Ripened\nsteps:\n  - do: mix\n    add: [flour, rest]\n"
        "  - do: proof\n    time: 13 h\n"
    )
    (standards / "processes/hearth.yaml").write_text(
        "name: Hearth\nsteps:\n  - do: knead\n    add: [flour, rest]\n    with: bowl-mixer\n"
        "  - do: proof\n    time: 150 min\n  - do: bake\n    with: range-oven\n    at: 230 °C\n"
        "    time: 45 min\n    target: core 96 °C\n    loses: 12 %\n"
    )
    head = "revision: 1\neffective: 2026-01-01\napproved: R. Osei\nstation: range\nbase: flour\n"
    for ident, text in formulas.items():
        words = ident.replace("-", " ").capitalize()
        (standards / f"formulas/{ident}.yaml").write_text(f"name: {words}\n{head}{text}")
    manual = compute(folder)
    assert isinstance(manual, Manual)
    return manual
