"""Percentages of the whole, of the rest, of a part and of a line, worked out by hand."""

from __future__ import annotations

import random
from fractions import Fraction

import pytest

from generator.sheet.percents import Key, Of, worked_out

WATER, SALT, SUGAR, MEAT = ("pickle", "water"), ("pickle", "salt"), ("pickle", "sugar"), ("m", "m")
PICKLE = frozenset({WATER, SALT, SUGAR})


def grams(
    percents: dict[Key, tuple[Fraction, Of]], weighed: dict[Key, int]
) -> tuple[dict[Key, Fraction], dict[Key, str]]:
    known = {key: Fraction(value) for key, value in weighed.items()}
    found, problems = worked_out(percents, known, {})
    return {key: one.grams for key, one in found.items()}, problems


def share(figure: str, lines: frozenset[Key], rest: bool = False) -> tuple[Fraction, Of]:
    return Fraction(figure) / 100, Of(lines, "pickle", rest)


def test_nine_per_cent_of_the_whole_is_9_in_100_and_of_the_rest_9_to_100() -> None:
    """By hand, on 910 g of water: 9 % of the whole is 90 g in 1000 g; of the rest 81.9 g."""
    two = frozenset({WATER, SALT})
    assert grams({SALT: share("9", two)}, {WATER: 910}) == ({SALT: Fraction(90)}, {})
    assert grams({SALT: share("9", two, rest=True)}, {WATER: 910}) == (
        {SALT: Fraction(819, 10)},
        {},
    )


def test_several_lines_of_the_whole_are_solved_together() -> None:
    """By hand: 9 % salt and 3 % sugar of the whole leave 88 % water: 880 g of 1000 g."""
    found, _ = grams({SALT: share("9", PICKLE), SUGAR: share("3", PICKLE)}, {WATER: 880})
    assert found == {SALT: Fraction(90), SUGAR: Fraction(30)}


def test_of_the_rest_each_counts_the_other() -> None:
    """By hand: half of the rest each, beside 100 g: each is half of 100 + the other, so 100 g."""
    found, _ = grams(
        {SALT: share("50", PICKLE, True), SUGAR: share("50", PICKLE, True)}, {WATER: 100}
    )
    assert found == {SALT: Fraction(100), SUGAR: Fraction(100)}


def test_a_part_counts_its_percentages_too_and_so_does_what_is_of_it() -> None:
    """By hand: pickle of 880 + 120 g is 50 % of the meat's 2000 g, whose 10 % is salt more."""
    of_pickle = frozenset(PICKLE)
    found, _ = grams(
        {
            SALT: share("9", PICKLE),
            SUGAR: share("3", PICKLE),
            MEAT: share("200", of_pickle),
        },
        {WATER: 880},
    )
    assert found[MEAT] == 2000


@pytest.mark.parametrize("figures", [("60", "40"), ("100", "1"), ("99", "99")])
def test_a_hundred_per_cent_of_the_whole_leaves_nothing(figures: tuple[str, str]) -> None:
    found, problems = grams(
        {SALT: share(figures[0], PICKLE), SUGAR: share(figures[1], PICKLE)}, {WATER: 880}
    )
    assert not found and set(problems) == {SALT, SUGAR}
    total = int(figures[0]) + int(figures[1])
    assert problems[SALT] == f"{total} % of the pickle leaves nothing for its other lines"


def test_percentages_of_one_another_need_something_weighed() -> None:
    one, other = frozenset({SALT}), frozenset({SUGAR})
    found, problems = grams({SALT: share("5", other), SUGAR: share("5", one)}, {})
    assert not found and problems[SALT] == "nothing in the pickle is weighed"
    found, problems = grams({SALT: share("200", other), SUGAR: share("200", one)}, {WATER: 1})
    assert not found and set(problems) == {SALT, SUGAR}


def test_random_percentages_give_back_what_they_were_made_from() -> None:
    """Weights at random, some then said as exact percentages of groups: the weights come back."""
    dice = random.Random(1707)
    for _ in range(300):
        keys = [(f"p{dice.randrange(3)}", f"i{n}") for n in range(dice.randrange(2, 9))]
        true = {key: Fraction(dice.randrange(1, 5000), dice.choice([1, 10, 7])) for key in keys}
        percents: dict[Key, tuple[Fraction, Of]] = {}
        for key in keys[1:]:
            group = frozenset({k for k in keys if dice.random() < 0.5} | {keys[0]})
            rest = key in group and dice.random() < 0.5
            total = sum(true[k] for k in group if not (rest and k == key))
            if dice.random() < 0.6:
                percents[key] = true[key] / total, Of(group, "x", rest)
        weighed = {k: v for k, v in true.items() if k not in percents}
        found, problems = worked_out(percents, weighed, {})
        assert not problems
        assert {k: one.grams for k, one in found.items()} == {k: true[k] for k in percents}
