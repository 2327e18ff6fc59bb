"""What was done to food in a formula made ahead is known in the one that takes it in."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import compute
from test_made_wet import codes, put

MORE = """\
melon: {name: Honeydew melon, species: none, state: raw, allergens: none, tcs: no, arrives: ambient}
cream: {name: Cream, species: none, state: pasteurised, form: liquid, allergens: milk, arrives: cold}
beef: {name: Stewing beef, species: beef, state: raw, form: intact, allergens: none, arrives: cold}
swede: {name: Swede, species: none, state: raw, allergens: none, tcs: no}
"""
SERVE = "  - {do: serve}\n"


@pytest.mark.parametrize(
    ("parts", "ahead", "then", "end", "asked"),
    [
        ("melon: 1 kg", "{do: warm}", "{do: rest, time: 24 h}", SERVE, "between-too-long"),
        (
            "cream: 1 kg",
            "{do: mix}",
            "{do: hold-hot, target: at 63 °C, time: 1 h}",
            SERVE,
            "reheat-missing",
        ),
        ("swede: 1 kg", "{do: puree}", "{do: mix}", "keeps: {dry: 9 days}\n", "kept-moist"),
        ("swede: 1 kg", "{do: wash}", "{do: mix}", "keeps: {dry: 9 days}\n", ""),
        ("melon: 1 kg", "{do: wash}", "{do: rest, time: 3 h}", SERVE, ""),
    ],
)
def test_it_counts_here(
    kitchen: Path, parts: str, ahead: str, then: str, end: str, asked: str
) -> None:
    put(kitchen, "ahead", parts, f"  - {ahead}\n", "")
    put(kitchen, "pot", "ahead: 1 kg", f"  - {then}\n", end)
    (kitchen / "standards/ingredients/more.yaml").write_text(MORE)
    assert codes(kitchen, "pot") == ({asked} if asked else set())


def test_raw_meat_that_goes_in_together_with_hot_food(kitchen: Path) -> None:
    put(kitchen, "ahead", "cream: 1 kg", "  - {do: simmer, target: core 90 °C}\n", "")
    steps = "  - {do: soak, in: cold-room, time: 1 h}\n  - {do: stew, target: core 76 °C}\n"
    put(kitchen, "pot", "ahead: 500 g, beef: 500 g", steps, SERVE)
    (kitchen / "standards/ingredients/more.yaml").write_text(MORE)
    assert "raw-into-hot" in codes(kitchen, "pot")


@pytest.mark.parametrize(
    ("facts", "asked"),
    [
        ("Mayonnaise, species: egg, state: ready-to-eat, allergens: eggs", True),
        (
            "Mayonnaise, species: egg, state: ready-to-eat, allergens: eggs, commercially_packed: yes",
            False,
        ),
        ("Mayonnaise without egg, species: none, state: ready-to-eat, allergens: soybeans", False),
        ("Mayonnaise, species: none, state: ready-to-eat, allergens: soybeans", True),
    ],
)
def test_what_a_plant_packed_and_what_a_name_denies(kitchen: Path, facts: str, asked: bool) -> None:
    (kitchen / "standards/ingredients/dip.yaml").write_text(f"dip: {{name: {facts}}}\n")
    found = {f.code for f in compute(kitchen).findings}
    assert ("fact-contradicted" in found) is asked
