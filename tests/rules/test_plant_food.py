"""Plant food that needs temperature control unheated: Food Code 1-201.10 "Time/temperature control
for safety food" (read in Wisconsin ATCP 75 appendix)."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import compute, edit
from each_row import each_row

from generator.files.finding import as_record
from generator.records.ingredient import Ingredient
from generator.reference.library import read_reference
from generator.reference.shared_data import installed
from generator.rules.cold.plants import plant_of

ALL = "ingredients/all.yaml"


def facts(name: str, **more: str) -> Ingredient:
    given = {"name": name, "species": "none", "allergens": "none", "tcs": "no", **more}
    return Ingredient.model_validate(given)


def put(kitchen: Path, **items: str) -> None:
    """Raw plant foods on the shelf, by id and name."""
    lines = "".join(
        f"{ident}:\n  name: {name}\n  species: none\n  allergens: none\n  tcs: no\n"
        for ident, name in items.items()
    )
    edit(kitchen, ALL, "whole-egg:\n", lines + "whole-egg:\n")


def dry(kitchen: Path, parts: str, steps: str = "") -> None:
    """A formula that mixes ``parts`` and is kept dry, so that needing the cold is an error."""
    folder = kitchen / "standards"
    (folder / "processes/mixed.yaml").write_text(
        f"name: Mixed\nparts: [all]\nsteps:\n  - do: mix\n    add: [all]\n{steps}  - do: label\n"
    )
    (folder / "formulas/mixed.yaml").write_text(
        "name: Mixed jar\nrevision: 1\neffective: 2026-06-01\napproved: R. Osei\nstation: pass\n"
        f"base: all\nparts:\n  all:\n{parts}process: mixed\nkeeps: {{dry: 9 days}}\n"
        "batches: [1 kg base]\n"
    )


def needs_cold(kitchen: Path) -> bool:
    manual = compute(kitchen)
    codes = [f.code for f in manual.errors]
    assert codes in ([], ["keeps-dry"]), codes
    return bool(codes)


CUT = "  - do: cut\n"


@pytest.mark.parametrize(
    ("items", "steps", "expected"),
    [
        ({"garlic": "Garlic", "oil": "Olive oil"}, "", True),
        ({"garlic": "Garlic"}, CUT, False),
        ({"garlic-powder": "Garlic powder", "oil": "Olive oil"}, "", False),
        ({"lettuce": "Romaine lettuce"}, "", False),
        ({"lettuce": "Romaine lettuce"}, CUT, True),
        ({"parsley": "Parsley"}, CUT, False),
        ({"tomato": "Plum tomatoes"}, "", False),
        ({"tomato": "Plum tomatoes"}, "  - do: puree\n", True),
        ({"sun-dried": "Sun-dried tomatoes"}, CUT, False),
        ({"melon": "Cantaloupe"}, CUT, True),
        ({"sprouts": "Bean sprouts"}, "", True),
        ({"sprouts": "Brussels sprouts"}, CUT, False),
    ],
)
def test_what_needs_the_cold(
    kitchen: Path, items: dict[str, str], steps: str, expected: bool
) -> None:
    put(kitchen, **items)
    each = 1000 // len(items)
    dry(kitchen, "".join(f"    {item}: {each} g\n" for item in items), steps)
    assert needs_cold(kitchen) is expected


def test_a_prepared_line_counts_as_cut(kitchen: Path) -> None:
    put(kitchen, tomato="Plum tomatoes")
    dry(kitchen, "    tomato: {amount: 1 kg, prepare: diced}\n")
    assert needs_cold(kitchen)


def test_the_kitchen_may_say_that_it_is_something_else(kitchen: Path) -> None:
    put(kitchen, garlic="Garlic crisps", oil="Olive oil")
    dry(kitchen, "    garlic: 500 g\n    oil: 500 g\n")
    assert needs_cold(kitchen)
    edit(kitchen, ALL, "name: Garlic crisps\n", "name: Garlic crisps\n  plant: other\n")
    assert not needs_cold(kitchen)


def test_the_finding_names_the_food_and_the_clause(kitchen: Path) -> None:
    put(kitchen, garlic="Garlic", oil="Olive oil")
    dry(kitchen, "    garlic: 500 g\n    oil: 500 g\n")
    assert as_record(compute(kitchen).errors[0])["help"].startswith(
        "Garlic: garlic in oil (1-201.10). Write"
    )


@pytest.mark.parametrize(
    ("items", "steps", "says"),
    [
        ({"garlic": "Garlic", "oil": "Olive oil"}, "", "garlic in oil (Sch. 4 para. 2)"),
        ({"melon": "Cantaloupe"}, CUT, "cut melon (Sch. 4 para. 2)"),
        ({"tomato": "Tomatoes"}, CUT, "cut tomato, and mixtures with it (Sch. 4 para. 2)"),
        ({"leaves": "Little gem"}, CUT, "cut leafy greens (Sch. 4 para. 2)"),
        ({"sprouts": "Bean sprouts"}, "", "raw seed sprouts (Sch. 4 para. 2)"),
    ],
)
def test_england_names_no_food_and_means_these(
    items: dict[str, str], steps: str, says: str, kitchen: Path
) -> None:
    """SI 2013/2996, Schedule 4 paragraph 2: any food likely to support the growth of pathogenic
    micro-organisms or the formation of toxins, kept above 8 °C, is an offence."""
    edit(kitchen, "kitchen.yaml", "us-food-code, edition: 2022", "uk-england, edition: 2013")
    put(kitchen, **items)
    dry(kitchen, "".join(f"    {ident}: 500 g\n" for ident in items), steps)
    found = [as_record(f) for f in compute(kitchen).errors if f.code == "keeps-dry"]
    assert len(found) == 1 and says in found[0]["help"], found


def test_whole_melons_and_garlic_alone_need_no_cold_in_england(kitchen: Path) -> None:
    edit(kitchen, "kitchen.yaml", "us-food-code, edition: 2022", "uk-england, edition: 2013")
    put(kitchen, melon="Cantaloupe", garlic="Garlic")
    dry(kitchen, "    melon: 500 g\n    garlic: 500 g\n")
    codes = {f.code for f in compute(kitchen).errors if "Mixed jar" in f.message}
    assert "keeps-dry" not in codes, codes


def test_heated_plant_food_needs_it_in_the_next_formula_too(kitchen: Path) -> None:
    """ "a plant food that is heat-treated", wherever it goes afterwards."""
    put(kitchen, barley="Barley")
    folder = kitchen / "standards"
    (folder / "processes/boiled.yaml").write_text(
        "name: Boiled\nsteps:\n  - do: boil\n    add: [grain]\n    with: range-oven\n"
        "    target: core 90 °C\n"
        "  - do: chill\n    in: blast\n    target: to 4 °C\n  - do: store\n    in: cold-room\n"
    )
    (folder / "formulas/boiled-barley.yaml").write_text(
        "name: Boiled barley\nrevision: 1\neffective: 2026-06-01\napproved: R. Osei\n"
        "station: pass\n"
        "base: grain\nparts: {grain: {barley: 1 kg}}\nprocess: boiled\n"
        "keeps: {cold: 3 days}\nbatches: [1 kg base]\n"
    )
    dry(kitchen, "    boiled-barley: 1 kg\n")
    assert needs_cold(kitchen)


def test_sprouts_are_received_cold_whatever_the_shelf_says(kitchen: Path) -> None:
    from generator.rules.store.receiving import receiving

    put(kitchen, sprouts="Bean sprouts", barley="Barley")
    manual = compute(kitchen)
    assert manual.house is not None
    shelf = manual.standards.ingredients
    found = receiving(manual.house, "sprouts", shelf["sprouts"])
    assert found is not None and found.limit is not None and found.limit.hazard == "receive"
    assert receiving(manual.house, "barley", shelf["barley"]) is None


def test_ready_food_is_known_by_its_name_for_oil_alone() -> None:
    plants = read_reference(installed()).plants
    assert plant_of("x", facts("Rapeseed oil", state="ready-to-eat"), plants) == "oil"
    assert plant_of("x", facts("Tomato sauce", state="ready-to-eat"), plants) == ""
    assert plant_of("x", facts("Tomato sauce", plant="tomato"), plants) == "tomato"
    assert plant_of("x", facts("Foil tray"), plants) == ""


@each_row("state", ["raw", "ready-to-eat"])
@each_row(
    ("name", "sprouts"),
    [
        ("Mung beansprouts", True),
        ("Alfalfa", True),
        ("Bean sprouts", True),
        ("Seed sprouts", True),
        ("Radish sprout", True),
        ("Sprouted lentils", True),
        ("Brussels sprouts", False),
        ("Tinned bean sprouts", False),
        ("Purple sprouting broccoli", False),
        ("Sprouted wheat bread", False),
    ],
)
def test_sprouts_are_raw_whatever_their_state(name: str, state: str, sprouts: bool) -> None:
    """Raw seed sprouts eaten as they come are no less raw: Food Code 3-801.11(C)."""
    plants = read_reference(installed()).plants
    assert (plant_of("item", facts(name, state=state), plants) == "sprouts") is sprouts


@pytest.mark.parametrize("name", ["Mung beansprouts", "Alfalfa"])
def test_ready_to_eat_sprouts_are_never_for_the_frail(kitchen: Path, name: str) -> None:
    edit(kitchen, "kitchen.yaml", "serves: general", "serves: highly-susceptible")
    edit(kitchen, "formulas/rice-salad.yaml", "2 kg\n", "2 kg\n    sprouts: 300 g\n")
    new = f"sprouts: {{name: {name}, species: none, state: ready-to-eat, allergens: none}}\n"
    edit(kitchen, ALL, "whole-egg:\n", new + "whole-egg:\n")
    codes = {f.code for f in compute(kitchen).errors}
    assert "susceptible-raw-sprouts" in codes
