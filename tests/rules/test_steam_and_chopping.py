"""Cautions by the name of a verb or machine: steam is no hot fat, and nobody chops in a grinder."""

from __future__ import annotations

from pathlib import Path

import pytest
from test_cautions_unsaid import cautions

FOOD = {"food": {"lump": "5 kg"}, "oil": {"frying-oil": "100 g"}}


@pytest.mark.parametrize(
    "step",
    [
        {"do": "steam"},
        {"do": "steam", "with": "our-steamer"},
        {"do": "ready", "does": "cooks", "with": "our-steamer"},
        {"do": "steam-through", "does": "cooks"},
    ],
)
def test_a_steamer_of_any_kind_burns_with_steam(step: dict[str, str], tmp_path: Path) -> None:
    made = {**step, "add": ["food", "oil"], "target": "core 76 °C", "time": "9 min"}
    (found,) = cautions(tmp_path, [made], FOOD)
    assert "hot-water" in found and not found & {"hot-fat", "hot-oil"}


def test_what_is_chopped_is_cut_with_a_knife_or_a_cutter(tmp_path: Path) -> None:
    (found,) = cautions(tmp_path / "a", [{"do": "chop", "add": ["food", "oil"]}], FOOD)
    assert "knives" in found and "grinder-hands" not in found
    ground = [{"do": "grind", "add": ["food", "oil"]}]
    assert "grinder-hands" in cautions(tmp_path / "b", ground, FOOD)[0]
    named = [{"do": "chop", "add": ["food", "oil"], "how": ["Put it through the mincer."]}]
    assert "grinder-hands" in cautions(tmp_path / "c", named, FOOD)[0]
