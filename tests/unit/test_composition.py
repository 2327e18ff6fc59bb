"""What food is made of: bounds of what isn't stated, the balance of a mixture and of its losses, by
hand and against compositions made up at random."""

from __future__ import annotations

import random
from fractions import Fraction
from typing import Any

from each_row import each_row
from hypothesis import given
from hypothesis import strategies as st

from generator.composition.balance import Balance, Leaves, mixed
from generator.composition.contents import REPORTED, Contents, contents_of
from generator.measures.between import Between
from generator.measures.units import load_units
from generator.records.composition import MAIN
from generator.records.ingredient import Ingredient
from generator.reference.shared_data import installed
from generator.views.composition_view import percent_words

UNITS = load_units(installed())


def ingredient(composition: dict[str, Any] | None = None, **facts: str) -> Ingredient:
    """An ingredient with a composition as its YAML has it."""
    typed: dict[str, Any] = {"name": "Food", "allergens": "none", **facts}
    if composition is not None:
        typed["composition"] = {**composition, "source": "a label"}
    return Ingredient.model_validate(typed, context={"units": UNITS})


def shares(composition: dict[str, Any] | None = None, **facts: str) -> dict[str, Between]:
    return dict(contents_of(ingredient(composition, **facts), None).shares)


def pct(low: str, high: str | None = None) -> Between:
    return Between(Fraction(low) / 100, Fraction(high or low) / 100)


def test_what_isnt_stated_lies_between_nothing_and_the_rest() -> None:
    """By hand: 60 % water and 35 % fat leave 5 % for all the others together."""
    found = shares({"water": "60 %", "fat": "35 %"})
    assert found["water"] == pct("60") and found["fat"] == pct("35")
    for name in ("protein", "carbohydrate", "ash", "alcohol", "sugar", "fibre", "salt", "acid"):
        assert found[name] == pct("0", "5"), name
    assert found["solids"] == pct("40")
    assert found["milk_solids"] == pct("0")  # it declares no milk


def test_nothing_stated_is_anything() -> None:
    found = shares()
    anything = pct("0", "100")
    assert all(found[n] == anything for n in REPORTED if n != "milk_solids")
    assert shares(allergens="milk")["milk_solids"] == anything


def test_a_range_is_no_more_than_the_others_leave() -> None:
    """By hand: beside 20 % protein and 9 % fat, water of 65 to 75 % is at most 71 %."""
    found = shares({"water": "65 to 75 %", "protein": "20 %", "fat": "9 %"})
    assert found["water"] == pct("65", "71")
    assert found["solids"] == pct("29", "35")
    assert found["carbohydrate"] == pct("0", "6")


def test_the_last_main_part_is_what_is_left() -> None:
    """By hand: all but the carbohydrate stated, no acid: it is the rest, exactly."""
    most = {"water": "10 %", "protein": "12 %", "fat": "2 %", "ash": "1 %", "alcohol": "0 %"}
    assert shares({**most, "acid": {"acetic": "0 %"}})["carbohydrate"] == pct("75")
    assert shares(most)["carbohydrate"] == pct("0", "75")  # it may be acid


def test_sugar_and_fibre_share_the_carbohydrate() -> None:
    """By hand: of 12 % carbohydrate with 3 % fibre, sugar is 9 % at most; stated alone, both are
    the least of the carbohydrate."""
    assert shares({"carbohydrate": "12 %", "fibre": "3 %"})["sugar"] == pct("0", "9")
    assert shares({"sugar": "8 %", "fibre": "2 %"})["carbohydrate"] == pct("10", "100")


def test_salt_by_its_key_its_function_its_sodium() -> None:
    assert shares(function="salt")["salt"] == pct("100")
    assert shares(function="salt")["water"] == pct("0")
    assert shares(salt="93.75 %")["salt"] == pct("93.75")
    assert shares({"sodium": "0.4 %"})["salt"] == pct("1")  # Regulation (EU) 1169/2011: × 2.5
    assert shares({"salt": "2 %"})["salt"] == pct("2")


def test_a_mixture_is_the_sum_of_what_is_in_it() -> None:
    """By hand: 600 g at 60 % and 400 g at 10 % water: 400 g in 1000 g; what one leaves open is open
    by so much of it."""
    wet = contents_of(ingredient({"water": "60 %", "fat": "40 %"}), None)
    dry = contents_of(ingredient({"water": "10 %"}), None)
    found = mixed([("wet", wet, Fraction(600)), ("dry", dry, Fraction(400))])
    assert found.grams == 1000 and found.share("water") == pct("40")
    assert found.share("fat") == pct("24", "60")
    assert found.left_open_by("fat") == ("dry",) and found.left_open_by("water") == ()


def flour_and_water() -> Balance:
    flour = contents_of(ingredient({"water": "12 %", "protein": "11 %", "fat": "1 %"}), None)
    water = contents_of(ingredient({"water": "100 %"}), None)
    return mixed([("flour", flour, Fraction(1000)), ("water", water, Fraction(600))])


def test_what_evaporates_is_water_alone() -> None:
    """By hand: 720 g of water in 1600 g, 160 g of it lost: 560 of 1440 g; the protein stays."""
    found = flour_and_water().minus(Fraction(160), "water")
    assert found.grams == 1440 and found.parts["water"] == Between.just(560)
    assert found.parts["protein"] == Between.just(110)
    assert found.parts["solids"] == Between.just(880) and found.dry_g == 0


def test_what_sticks_to_the_bowl_is_the_mixture() -> None:
    found = flour_and_water().minus(Fraction(160), "mixture")
    assert found.grams == 1440 and found.share("water") == flour_and_water().share("water")


def test_what_drips_may_be_any_of_it() -> None:
    """By hand: of 720 g of water and 110 g of protein 160 g are lost, nobody knows of which."""
    found = flour_and_water().minus(Fraction(160), "unknown", "what step 2 loses")
    assert found.grams == 1440 and found.parts["water"] == Between(Fraction(560), Fraction(720))
    assert found.parts["protein"] == Between(Fraction(0), Fraction(110))
    assert found.left_open_by("water") == ("what step 2 loses",)


def test_more_than_its_water_cannot_evaporate() -> None:
    """By hand: 880 g lost of 720 g of water: 160 g too much; the water is gone, nothing below it."""
    found = flour_and_water().minus(Fraction(880), "water")
    assert found.dry_g == 160 and found.parts["water"] == Between.just(0)
    assert found.grams == 720 and found.parts["solids"] == Between.just(720)


def made_up(dice: random.Random) -> dict[str, Fraction]:
    """A true composition: main parts that are all of it, and what is in them."""
    cuts = sorted(dice.randrange(0, 1001) for _ in range(len(MAIN) - 1))
    parts = [b - a for a, b in zip([0, *cuts], [*cuts, 1000], strict=True)]
    found = {name: Fraction(part, 1000) for name, part in zip(MAIN, parts, strict=True)}
    found["sugar"] = found["carbohydrate"] * Fraction(dice.randrange(0, 60), 100)
    found["fibre"] = found["carbohydrate"] * Fraction(dice.randrange(0, 40), 100)
    found["salt"] = found["ash"] * Fraction(dice.randrange(0, 101), 100)
    found["acid"] = found["carbohydrate"] - found["sugar"] - found["fibre"]
    found["solids"] = 1 - found["water"]
    found["milk_solids"] = Fraction(0)
    return found


def partly(dice: random.Random, true: dict[str, Fraction]) -> Contents:
    """What a label states of it: some parts, some as a range about the true figure."""
    typed: dict[str, Any] = {}
    for name in (*MAIN, "sugar", "fibre", "salt"):
        if dice.random() < 0.5:
            low = true[name] - min(true[name], Fraction(dice.randrange(0, 20), 1000))
            high = min(true[name] + Fraction(dice.randrange(0, 20), 1000), Fraction(1))
            figures = [f"{float(one * 100):.6f}" for one in (low, high)]
            low_text = f"{max(float(figures[0]) - 0.000002, 0):.6f}"
            high_text = f"{min(float(figures[1]) + 0.000002, 100):.6f}"
            typed[name] = f"{low_text} to {high_text} %"
    if not typed:
        return contents_of(ingredient(), None)
    return contents_of(ingredient(typed), None)


def test_the_truth_is_never_outside_the_bounds() -> None:
    """Foods made up at random, mixed, boiled down, spilt and fried: whatever a label leaves out,
    what is really in the food lies between the bounds."""
    dice = random.Random(1705)
    for _ in range(250):
        foods = [made_up(dice) for _ in range(dice.randrange(1, 5))]
        weights = [Fraction(dice.randrange(1, 900)) for _ in foods]
        held = mixed(
            [
                (f"f{i}", partly(dice, food), w)
                for i, (food, w) in enumerate(zip(foods, weights, strict=True))
            ]
        )
        true = {
            n: sum((f[n] * w for f, w in zip(foods, weights, strict=True)), Fraction(0))
            for n in REPORTED
        }
        total = sum(weights, Fraction(0))
        for _ in range(dice.randrange(0, 3)):
            kind: Leaves = dice.choice(("water", "mixture", "unknown"))
            lost = true["water"] / 3 if kind == "water" else total / 7
            if kind == "water":
                true["water"] -= lost
            elif kind == "mixture":
                true = {n: value * (1 - lost / total) for n, value in true.items()}
            else:
                lost = true["fat"] / 2
                true["fat"] -= lost
                true["solids"] -= lost
            total -= lost
            held = held.minus(lost, kind, "frying")
            assert held.grams == total
            for name in REPORTED:
                bounds = held.parts[name]
                assert bounds.low <= true[name] <= bounds.high, (name, kind)


@each_row(
    ("low", "high", "places", "words"),
    [
        ("1.288", "1.288", 3, "1.288 %"),  # not 1.2 %
        ("1.2884", "1.2876", 3, "1.288 %"),
        ("1.288", "1.291", 3, "1.29 %"),
        ("1.24", "1.36", 3, "1.2 to 1.4 %"),
        ("0", "0", 1, "0 %"),
        ("62.36", "62.44", 1, "62.4 %"),
        ("62.34", "62.44", 1, "62.3 to 62.5 %"),
        ("0.04", "0.51", 1, "0 to 0.6 %"),
    ],
)
def test_one_figure_only_where_both_bounds_round_to_it(
    low: str, high: str, places: int, words: str
) -> None:
    bounds = sorted((Fraction(low) / 100, Fraction(high) / 100))
    assert percent_words(Between(*bounds), places).replace("\u00a0", " ") == words


@given(st.fractions(0, 100), st.fractions(0, 100), st.fractions(0, 100), st.integers(0, 3))
def test_bounds_are_rounded_outward_and_stay_on_their_side(
    one: Fraction, other: Fraction, bound: Fraction, places: int
) -> None:
    """Two ends in words hold all that lies between; beside a bound each end keeps its side of it,
    as far as six decimals tell."""
    found = Between(*sorted((one, other)))
    ends = [Fraction(word) for word in found.words(places).split(" to ")]
    assert len(ends) == 1 or ends[0] <= found.low <= found.high <= ends[1]
    beside = [Fraction(word) for word in found.words_beside(bound, places).split(" to ")]
    for shown, end in zip((beside[0], beside[-1]), (found.low, found.high), strict=True):
        assert (shown > bound) == (end > bound) or abs(end - bound) < Fraction(1, 10**5)
        assert (shown < bound) == (end < bound) or abs(end - bound) < Fraction(1, 10**5)
