"""Food that was dry, or raw and whole, and is neither any more: Food Code 1-201.10, "Time/temperature
control for safety food" (read in Wisconsin ATCP 75 appendix), table B, and SI 2013/2996, Sch. 4 para.
2; juice by 3-801.11(A) (read in Washington 246-215-03800); kidney beans by the FDA's advice."""

from __future__ import annotations

import random
from fractions import Fraction
from pathlib import Path

import pytest
from conftest import compute, edit

from generator.sheet.manual import Manual

SHELF = """\
tap: {name: Tap water, species: none, state: ready-to-eat, form: liquid, allergens: none, tcs: no}
nuts: {name: Almonds, species: none, state: raw, allergens: tree nuts (almond), tcs: no}
oats: {name: Rolled oats, species: none, state: raw, form: dry, allergens: none, tcs: no}
chia: {name: Chia seed, species: none, state: ready-to-eat, form: dry, allergens: none, tcs: no}
flakes: {name: Potato flakes, species: none, state: ready-to-eat, form: dry, allergens: none, tcs: no}
ceps: {name: "Ceps, dried", species: none, state: raw, form: dry, allergens: none, tcs: no}
mustard: {name: Brown mustard seed, species: none, state: raw, form: dry, allergens: none, tcs: no}
tea: {name: Black tea, species: none, state: ready-to-eat, form: dry, allergens: none, tcs: no}
meal: {name: Strong flour, species: none, state: raw, form: dry, allergens: wheat, tcs: no}
sweet: {name: Sugar, foodstuff: sugar-granulated, allergens: none}
sour: {name: Wine vinegar, species: none, state: ready-to-eat, form: liquid, allergens: none, tcs: no}
oil: {name: Olive oil, foodstuff: olive-oil, allergens: none}
apples: {name: Apples, species: none, state: raw, allergens: none, tcs: no}
celery: {name: Celery, species: none, state: raw, allergens: none, tcs: no}
sundried: {name: Sun-dried peppers, species: none, state: raw, allergens: none, tcs: no}
beans: {name: "Red kidney beans, dried", species: none, state: raw, form: dry, allergens: none, tcs: no}
canned: {name: "Kidney beans, canned", species: none, state: ready-to-eat, allergens: none}
eggs: {name: Eggs, species: egg, state: raw, form: intact, allergens: eggs}
cider: {name: Fresh apple cider, species: none, state: ready-to-eat, form: liquid, allergens: none}
juice: {name: Apple juice, species: none, state: pasteurised, form: liquid, allergens: none}
butter: {name: Butter, foodstuff: butter-unsalted, state: pasteurised, allergens: milk}
honey: {name: Honey, foodstuff: honey, allergens: none}
malt: {name: Barley malt syrup, species: none, state: ready-to-eat, allergens: none, tcs: no}
"""


def put(kitchen: Path, ident: str, parts: str, steps: str, end: str, name: str = "") -> None:
    """A formula of one part, with its own steps; the shelf with it."""
    (kitchen / "standards/ingredients/wet.yaml").write_text(SHELF)
    (kitchen / f"standards/formulas/{ident}.yaml").write_text(
        f"name: {name or ident.title()}\nrevision: 1\neffective: 2026-01-01\napproved: R. Osei\n"
        f"station: pass\nparts:\n  all: {{{parts}}}\nsteps:\n{steps}{end}batches: [1 kg total]\n"
    )


MIX = "  - {do: mix}\n"
DRY = "  - {do: store}\nkeeps: {dry: 9 days}\n"
COLD = "  - {do: store, in: cold-room}\nkeeps: {cold: 3 days}\n"
SERVE = "  - {do: serve}\n"


def codes(kitchen: Path, ident: str) -> set[str]:
    manual = compute(kitchen)
    mine = [f for f in (*manual.errors, *manual.findings) if ident in f.about]
    return {f.code for f in mine if f.severity != "note"}


@pytest.mark.parametrize(
    ("parts", "steps", "asked"),
    [
        ("nuts: 200 g, tap: 800 g", "  - {do: puree}\n", True),
        ("oats: 300 g, tap: 700 g", MIX, True),
        ("chia: 100 g, tap: 900 g", MIX, True),
        ("ceps: 300 g, oil: 700 g", "  - {do: soak, time: 20 min, gains: 200 %}\n", True),
        ("ceps: 300 g, oil: 700 g", MIX, False),
        ("nuts: 900 g, tap: 100 g", MIX, False),
        ("oats: 500 g, sweet: 500 g", MIX, False),
        ("meal: 600 g, tap: 400 g", MIX, False),
        ("tea: 100 g, tap: 900 g", MIX, False),
        ("chia: 10 g, tap: 990 g", MIX, False),
        ("mustard: 400 g, sour: 500 g, tap: 100 g", MIX, False),
        ("mustard: 400 g, sour: 100 g, tap: 500 g", MIX, True),
        ("flakes: 200 g, tap: 800 g", "  - {do: mix, how: Pour on boiling water.}\n", True),
        ("tea: 20 g, tap: 980 g", "  - {do: mix, how: Pour on boiling water.}\n", False),
        (
            "tea: 20 g, tap: 980 g",
            "  - {do: mix, how: Scald the jars with boiling water.}\n",
            False,
        ),
    ],
)
def test_dry_food_made_wet_needs_the_cold(
    kitchen: Path, parts: str, steps: str, asked: bool
) -> None:
    put(kitchen, "pot", parts, steps, DRY)
    assert ("keeps-dry" in codes(kitchen, "pot")) is asked


@pytest.mark.parametrize("many", [40, pytest.param(400, marks=pytest.mark.slow)])
def test_random_mixtures_agree_with_the_two_shares(kitchen: Path, many: int) -> None:
    """Counted by hand: wet from a third of water, food from a twenty-fifth of dry."""
    rng, expected = random.Random(1130), {}
    for number in range(many):
        water, dry, sugar = (rng.choice((0, 20, 60, 150, 400, 900)) for _ in range(3))
        dry, sugar = dry or 20, sugar or 20
        parts = f"chia: {dry} g, sweet: {sugar} g" + (f", tap: {water} g" if water else "")
        put(kitchen, f"pot-{number}", parts, MIX, DRY)
        whole = water + dry + sugar
        wet, food = (
            Fraction(water, whole) >= Fraction(1, 3),
            Fraction(dry, whole) >= Fraction(1, 25),
        )
        expected[f"pot-{number}"] = wet and food
    manual = compute(kitchen)
    found = {i for f in manual.errors if f.code == "keeps-dry" for i in f.about}
    assert {ident: ident in found for ident in expected} == expected
    assert 5 < sum(expected.values()) < many - 5


def limits(manual: Manual, ident: str) -> set[str]:
    return {limit.hazard for limit in manual.walks[ident].limits}


def test_gravy_of_granules_is_held_hot_by_the_law(kitchen: Path) -> None:
    """It had no limit at all: nothing in it was raw, and no verb cooked it."""
    hold = "  - {do: hold-hot, target: at 60 °C, time: 6 h}\n"
    poured = "  - {do: mix, how: Pour on the boiling water and whisk.}\n"
    put(kitchen, "gravy", "flakes: 80 g, tap: 1000 g", poured + hold, SERVE)
    put(kitchen, "brew", "tea: 10 g, tap: 1000 g", poured + hold, SERVE)
    manual = compute(kitchen)
    assert not [f for f in manual.errors if f.about & {"gravy", "brew"}]
    assert "hot_hold" in limits(manual, "gravy") and "hot_hold" not in limits(manual, "brew")


def test_what_holds_it_hot_does_not_make_gravy_of_cold_water(kitchen: Path) -> None:
    hold = "  - {do: hold-hot, target: at 60 °C, time: 6 h}\n"
    put(kitchen, "gravy", "flakes: 80 g, tap: 1000 g", MIX + hold, SERVE)
    assert codes(kitchen, "gravy") == {"reheat-missing"}


def test_mash_of_boiling_water_that_stands_is_too_long_out(kitchen: Path) -> None:
    steps = "  - {do: mix, how: Pour on boiling water.}\n  - {do: rest, time: 9 h}\n"
    put(kitchen, "mash", "flakes: 200 g, tap: 800 g", steps, SERVE)
    assert "between-too-long" in codes(kitchen, "mash")


@pytest.mark.parametrize(
    ("parts", "step", "severity"),
    [
        ("apples: 1 kg", "{do: juice, does: handles, loses: 40 %}", "error"),
        ("celery: 1 kg", "{do: puree}", "error"),
        ("celery: 600 g, oil: 400 g", "{do: puree}", "error"),
        ("celery: 1 kg", "{do: cut}", "warning"),
        ("celery: 1 kg", "{do: wash}", ""),
        ("sundried: 1 kg", "{do: cut}", ""),
        ("apples: 1 kg", "{do: dry, time: 10 h, at: 60 °C, loses: 85 %}", ""),
        ("nuts: 1 kg", "{do: puree}", ""),
    ],
)
def test_what_was_opened_is_not_kept_warm_by_silence(
    kitchen: Path, parts: str, step: str, severity: str
) -> None:
    put(kitchen, "jar", parts, f"  - {step}\n", DRY)
    found = [f.severity for f in compute(kitchen).findings if f.code == "kept-moist"]
    assert found == ([severity] if severity else [])


@pytest.mark.parametrize(
    ("name", "parts", "said"),
    [
        ("Dairy-free mash", "flakes: 900 g, butter: 100 g", "Butter"),
        ("Mash, free from milk and eggs", "flakes: 900 g, butter: 100 g", "Butter"),
        ("Mash without nuts", "flakes: 900 g, nuts: 100 g", "Almonds"),
        ("Nut free balls", "oats: 900 g, nuts: 100 g", "Almonds"),
        ("Gluten-free drink", "tap: 900 g, malt: 100 g", "Barley malt syrup"),
        ("Eggless salad", "celery: 900 g, eggs: 100 g", "Eggs"),
        ("Vegan oats", "oats: 900 g, honey: 100 g", "Honey"),
        ("Biscotti senza glutine", "sweet: 900 g, meal: 100 g", "Strong flour"),
        ("Allergen-free oats", "oats: 900 g, nuts: 100 g", "Almonds"),
        ("Dairy-free mash", "flakes: 900 g, oil: 100 g", ""),
        ("Vegetarian mash", "flakes: 900 g, butter: 100 g", ""),
        ("Free-range egg salad", "celery: 900 g, eggs: 100 g", ""),
        ("Egg, free range", "celery: 900 g, eggs: 100 g", ""),
        ("Mash, not vegan", "flakes: 900 g, butter: 100 g", ""),
        ("Non-vegan mash", "flakes: 900 g, butter: 100 g", ""),
        ("Sugar-free mash", "flakes: 900 g, butter: 100 g", ""),
        ("Nut-brown butter", "butter: 1 kg", ""),
    ],
)
def test_a_name_says_nothing_that_is_not_so(
    kitchen: Path, name: str, parts: str, said: str
) -> None:
    put(kitchen, "dish", parts, MIX, SERVE, name)
    found = [f.message for f in compute(kitchen).findings if f.code == "name-denies"]
    assert [said in message for message in found] == ([True] if said else [])


def test_a_name_is_held_against_what_is_made_ahead_too(kitchen: Path) -> None:
    put(kitchen, "base", "flakes: 900 g, butter: 100 g", MIX, COLD, "Mash")
    put(kitchen, "plate", "base: 1 kg", MIX, SERVE, "Dairy-free plate")
    found = [f.about for f in compute(kitchen).findings if f.code == "name-denies"]
    assert found == [frozenset({"plate"})]


FRAIL = ("kitchen.yaml", "serves: general", "serves: highly-susceptible")


@pytest.mark.parametrize(
    ("name", "parts", "steps", "refused"),
    [
        ("Orange juice", "apples: 1 kg", "  - {do: juice, does: handles}\n", True),
        ("Thick cider", "cider: 1 kg", MIX, True),
        ("Thick juice", "juice: 1 kg", MIX, False),
        ("Orange juice", "apples: 1 kg", "  - {do: pasteurise, target: core 75 °C}\n", False),
        ("Apple salad", "apples: 1 kg", "  - {do: cut}\n", False),
        ("Salad", "apples: 900 g, cider: 100 g", "  - {do: cut}\n", False),
    ],
)
def test_raw_juice_is_not_for_the_frail(
    kitchen: Path, name: str, parts: str, steps: str, refused: bool
) -> None:
    put(kitchen, "cup", parts, steps, SERVE, name)
    assert "susceptible-raw-juice" not in codes(kitchen, "cup")
    edit(kitchen, *FRAIL)
    assert ("susceptible-raw-juice" in codes(kitchen, "cup")) is refused


@pytest.mark.parametrize(
    ("parts", "steps", "refused"),
    [
        ("eggs: 1 kg", "  - {do: boil, target: core 75 °C, time: 12 min}\n", False),
        ("eggs: 900 g, tap: 100 g", "  - {do: boil, target: core 75 °C}\n", False),
        ("eggs: 1 kg", "  - {do: pool}\n  - {do: boil, id: b, target: core 75 °C}\n", True),
        ("eggs: 1 kg", "  - {do: fry, target: core 75 °C}\n", True),
        ("eggs: 900 g, butter: 100 g", "  - {do: boil, target: core 75 °C}\n", True),
    ],
)
def test_eggs_boiled_in_their_shells_are_not_broken_together(
    kitchen: Path, parts: str, steps: str, refused: bool
) -> None:
    """3-801.11(B)(2) is of recipes in which more than one egg is broken and combined."""
    edit(kitchen, *FRAIL)
    put(kitchen, "tray", parts, steps, SERVE)
    assert ("susceptible-raw-eggs" in codes(kitchen, "tray")) is refused


@pytest.mark.parametrize(
    ("parts", "steps", "severity"),
    [
        ("beans: 1 kg", "  - {do: simmer, at: 80 °C, time: 6 h}\n", "error"),
        ("beans: 1 kg", "  - {do: soak, in: cold-room, time: 9 h}\n", "error"),
        ("beans: 1 kg", "  - {do: braise, time: 6 h}\n", "error"),
        ("beans: 1 kg", "  - {do: boil, time: 10 min}\n", "warning"),
        ("beans: 1 kg", "  - {do: boil, time: 10 min}\n  - {do: stew, time: 4 h}\n", "warning"),
        ("beans: 1 kg", "  - {do: boil, time: 30 min}\n", ""),
        ("beans: 1 kg", "  - {do: boil}\n", "warning"),  # for how long isn't said
        ("beans: 1 kg", "  - {do: boil, time: 10 min}\n  - {do: simmer, time: 1 h}\n", "warning"),
        ("beans: 1 kg", "  - {do: simmer, time: 2 h}\n", "error"),  # nobody says how hot
        ("beans: 1 kg", "  - {do: simmer, at: 98 °C, time: 2 h}\n", ""),
        ("beans: 1 kg", "  - {do: boil, at: 90 °C, time: 2 h}\n", "error"),
        ("beans: 1 kg", "  - {do: seethe, does: [cooks, in-water], time: 2 h}\n", "error"),
        ("beans: 1 kg", "  - {do: seethe, does: boils, time: 2 h}\n", ""),
        ("canned: 1 kg", "  - {do: warm}\n", ""),
    ],
)
def test_kidney_beans_boil(kitchen: Path, parts: str, steps: str, severity: str) -> None:
    put(kitchen, "chili", parts, steps, SERVE)
    found = [f.severity for f in compute(kitchen).findings if f.code == "beans-not-boiled"]
    assert found == ([severity] if severity else [])


BOILED = {"": "", "boil 10": "{do: boil, time: 10 min}", "boil 40": "{do: boil, time: 40 min}"}
WARM = "{do: simmer, id: warm, at: 80 °C, time: 2 h}"


@pytest.mark.parametrize("many", [30, pytest.param(300, marks=pytest.mark.slow)])
def test_beans_through_several_formulas_are_as_boiled_as_the_longest_of_them(
    kitchen: Path, many: int
) -> None:
    """By hand: each formula of a chain soaks, warms or boils them; what is eaten needs one of 30
    minutes or more, wherever that was."""
    rng, expected = random.Random(4), {}
    for number in range(many):
        item, best = "beans", 0
        links = rng.randint(1, 3)
        for link in range(links):
            boiled = rng.choice(("", "", "boil 10", "boil 40"))
            best = max(best, int(boiled.split()[1]) if boiled else 0)
            steps = ["{do: soak, in: cold-room, time: 6 h}", WARM, BOILED[boiled]]
            rng.shuffle(steps)
            lines = "".join(f"  - {step}\n" for step in steps if step)
            end = SERVE if link == links - 1 else ""
            put(kitchen, f"pot-{number}-{link}", f"{item}: 1 kg", lines, end)
            item = f"pot-{number}-{link}"
        expected[item] = "error" if not best else "warning" if best < 30 else ""
    manual = compute(kitchen)
    found = {
        i: f.severity for f in manual.findings if f.code == "beans-not-boiled" for i in f.about
    }
    assert found == {ident: how for ident, how in expected.items() if how}
    assert {*expected.values()} == {"error", "warning", ""}


def test_beans_of_two_parts_are_each_asked(kitchen: Path) -> None:
    """One part is boiled, the other put in behind it."""
    (kitchen / "standards/formulas/two.yaml").write_text(
        "name: Two\nrevision: 1\neffective: 2026-01-01\napproved: R. Osei\nstation: pass\n"
        "parts: {pot: {beans: 500 g}, late: {beans: 500 g}}\nsteps:\n"
        "  - {do: boil, add: pot, time: 40 min}\n  - {do: warm, add: late}\n"
        "  - {do: serve}\nbatches: [1 kg total]\n"
    )
    (kitchen / "standards/ingredients/wet.yaml").write_text(SHELF)
    found = [f.severity for f in compute(kitchen).findings if f.code == "beans-not-boiled"]
    assert found == ["error"]


def test_dried_beans_are_raw_whatever_is_stated_of_them(kitchen: Path) -> None:
    put(kitchen, "chili", "beans: 1 kg", "  - {do: warm}\n", SERVE)
    edit(
        kitchen,
        "ingredients/wet.yaml",
        'dried", species: none, state: raw',
        'dried", species: none, state: ready-to-eat',
    )
    assert "beans-not-boiled" in codes(kitchen, "chili")
