"""Sizes by volume: of a base that is measured, worked by hand; of anything else, what is said."""

from __future__ import annotations

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
