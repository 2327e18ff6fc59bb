"""Whole packs: the least left over, against trying every way."""

from __future__ import annotations

import itertools
import random
from fractions import Fraction

import pytest
from each_row import each_row

from generator.scaling.packs import packs_for

POUND = Fraction(45359237, 100000)


def every_way(need: Fraction, sizes: tuple[Fraction, ...]) -> tuple[Fraction, int]:
    """The least sum of whole packs that covers a need, and the fewest packs that make it."""
    many = [range(int(need // size) + 2) for size in sizes]
    ways = (
        (sum(n * size for n, size in zip(counts, sizes, strict=True)), sum(counts))
        for counts in itertools.product(*many)
    )
    return min(way for way in ways if way[0] >= need)


@each_row(
    ("need", "sizes", "counts"),
    [
        (26, (25, 5), (1, 1)),
        (24, (25, 5), (1, 0)),
        (11, (25, 5), (0, 3)),
        (12, (10, 6), (0, 2)),
        (12, (10, 6, 1), (0, 2, 0)),
        (0, (25, 5), (0, 0)),
        (-3, (25, 5), (0, 0)),
        (Fraction(1, 1000), (25,), (1,)),
        (50, (25, 25), (2, 0)),
        (10**9, (25, 7), (40_000_000, 0)),
    ],
)
def test_packs_that_a_cook_would_count_out(
    need: int, sizes: tuple[int, ...], counts: tuple[int, ...]
) -> None:
    assert packs_for(Fraction(need), tuple(map(Fraction, sizes))) == counts


def test_pounds_beside_kilos_cover_too() -> None:
    sizes = (Fraction(25000), 5 * POUND)
    for need in (1, 2300, 24999, 25001, 61234):
        counts = packs_for(Fraction(need), sizes)
        bought = sum(n * size for n, size in zip(counts, sizes, strict=True))
        assert need <= bought < need + 25000


def _tried(count: int, seed: int) -> None:
    rng = random.Random(seed)
    for _ in range(count):
        sizes = tuple(
            Fraction(rng.randint(1, 12), rng.choice([1, 1, 2])) for _ in range(rng.randint(1, 3))
        )
        need = Fraction(rng.randint(0, 30), rng.choice([1, 3]))
        counts = packs_for(need, sizes)
        bought = sum(n * size for n, size in zip(counts, sizes, strict=True))
        assert (bought, sum(counts)) == (every_way(need, sizes) if need else (0, 0)), (need, sizes)


def test_random_packs_are_the_best_of_every_way() -> None:
    _tried(400, 5)


@pytest.mark.slow
def test_many_random_packs_are_the_best_of_every_way() -> None:
    _tried(5000, 6)
