"""The compiled fractions are the standard library's: same results, same words, same hash."""

from __future__ import annotations

import importlib
import math
import operator
import random
import sys
from fractions import Fraction as Library

import pytest

from generator.measures import exact

TWO = [
    *(operator.add, operator.sub, operator.mul, operator.truediv, operator.floordiv),
    *(operator.mod, divmod, operator.lt, operator.le, operator.eq, max, min),
]
ONE = [
    *(math.floor, math.ceil, round, hash, float, int, str, bool, abs, operator.neg),
    *(lambda x: round(x, 2), lambda x: round(x, -2), lambda x: x**2, lambda x: x**-1 if x else 0),
    *(lambda x: x.limit_denominator(97), lambda x: x.as_integer_ratio()),
    *(lambda x: (x.numerator, x.denominator), lambda x: f"{x}"),
]


def test_as_the_standard_library_computes() -> None:
    """A thousand random pairs: whatever is asked of the one is asked of the other."""
    drawn = random.Random(20)
    for _ in range(1000):
        a, c = drawn.randint(-(10**9), 10**9), drawn.choice([-1, 1]) * drawn.randint(1, 10**6)
        b, d = drawn.randint(1, 10**4), drawn.randint(1, 10**3)
        ours, theirs = (exact.Fraction(a, b), exact.Fraction(c, d)), (Library(a, b), Library(c, d))
        for asked in TWO:
            assert asked(*ours) == asked(*theirs), (asked, theirs)
        for asked in ONE:
            assert asked(ours[0]) == asked(theirs[0]), (asked, theirs)
        assert ours[0] == theirs[0] and theirs[0] == ours[0]
        assert ours[0] + theirs[1] == theirs[0] + ours[1] == theirs[0] + theirs[1]


@pytest.mark.parametrize("text", ["1/3", "2.5", "-7", "1e-3", " 4/6 "])
def test_texts_are_read_alike(text: str) -> None:
    assert exact.Fraction(text) == Library(text)


@pytest.mark.parametrize("text", ["", "1/0", "a", "1//2", "1/2/3"])
def test_what_is_no_number_is_refused_alike(text: str) -> None:
    with pytest.raises((ValueError, ZeroDivisionError)) as theirs:
        Library(text)
    with pytest.raises(theirs.type):
        exact.Fraction(text)


def test_without_the_compiled_class_the_librarys_serves(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "quicktions", None)
    try:
        assert importlib.reload(exact).Fraction is Library
    finally:
        monkeypatch.undo()
        importlib.reload(exact)
