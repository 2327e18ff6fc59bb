"""What a step doesn't say, or says in its words alone: the machine it is done on, how hot the oil
is."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml
from conftest import compute, lay

from generator.sheet.cautioning import notices_for

EQUIPMENT = """\
our-fryer: {kind: fryer, name: Fryer}
our-pot: {kind: pot, name: Pot}
our-oven: {kind: oven, name: Oven}
our-grinder: {kind: grinder, name: Grinder}
our-blender: {kind: blender, name: Blender}
our-mixer: {kind: mixer, name: Mixer}
our-other: {kind: other, name: Rollers}
our-steamer: {kind: other, name: Basket steamer}
our-casing: {kind: vessel, name: Casing, shape: casing, inside: {diameter: 26 mm}}
"""
INGREDIENTS = """\
lump: {name: Lump, species: none, state: raw, form: intact, allergens: none}
frying-oil: {name: Frying oil, species: none, state: ready-to-eat, form: liquid, foodstuff: oil,
  allergens: none}
plain-water: {name: Plain water, species: none, state: ready-to-eat, form: liquid,
  foodstuff: water, allergens: none}
"""
HAZARDS = {"hot-oil", "hot-fat", "hot-water", "hot-food", "hot-oven", "knives"}
Step = dict[str, Any]


def cautions(
    target: Path, steps: list[Step], parts: dict[str, dict[str, str]], kitchen: str = ""
) -> list[set[str]]:
    """The cautions at each step of a kitchen's one more formula; more of ``kitchen``.yaml."""
    project = lay("base", target)
    standards = project / "standards"
    with (standards / "kitchen.yaml").open("a", encoding="utf-8") as house:
        house.write(kitchen)
    (standards / "ingredients/more.yaml").write_text(INGREDIENTS)
    (standards / "equipment/more.yaml").write_text(EQUIPMENT)
    process = {"name": "One", "steps": steps}
    (standards / "processes/one.yaml").write_text(yaml.safe_dump(process, sort_keys=False))
    formula = {
        "name": "One",
        "revision": 1,
        "effective": "2026-01-01",
        "station": "pass",
        "base": next(iter(parts)),
        "parts": parts,
        "process": "one",
        "batches": ["5 kg base"],
    }
    (standards / "formulas/one.yaml").write_text(yaml.safe_dump(formula, sort_keys=False))
    manual = compute(project)
    assert manual.house is not None, [f.message for f in manual.errors][:3]
    assert "one" in manual.walks, [f.message for f in manual.errors][:3]
    found = notices_for(manual.house, manual.walks["one"], frozenset())
    numbers = range(1, len(manual.walks["one"].steps) + 1)
    return [{n.id for n in found.by_step.get(i, ())} for i in numbers]


OIL_AND_FOOD = {"oil": {"frying-oil": "1 kg"}, "food": {"lump": "5 kg"}}


@pytest.mark.parametrize(
    "heating",
    [
        {"at": "180 °C"},
        {"at": "180 °C", "with": "our-pot"},
        {"how": ["Heat the oil to 190 °C."]},
        {"how": ["Heat the oil."]},
        {"how": ["To 375 °F, no more."]},
        {"how": ["To 190 degrees C."], "with": "our-pot"},
        {"note": "It is at 175 °C when a crumb sizzles."},
        {"until": "It reads 180 °C."},
        {"with": "our-fryer"},
    ],
)
@pytest.mark.parametrize(
    "frying",
    [
        {"at": "180 °C"},
        {"does": "cooks", "at": "180 °C"},
        {"does": "cooks"},
        {"how": ["Lower it into the hot oil."]},
        {},
    ],
)
def test_food_put_into_hot_oil_has_its_danger(tmp_path: Path, heating: Step, frying: Step) -> None:
    """Whatever the steps are called and whatever they say they do to the food."""
    first = {"do": "ready", "does": "none", "add": ["oil"], "time": "10 min", **heating}
    then = {"do": "crisp", "does": "none", "add": ["food"], "time": "5 min", **frying}
    one, other = cautions(tmp_path, [first, then], OIL_AND_FOOD)
    assert "hot-oil" in one and "hot-oil" in other


def test_food_first_and_the_oil_after_it(tmp_path: Path) -> None:
    first = {"do": "lay", "does": "none", "add": ["food"], "time": "10 min"}
    for number, how in enumerate(("Deep-fry it.", "Into oil of 180 °C.", "Pour hot oil over it.")):
        then = {"do": "crisp", "does": "none", "add": ["oil"], "time": "5 min", "how": [how]}
        cold, hot = cautions(tmp_path / str(number), [first, then], OIL_AND_FOOD)
        assert "hot-oil" in hot and not cold & (HAZARDS - {"knives"})


def test_cold_oil_and_an_oven_are_no_hot_oil(tmp_path: Path) -> None:
    dress = {"do": "dress", "does": "handles", "add": ["oil", "food"], "how": ["Turn it over."]}
    bake = {"do": "brown", "does": "cooks", "with": "our-oven", "at": "180 °C", "time": "1 h"}
    dressed, baked = cautions(tmp_path, [dress, bake], OIL_AND_FOOD)
    assert not dressed & HAZARDS
    assert "hot-oven" in baked and "hot-oil" not in baked


def test_oil_that_was_hot_burns_until_it_is_cold(tmp_path: Path) -> None:
    parts = {"oil": {"frying-oil": "1 kg"}, "food": {"lump": "3 kg"}}
    heat = {"do": "ready", "does": "none", "add": ["oil"], "at": "180 °C", "time": "10 min"}
    add = {"do": "add", "does": "handles", "add": ["food"]}
    stand = {"do": "leave", "does": "waits", "time": "3 h"}
    after = {"do": "turn", "does": "handles"}
    hot, added, _, cold = cautions(tmp_path, [heat, add, stand, after], parts)
    assert "hot-oil" in hot and "hot-oil" in added and not cold & (HAZARDS - {"knives"})


@pytest.mark.parametrize(("oil", "hot"), [("1 kg", True), ("998 g", False)])
def test_a_tenth_of_hot_oil_is_still_frying(tmp_path: Path, oil: str, hot: bool) -> None:
    """Nine kilograms of food put into one of hot oil are fried in it."""
    parts = {"oil": {"frying-oil": oil}, "food": {"lump": "9 kg"}}
    heat = {"do": "ready", "does": "none", "add": ["oil"], "at": "180 °C", "time": "10 min"}
    add = {"do": "add", "does": "handles", "add": ["food"]}
    heated, added = cautions(tmp_path, [heat, add], parts)
    assert "hot-oil" in heated and ("hot-oil" in added) is hot


@pytest.mark.parametrize(("time", "burns"), [("3 h 30 min", True), ("4 h", False)])
def test_a_pot_of_soup_burns_for_four_hours_off_the_heat(
    tmp_path: Path, time: str, burns: bool
) -> None:
    parts = {"water": {"plain-water": "5 kg"}, "food": {"lump": "1 kg"}}
    boil = {"do": "ready", "does": "none", "add": ["water", "food"], "time": "10 min"}
    stand = {"do": "leave", "does": "waits", "time": time}
    after = {"do": "turn", "does": "handles"}
    steps = [{**boil, "how": ["Bring it to the boil."]}, stand, after]
    boiled, _, stirred = cautions(tmp_path, steps, parts)
    assert "hot-water" in boiled and bool(stirred & (HAZARDS - {"knives"})) is burns


@pytest.mark.parametrize("plan", [True, False])
def test_what_fermented_for_a_week_burns_nobody(tmp_path: Path, plan: bool) -> None:
    """With the variance on file its time is the plan's; it is as cold as without."""
    parts = {"water": {"plain-water": "5 kg"}, "food": {"lump": "1 kg"}}
    boil = {"do": "boil", "add": ["water", "food"], "time": "10 min"}
    stand = {"do": "ferment", "time": "7 days", "at": "22 °C"}
    steps = [boil, stand, {"do": "turn", "does": "handles"}]
    held = (
        "authorisations:\n  - {for: ferment, authority: State, document: V 1, "
        "from: 2026-01-01, until: 2027-01-01}\n"
    )
    boiled, _, stirred = cautions(tmp_path, steps, parts, kitchen=held if plan else "")
    assert "hot-water" in boiled and not stirred & (HAZARDS - {"knives"})


def test_boiling_water_is_no_hot_oil_though_its_words_name_a_heat(tmp_path: Path) -> None:
    parts = {"water": {"plain-water": "5 kg"}, "food": {"lump": "1 kg"}}
    for number, how in enumerate(("Bring it to the boil.", "To 95 °C.", "Into the hot water.")):
        step = {"do": "ready", "does": "none", "add": ["water", "food"], "time": "10 min"}
        (found,) = cautions(tmp_path / str(number), [{**step, "how": [how]}], parts)
        assert "hot-water" in found and "hot-oil" not in found


# ---- the machine


@pytest.mark.parametrize(
    ("step", "found", "missing"),
    [
        ({"do": "grind"}, {"grinder-hands", "cutter-blades", "knives"}, set()),
        ({"do": "puree"}, {"cutter-blades", "grinder-hands"}, set()),
        ({"do": "work", "does": "comminutes"}, {"grinder-hands", "cutter-blades"}, set()),
        ({"do": "slice"}, {"slicer-blade", "knives"}, set()),
        ({"do": "work", "does": "slices"}, {"slicer-blade"}, set()),
        ({"do": "vacuum-pack"}, {"machine-guards"}, set()),
        ({"do": "link", "vessel": "our-casing"}, {"machine-guards"}, set()),
        # said: that one
        (
            {"do": "grind", "with": "our-grinder"},
            {"grinder-hands"},
            {"cutter-blades", "knives", "slicer-blade"},
        ),
        ({"do": "puree", "with": "our-blender"}, {"cutter-blades"}, {"grinder-hands", "knives"}),
        ({"do": "slice", "how": ["By hand, with a knife."]}, {"knives"}, {"slicer-blade"}),
        ({"do": "chop", "how": ["On the board."]}, {"knives"}, {"grinder-hands"}),
        ({"do": "puree", "how": ["In a mortar."]}, {"knives"}, {"cutter-blades"}),
        # a machine of a kind that says nothing of what it does
        ({"do": "grind", "with": "our-other"}, {"machine-guards", "grinder-hands"}, set()),
        ({"do": "slice", "with": "our-other"}, {"machine-guards", "slicer-blade"}, set()),
        ({"do": "roll", "with": "our-other"}, {"machine-guards"}, {"hot-food"}),
        # named in the words alone
        (
            {"do": "work", "does": "handles", "how": ["In a stick blender."]},
            {"cutter-blades"},
            set(),
        ),
        (
            {"do": "work", "does": "none", "time": "5 min", "how": ["With the slicer."]},
            {"slicer-blade"},
            set(),
        ),
        (
            {"do": "mix", "with": "our-mixer", "note": "Then through the grinder."},
            {"mixer-running", "grinder-hands"},
            set(),
        ),
        (
            {
                "do": "cook",
                "does": "cooks",
                "with": "our-pot",
                "how": ["In the pressure cooker."],
                "target": "core 95 °C",
            },
            {"under-pressure"},
            set(),
        ),
        ({"do": "work", "does": "handles", "how": ["Grate it, with a grater."]}, {"knives"}, set()),
        ({"do": "work", "does": "handles", "how": ["On the mandoline."]}, {"knives"}, set()),
        (
            {"do": "fill", "how": ["Cut rounds with a pastry cutter."]},
            {"knives"},
            {"cutter-blades"},
        ),
        # work that has no machine of its own
        ({"do": "cut"}, {"knives"}, {"slicer-blade", "grinder-hands"}),
        ({"do": "mix"}, set(), {"mixer-running", "knives"}),
        ({"do": "fill"}, set(), {"machine-guards"}),
    ],
)
def test_a_machine_that_is_not_named_counts_as_the_trades(
    tmp_path: Path, step: Step, found: set[str], missing: set[str]
) -> None:
    (reported,) = cautions(tmp_path, [{"add": ["food"], **step}], {"food": {"lump": "5 kg"}})
    assert found <= reported and not missing & reported, reported
