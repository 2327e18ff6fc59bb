"""Mixes to targets: exact, all that is possible is found, and what binds is named."""

from __future__ import annotations

import itertools
import random
from fractions import Fraction

import pytest

from generator.composition.blending import Food, NoMix, mixed_to, square, to_add

NAMES = ("fat", "msnf", "sugar")


def made(foods: list[Food], grams: tuple[Fraction, ...], name: str) -> Fraction:
    return sum((g * f.share(name) for g, f in zip(grams, foods, strict=True)), Fraction(0))


def some_foods(dice: random.Random, count: int) -> list[Food]:
    found = []
    for i in range(count):
        left, shares = 100, {}
        for name in NAMES:
            shares[name] = Fraction(dice.randint(0, left // 2), 100)
            left -= int(shares[name] * 100)
        found.append(Food(f"food {i}", shares))
    return found


def test_what_is_mixed_from_known_amounts_is_found_again() -> None:
    """Foods mixed forwards by random amounts: asked for what came of it, the same amounts, or, where
    foods are alike, word that there are many. Exact, so no tolerance."""
    dice = random.Random(4)
    for _ in range(300):
        count = dice.randint(2, 4)
        foods = some_foods(dice, count)
        grams = tuple(Fraction(dice.randint(0, 50)) for _ in range(count))
        total = sum(grams, Fraction(0))
        if not total:
            continue
        wanted = {name: made(foods, grams, name) / total for name in NAMES}
        try:
            found = mixed_to(foods, wanted, total)
        except NoMix as none:
            assert none.free and not none.reaches
            continue
        assert found == grams


def test_no_mix_is_right_by_trying_all() -> None:
    """Three foods, two targets: where it says there is none, no amounts in steps of 1 % come near
    (within what half a step can change); and each target named is out of the reach it gives."""
    dice = random.Random(5)
    refused = 0
    for _ in range(40):
        foods = some_foods(dice, 3)
        wanted = {n: Fraction(dice.randint(0, 40), 100) for n in ("fat", "sugar")}
        try:
            found = mixed_to(foods, wanted, Fraction(100))
        except NoMix as none:
            refused += 1
            if none.free:
                continue
            assert none.reaches
            for reach in none.reaches:
                if reach.beside or len(none.reaches) == 1:
                    assert not reach.low <= reach.wanted <= reach.high
            assert nearest(foods, wanted) > 1e-9
            continue
        assert all(g >= 0 for g in found) and sum(found) == 100
        assert all(made(foods, found, n) == w * 100 for n, w in wanted.items())
    assert refused > 10


def nearest(foods: list[Food], wanted: dict[str, Fraction]) -> float:
    """How near amounts in steps of 2 % come to all targets, in percent."""
    shares = [[float(f.share(n)) for n in wanted] for f in foods]
    asked = [float(w) * 100 for w in wanted.values()]
    best = 1000.0
    for a, b in itertools.product(range(0, 101, 2), repeat=2):
        if a + b <= 100:
            grams = (a, b, 100 - a - b)
            got = [sum(g * s[i] for g, s in zip(grams, shares, strict=True)) for i in range(2)]
            best = min(best, max(abs(x - y) for x, y in zip(got, asked, strict=True)))
    return best


def test_a_target_that_binds_is_named_with_its_reach() -> None:
    milk = Food("milk", {"fat": Fraction(4, 100), "sugar": Fraction(0)})
    sugar = Food("sugar", {"sugar": Fraction(1)})
    with pytest.raises(NoMix) as none:
        mixed_to([milk, sugar], {"fat": Fraction(14, 100), "sugar": Fraction(15, 100)}, Fraction(1))
    (reach,) = (r for r in none.value.reaches if r.constituent == "fat")
    # 15 % of sugar leaves 85 % of milk, with 4 % of fat in it.
    assert (reach.low, reach.high) == (Fraction(34, 1000), Fraction(34, 1000))


def test_the_square_is_the_same_as_the_equations() -> None:
    dice = random.Random(6)
    for _ in range(200):
        rich, lean = (Fraction(dice.randint(0, 100), 100) for _ in range(2))
        if rich == lean:
            continue
        wanted = lean + (rich - lean) * Fraction(dice.randint(0, 20), 20)
        parts = square(rich, lean, wanted)
        foods = [Food("rich", {"fat": rich}), Food("lean", {"fat": lean})]
        total = sum(parts, Fraction(0))
        assert mixed_to(foods, {"fat": wanted}, total) == parts
        if parts[0]:
            assert to_add(parts[0], rich, lean, wanted) == parts[1]


@pytest.mark.parametrize("wanted", [Fraction(0), Fraction(1)])
def test_no_blend_goes_beyond_its_two_foods(wanted: Fraction) -> None:
    with pytest.raises(ValueError, match="between"):
        square(Fraction(3, 10), Fraction(1, 10), wanted)
    with pytest.raises(ValueError, match="no amount"):
        to_add(Fraction(10), Fraction(3, 10), Fraction(1, 10), wanted)
