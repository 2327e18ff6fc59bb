"""What is worked out in whole numbers is exactly what fractions say."""

from __future__ import annotations

import random
from fractions import Fraction

from generator.measures.rounding import total, total_of
from generator.measures.words import nearest_kitchen_fraction
from generator.reference.cautions import When
from generator.scaling.scales import ScaleFacts
from generator.sheet.caution_spots import _CHECKS

PARTS = {0: "", 3: "⅛", 6: "¼", 8: "⅓", 9: "⅜", 12: "½", 15: "⅝", 16: "⅔", 18: "¾", 21: "⅞", 24: ""}


def _fraction(rng: random.Random, most: int = 4000) -> Fraction:
    return Fraction(rng.randrange(0, most), rng.choice((1, 2, 3, 7, 10, 24, 125, 1000, 45359237)))


def test_sums() -> None:
    rng = random.Random(5)
    assert total([]) == total_of([]) == 0
    for _ in range(300):
        values = [_fraction(rng) - _fraction(rng) for _ in range(rng.randrange(1, 9))]
        assert total(values) == sum(values, Fraction(0))
        pairs = [(one, _fraction(rng)) for one in values]
        assert total_of(pairs) == sum((a * b for a, b in pairs), Fraction(0))
    assert type(total([Fraction(1, 2), Fraction(1, 2)])) is Fraction


def test_kitchen_fractions() -> None:
    """Oracle: every eighth, third and whole is tried; of two as near, the lower."""
    rng = random.Random(6)
    values = [Fraction(n, 240) for n in range(2400)] + [_fraction(rng, 90) for _ in range(300)]
    for value in values:
        tries = [Fraction(24 * w + p, 24) for w in range(12) for p in PARTS if w or p]
        best = min(tries, key=lambda one: (abs(one - value), one))
        whole, part = divmod(int(best * 24), 24)
        words = (str(whole) if whole else "") + PARTS[part]
        if value < 10:
            assert nearest_kitchen_fraction(value) == (words if value >= Fraction(1, 16) else None)


def test_scales() -> None:
    rng = random.Random(7)
    for _ in range(500):
        division, accuracy = _fraction(rng, 50) + Fraction(1, 100), _fraction(rng, 50)
        capacity, least = _fraction(rng) + 1, _fraction(rng, 50)
        scale = ScaleFacts("s", "S", division, accuracy, capacity, least, True)
        grams, permitted = _fraction(rng) + Fraction(1, 7), Fraction(1, rng.choice((10, 100, 200)))
        count = max(1, -(-grams // capacity))
        assert scale.weighings(grams) == count
        off = count * (division / 2 + accuracy)
        sure = count <= 20 and grams >= least * count and off <= permitted * grams
        assert scale.can(grams, permitted, 20) == sure


def test_every_key_of_a_trigger_is_asked() -> None:
    assert set(_CHECKS) == set(When.model_fields)
