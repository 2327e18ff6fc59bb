"""What is stated against what is known: facts of foodstuffs, confirmations, and how hot water
gets."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from commands import run
from conftest import ROOT, compute, edit
from each_row import each_row

from generator.files.finding import Finding
from generator.records.ingredient import Ingredient
from generator.reference.known_names import ANIMALS
from generator.reference.library import read_reference
from generator.reference.shared_data import installed
from generator.resolve.facts import known_species

ALL = "ingredients/all.yaml"
LIBRARY = read_reference(installed())


def put(kitchen: Path, text: str) -> None:
    path = kitchen / "standards" / ALL
    path.write_text(path.read_text("utf-8") + text, "utf-8")


def facts(kitchen: Path, ident: str) -> Ingredient:
    manual = compute(kitchen)
    assert manual.standards is not None
    return manual.standards.ingredients[ident]


# --- the foodstuff


def test_every_foodstuff_has_facts_of_known_words() -> None:
    """What a foodstuff says can be stated of an ingredient, and its allergens are on the European
    list."""
    eu = LIBRARY.allergens["eu"].named()
    for ident, stuff in LIBRARY.foodstuffs.items():
        assert stuff.facts.species in known_species(LIBRARY), ident
        for text in stuff.facts.allergens:
            word, _, kind = text.rstrip(")").partition(" (")
            assert word in eu and (not eu[word].kinds or kind in eu[word].kinds), ident


def test_known_names_are_reported_once_and_of_known_words() -> None:
    known = LIBRARY.known_names
    listed = {word for one in LIBRARY.allergens.values() for word in one.named()}
    for ident, food in known.foods.items():
        assert food.species in {None, *ANIMALS} | known_species(LIBRARY), ident
        assert {text.partition(" (")[0] for text in food.allergens} <= listed, ident
        for name in food.names:
            reported = known.of_names([name])
            assert [t.food for t in reported] == [ident], name


def test_an_ingredient_on_one_line(kitchen: Path) -> None:
    put(kitchen, "onion: {name: Onion, foodstuff: onion-raw, allergens: none}\n")
    onion = facts(kitchen, "onion")
    assert (onion.species, onion.state, onion.tcs, onion.allergens) == ("none", "raw", False, ())
    assert [f.code for f in compute(kitchen).findings] == ["not-used"]


def test_a_foodstuff_never_makes_food_less_than_raw_or_warm(kitchen: Path) -> None:
    """State and the need of the cold aren't taken where that would lift a limit."""
    put(kitchen, "milk: {name: Milk, foodstuff: milk-whole, allergens: milk}\n")
    put(kitchen, "rice: {name: Rice, foodstuff: rice-long-grain-cooked, allergens: none}\n")
    put(kitchen, "tomato: {name: Cut tomatoes, foodstuff: tomato-raw, allergens: none}\n")
    for ident in ("milk", "rice"):
        found = facts(kitchen, ident)
        assert (found.state, found.tcs) == (None, True), ident
    assert facts(kitchen, "tomato").tcs


def test_allergens_are_never_taken_but_offered(kitchen: Path) -> None:
    put(kitchen, "soy: {name: Soy sauce, species: none, foodstuff: soy-sauce}\n")
    (found,) = [f for f in compute(kitchen).errors]
    assert found.code == "key-missing"
    assert found.help.startswith("By its foodstuff: `allergens: [soybeans, wheat]`.")


def test_what_is_made_of_several_things_is_never_offered_as_none(kitchen: Path) -> None:
    put(kitchen, "curry: {name: Curry powder, species: none, foodstuff: curry-powder}\n")
    (found,) = [f for f in compute(kitchen).errors]
    assert "none`" not in found.help


# --- confirmed

DRIED = """dried-beef:
  name: Beef strips
  species: beef
  state: ready-to-eat
  form: intact
  allergens: none
  tcs: no
"""
CONFIRMED = (
    "  confirmed: {tcs: {reason: Dried to a water activity of 0.80., document: Report 26-114}}\n"
)
WORDS = (
    "Beef strips: needs no time and temperature control. Dried to a water activity of 0.80. "
    "On file: Report 26-114."
)


def test_a_confirmed_fact_is_no_error_and_prints(kitchen: Path) -> None:
    put(kitchen, DRIED)
    assert [f.code for f in compute(kitchen).errors] == ["fact-contradicted"]
    put(kitchen, CONFIRMED)
    edit(
        kitchen,
        "formulas/rice-salad.yaml",
        "    cream: 200 ml",
        "    dried-beef: 100 g\n    cream: 200 ml",
    )
    manual = compute(kitchen)
    assert manual.errors == ()
    assert [c.sentence for c in manual.sheets["rice-salad"].confirmed] == [WORDS]
    for asked in ("dried-beef", "rice-salad"):
        reported = run(kitchen, "limits", asked)
        assert WORDS in reported.stdout, reported.stdout + reported.stderr
        record = json.loads(run(kitchen, "limits", asked, "--format", "json").stdout)
        assert record["confirmed"] == [
            {
                "ingredient": "dried-beef",
                "fact": "tcs",
                "words": "needs no time and temperature control",
                "reason": "Dried to a water activity of 0.80.",
                "document": "Report 26-114",
            }
        ]
    from generator.binder.batch_sheet import batch_sheets
    from generator.pages.formula import formula_pages
    from generator.pages.ingredient import ingredient_pages

    pages = {p.uri: p.text for p in (*formula_pages(manual), *ingredient_pages(manual))}
    with_it = [uri for uri, text in pages.items() if "water activity of 0.80" in text]
    assert {uri.rsplit("/", 1)[-1].split(".")[0] for uri in with_it} == {"rice-salad", "dried-beef"}
    assert WORDS in str(batch_sheets(manual, manual.sheets["rice-salad"]))


def test_a_fact_is_confirmed_alone(kitchen: Path) -> None:
    """The paper for one fact is none for another."""
    put(kitchen, DRIED.replace("species: beef", "species: none") + CONFIRMED)
    assert [f.message for f in compute(kitchen).errors] == [
        "Beef strips: its name says beef, and `species: none` says otherwise."
    ]


# --- how hot water gets

HIGH = "altitude: 2100 m\n"


def simmered(
    kitchen: Path, parts: str, step: str, machine: str = "", more: str = ""
) -> list[Finding]:
    """The findings of a formula of ``parts`` with one hot step."""
    folder = kitchen / "standards"
    put(kitchen, more)
    if machine:
        path = folder / "equipment/house.yaml"
        path.write_text(path.read_text("utf-8") + machine, "utf-8")
    (folder / "processes/hot.yaml").write_text(
        f"name: Hot\nsteps:\n  - do: mix\n    add: [all]\n{step}  - do: label\n", "utf-8"
    )
    (folder / "formulas/hot.yaml").write_text(
        "name: Hot\nrevision: 1\neffective: 2026-06-01\napproved: R. Osei\nstation: pass\n"
        "base: all\n"
        f"parts:\n  all:\n{parts}process: hot\nbatches: [1 kg base]\n",
        "utf-8",
    )
    return [f for f in compute(kitchen).findings if f.code == "temperature-implausible"]


SUGAR = (
    "sugar: {name: Caster sugar, species: none, state: ready-to-eat, form: dry, allergens: "
    "none, tcs: no}\n"
)
WATER = (
    "water: {name: Tap water, species: none, state: ready-to-eat, form: liquid, allergens: "
    "none, tcs: no}\n"
)
BONES = (
    "bones: {name: Chicken bones, species: chicken, state: raw, form: intact, allergens: none}\n"
)
FAT = "fat: {name: Duck fat, species: none, state: ready-to-eat, allergens: none, tcs: no}\n"
NUTS = (
    "nuts: {name: Walnuts, species: none, state: ready-to-eat, allergens: tree nuts "
    "(walnut), tcs: no, foodstuff: walnuts}\n"
)
LEEK = "leek: {name: Leek, species: none, state: raw, allergens: none, tcs: no}\n"
COOKER = "cooker: {kind: pressure-cooker, name: Pressure cooker, capacity: 20 kg}\n"


@pytest.mark.parametrize("altitude", ["", HIGH])
def test_sugar_fat_nuts_and_pressure_get_hotter(kitchen: Path, altitude: str) -> None:
    path = kitchen / "standards/kitchen.yaml"
    path.write_text(path.read_text("utf-8") + altitude, "utf-8")
    boiled = "  - do: boil\n    target: core 150 °C\n"
    put(kitchen, BONES + FAT + LEEK)
    assert not simmered(kitchen, "    sugar: 700 g\n    water: 300 g\n", boiled, more=SUGAR + WATER)
    assert not simmered(
        kitchen, "    sugar: 500 g\n    cream: 500 g\n", boiled.replace("150", "118")
    )
    under = "  - do: boil\n    with: cooker\n    at: 118 °C\n    target: core 116 °C\n"
    assert not simmered(kitchen, "    bones: 300 g\n    water: 700 g\n", under, COOKER)
    assert not simmered(
        kitchen, "    fat: 800 g\n    leek: 200 g\n", "  - do: poach\n    at: 130 °C\n"
    )
    toasted = "  - do: toast\n    target: core 140 °C\n"
    assert not simmered(kitchen, "    nuts: 500 g\n", toasted, more=NUTS)


@pytest.mark.parametrize(
    "step",
    [
        "  - do: simmer\n    at: 118 °C\n",
        "  - do: steam\n    at: 110 °C\n",
        "  - do: blanch\n    does: none\n    at: 105 °C\n",
        "  - do: boil\n    target: core 116 °C\n",
    ],
)
@pytest.mark.parametrize(
    "parts",
    [
        "    leek: 300 g\n    water: 700 g\n",
        "    bones: 300 g\n    water: 700 g\n",
        "    sugar: 50 g\n    leek: 950 g\n",
    ],
)
def test_wet_food_does_not(kitchen: Path, parts: str, step: str) -> None:
    found = simmered(kitchen, parts, step, more=SUGAR + WATER + BONES + LEEK)
    assert len(found) == 1 and "100" in found[0].message


@pytest.mark.parametrize(
    ("altitude", "at", "found"),
    [
        ("", "100 °C", False),
        ("altitude: 240 m\n", "100 °C", False),
        ("altitude: 1000 m\n", "100 °C", True),
        (HIGH, "96 °C", True),
        (HIGH, "94 °C", False),
        (HIGH, "92 °C", False),
        (HIGH, "200 °F", False),
        (HIGH, "204 °F", True),
        ("altitude: 4500 m\n", "88 °C", True),
    ],
)
def test_the_kitchen_s_own_boiling_point(
    kitchen: Path, altitude: str, at: str, found: bool
) -> None:
    """shared/check-points.yaml: 2100 m is 6890 ft, between 201.1 °F at 6000 ft and 197.4 °F at 8000
    ft; 2 °F are left for the weather."""
    path = kitchen / "standards/kitchen.yaml"
    path.write_text(path.read_text("utf-8") + altitude, "utf-8")
    reported = simmered(kitchen, "    leek: 1000 g\n", f"  - do: simmer\n    at: {at}\n", more=LEEK)
    assert bool(reported) is found


@pytest.mark.parametrize(("at", "meant"), [("212 °C", "212 °F"), ("213 °C", "")])
def test_the_other_scale_is_offered_up_to_boiling_water(kitchen: Path, at: str, meant: str) -> None:
    """212 °F are the 100 °C of boiling water; steam at 213 °F is none either."""
    (found,) = simmered(kitchen, "    leek: 1000 g\n", f"  - do: steam\n    at: {at}\n", more=LEEK)
    assert found.message.replace("\u202f", " ").endswith(
        f"Did you mean {meant}?" if meant else "°C."
    )


@pytest.mark.parametrize(
    ("target", "asked"), [("-4.5 °C", False), ("-5 °C", False), ("-5.5 °C", True)]
)
def test_a_chill_to_just_below_freezing_is_not_asked_about(
    kitchen: Path, target: str, asked: bool
) -> None:
    """Five degrees below 0 °C are left for food that is only chilled, the fifth itself with
    them."""
    edit(kitchen, "processes/baked.yaml", "target: to 4 °C", f"target: to {target}")
    found = [f for f in compute(kitchen).findings if "freezes it" in f.message]
    assert bool(found) is asked


@pytest.mark.parametrize(("at", "stays"), [("-1 °C", True), ("0 °C", False)])
def test_food_stays_frozen_only_below_where_water_freezes(
    kitchen: Path, at: str, stays: bool
) -> None:
    slack = f"  - do: slack\n    add: [meat]\n    stays_frozen: yes\n    at: {at}\n    time: 24 h\n"
    edit(
        kitchen,
        "processes/baked.yaml",
        "  - do: grind\n    add: [meat]\n",
        slack + "  - do: grind\n",
    )
    found = [f for f in compute(kitchen).findings if f.code == "slacked-too-long"]
    assert bool(found) is not stays


def test_a_spoon_of_syrup_boils_as_hot_as_a_pot_of_it(kitchen: Path) -> None:
    """A third of it is sugar: a syrup, however little is made."""
    boiled = "  - do: boil\n    target: core 105 °C\n"
    assert not simmered(kitchen, "    sugar: 1 g\n    cream: 2 g\n", boiled, more=SUGAR)
    edit(kitchen, "formulas/hot.yaml", "cream: 2 g", "cream: 3 g")
    assert [f for f in compute(kitchen).findings if f.code == "temperature-implausible"]


def test_no_verb_of_water_is_named_in_python() -> None:
    text = (ROOT / "generator/rules/basics/plausible.py").read_text("utf-8")
    assert not any(f'"{verb}"' in text for verb in LIBRARY.media)


@each_row(
    ("name", "ready"),
    [
        ("Chicken thigh to be cooked", False),
        ("Chicken not yet cooked", False),
        ("Pork, not cooked", False),
        ("Half-cooked pork belly", False),
        ("Part-baked turkey", False),
        ("Salmon, raw, smoked-salt rub", False),
        ("Chicken, cooked", True),
        ("Half roast duck", True),
        ("Smoked salmon", True),
        ("Cooked ham, fried onions", True),
    ],
)
def test_what_is_to_be_cooked_is_no_cooked_food(name: str, ready: bool) -> None:
    assert LIBRARY.known_names.ready([name]) is ready
