"""Sizes by volume: of a base that is measured, worked by hand; of anything else, what is said."""

from __future__ import annotations

import shlex
from fractions import Fraction
from pathlib import Path

import pytest
from conftest import compute, edit

from generator.cli.sizes import asked_batch
from generator.files.finding import Refused
from generator.sheet.manual import Manual
from generator.sheet.sheet import Batch

SALAD = "formulas/rice-salad.yaml"
CREAM = Fraction(238) / Fraction("236.5882365")  # grams a millilitre: SR28 by the US cup


def cream_base(kitchen: Path, batches: str = "3 l base") -> Manual:
    """The salad by its cream, 200 ml of it to 2 kg of rice."""
    edit(kitchen, SALAD, "base: rice", "base: dressing")
    edit(kitchen, SALAD, "    salt: 1 %\n", "")
    edit(kitchen, SALAD, "[20 portions, 40 portions]", f"[{batches}]")
    manual = compute(kitchen)
    assert isinstance(manual, Manual) and not manual.errors, manual.errors
    return manual


def ask(manual: Manual, **size: str) -> Batch:
    found = asked_batch(manual.sheets["rice-salad"], {"on_hand": (), **size})
    assert found is not None
    return found


def test_three_litres_of_a_base_of_200_ml(kitchen: Path) -> None:
    manual = cream_base(kitchen)
    (batch,) = manual.sheets["rice-salad"].batches
    assert batch.factor == 15 == ask(manual, base_="3 l").factor
    assert batch.yields.base_g == 3000 * CREAM
    assert ask(manual, base_="1 qt").factor == 4 * Fraction("236.5882365") / 200


@pytest.mark.parametrize(
    ("makes", "write"),
    [
        ("fill_volume: 750 ml, unit: jar", ("--fills 7",)),
        ("portion_volume: 200 ml", ("--portions 25",)),
        ("portion: 180 g", ("--base 5l",)),
    ],
)
@pytest.mark.parametrize("kind", ["total_", "yield_"])
def test_what_is_proposed_for_five_litres_is_taken(
    kitchen: Path, kind: str, makes: str, write: tuple[str, ...]
) -> None:
    edit(kitchen, SALAD, "makes: {portion: 180 g}", f"makes: {{{makes}}}")
    edit(kitchen, "processes/toss.yaml", "  - do: chill", "  - do: fill\n  - do: chill")
    manual = cream_base(kitchen)
    with pytest.raises(Refused) as refused:
        ask(manual, **{kind: "5 l"})
    assert refused.value.write == write
    option, _, size = write[0].removeprefix("--").partition(" ")
    assert ask(manual, **{f"{option}_": size}).factor > 0


def test_a_base_partly_weighed_is_asked_for_by_weight(kitchen: Path) -> None:
    manual = compute(kitchen)
    assert isinstance(manual, Manual)
    with pytest.raises(Refused, match="the base isn't given by volume") as refused:
        ask(manual, base_="3 l")
    assert refused.value.help == "Write its weight. In the formula as written it is 2\u00a0kg."
    assert ask(manual, base_="2kg").factor == 1


def test_ice_by_the_litre_goes_by_what_the_kitchen_weighed(kitchen: Path) -> None:
    """Only ice in one piece is published; a litre of crushed ice weighed here, 550 g, counts. In a
    bowl its weight alone takes up no less than loose food does."""
    edit(kitchen, SALAD, "    cream: 200 ml", "    cream: 200 ml\n    crushed-ice: 1 l")
    ice = "crushed-ice: {name: Crushed ice, foodstuff: ice, allergens: none"
    path = kitchen / "standards/ingredients/ice.yaml"
    path.write_text(
        ice + ", weighs: {l: 550 g}, source: weighed here 2026-10-05}\n", encoding="utf-8"
    )
    manual = compute(kitchen)
    assert isinstance(manual, Manual) and not manual.errors, manual.errors
    walk = manual.walks["rice-salad"]
    assert next(ln.grams for ln in walk.lines if ln.joined.item == "crushed-ice") == 550
    edit(kitchen, SALAD, "crushed-ice: 1 l", "crushed-ice: 550 g")
    path.write_text(ice + "}\n", encoding="utf-8")
    manual = compute(kitchen)
    assert isinstance(manual, Manual) and not manual.errors, manual.errors
    parts = manual.walks["rice-salad"].end.components
    assert next(c.room for c in parts if c.item == "crushed-ice") is None


BAKE = "formulas/pork-bake.yaml"


def egg_base(kitchen: Path, batches: str = "8 dishes") -> Manual:
    """The bake by its six eggs of 50 g, beside 238 g of cream; a tray holds thirty."""
    edit(kitchen, BAKE, "base: meat", "base: bind")
    edit(kitchen, BAKE, "salt: 1.6 %\n    house-spice: 1 %", "salt: 48 g\n    house-spice: 30 g")
    edit(kitchen, BAKE, "cream: 1 cup", "cream: 238 g")
    edit(kitchen, BAKE, "[4 dishes, 8 dishes]", f"[{batches}]")
    edit(kitchen, "equipment/house.yaml", "heat: convection, capacity: 20 kg", "heat: convection")
    edit(kitchen, "ingredients/all.yaml", "{each: 50 g}", "{each: 50 g, tray: 1500 g}")
    manual = compute(kitchen)
    assert isinstance(manual, Manual)
    return manual


def bake(manual: Manual, text: str) -> Batch:
    found = asked_batch(manual.sheets["pork-bake"], {"on_hand": (), "base_": text})
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("text", "factor"),
    [
        ("12 each", 2),
        ("12 eggs", 2),
        ("9 whole eggs", Fraction(3, 2)),
        ("1 tray", 5),
        ("3 dozen", 6),
    ],
)
def test_a_base_that_is_counted_is_asked_for_in_pieces(
    kitchen: Path, text: str, factor: Fraction
) -> None:
    """So many eggs are so many times the six, with all else of the base."""
    manual = egg_base(kitchen)
    batch = bake(manual, text)
    assert batch.factor == factor and batch.yields.base_g == factor * (300 + 238)


def test_the_formula_lists_a_size_in_pieces(kitchen: Path) -> None:
    (batch,) = egg_base(kitchen, "12 eggs base").sheets["pork-bake"].batches
    assert batch.factor == 2


@pytest.mark.parametrize(
    ("text", "message", "help"),
    [
        ("20", "20 of what", "Write what is counted or weighed."),
        ("20 apples", "the base has no piece called `apples`", "Count it by `each`"),
        ("5 kgg", "`kgg` is not a unit", "Did you mean `kg`?"),
    ],
)
def test_what_the_base_is_not_counted_in(kitchen: Path, text: str, message: str, help: str) -> None:
    manual = egg_base(kitchen)
    with pytest.raises(Refused, match=message) as refused:
        bake(manual, text)
    assert refused.value.help.startswith(help)
    for write in refused.value.write:
        (typed,) = shlex.split(write.removeprefix("--base "))
        assert bake(manual, typed).factor > 0


def test_pieces_of_two_lines_are_asked_about(kitchen: Path) -> None:
    """Of two lines of the base nobody knows whose `each` is meant; a name says it."""
    edit(kitchen, "ingredients/all.yaml", "whole-egg:\n", DUCK_EGG + "whole-egg:\n")
    edit(kitchen, BAKE, "    whole-egg: 6 each\n", "    whole-egg: 6 each\n    duck-egg: 2 each\n")
    manual = egg_base(kitchen)
    for text in ("12 each", "12 eggs"):
        with pytest.raises(Refused, match="has no piece called"):
            bake(manual, text)
    assert bake(manual, "4 duck eggs").factor == 2


DUCK_EGG = """\
duck-egg:
  name: Duck egg
  species: egg
  state: raw
  form: liquid
  allergens: [eggs]
  weighs: {each: 70 g}
  source: weighed here 2026-03-02
"""
