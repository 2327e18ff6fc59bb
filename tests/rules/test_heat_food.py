"""What is in a formula's food, as a prediction asks for it: what isn't known widens the band."""

from __future__ import annotations

from fractions import Fraction

import pytest

from generator.composition.balance import Balance
from generator.composition.contents import REPORTED
from generator.heat.constituents import CONSTITUENTS
from generator.measures.between import NOTHING, Between
from generator.sheet.heat_food import UNKNOWN_FOOD, USUAL, food_of


def balance(stated: set[str] | None = None, **shares: tuple[int, int] | int) -> Balance:
    """100 g of a mixture, its shares in percent."""
    parts = dict.fromkeys(REPORTED, NOTHING)
    for name, share in shares.items():
        low, high = share if isinstance(share, tuple) else (share, share)
        parts[name] = Between(Fraction(low), Fraction(high))
    return Balance(Fraction(100), parts, frozenset(shares if stated is None else stated))


def test_what_is_known_is_taken_as_it_is() -> None:
    found = food_of(balance(water=70, protein=12, fat=8, carbohydrate=8, fibre=2, ash=2))
    shares = found.composition.shares
    assert found.known == CONSTITUENTS and found.usual == ()
    assert shares["water"].likely == pytest.approx(0.70)
    assert shares["carbohydrate"].likely == pytest.approx(0.06)  # without its fibre
    assert all(share.is_exact for share in shares.values())


def test_what_is_open_is_a_range_and_the_whole_is_one() -> None:
    found = food_of(balance(water=(60, 80), protein=(5, 15), fat=(5, 15), carbohydrate=8, ash=2))
    shares = found.composition.shares
    assert found.known == ("carbohydrate", "fibre", "ash")
    assert sum(one.likely for one in shares.values()) == pytest.approx(1)
    assert shares["water"].low == pytest.approx(0.60) and shares["water"].high <= 0.81
    assert shares["water"].low < shares["water"].likely < shares["water"].high


def test_of_what_nothing_states_what_is_usual_is_taken() -> None:
    anything = {name: (0, 100) for name in ("water", "protein", "fat", "carbohydrate", "ash")}
    assert food_of(None) is UNKNOWN_FOOD
    assert food_of(balance(stated=set(), **anything)) is UNKNOWN_FOOD
    assert food_of(balance(stated={"salt"}, **anything)) is UNKNOWN_FOOD
    found = food_of(balance(stated={"fat"}, **{**anything, "fat": 10}))
    assert "water" in found.usual and "fat" in found.known
    water = found.composition.shares["water"]
    assert (water.low, water.high) == (USUAL["water"].low, USUAL["water"].high)


def test_a_dry_food_is_not_taken_for_a_wet_one() -> None:
    """What is known goes before what is usual."""
    found = food_of(balance(water=(2, 48), fat=(0, 60), protein=10, carbohydrate=(20, 70), ash=2))
    assert found.composition.shares["water"].high <= 0.5


def test_alcohol_counts_with_the_water_and_nothing_with_more_than_all() -> None:
    found = food_of(balance(water=60, alcohol=10, protein=10, fat=10, carbohydrate=8, ash=2))
    assert found.composition.shares["water"].likely == pytest.approx(0.70)
    too_much = balance(water=80, protein=40, fat=30, carbohydrate=8, ash=2)
    assert food_of(too_much) is UNKNOWN_FOOD
