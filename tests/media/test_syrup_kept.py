"""Syrup drained from candied food is kept like it; what isn't full of sugar is kept cold, alone."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import compute

from generator.views.yield_view import output_views

STORE = """peel: {name: Orange peel, species: none, state: raw, allergens: none, tcs: no}
sugar: {name: Sugar, species: none, state: ready-to-eat, form: dry, allergens: none, tcs: no,
  foodstuff: sugar-granulated}
water: {name: Tap water, species: none, state: ready-to-eat, form: liquid, allergens: none, tcs: no}
"""
PEEL = """name: Candied peel
revision: 1
effective: 2026-05-04
approved: R. Osei
station: range
base: peel
parts:
  peel: {peel: 3 kg}
  syrup: {sugar: SUGAR, water: 2 kg}
steps:
  - {do: blanch, work_on: peel, time: 10 min, gives: soft}
  - {do: boil, work_on: syrup, time: 5 min}
  - {do: simmer, add: soft, time: 1 h}
  - {do: drain, leaves: {old-syrup: {share: 50 %, of: syrup, then: kept}}}
  - {do: store}
CLAIM
batches: [3 kg base]
"""
DRY = "not_tcs: {reason: Water activity 0.78., document: Report 2}\nkeeps: {dry: 90 days}"


@pytest.mark.parametrize(
    ("sugar", "claim", "words"),
    [
        ("5 kg", DRY, "keep it"),
        ("1 kg", DRY, "chill it at once, then keep it cold, unlike the food: "),
        ("5 kg", "keeps: {cold: 5 days}", "chill it like the food, then keep it cold, like the f"),
    ],
)
def test_how_it_is_kept(sugar: str, claim: str, words: str, kitchen: Path) -> None:
    standards = kitchen / "standards"
    (standards / "ingredients/store.yaml").write_text(STORE, encoding="utf-8")
    text = PEEL.replace("SUGAR", sugar).replace("CLAIM", claim)
    if "cold" in claim:
        text = text.replace("{do: store}", "{do: chill, in: blast, target: to 4 °C}")
    (standards / "formulas/candied.yaml").write_text(text, encoding="utf-8")
    manual = compute(kitchen)
    assert "candied" in manual.sheets, [f.message for f in manual.errors]
    sheet = manual.sheets["candied"]
    (syrup,) = (one for one in output_views(sheet, sheet.batches[0]) if "syrup" in one.name)
    assert syrup.then.startswith(words) and (words != "keep it" or syrup.then == words)
