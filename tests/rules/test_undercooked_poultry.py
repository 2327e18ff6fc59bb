"""Poultry that a guest orders undercooked is asked about: Food Code 3-401.11(D) names egg, fish,
shellfish, steak tartare and rare meat."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import compute
from honest_kitchens import PANTRY, lay_out

SAID = "undercooked: On request; the menu carries the reminder.\n"


def found(path: Path, facts: dict[str, object], said: str = SAID, kitchen: str = "") -> list[str]:
    """What a dish of one raw food, seared and served, is found to be."""
    PANTRY["asked"] = {"allergens": "none", "arrives": "cold", "state": "raw", **facts}
    try:
        lay_out(
            path,
            {
                "parts": {"dish": {"asked": "1 kg"}},
                "formula": said + "makes: {portion: 150 g}\nbatches: [4 portions]\n",
                "kitchen": kitchen,
                "process": "  - do: grill\n    add: [dish]\n    target: core 52 °C\n  - do: serve\n",
            },
        )
    finally:
        del PANTRY["asked"]
    return [f.code for f in compute(path).findings]


@pytest.mark.parametrize(
    ("name", "species", "asked"),
    [
        ("Duck breast", "duck", True),
        ("Chicken thigh", "chicken", True),
        ("Turkey mince", "turkey", True),
        ("Squab", "squab", True),
        ("Lamb loin", "lamb", False),
        ("Beef sirloin", "beef", False),
        ("Pork loin", "pork", False),
    ],
)
def test_poultry_alone_is_asked_about(tmp_path: Path, name: str, species: str, asked: bool) -> None:
    codes = found(tmp_path, {"name": name, "species": species, "form": "intact"})
    assert ("undercooked-poultry" in codes) == asked, codes


def test_what_is_not_stated_counts_as_poultry(tmp_path: Path) -> None:
    assert "undercooked-poultry" in found(tmp_path, {"name": "Mixed trimmings"})


def test_without_the_key_it_is_an_error_already(tmp_path: Path) -> None:
    codes = found(tmp_path, {"name": "Duck breast", "species": "duck"}, said="")
    assert "undercooked-poultry" not in codes and "target-below-limit" in codes, codes
