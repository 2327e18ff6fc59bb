"""Formulas made of what is on hand: random ones against sums and grids of the test's own, and the
command on small kitchens."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction as F
from pathlib import Path

import pytest
from bounded_kitchens import STEP, Asked, bounded_kitchen, drawn, drawn_foods
from conftest import compute

from generator.sheet.manual import Manual
from generator.sheet.reformulated import Nearest, NoAnswer, applied, reformulate, want_of


def kitchen_of(folder: Path, seed: int, many: int, small: bool) -> tuple[Manual, list[Asked]]:
    """A kitchen of random formulas, computed."""
    rng = random.Random(seed)
    foods = drawn_foods(rng)
    asked = [drawn(n, foods, rng, small) for n in range(many)]
    manual = compute(bounded_kitchen(folder, asked))
    assert isinstance(manual, Manual) and not manual.errors
    return manual, asked


def answer(manual: Manual, asked: Asked) -> Nearest | NoAnswer:
    sheet = manual.sheets[asked.ident]
    have = {item: F(grams) for item, grams in asked.have.items()}
    batch = sheet.batches[0]
    return reformulate(want_of(manual.house, sheet.walk, manual.walks, manual.made, batch, have))


def by_item(found: Nearest) -> dict[str, F]:
    grams: dict[str, F] = {}
    for line in found.lines:
        grams[line.key[1]] = grams.get(line.key[1], F(0)) + line.now_g
    return grams


def holds(manual: Manual, asked: Asked) -> str:
    """Check one answer by the test's own sums; which kind it was."""
    found = answer(manual, asked)
    if isinstance(found, NoAnswer):
        if found.relaxed:  # what is proposed must do when it is applied
            relaxed = applied(found.want, found.relaxed)
            assert isinstance(reformulate(relaxed), Nearest), asked.ident
        if found.most_g:
            total = found.want.total
            assert total is not None
            smaller = replace(
                found.want, total=found.most_g, factor=found.want.factor * found.most_g / total
            )
            assert isinstance(reformulate(smaller), Nearest), asked.ident
        return "relaxed" if found.relaxed else "none"
    grams, was = by_item(found), asked.as_it_is()
    assert asked.broken(grams) == [] and asked.overdrawn(grams) == [], asked.ident
    assert found.total_g == sum(grams.values(), F(0))
    total, base_was = sum(was.values(), F(0)), sum(asked.lines.values())
    step = STEP * total / base_was  # with what follows it
    assert abs(found.total_g - total) <= step, asked.ident
    base = sum((g for i, g in grams.items() if i not in asked.percents), F(0))
    for line in found.lines:
        kept = line.follows and line.now_g == base * asked.percents[line.key[1]] / 100
        assert kept or line.now_g % STEP == 0, asked.ident
    for left in found.left:
        trimmed = 1 - F(asked.foods[left.item].trim, 100)
        assert left.used_g == grams.get(left.item, F(0)) / trimmed and left.left_g >= 0
    return "nearest"


@pytest.mark.parametrize("many", [70, pytest.param(300, marks=pytest.mark.slow)])
def test_formulas_hold_every_bound(tmp_path: Path, many: int) -> None:
    manual, asked = kitchen_of(tmp_path / "kitchen", 1, many, small=False)
    kinds = [holds(manual, one) for one in asked]
    assert kinds.count("nearest") > many / 3 and kinds.count("relaxed") > many / 100


def nothing_is_nearer(manual: Manual, asked: Asked) -> bool:
    """Whether every point of the grid was tried and none is nearer than the answer."""
    found, best = answer(manual, asked), asked.brute()
    assert isinstance(found, Nearest) == (best is not None), asked.ident
    if not isinstance(found, Nearest):
        return False
    assert found.off == best, asked.ident
    return True


def test_no_weights_on_the_scale_are_nearer(tmp_path: Path) -> None:
    manual, asked = kitchen_of(tmp_path / "kitchen", 2, 12, small=True)
    assert sum(nothing_is_nearer(manual, one) for one in asked) > 5


@pytest.mark.slow
def test_a_thousand_formulas_hold_every_bound(tmp_path: Path) -> None:
    for seed in range(4):
        manual, asked = kitchen_of(tmp_path / str(seed), 100 + seed, 250, small=False)
        kinds = [holds(manual, one) for one in asked]
        assert kinds.count("nearest") > 60


@pytest.mark.slow
def test_no_weights_on_the_scale_are_nearer_of_hundreds(tmp_path: Path) -> None:
    for seed in range(4):
        manual, asked = kitchen_of(tmp_path / str(seed), 200 + seed, 100, small=True)
        assert sum(nothing_is_nearer(manual, one) for one in asked) > 20
