"""What is to be on file before food is changed to keep it: a variance by the Food Code (3-502.11), a
HACCP plan of the business's own in England (Regulation (EC) No 852/2004, Article 5)."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import compute, edit
from test_made_wet import put

FOODS = """\
pork: {name: Pork loin, species: pork, state: raw, form: intact, allergens: none, arrives: cold}
pink: {name: Curing salt, species: none, state: ready-to-eat, form: dry, allergens: none, tcs: no,
  function: cure, nitrite: 0.6 %}
cabbage: {name: White cabbage, species: none, state: raw, allergens: none, tcs: no, arrives: cold}
salt: {name: Salt, species: none, state: ready-to-eat, allergens: none, tcs: no, function: salt}
vinegar: {name: Vinegar, species: none, state: ready-to-eat, form: liquid, allergens: none, tcs: no}
mung: {name: "Mung beans, dried", species: none, state: raw, form: dry, allergens: none, tcs: no}
"""
ROAST = "  - {do: roast, target: core 76 °C}\n  - {do: serve}\n"
CASES = {
    "cured": (
        "pork: 1 kg, pink: 20 g",
        "  - {do: cure, in: cold-room, time: 4 days}\n" + ROAST,
        "cured_as: dry\n",
    ),
    "fermented": (
        "cabbage: 1 kg, salt: 20 g",
        "  - {do: ferment, time: 7 days}\n",
        "keeps: {dry: 9 days}\n",
    ),
    "left": (
        "cabbage: 1 kg, salt: 20 g",
        "  - {do: rest, time: 7 days}\n",
        "keeps: {dry: 9 days}\n",
    ),
    "soured": (
        "cabbage: 1 kg, vinegar: 1 kg",
        "  - {do: sour, does: acidifies}\n",
        "acidified: {ph: 4.2, meter: 0.1, record: Log}\nkeeps: {dry: 9 days}\n",
    ),
    "sprouted": ("mung: 1 kg, tap: 2 kg", "  - {do: soak, time: 48 h}\n  - {do: serve}\n", ""),
    "smoked": ("pork: 1 kg, salt: 20 g", "  - {do: smoke, time: 9 h}\n" + ROAST, ""),
}
ENGLAND = "code: {model: uk-england, edition: 2013, adopted_by: the law of England}"


def words(kitchen: Path, case: str) -> str:
    parts, steps, end = CASES[case]
    put(kitchen, "pot", parts, steps, end)
    (kitchen / "standards/ingredients/more.yaml").write_text(FOODS)
    mine = [f for f in compute(kitchen).findings if f.is_error and "pot" in f.about]
    assert mine
    return " ".join(f"{f.message} {f.help} {f.source}" for f in mine)


@pytest.mark.parametrize("case", CASES)
def test_english_law_knows_no_variance(kitchen: Path, case: str) -> None:
    assert "variance" in words(kitchen, case)
    text = (kitchen / "standards/kitchen.yaml").read_text()
    (line,) = (one for one in text.splitlines() if one.startswith("code:"))
    edit(kitchen, "kitchen.yaml", line, ENGLAND)
    said = words(kitchen, case)
    assert "variance" not in said and "3-502.11" not in said
    assert "HACCP plan" in said
