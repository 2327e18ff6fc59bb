"""A label's figures and its statement, on foods and formulas made up at random: the truth is never
outside the bounds, what nobody states only widens them, no ingredient is lost, and a larger batch
says the same."""

from __future__ import annotations

import random
from fractions import Fraction
from types import SimpleNamespace
from typing import Any, cast

import pytest
from conftest import ROOT

from generator.composition.balance import Balance, mixed
from generator.composition.contents import Contents, contents_of
from generator.composition.label_figures import available, energy
from generator.composition.nutrients import DECLARED, labelled
from generator.measures.between import Between
from generator.records.composition import MAIN, Composition
from generator.records.ingredient import Ingredient
from generator.reference.library import read_reference
from generator.resolve.joined import House
from generator.sheet.statement import Stated, Statements
from generator.sheet.walked import Walk

LIBRARY = read_reference(ROOT / "shared")
LAWS = LIBRARY.label_laws
FACTORS = [one.factors for law in LAWS.values() for one in law.energy]
CARBOHYDRATE = ("sugar", "fibre")


def ingredient(stated: dict[str, Fraction], **facts: Any) -> Ingredient:
    shares = {name: Between.just(value) for name, value in stated.items()}
    composition = Composition.model_construct(**shares, source="t") if stated else None
    food = Ingredient.model_validate({"name": "A food", "allergens": "none"})
    return food.model_copy(update={"composition": composition, **facts})


def of_label(stated: dict[str, Fraction], **facts: Any) -> Contents:
    food = ingredient(stated, **facts)
    return labelled(contents_of(food, None), food, None, None)


def made_up(dice: random.Random) -> dict[str, Fraction]:
    """What a food is really made of, in millionths of its weight."""
    cuts = sorted(dice.randrange(0, 10**6) for _ in MAIN[1:])
    ends = [0, *cuts, 10**6]
    true = {n: Fraction(ends[i + 1] - ends[i], 10**6) for i, n in enumerate(MAIN)}
    true["sugar"] = true["carbohydrate"] * dice.randrange(0, 60) / 100
    true["fibre"] = true["carbohydrate"] * dice.randrange(0, 40) / 100
    true["saturated"] = true["fat"] * dice.randrange(0, 60) / 100
    true["trans"] = true["fat"] * dice.randrange(0, 10) / 100
    true["calcium"] = true["ash"] * dice.randrange(0, 20) / 100
    true["potassium"] = true["ash"] * dice.randrange(0, 20) / 100
    true["added_sugar"] = true["sugar"] * dice.randrange(0, 100) / 100
    return true


def truth(true: dict[str, Fraction], factors: dict[str, Fraction]) -> Fraction:
    """The energy of a gram, by each factor."""
    grams = dict(true)
    grams["available"] = true["carbohydrate"] - true["fibre"]
    if "available" in factors:
        grams.pop("carbohydrate")
    return sum(
        (grams[n] * factor for n, factor in factors.items() if n in grams and n != "acid"),
        Fraction(0),
    )


def stated_of(dice: random.Random, true: dict[str, Fraction]) -> dict[str, Fraction]:
    return {n: v for n, v in true.items() if dice.random() < 0.6}


def hundredths(**shares: int) -> dict[str, Fraction]:
    return {name: Fraction(value, 100) for name, value in shares.items()}


def mixture(foods: list[dict[str, Fraction]], weights: list[Fraction]) -> Balance:
    return mixed(
        (f"f{i}", of_label(food), weight)
        for i, (food, weight) in enumerate(zip(foods, weights, strict=True))
    )


def test_energy_and_nutrients_are_within_their_bounds() -> None:
    dice = random.Random(9124)
    for _ in range(250):
        foods = [made_up(dice) for _ in range(dice.randrange(1, 5))]
        weights = [Fraction(dice.randrange(1, 900)) for _ in foods]
        held = mixture([stated_of(dice, food) for food in foods], weights)
        true = {
            n: sum((f[n] * w for f, w in zip(foods, weights, strict=True)), Fraction(0))
            for n in foods[0]
        }
        for name in DECLARED:
            bounds = held.parts[name]
            assert bounds.low <= bounds.high
            if name in true:
                assert bounds.low <= true[name] <= bounds.high, name
        net = available(held)
        assert net.low <= true["carbohydrate"] - true["fibre"] <= net.high
        for factors in FACTORS:
            found = energy(held, factors)
            assert found.low <= truth(true, dict(factors)) <= found.high


def test_what_is_left_out_only_widens() -> None:
    """A fact struck off a label: no bound comes closer, of no nutrient and of no energy."""
    dice = random.Random(77)
    for _ in range(30):
        true = [made_up(dice) for _ in range(3)]
        weights = [Fraction(dice.randrange(1, 900)) for _ in true]
        foods = [dict(food) for food in true]
        full = mixture(foods, weights)
        for _ in range(6):
            food = dice.choice(foods)
            if not food:
                continue
            food.pop(dice.choice(sorted(food)))
            less = mixture(foods, weights)
            for name, bounds in full.parts.items():
                assert less.parts[name].low <= bounds.low, name
                assert less.parts[name].high >= bounds.high, name
            for factors in FACTORS:
                now, before = energy(less, factors), energy(full, factors)
                assert now.low <= before.low and now.high >= before.high
            full = less


def test_energy_that_is_known_is_one_figure() -> None:
    """By hand: 100 g of 10 g protein, 20 g fat, 30 g carbohydrate of which 5 g fibre: 4 × 10 + 9 ×
    20 + 4 × 30 = 340; without its fibre 4 × 10 + 9 × 20 + 4 × 25 + 2 × 5 = 330 kcal, 17 × 10 + 37 ×
    20 + 17 × 25 + 8 × 5 = 1375 kJ."""
    food = hundredths(water=38, protein=10, fat=20, carbohydrate=30, ash=2, alcohol=0, fibre=5)
    held = mixture([food], [Fraction(100)])
    found = [energy(held, factors) for factors in FACTORS]
    assert [(one.low, one.high) for one in found] == [(340, 340), (1375, 1375), (330, 330)]


def test_what_is_poured_off_takes_the_richest_or_the_poorest() -> None:
    """By hand: 100 g of 50 g water and 50 g fat, 10 g of it poured off by nobody knows what: at
    least 40 g of fat is left, at most 50."""
    food = hundredths(water=50, fat=50, protein=0, carbohydrate=0, ash=0, alcohol=0)
    held = mixture([food], [Fraction(100)]).minus(Fraction(10), "unknown", "draining")
    found = energy(held, FACTORS[0])
    assert found.low == 360 and found.high == 450


def test_an_acid_that_is_left_over_is_not_nothing() -> None:
    """Vinegar in the release: 94.9 % of it is accounted for. Its energy is from the carbohydrate
    there to what the rest would have as acid; the release prints 21 kcal."""
    stuff = LIBRARY.foodstuffs["cider-vinegar"]
    food = ingredient({})
    contents = labelled(contents_of(food, stuff.composition), food, stuff.composition, stuff.sugars)
    held = mixed([("vinegar", contents, Fraction(100))])
    for factors in (FACTORS[0], FACTORS[2]):
        found = energy(held, factors)
        assert found.low <= 4 and found.high >= 15


@pytest.mark.parametrize(
    ("facts", "sodium"),
    [
        ({"salt": Fraction(1, 2)}, (Fraction(1, 5), Fraction(1, 5))),
        (
            {"salt": Fraction(9, 10), "nitrite": Fraction(1, 16), "function": "cure"},
            (Fraction(9, 25), Fraction(9, 25) + Fraction(1, 16)),
        ),
    ],
)
def test_sodium_of_salt(facts: dict[str, Any], sodium: tuple[Fraction, Fraction]) -> None:
    """Two fifths of the salt (Annex I point 11 turned round); a cure's nitrite may be of sodium."""
    found = of_label({}, **facts).shares["sodium"]
    assert (found.low, found.high) == sodium


def test_sodium_as_it_is_stated_goes_before_the_function() -> None:
    stuff = LIBRARY.foodstuffs["salt-table"]
    salt = ingredient({}, function="salt")
    contents = labelled(contents_of(salt, stuff.composition), salt, stuff.composition, None)
    assert contents.shares["sodium"].low == contents.shares["sodium"].high == Fraction(38758, 10**5)


def formula(dice: random.Random, known: list[str], walks: dict[str, Walk], scale: int) -> Walk:
    """A walk with lines of ingredients and of formulas made ahead, of which some lost something."""
    lines, components = [], []
    names = dice.sample([f"food-{i}" for i in range(9)], dice.randrange(1, 7))
    made = dice.sample(known, min(len(known), dice.randrange(0, 3)))
    for item in (*names, *made):
        for _ in range(dice.randrange(1, 3)):
            water = item == "food-0"
            facts = ingredient(
                {}, name="Tap water" if water else item, foodstuff="water-tap" if water else None
            )
            grams = Fraction(dice.randrange(1, 5000) * scale)
            kept = grams * dice.choice((1, 1, 1, Fraction(1, 3), 0))
            joined = SimpleNamespace(
                item=item,
                name=facts.name,
                ingredient=None if item in made else facts,
                formula=item if item in made else None,
            )
            lines.append(SimpleNamespace(joined=joined, grams=grams))
            if item in made:
                inner = walks[item].end.components
                all_g = sum((c.grams for c in inner), Fraction(0))
                components += [
                    SimpleNamespace(item=c.item, came=item, grams=c.grams * kept / all_g)
                    for c in inner
                    if all_g
                ]
            else:
                components.append(SimpleNamespace(item=item, came="", grams=kept))
    mass = sum((c.grams for c in components), Fraction(0)) * dice.choice((1, Fraction(4, 5), 2))
    record = SimpleNamespace(quid=())
    return cast(
        Walk,
        SimpleNamespace(
            formula=SimpleNamespace(formula=record, sub_formulas=tuple(made)),
            lines=tuple(lines),
            end=SimpleNamespace(components=tuple(components), mass=mass),
            steps=(),
        ),
    )


def kitchen(seed: int, scale: int) -> dict[str, Walk]:
    dice = random.Random(seed)
    walks: dict[str, Walk] = {}
    for i in range(5):
        walks[f"made-{i}"] = formula(dice, list(walks), walks, scale)
    return walks


def shape(stated: tuple[Stated, ...]) -> list[Any]:
    return [(one.item, one.share, one.of_finished, one.small, shape(one.inside)) for one in stated]


def test_statements_of_500_formulas() -> None:
    """Shares come to all, the heaviest stands first, nothing that stayed is left out and nothing
    that is gone is in; a batch three times as large says the same."""
    house = cast(House, SimpleNamespace(library=LIBRARY))
    for seed in range(100):
        walks, larger = kitchen(seed, 1), kitchen(seed, 3)
        for law in LAWS.values():
            found, again = Statements(house, walks, law), Statements(house, larger, law)
            for ident, walk in walks.items():
                stated = found[ident]
                assert shape(stated) == shape(again[ident])
                grams = [one.grams for one in stated]
                assert grams == sorted(grams, reverse=True) and all(g > 0 for g in grams)
                if stated:
                    assert sum((one.share for one in stated), Fraction(0)) == 1
                stays = {c.came or c.item for c in walk.end.components if c.grams > 0}
                listed = {"food-0" if one.water else one.item for one in stated}
                gone = {"food-0"} if law.water_left else set()
                assert listed <= stays and stays - listed <= gone
                if not law.water_left:
                    assert sum(grams, Fraction(0)) == sum(
                        (c.grams for c in walk.end.components), Fraction(0)
                    )
                _balanced(stated)


def _balanced(stated: tuple[Stated, ...]) -> None:
    """What is in brackets comes to what stands before them, unless all of it is gone."""
    for one in stated:
        if one.inside:
            assert sum((part.grams for part in one.inside), Fraction(0)) == one.grams
            _balanced(one.inside)
