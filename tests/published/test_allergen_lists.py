"""The lists of allergens against a second reading of both laws (allergens_labelling.csv)."""

from __future__ import annotations

import csv
import re
from pathlib import Path

from each_row import each_row

from generator.reference.library import read_reference
from generator.reference.rows import AllergenList

HERE = Path(__file__).parent
LIBRARY = read_reference(HERE.parents[1] / "shared")
with (HERE / "allergens_labelling.csv").open(encoding="utf-8", newline="") as lines:
    ROWS = list(csv.DictReader(lines))
EU = {int(r["item_number"]): r for r in ROWS if r["id"].startswith("EU-ALG-")}
US = {int(r["item_number"]): r for r in ROWS if r["id"].startswith("US-ALG-")}
# The word a kitchen writes, where the published row says more than that word.
EU_WORDS = {
    1: "gluten",
    7: "milk",
    8: "nuts",
    11: "sesame",
    12: "sulphites",
}


def held(ident: str) -> AllergenList:
    return LIBRARY.allergens[ident]


def test_every_row_was_read_and_names_a_copy() -> None:
    with (HERE / "sources.csv").open(encoding="utf-8", newline="") as lines:
        known = {row["source"] for row in csv.DictReader(lines)}
    assert len(EU) == 14 and len(US) == 9 and len(ROWS) == 23
    for row in ROWS:
        assert row["basis"] == "seen"
        assert set(row["source"].split(";")) <= known


def test_the_nine_of_the_united_states() -> None:
    words = list(held("us").named().values())
    assert [w.name for w in words] == [US[n]["item"] for n in sorted(US)]
    for word, number in zip(words, sorted(US), strict=True):
        assert word.kind_named == ("must be named" in US[number]["detail"]), word.name


@each_row("number", sorted(EU))
def test_the_fourteen_of_annex_ii(number: int) -> None:
    word = list(held("eu").named().values())[number - 1]
    row = EU[number]
    assert word.clause == row["clause"] == f"Annex II point {number}"
    assert word.name == EU_WORDS.get(number, row["item"])
    assert re.search(rf"\b{word.name}\b", row["item"])


def test_the_cereals_and_nuts_are_those_of_the_annex() -> None:
    """Points 1 and 8 name them; nothing is on our list that the row doesn't name."""
    cereals = held("eu").named()["gluten"]
    named = re.split(r", |: | and | incl\. ", EU[1]["item"])
    assert set(cereals.kinds) == (
        set(named) - {"cereals containing gluten", "hybrids", "khorasan"}
    ) | {"khorasan wheat"}
    assert {"khorasan", "hybrids"} <= set(named)
    nuts = held("eu").named()["nuts"]
    stated = EU[8]["item"].removeprefix("nuts: ").lower().replace("/queensland", ", queensland")
    assert [k.removesuffix(" nut") for k in nuts.kinds] == [
        k.removesuffix(" nut") for k in stated.removesuffix(" nut").split(", ")
    ]
    assert cereals.kind_named and nuts.kind_named


def test_sulphites_count_above_ten_milligrams() -> None:
    assert EU[12]["rounding_or_threshold"] == ">10 mg/kg or mg/l as SO2"
    assert held("eu").named()["sulphites"].above == "10 mg/kg or 10 mg/l as SO2"


def test_only_words_of_the_lists_are_translated() -> None:
    """What another list's word is called here exists on both sides; species are of the packs."""
    species = {s for p in LIBRARY.packs.values() for s in p.definitions}
    for ident, one in LIBRARY.allergens.items():
        others = {w for i, o in LIBRARY.allergens.items() if i != ident for w in o.named()}
        for word, instead in one.instead.items():
            assert word.split(" (")[0] in others - set(one.named())
            assert instead.split(" (")[0] in one.named()
        for allergen in one.named().values():
            assert set(allergen.species) <= species
            assert allergen.example or not allergen.kind_named
