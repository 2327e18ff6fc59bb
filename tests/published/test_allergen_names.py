"""Names that hold an allergen, typed a second time from the lists of authorities they were read in; and
kinds of nuts and fish that a name and its declaration say differently."""

from __future__ import annotations

import csv
from pathlib import Path

from conftest import ROOT, compute
from each_row import each_row

from generator.reference.library import read_reference

LIBRARY = read_reference(ROOT / "shared")
NAMES = LIBRARY.known_names
with (Path(__file__).parent / "allergen_names.csv").open(encoding="utf-8", newline="") as file:
    ROWS = list(csv.DictReader(file))


with (Path(__file__).parent / "allergen_usual.csv").open(encoding="utf-8", newline="") as file:
    USUAL = list(csv.DictReader(file))


@each_row("row", USUAL, ids=lambda row: f"{row['name']}: {row['usually']}")
def test_a_name_usually_holds_what_its_list_says(row: dict[str, str]) -> None:
    (found,) = NAMES.of_names((row["name"].capitalize(),))
    assert row["usually"] in found.usually
    assert row["usually"] not in found.facts.allergens


@each_row("row", ROWS, ids=lambda row: row["name"])
def test_a_name_holds_what_its_list_says(row: dict[str, str]) -> None:
    """Plural, capitals and a word behind a comma make no difference."""
    for name in (row["name"], row["name"].capitalize(), f"{row['name']}, organic"):
        (found,) = NAMES.of_names((name,))
        held = row["holds"].replace(") ", ")|").split("|")
        assert set(held) <= set(found.facts.allergens), name


def test_every_list_is_a_source_and_is_read() -> None:
    named = {key for food in NAMES.foods.values() for key in food.read_in}
    assert named <= set(LIBRARY.sources)
    assert {row["source"] for row in (*ROWS, *USUAL)} - {"eu-1169-2011-annex-ii"} <= named


def test_what_the_newest_american_list_of_nuts_leaves_out_is_none() -> None:
    """Edition 5 dropped coconut, chestnut, beech nut, hickory, shea, ginkgo, palm and pili nut."""
    for name in ("Coconut", "Chestnuts", "Beech nut", "Hickory nuts", "Shea nut", "Pili nut"):
        assert not [a for f in NAMES.of_names((name,)) for a in f.facts.allergens], name


@each_row(
    "name",
    [
        "Vegan worcestershire sauce",
        "Surimi-style sticks, vegan",
        "Seitan flavouring",
        "Praline flavour",
        "Soya-free lecithin",
        "Sunflower lecithin",
        "Barley-free malt extract",
        "Imitation caseinate",
        "Vegan queso",
        "Gluten-free bread",
        "Corn tortilla",
        "Rice pasta",
        "Coconut crema",
        "Mushroom ganjang style",
    ],
)
def test_what_says_it_is_none_is_none(name: str) -> None:
    assert not [a for f in NAMES.of_names((name,)) for a in f.facts.allergens]


KINDS: list[tuple[str, str, str, str | None]] = [
    (
        "Almond flour",
        "none",
        "[tree nuts (walnut)]",
        "[tree nuts (walnut), tree nuts (almond)]",
    ),
    ("Hazelnut paste", "none", "[tree nuts (almond)]", "tree nuts (hazelnut)"),
    ("Pine nuts", "none", "none", "tree nuts (pine nut)"),
    ("Salmon fillet", "fish", "[fish (cod)]", "fish (salmon)"),
    ("Tuna loin", "fish", "[fish (salmon)]", "fish (tuna)"),
    (
        "Crab meat",
        "crustacean",
        "[crustacean shellfish (shrimp)]",
        "crustacean shellfish (crab",
    ),
    ("Worcestershire sauce", "none", "none", ""),
    ("Praline", "none", "none", ""),
    ("Almond flour", "none", "[tree nuts (almond)]", None),
    ("Filberts", "none", "[tree nuts (hazelnut)]", None),
    ("Hazelnuts", "none", "[tree nuts (filbert)]", None),
    ("Black walnuts", "none", "[tree nuts (walnut)]", None),
    ("Macadamia nuts", "none", "[tree nuts (bush nut)]", None),
    ("Praline", "none", "[tree nuts (hazelnut)]", None),
    ("Nut butter", "none", "[tree nuts (cashew)]", None),
    ("King salmon, side", "fish", "[fish (salmon)]", None),
    ("Branzino", "fish", "[fish (sea bass)]", None),
    ("Coley", "fish", "[fish (pollock)]", None),
    ("Ahi tuna", "fish", "[fish (albacore tuna)]", None),
    ("White fish, filleted", "fish", "[fish (haddock)]", None),
    ("Cod", "fish", "[fish (bluenose)]", None),
    ("Prawns, peeled", "crustacean", "[crustacean shellfish (shrimp)]", None),
]


def ingredient(ident: str, name: str, species: str, allergens: str) -> str:
    return (
        f'{ident}: {{name: "{name}", species: {species}, state: raw, allergens: {allergens}, '
        f"tcs: {'no' if species == 'none' else 'yes'}, source: weighed here}}\n"
    )


def test_kinds_are_compared(kitchen: Path) -> None:
    """The kind a name says, against the kind declared; what isn't known is no contradiction. A fix is
    offered where the kind is known."""
    for number, (name, species, allergens, _) in enumerate(KINDS):
        path = kitchen / "standards" / "ingredients" / f"asked-{number}.yaml"
        path.write_text(ingredient(f"asked-{number}", name, species, allergens), "utf-8")
    findings = compute(kitchen).findings
    for number, (name, _, _, write) in enumerate(KINDS):
        said = [f for f in findings if f"asked-{number}" in f.about]
        found = [f for f in said if "leaves that out" in f.message]
        assert bool(found) == (write is not None), (name, [f.message for f in said])
        if write:
            assert write in " ".join(found[0].write), found[0].write
        elif write == "":
            assert not any("allergens:" in text for text in found[0].write), found[0].write
