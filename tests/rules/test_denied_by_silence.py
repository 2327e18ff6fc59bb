"""What a name says of fish, of crustaceans or of an animal is as grave as what it says of milk or
egg: an error where the facts deny it."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import compute
from honest_kitchens import PANTRY, lay_out

SAUCE = {"species": "none", "state": "ready-to-eat", "tcs": "no", "arrives": "ambient"}
MEAT = {"state": "raw", "form": "intact", "allergens": "none", "arrives": "cold"}


def contradictions(path: Path, facts: dict[str, object]) -> list[str]:
    PANTRY["asked"] = facts
    try:
        process = "  - do: mix\n    add: [dish]\n  - do: serve\n"
        parts = {"dish": {"rice": "1 kg", "asked": "5 %"}}
        lay_out(path, {"parts": parts, "process": process})
    finally:
        del PANTRY["asked"]
    return [f.message for f in compute(path).errors if f.code == "fact-contradicted"]


@pytest.mark.parametrize(
    ("name", "allergens", "denied"),
    [
        *((name, "none", True) for name in ("Padaek", "Pla ra", "Ngapi", "Fish sauce", "Nam pla")),
        *((name, "none", True) for name in ("Shrimp paste", "Trassi", "Belacan", "XO sauce")),
        ("Worcestershire sauce", "none", True),
        ("Skimmed milk", "none", True),  # the measure of how grave it is
        ("Padaek", ["fish"], False),
        ("Ngapi", ["fish (anchovy)"], False),
        ("Vegan fish sauce", "none", False),
        ("Fish-free padaek", "none", False),
        ("Tomato ketchup", "none", False),
        ("Padaek flavouring", "none", False),
    ],
)
def test_what_a_sauce_is_made_of(
    tmp_path: Path, name: str, allergens: object, denied: bool
) -> None:
    found = contradictions(tmp_path, {"name": name, "allergens": allergens, **SAUCE})
    assert any("leaves that out" in one for one in found) == denied, found


BIRDS = ("Quail", "Pheasant breast", "Partridge", "Grouse", "Mallard")
GAME = ("Venison haunch", "Springbok loin", "Wild boar", "Muntjac", "Nutria")
OTHERS = ("Camel", "Camel mince", "Llama loin", "Alligator tail", "Frog legs", "Yak", "Zebra")


@pytest.mark.parametrize("name", [*BIRDS, *GAME, *OTHERS, "Rabbit legs", "Ostrich", "Cabrito"])
@pytest.mark.parametrize("species", ["beef", "pork", "none"])
def test_an_animal_of_another_class(tmp_path: Path, name: str, species: str) -> None:
    found = contradictions(tmp_path, {"name": name, "species": species, **MEAT})
    assert any(f"`species: {species}`" in one for one in found), found


@pytest.mark.parametrize(
    ("name", "species"),
    [
        ("Quail", "quail"),
        ("Quail", "game-bird"),
        ("Pigeon", "squab"),
        ("Pheasant", "wild-game"),
        ("Venison haunch", "farmed-venison"),
        ("Venison haunch", "wild-game"),
        ("Camel", "wild-game"),
        ("Water buffalo", "bison"),
        ("Frog legs", "fish"),
        ("Rhea fillet", "rhea"),
        ("Camel", "wild-game"),
        ("Beef mince", "beef"),
        ("Bird's eye chilli", "none"),
        ("Turtle beans", "none"),
        ("Buffalo mozzarella", "none"),
        ("Camel milk", "none"),
    ],
)
def test_what_is_stated_truly_is_no_contradiction(tmp_path: Path, name: str, species: str) -> None:
    allergens = ["fish (frog)"] if species == "fish" else MEAT["allergens"]
    facts = {"name": name, "species": species, **MEAT, "allergens": allergens}
    found = contradictions(tmp_path, facts)
    assert not any("`species" in one for one in found), found
