"""What a tired cook types for an amount, a time or a target, and what is offered: read as it is."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import compute, edit

from generator.files.finding import Refused
from generator.measures.amounts import read_amount
from generator.measures.times import read_time
from generator.measures.units import load_units
from generator.records.process import read_target
from generator.reference.shared_data import installed

UNITS = load_units(installed())


@pytest.mark.parametrize(
    ("typed", "offered"),
    [
        ("2-3 kg", ["2 kg", "3 kg"]),
        ("2 to 3 kg", ["2 kg", "3 kg"]),
        ("1–2 cups", ["1 cups", "2 cups"]),
        ("1-1/2 cup", ["1 1/2 cup"]),
        ("3 cups of cream", ["3 cups"]),
        ("1.5 kg of cod", ["1.5 kg"]),
        ("6 cloves of garlic", ["6 cloves"]),
        ("1.2 percent", ["1.2 %"]),
        ("1.2 per cent of meat", ["1.2 % of meat"]),
        ("1.2 pct", ["1.2 %"]),
    ],
)
def test_an_amount_is_offered(typed: str, offered: list[str]) -> None:
    with pytest.raises(Refused) as refused:
        read_amount(typed, UNITS)
    assert list(refused.value.write) == offered
    for fix in offered:
        assert read_amount(fix, UNITS).value > 0


@pytest.mark.parametrize("typed", ["a pinch", "to taste", "a splash", "some", "a small handful"])
def test_what_is_taken_by_hand_is_asked_to_be_weighed(typed: str) -> None:
    with pytest.raises(Refused) as refused:
        read_amount(typed, UNITS)
    assert "as needed" in refused.value.help and not refused.value.write


@pytest.mark.parametrize(
    ("typed", "seconds"),
    [
        ("half an hour", 1800),
        ("an hour", 3600),
        ("two hours", 7200),
        ("a quarter of an hour", 900),
        ("one and a half hours", 5400),
        ("ten minutes", 600),
        ("a week", 604_800),
    ],
)
def test_a_time_in_words_is_offered_in_figures(typed: str, seconds: int) -> None:
    with pytest.raises(Refused) as refused:
        read_time(typed)
    assert [read_time(fix).seconds for fix in refused.value.write] == [seconds]


@pytest.mark.parametrize(
    ("typed", "offered"),
    [
        ("internal 70 °C", ["core 70 °C"]),
        ("internal temp 70 °C for 2 min", ["core 70 °C for 2 min"]),
        ("chilled to 3 °C", ["to 3 °C"]),
        ("inside: 165 °F", ["core 165 °F"]),
        ("done", []),
        ("internal hot", []),
    ],
)
def test_a_target_behind_other_words_is_offered(typed: str, offered: list[str]) -> None:
    with pytest.raises(Refused) as refused:
        read_target(typed)
    assert list(refused.value.write) == offered
    for fix in offered:
        read_target(fix)


BAKE = "formulas/pork-bake.yaml"


@pytest.mark.parametrize(
    ("old", "new", "code", "offered"),
    [
        ("batches: [4 dishes, 8 dishes]", "batches: 4 dishes", "list-expected", "[4 dishes]"),
        ("keeps: {cold: 5 days}", "keeps: {fridge: 5 days}", "key-unknown", "{cold: 5 days}"),
        ("keeps: {cold: 5 days}", "keeps: {freezer: 5 days}", "key-unknown", "{frozen: 5 days}"),
    ],
)
def test_a_line_is_offered_whole(
    kitchen: Path, old: str, new: str, code: str, offered: str
) -> None:
    edit(kitchen, BAKE, old, new)
    (found,) = [f for f in compute(kitchen).errors if f.code == code]
    assert list(found.write) == [f"{old.partition(':')[0]}: {offered}"]


def test_no_allergens_are_none(kitchen: Path) -> None:
    edit(kitchen, "ingredients/all.yaml", "allergens: none", "allergens: no")
    (found,) = [f for f in compute(kitchen).errors if f.code == "allergen-unknown"]
    assert list(found.write) == ["allergens: none"]
