"""Unit weights of shared/foodstuffs.yaml against USDA SR28 as copied in
household_weights_usda.csv."""

from __future__ import annotations

import csv
import re
from collections import defaultdict
from fractions import Fraction
from pathlib import Path

from each_row import each_row

from generator.measures.amounts import read_amount
from generator.measures.units import load_units
from generator.reference.library import read_reference
from generator.reference.shared_data import installed
from generator.scaling.weights import read_unit_weights, to_grams
from generator.sheet.volumes import CLOSE, LOOSE, room_of

HERE = Path(__file__).resolve().parent
LIBRARY = read_reference(installed())
UNITS = load_units(installed())


def published() -> dict[str, list[dict[str, str]]]:
    rows: dict[str, list[dict[str, str]]] = defaultdict(list)
    with (HERE / "household_weights_usda.csv").open(encoding="utf-8") as file:
        for row in csv.DictReader(file):
            rows[row["ndb_id"]].append(row)
    return rows


ROWS = published()
KNOWN = {f.usda: (ident, f) for ident, f in LIBRARY.foodstuffs.items() if f.usda and f.usda in ROWS}
_SPELT = {"tablespoon": "tbsp", "teaspoon": "tsp", "quart": "qt", "liter": "l"}


def plain_word(measure: str) -> str | None:
    """A published measure in our words, or None for one we leave out (slices, containers)."""
    word = re.sub(r"\(.*?\)", "", measure).replace(",", "").strip().lower()
    word = " ".join(_SPELT.get(w, w) for w in word.split())
    return word or None


@each_row("usda", sorted(KNOWN))
def test_unit_weights_of_the_copied_rows(usda: str) -> None:
    """Source: USDA SR28 (2015-16), WEIGHT records: a measure of the same name weighs the same."""
    ident, stuff = KNOWN[usda]
    by_word: dict[str | None, set[Fraction]] = defaultdict(set)
    for row in ROWS[usda]:
        by_word[plain_word(row["measure"])].add(
            Fraction(row["grams_sr28"]) / Fraction(row["amount"])
        )
    shared = set(by_word) & set(stuff.weighs)
    for word in shared:
        assert word is not None
        assert stuff.weighs[word].value in by_word[word], f"{ident}: {word}"


def test_a_good_part_of_the_table_is_held() -> None:
    assert len(KNOWN) >= 80


@each_row(
    ("food", "text", "grams"),
    [
        # SR28: salt 02047, flour 20081, olive oil 04053, butter 01145, garlic 11215, cream 01053
        ("02047", "1 cup", 292),
        ("02047", "48 tsp", 288),
        ("20081", "2 cups", 250),
        ("04053", "1 tbsp", Fraction("13.5")),
        ("01145", "1 stick", 113),
        ("11215", "3 cloves", 9),
        ("11215", "1 tsp", Fraction("2.8")),
    ],
)
def test_measures_become_the_printed_grams(food: str, text: str, grams: Fraction) -> None:
    """Source: USDA SR28. A source's cup, tablespoon and teaspoon are separate measurements."""
    stuff = KNOWN[food][1]
    weights = read_unit_weights(
        stuff.weighs, stuff.source, stuff.measures, UNITS, lambda n: load_units(installed(), n)
    )
    assert to_grams(read_amount(text, UNITS), weights, stuff.name).grams == grams


def test_a_metric_kitchen_still_reads_the_sources_cup() -> None:
    """A US cup of 292 g of salt is 236.588 ml; a metric cup of 250 ml weighs 292 × 250/236.588."""
    metric = load_units(installed(), "metric")
    stuff = KNOWN["02047"][1]
    weights = read_unit_weights(
        stuff.weighs, stuff.source, stuff.measures, metric, lambda n: load_units(installed(), n)
    )
    grams = to_grams(read_amount("1 cup", metric), weights, stuff.name).grams
    assert grams == 292 * Fraction(250) / Fraction("236.5882365")


def test_what_is_assumed_of_unmeasured_food_is_on_the_safe_side() -> None:
    """USDA SR28: four measured foods in five, and every staple, are heavier than the 1 g in 3 ml
    counted for loose food (leaves, flakes and ground nuts aren't); what can be poured is heavier
    than the 1 g in 1.1 ml counted for it."""
    rooms: dict[str, Fraction] = {}
    for name, stuff in LIBRARY.foodstuffs.items():
        weights = read_unit_weights(
            stuff.weighs,
            stuff.source,
            stuff.measures,
            UNITS,
            lambda s: load_units(installed(), s),
        )
        room = room_of(weights)
        if room is not None:
            rooms[name] = room
    lighter = [name for name, room in rooms.items() if room > LOOSE]
    assert len(lighter) < len(rooms) / 5, lighter
    staple = (
        "flour",
        "sugar",
        "rice",
        "oats",
        "carrot",
        "onion",
        "celery",
        "potato",
        "apple",
        "tomato",
        "leek",
    )
    found = [name for name in rooms if name.startswith(staple)]
    assert len(found) >= 15
    assert [name for name in found if rooms[name] > LOOSE] == []
    pourable = (
        "milk",
        "water",
        "tomato-p",
        "egg-",
        "olive-oil",
        "corn-oil",
        "canola-oil",
        "honey",
        "cider",
    )
    found = [name for name in rooms if name.startswith(pourable)]
    assert len(found) >= 10
    for name in found:
        assert rooms[name] <= CLOSE * Fraction(101, 100), name
