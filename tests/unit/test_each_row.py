"""Rows joined into one test: all are tried, and each that fails is named."""

from __future__ import annotations

import inspect

import pytest
from each_row import each_row


def test_every_row_is_tried_and_each_that_fails_is_named() -> None:
    tried = []

    @each_row(("figure", "word"), [(1, "one"), (2, "two"), (3, "three")])
    @each_row("mark", [pytest.param(".", id="point"), ","], ids=str)
    def test(clean: str, figure: int, word: str, mark: str) -> None:
        tried.append((clean, figure, word, mark))
        assert figure != 2, f"{word} is wrong"
        if (figure, mark) == (3, ","):
            pytest.fail("not this one")

    assert [*inspect.signature(test).parameters] == ["clean"]
    with pytest.raises(BaseExceptionGroup, match="3 of 6 rows fail") as caught:
        test(clean="so")
    assert [(one.__notes__, str(one).split("\n")[0]) for one in caught.value.exceptions] == [
        (["in the row point; 2, 'two'"], "two is wrong"),
        (["in the row ,; 2, 'two'"], "two is wrong"),
        (["in the row ,; 3, 'three'"], "not this one"),
    ]
    assert tried == [
        ("so", f, w, m) for m in ".," for f, w in ((1, "one"), (2, "two"), (3, "three"))
    ]


def test_one_row_alone_raises_what_it_raised() -> None:
    @each_row("figure", range(3))
    def test(figure: int) -> None:
        assert figure != 1

    with pytest.raises(AssertionError) as caught:
        test()
    assert caught.value.__notes__ == ["in the row 1"]


def test_no_row_or_no_such_argument_is_refused() -> None:
    with pytest.raises(AssertionError, match="without a row"):
        each_row("figure", [])
    with pytest.raises(AssertionError, match="no such argument"):
        each_row("figure", [1])(lambda number: None)
    with pytest.raises(AssertionError, match="mark of its own"):
        each_row("figure", [pytest.param(1, marks=pytest.mark.slow)])
    with pytest.raises(ValueError, match="zip"):
        each_row("figure", [1, 2], ids=["one"])
