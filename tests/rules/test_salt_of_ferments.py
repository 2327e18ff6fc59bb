"""What ferments with far less salt than any that is published is reported."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from conftest import compute
from honest_kitchens import PANTRY, lay_out

from generator.rules.cold.ferment_salt import FISH, MEAT, VEGETABLES

PLAN = (
    "authorisations:\n  - {for: ferment, document: Variance 3, authority: County, "
    "from: 2026-01-01, until: 2027-06-01}\n"
)
FOODS = {
    "pork": {"name": "Pork shoulder", "species": "pork", "form": "comminuted"},
    "beef": {"name": "Beef mince", "species": "beef", "form": "comminuted"},
    "anchovies": {"name": "Fresh sardines", "species": "fish", "allergens": ["fish (sardine)"]},
    "cabbage": {"name": "White cabbage"},
    "chillies": {"name": "Red chillies"},
    "grapes": {"name": "Grapes"},
    "cassava": {"name": "Cassava root"},
    "scoby": {"name": "Kombucha scoby"},
    "sugar": {"name": "Sugar", "state": "ready-to-eat", "form": "dry", "foodstuff": "sugar"},
    "soy": {"name": "Soy sauce", "state": "ready-to-eat", "allergens": ["soybeans", "wheat"]},
}
FERMENT = "  - do: ferment\n    at: 20 °C\n    time: 5 days\n"
BRINE = "  - do: brine\n    at: 20 °C\n    time: 5 days\n"
SHORT = "  - do: brine\n    at: 20 °C\n    time: 2 h\n"
AT = "  - do: brine\n    at: 3 °C\n    time: 2 days\n"
COLD = "  - do: brine\n    in: walk-in\n    time: 2 days\n"


def found(path: Path, parts: dict[str, str], work: str) -> list[str]:
    """What is said of the salt of a dish left to ferment."""
    facts = {"species": "none", "state": "raw", "allergens": "none", "arrives": "cold"}
    new = {f"x-{i}": {**facts, **FOODS[i]} for i in parts if i in FOODS}
    for one in new.values():
        if one["species"] == "none":
            one["tcs"] = "no"
    PANTRY.update(new)
    lines = {f"x-{i}" if i in FOODS else i: amount for i, amount in parts.items()}
    try:
        process = f"  - do: mix\n    add: [dish]\n{work}  - do: store\n    in: walk-in\n"
        keeps = "keeps: {cold: 5 days}\n"
        lay_out(
            path,
            {"parts": {"dish": lines}, "formula": keeps, "process": process} | {"kitchen": PLAN},
        )
    finally:
        for ident in new:
            del PANTRY[ident]
    return [f.severity for f in compute(path).findings if f.code == "ferments-unsalted"]


TABLE = [
    ({"pork": "5 kg"}, FERMENT, ["error"]),
    ({"pork": "5 kg", "salt": "0.28 %"}, FERMENT, ["error"]),
    ({"pork": "5 kg", "salt": "1.2 %"}, FERMENT, ["error"]),
    ({"pork": "5 kg", "salt": "2 %"}, FERMENT, []),  # a semi-dry sausage
    ({"pork": "5 kg", "salt": "2.8 %"}, FERMENT, []),
    ({"beef": "5 kg", "salt": "33 g"}, FERMENT, ["error"]),
    ({"anchovies": "5 kg"}, FERMENT, ["error"]),
    ({"anchovies": "5 kg", "salt": "2 %"}, FERMENT, ["error"]),
    ({"anchovies": "5 kg", "salt": "3.5 %"}, FERMENT, []),
    ({"anchovies": "5 kg", "salt": "25 %"}, FERMENT, []),
    ({"anchovies": "5 kg", "water": "5 kg", "salt": "3.5 %"}, FERMENT, ["error"]),
    ({"cabbage": "5 kg"}, FERMENT, ["warning"]),
    ({"cabbage": "5 kg", "salt": "0.2 %"}, FERMENT, ["warning"]),
    ({"cabbage": "5 kg", "salt": "2 %"}, FERMENT, []),
    ({"cabbage": "5 kg", "salt": "1.5 %"}, FERMENT, []),
    ({"cabbage": "5 kg", "water": "5 kg", "salt": "1.5 %"}, FERMENT, ["warning"]),
    ({"chillies": "5 kg"}, FERMENT, ["warning"]),
    ({"chillies": "5 kg", "soy": "10 %"}, FERMENT, []),  # what it holds isn't stated
    ({"cabbage": "5 kg", "water": "5 kg"}, BRINE, ["warning"]),
    ({"cabbage": "5 kg", "water": "5 kg", "salt": "5 %"}, BRINE, []),
    ({"cabbage": "5 kg", "water": "5 kg"}, SHORT, []),
    ({"cabbage": "5 kg", "water": "5 kg"}, COLD, []),
    ({"pork": "5 kg", "water": "5 kg"}, COLD, []),
    ({"pork": "5 kg", "water": "5 kg"}, AT, []),
    ({"grapes": "5 kg"}, FERMENT, []),
    ({"cassava": "5 kg", "water": "5 kg"}, FERMENT, []),
    ({"cabbage": "5 kg", "sugar": "8 %"}, FERMENT, []),
    ({"water": "5 kg", "scoby": "300 g", "sugar": "400 g"}, FERMENT, []),
    ({"milk": "5 kg"}, FERMENT, []),
]


@pytest.mark.parametrize("number", range(len(TABLE)))
def test_the_salt_of_what_ferments(tmp_path: Path, number: int) -> None:
    parts, work, said = TABLE[number]
    assert found(tmp_path, dict(parts), work) == said


def test_the_figures_are_the_published_ones() -> None:
    """Typed a second time: 3 1/3 lb to a hundredweight, 3.5 % of the water, 2 %; half of the first
    and the last."""
    assert 2 * MEAT.reported == Fraction(10, 3) / 100
    assert FISH.reported == Fraction("0.035") and FISH.of_water
    assert 2 * VEGETABLES.reported == Fraction("0.02")
