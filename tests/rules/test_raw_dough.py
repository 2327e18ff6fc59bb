"""Raw flour is no ready-to-eat food: a preferment or a dough that is baked later has no date mark
of ready-to-eat food, and no part's date from it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from commands import run
from conftest import compute
from honest_kitchens import PANTRY, lay_out

from generator.rules.basics.context import Dates
from generator.sheet.manual import Manual

FLOUR = {**PANTRY["flour"], "name": "Bread flour", "foodstuff": "flour-bread"}
RISEN = "  - do: mix\n    add: [b]\n  - do: proof\n    in: walk-in\n    time: 14 h\n"
BAKED = (
    "  - do: mix\n    add: [a, c]\n    time: 10 min\n  - do: bake\n    target: core 95 °C\n"
    "  - do: store\n"
)


def loaf(project: Path, ahead: dict[str, str], monkeypatch: Any, process: str = RISEN) -> Manual:
    monkeypatch.setitem(PANTRY, "bread-flour", FLOUR)
    poolish = {"parts": {"b": ahead}, "process": process}
    spec = {
        "also": {"poolish": poolish},
        "parts": {"a": {"bread-flour": "5 kg"}, "c": {"poolish": "60 %", "water": "40 %"}},
        "formula": "keeps: {dry: 3 days}\nnot_tcs: Baked through and dry; nothing is put in.\n",
        "process": BAKED,
    }
    found = compute(lay_out(project, spec))
    assert isinstance(found, Manual)
    return found


def dates_of(manual: Manual, ident: str) -> Dates:
    found = manual.walks[ident].dates
    assert found is not None
    return found


def test_a_milk_poolish_is_raw_and_undated(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    manual = loaf(tmp_path, {"bread-flour": "1 kg", "milk": "100 %"}, monkeypatch)
    assert manual.findings == ()
    dates = dates_of(manual, "poolish")
    assert (dates.kind, dates.day) == ("raw", None) and "flour is a raw food" in dates.words
    said = json.loads(run(tmp_path, "batch", "poolish", "--format", "json").stdout)
    assert said.get("ready_to_eat", False) is False
    # it still needs the cold
    assert [limit.hazard for limit in manual.walks["poolish"].limits][-1] == "cold_hold"
    assert dates_of(manual, "dish").dated_parts == ()


def test_what_is_heated_has_its_date_mark(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    cooked = (
        "  - do: simmer\n    add: [b]\n    target: core 85 °C\n  - do: chill\n    in: blast\n"
        "    target: to 4 °C\n  - do: store\n    in: walk-in\n"
    )
    ahead = {"bread-flour": "1 kg", "milk": "100 %"}
    assert dates_of(loaf(tmp_path, ahead, monkeypatch, cooked), "poolish").day == 7


def test_food_dusted_with_flour_has_its_date_mark(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ahead = {"ham": "1 kg", "bread-flour": "5 %"}
    assert dates_of(loaf(tmp_path, ahead, monkeypatch), "poolish").day == 7


def test_dough_that_is_eaten_as_it_is_has_its_date_mark(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing says that anybody bakes it: unsaid, it is kept and eaten."""
    monkeypatch.setitem(PANTRY, "bread-flour", FLOUR)
    parts = {"b": {"bread-flour": "1 kg", "milk": "60 %"}}
    store = f"{RISEN}  - do: store\n    in: walk-in\n"
    for formula, day in (("", 7), ("cooked_later: The label says bake to 95 °C.\n", None)):
        project = tmp_path / str(day)
        spec = {"parts": parts, "formula": formula, "process": store}
        manual = compute(lay_out(project, spec))
        dates = manual.walks["dish"].dates
        assert dates is not None and dates.day == day
