"""What finished formulas are made of: how a loss leaves, what a made-ahead formula passes on, and
that no gram is lost on the way."""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path

import pytest
from commands import run
from conftest import AS_OF, KITCHENS, compute, edit
from honest_kitchens import CASES, lay_out, read

from generator.composition.balance import Balance
from generator.composition.contents import REPORTED
from generator.records.composition import MAIN
from generator.sheet.composed import MadeBy
from generator.sheet.manual import Manual, make_manual


def balances(manual: Manual) -> None:
    """The grams of every formula's balance are its finished weight, each constituent within it."""
    for ident, walk in manual.walks.items():
        held = manual.made[ident].balance
        assert held.grams == walk.end.mass, ident
        for name in REPORTED:
            part = held.parts[name]
            assert 0 <= part.low <= part.high, (ident, name)
        least = sum((held.parts[name].low for name in MAIN), Fraction(0))
        assert least <= held.grams * Fraction(103, 100), ident  # tables come to 101.4 %


def test_no_gram_is_lost_in_the_demo(demo: Manual) -> None:
    balances(demo)


def test_no_gram_is_lost_in_another_place(tmp_path: Path) -> None:
    manual = make_manual(KITCHENS / "second_kitchen", AS_OF)
    assert isinstance(manual, Manual)
    balances(manual)


def test_what_was_forgotten_is_worked_out_again_the_same(
    demo: Manual, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Only a few that nothing else is made of are kept: whatever order they are asked for in."""
    usual = dict(MadeBy(demo.house, demo.walks))
    monkeypatch.setattr("generator.sheet.composed._LATEST", 1)
    made = MadeBy(demo.house, demo.walks)
    order = [*usual, *reversed(usual), *usual]
    assert [made[one] for one in order] == [usual[one] for one in order]
    assert len(made._found) < len(usual) > 2


def salad(kitchen: Path, steps: str = "", *, facts: str = "") -> Balance:
    """2 kg of cooked rice of 70 % water with 1 kg of a cream of 60 % water and 35 % fat."""
    edit(
        kitchen,
        "ingredients/all.yaml",
        "cooked-rice:\n",
        "cooked-rice:\n  composition: {water: 70 %, protein: 3 %, fat: 0 %, carbohydrate: 26.5 %, "
        "ash: 0.5 %, alcohol: 0 %, source: a table}\n",
    )
    edit(
        kitchen,
        "ingredients/all.yaml",
        "  source: dairy's data sheet",
        f"  source: dairy's data sheet\n{facts}  composition: {{water: 60 %, fat: 35 %, source: label}}",
    )
    edit(kitchen, "formulas/rice-salad.yaml", "cream: 200 ml", "cream: 1 kg")
    if steps:
        path = kitchen / "standards/processes/toss.yaml"
        path.write_text(path.read_text(encoding="utf-8") + steps, encoding="utf-8")
    manual = compute(kitchen)
    assert isinstance(manual, Manual)
    return manual.made["rice-salad"].balance


def test_it_is_what_went_in(kitchen: Path) -> None:
    """By hand: 1400 + 600 g of water, 350 g of fat in 3020 g; protein from 60 g to 60 g and the 5 %
    of the cream that its label leaves open; salt is all of 20 g and at least that."""
    held = salad(kitchen)
    assert held.grams == 3020
    assert held.parts["water"].low == held.parts["water"].high == 2000
    assert (held.parts["protein"].low, held.parts["protein"].high) == (60, 110)
    assert held.left_open_by("protein") == ("Cream",)
    assert held.parts["salt"].low == 20
    assert held.parts["milk_solids"].high == 400  # what isn't water of the cream


def test_page_data_and_command_say_the_same(kitchen: Path) -> None:
    salad(kitchen)
    record = json.loads(run(kitchen, "data", "rice-salad").stdout)["composition"]
    water = record["per_100_g"]["water"]
    assert round(water["from_pct"], 6) == round(water["to_pct"], 6) == round(200000 / 3020, 6)
    assert record["per_100_g"]["protein"]["left_open_by"] == ["Cream"]
    text = run(kitchen, "batch", "rice-salad", "--composition").stdout
    assert "Water: 66.2 %" in text and "Protein: 1.9 to 3.7 %" in text  # 1.987, 3.642
    assert "Left open by: Cream" in text
    answer = json.loads(
        run(kitchen, "batch", "rice-salad", "--composition", "--format=json").stdout
    )
    assert answer["composition"] == record


@pytest.mark.parametrize(
    ("step", "water", "protein"),
    [
        # 10 % of 3020 g, 302 g, as steam: 1698 g of water left, all the protein
        ("  - do: warm\n    time: 5 min\n    loses: 10 %\n", (1698, 1698), (60, 110)),
        # as some of the mixture: nine tenths of each
        ("  - do: mix\n    loses: 10 %\n", (1800, 1800), (54, 99)),
        # poured off: nobody knows of what
        ("  - do: drain\n    loses: 10 %\n", (1698, 2000), (0, 110)),
    ],
)
def test_a_loss_leaves_by_what_the_step_does(
    kitchen: Path, step: str, water: tuple[int, int], protein: tuple[int, int]
) -> None:
    held = salad(kitchen, step)
    assert held.grams == Fraction(3020) * 9 / 10
    for name, (low, high) in (("water", water), ("protein", protein)):
        assert (held.parts[name].low, held.parts[name].high) == (low, high), name


def test_more_lost_than_its_water_is_said(kitchen: Path) -> None:
    """By hand: 80 % of 3020 g are 2416 g, of 2000 g of water: 416 g too much."""
    held = salad(kitchen, "  - do: rest\n    in: cold-room\n    time: 1 h\n    loses: 80 %\n")
    assert held.dry_g == 416 and held.parts["water"].high == 0
    done = run(kitchen, "batch", "rice-salad", "--composition")
    text = done.stdout
    assert "416 g more is lost as water than there is water in it" in text


@pytest.mark.parametrize("case", CASES)
def test_no_gram_is_lost_in_kitchens_of_all_kinds(case: str, tmp_path: Path) -> None:
    """Pickles thrown away, meat pumped, food made ahead, cooked, chilled and cut."""
    manual = make_manual(lay_out(tmp_path, read(case)), AS_OF)
    assert isinstance(manual, Manual)
    balances(manual)
