"""What `batch` prints beside the weigh list: made ahead at every level, as purchased, runs, pieces."""

from __future__ import annotations

import dataclasses
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from conftest import compute, lay

from generator.answers.batch import batch_data, batch_text
from generator.cli.sizes import asked_batch
from generator.files.finding import Refused
from generator.pages.formula import formula_pages
from generator.sheet.ahead import ahead_of
from generator.sheet.manual import Manual
from generator.sheet.sheet import Batch, Sheet


def asked(sheet: Sheet, **size: Any) -> Batch:
    found = asked_batch(sheet, {"on_hand": (), **size})
    assert found is not None
    return found


def text_of(manual: Manual, sheet: Sheet, batch: Batch) -> str:
    return batch_text(sheet, batch, manual.walks).replace("\u00a0", " ")


def test_made_ahead_at_every_level(demo: Manual) -> None:
    """The plate needs gravy, the gravy needs stock: as much stock as the gravy's own formula says for
    so much gravy."""
    sheet = demo.sheets["sausage-plate"]
    batch = sheet.batches[0]
    found = {one.id: one for one in ahead_of(demo.walks, sheet.walk, batch.factor)}
    gravy, stock = found["onion-gravy"], found["brown-turkey-stock"]
    assert (gravy.level, stock.level, stock.into) == (1, 2, "Onion gravy")
    own = demo.walks["onion-gravy"]
    line = next(ln for ln in own.lines if ln.joined.item == "brown-turkey-stock")
    assert stock.grams == gravy.grams / own.figures.yielded * line.grams
    text = text_of(demo, sheet, batch)
    assert "\nMake ahead Onion gravy: " in text and "\n  Make ahead Brown turkey stock: " in text
    data = batch_data(sheet, batch, demo.walks)
    assert [one["level"] for one in data["made_ahead"]] == [
        one.level for one in ahead_of(demo.walks, sheet.walk, batch.factor)
    ]
    assert set(data["made_ahead_g"]) == {i for i, one in found.items() if one.level == 1}
    page = formula_pages(dataclasses.replace(demo, sheets={**demo.sheets, sheet.id: sheet}))
    html = next(p.html for p in page if p.uri.endswith("sausage-plate.md"))
    assert "</a>, for Onion gravy" in html


def test_counted_ahead_is_counted(demo: Manual) -> None:
    """A plate counts its sausages: so many sausages are made ahead, and what they weigh."""
    sheet = demo.sheets["sausage-plate"]
    one = next(a for a in ahead_of(demo.walks, sheet.walk, Fraction(1)) if a.id == "race-sausage")
    line = next(ln for ln in sheet.walk.lines if ln.joined.item == "race-sausage")
    assert one.count == line.joined.line.amount.value and one.grams == line.grams


def test_as_purchased(demo: Manual) -> None:
    """Chicken thigh loses 7 % by its trim: 3 kg ready are 3.23 kg bought."""
    sheet = demo.sheets["barley-soup"]
    batch = sheet.batches[0]
    line = next(ln for ln in batch.lines if ln.line.joined.item == "chicken-thigh")
    assert line.purchased_g == line.exact_g / Fraction(93, 100)
    text = text_of(demo, sheet, batch)
    assert "Take out Chicken thigh, boneless, skinless: 3.22 kg as purchased for 3 kg" in text


@pytest.fixture(scope="module")
def legs(tmp_path_factory: pytest.TempPathFactory) -> Manual:
    """24 duck legs of 280 g, 1.6 % salt, 20 % lost in a bath of 12 places and at least 1.5 kg."""
    manual = compute(lay("duck-legs", tmp_path_factory.mktemp("legs") / "kitchen"))
    assert isinstance(manual, Manual) and not manual.errors
    return manual


def test_24_legs_by_hand(legs: Manual) -> None:
    """24 × 280 g and 1.6 % of it, 20 % lost: a leg is 227.584 g. The lightest leg is 30 g below the
    mean raw, so 24 g cooked; the heaviest 40 g above, so 32 g. Two runs of 12, 1 h 30 min each."""
    sheet = legs.sheets["duck-legs"]
    batch = sheet.batches[0]
    yields = batch.yields
    assert (yields.fills, yields.portions, yields.rest_g) == (24, 24, 0)
    assert yields.total_g == 24 * 280 * Fraction(1016, 1000)
    assert yields.portion_g == 280 * Fraction(1016, 1000) * Fraction(8, 10) == Fraction("227.584")
    assert yields.portion_from_g == Fraction("227.584") - 24
    assert yields.portion_to_g == Fraction("227.584") + 32
    bath = next(one for one in batch.step_loads if one.equipment == "duck-bath")
    assert (bath.loads.pieces, bath.bound_by, bath.waits) == ((12, 12), "places", "out")
    assert (bath.each_s, bath.in_all_s, bath.longest_wait_s) == (5400, 10_800, 5400)
    text = text_of(legs, sheet, batch)
    assert "2 loads of 12 legs, one after another: 3 h in all" in text
    assert "You get 5.46 kg, 24 legs of about 228 g, 204 g to 260 g" in text
    assert "12 of 24 legs, 250 g to 320 g each" in text


def test_sizes_by_weight_are_whole_legs(legs: Manual) -> None:
    """5 kg of legs on hand are 17 of 280 g, and 240 g are left; 5 kg in all are 17 legs, too. The
    salt follows the legs."""
    sheet = legs.sheets["duck-legs"]
    have = asked(sheet, on_hand=("duck-leg=5 kg",))
    assert have.yields.fills == 17 and have.on_hand is not None
    assert have.on_hand.leftover == {"duck-leg": 240}
    for batch in (have, asked(sheet, total_="5 kg"), asked(sheet, portions_="17")):
        assert batch.factor == Fraction(17, 24)
        assert batch.label.replace("\u00a0", " ") == "17 legs"
        salt = next(ln for ln in batch.lines if ln.line.joined.item == "salt")
        assert salt.exact_g == 17 * 280 * Fraction(16, 1000)
        assert (salt.loads, salt.shares) == (1, (9, 8))
    assert "for all 2 loads: 9 and 8 of 17" in text_of(legs, sheet, have)


@pytest.mark.parametrize(
    ("size", "words"),
    [
        ({"portions_": "4"}, "Make 6 legs."),
        ({"portions_": "5"}, "Make 6 legs."),
        ({"fills_": "48"}, "Make 36 legs at most. Or keep it cold until its turn"),
        ({"total_": "250 g"}, "Make 6 legs."),
    ],
)
def test_refused_in_legs(legs: Manual, size: dict[str, str], words: str) -> None:
    """A leg comes to the bath with its salt, 284.48 g: six of them reach 1.5 kg;
    not "or more", since the runs of more than 36 wait for too long. After 15 min out of
    the cold, 3 h 45 min are left for waiting: three runs of 1 h 30 min, and 12 places."""
    with pytest.raises(Refused) as refused:
        asked(legs.sheets["duck-legs"], **size)
    assert refused.value.help.replace("\u00a0", " ").startswith(words)


def test_kept_cold_until_its_turn_any_number_of_runs_goes(tmp_path: Path) -> None:
    """With a stay in the refrigerator before the bath, 60 legs are five runs; they wait in the
    cold."""
    folder = lay("duck-legs", tmp_path / "kitchen")
    path = folder / "standards/processes/poached-legs.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(
        text.replace(
            "  - do: poach",
            "  - do: store\n    id: wait\n    in: cold-room\n    time: 12 h\n  - do: poach",
        ),
        encoding="utf-8",
    )
    manual = compute(folder)
    assert isinstance(manual, Manual)
    batch = asked(manual.sheets["duck-legs"], portions_="60")
    bath = next(one for one in batch.step_loads if one.equipment == "duck-bath")
    assert (bath.loads.count, bath.waits) == (5, "cold")
