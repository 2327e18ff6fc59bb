"""An amount far above what is usual, by a named source, is asked about: its likely meaning first."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from conftest import ROOT, compute
from honest_kitchens import PANTRY, lay_out
from test_fixes_hold import pasted

from generator.reference.library import read_reference
from generator.rules.basics.usual import ASKED_FROM

USUAL = read_reference(ROOT / "shared").usual_amounts
FLOUR = {**PANTRY["flour"], "name": "Bread flour", "foodstuff": "flour-bread"}
PROCESS = (
    "  - do: mix\n    add: [dough]\n    time: 10 min\n  - do: bake\n    target: core 95 °C\n"
    "  - do: store\n"
)
FORMULA = (
    "keeps: {dry: 3 days}\nnot_tcs: Baked through and dry; nothing is put in.\nbase: [flour]\n"
)


def loaf(
    project: Path, monkeypatch: pytest.MonkeyPatch, name: str, amount: str, flour: bool = True
) -> Path:
    monkeypatch.setitem(PANTRY, "flour", FLOUR if flour else PANTRY["flour"])
    facts: dict[str, Any] = {**PANTRY["yeast"], "name": name}
    monkeypatch.setitem(PANTRY, "asked", facts)
    parts = {"dough": {"flour": "5 kg", "water": "60 %", "salt": "2 %", "asked": amount}}
    return lay_out(project, {"parts": parts, "formula": FORMULA, "process": PROCESS})


@pytest.mark.parametrize(
    ("name", "amount", "meant"),
    [
        ("Dry yeast", "8.1 %", "0.81 %"),
        ("Instant yeast", "10 %", "1 %"),
        ("Active dry yeast", "500 g", "50 g"),
        ("Fresh yeast", "25 %", "2.5 %"),
        ("Yeast", "30 %", "3 %"),
        ("Baking powder", "20 %", "2 %"),
        ("Xanthan gum", "5 %", "0.5 %"),
        ("Ice cream stabiliser", "3 %", "0.3 %"),
        ("Acetic acid", "80 %", "8 %"),
    ],
)
def test_ten_times_the_usual_is_asked_about(
    name: str, amount: str, meant: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    project = loaf(tmp_path, monkeypatch, name, amount)
    (found,) = compute(project).findings
    assert found.code == "amount-implausible" and not found.is_error
    assert f"Did you mean {meant}?" in found.message.replace("\u00a0", " ") and found.source
    assert found.write == (f"asked: {meant}",)
    assert pasted(project, found, found.write[0]) == []


@pytest.mark.parametrize(
    ("name", "amount"),
    [
        ("Dry yeast", "4 %"),
        ("Dry yeast", "8 %"),
        ("Fresh yeast", "10 %"),
        ("Nutritional yeast", "30 %"),
        ("Yeast extract", "30 %"),
        ("Baking powder", "5 %"),
        ("Xanthan gum", "1 %"),
        ("Acetic acid", "10 %"),
        ("Ground nutmeg", "20 %"),  # no source was read
    ],
)
def test_the_usual_and_what_no_source_says_are_not(
    name: str, amount: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert compute(loaf(tmp_path, monkeypatch, name, amount)).findings == ()


def test_where_a_tenth_is_too_much_still_none_is_offered(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (found,) = compute(loaf(tmp_path, monkeypatch, "Dry yeast", "90 %")).findings
    assert "Is that right?" in found.message and found.write == ()


def test_without_flour_a_share_of_it_is_not_asked_about(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing says that this flour is one: no share of it is worked out."""
    monkeypatch.setitem(PANTRY, "flour", {**PANTRY["flour"], "name": "Ground oats"})
    facts = {**PANTRY["yeast"], "name": "Dry yeast"}
    monkeypatch.setitem(PANTRY, "asked", facts)
    parts = {"dough": {"flour": "5 kg", "water": "60 %", "asked": "30 %"}}
    project = lay_out(tmp_path, {"parts": parts, "formula": FORMULA, "process": PROCESS})
    assert compute(project).findings == ()


def test_each_entry_has_a_source_that_says_its_figure() -> None:
    assert len(USUAL) >= 6 and ASKED_FROM == 2
    sources = read_reference(ROOT / "shared").sources
    for ident, usual in USUAL.items():
        figure = f"{float(usual.most):g}"
        assert usual.source in sources and Fraction(0) < usual.most <= 10, ident
        assert figure in sources[usual.source].title, ident
