"""The food a cook names inside an amount: `3/4 cup diced onion`, `8 fl oz of milk to g`."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

_WORD = re.compile(r"[^\W\d_]+")
_MOST = 4
"""A food is named in so many words at most."""


@dataclass(frozen=True)
class Spoken:
    """What was asked, without the food in it: ``rest`` are the other words, ``foods`` the ids of
    those that may be meant."""

    rest: list[str]
    foods: list[str]


def food_in(words: Iterable[str], *shelves: dict[str, str]) -> Spoken | None:
    """The food named among the words of a command line, by the most of its words; None where there
    is none. Each of ``shelves`` has ids with their names: of two that name as much, the food named
    last counts, and the first shelf."""
    tokens = [word for word in " ".join(words).split() if word.lower() != "of"]
    known = [{i: _words_of(i, name) for i, name in names.items()} for names in shelves]
    for start, end in _runs(len(tokens)):
        run = [_singular(one) for one in _bare(" ".join(tokens[start:end]))]
        for shelf in known:
            foods = [i for i, words_of in shelf.items() if _meant(run, *words_of)]
            if foods:
                return Spoken(tokens[:start] + tokens[end:], _exact(run, foods) or foods)
    return None


def _runs(count: int) -> Iterator[tuple[int, int]]:
    """From where to where a food may be named: the longest run first, of those the last; never the
    figure at the start."""
    for size in range(min(_MOST, count - 1), 0, -1):
        for start in range(count - size, 0, -1):
            yield start, start + size


def _exact(run: list[str], foods: list[str]) -> list[str]:
    """Those whose id is these very words."""
    return [i for i in foods if {_singular(w) for w in _bare(i)} == set(run)]


def in_figures(words: Iterable[str]) -> list[str]:
    """Words with the number they begin with in figures: one cup, half a pint, a dozen."""
    tokens = " ".join(words).split()
    said: list[str] = []
    while tokens and tokens[0].lower() in _SAID and len(said) < 2:
        said.append(_SAID[tokens.pop(0).lower()])
    if said[1:] and said[1] != "1":
        return [*said, *tokens]  # no amount begins with two numbers
    return [*said[:1], *tokens]


_SAID = {
    "a": "1",
    "an": "1",
    "one": "1",
    "two": "2",
    "three": "3",
    "four": "4",
    "five": "5",
    "six": "6",
    "eight": "8",
    "ten": "10",
    "twelve": "12",
    "half": "1/2",
    "quarter": "1/4",
}


def _words_of(ident: str, name: str) -> tuple[frozenset[str], frozenset[str]]:
    """The words a food begins with, and all words of its id and name."""
    by_id, by_name = _bare(ident), _bare(name)
    heads = {_singular(one[0]) for one in (by_id, by_name) if one}
    return frozenset(heads), frozenset(_singular(one) for one in (*by_id, *by_name))


def _meant(run: list[str], heads: frozenset[str], all_of: frozenset[str]) -> bool:
    """Whether these words name a food: each is one of its words, and one begins its name."""
    return bool(run) and set(run) <= all_of and bool(set(run) & heads)


def _bare(text: str) -> list[str]:
    return [word.lower() for word in _WORD.findall(text)]


def _singular(word: str) -> str:
    """A word without the ending of the plural: eggs, berries, loaves, tomatoes."""
    for ending, instead in (("ies", "y"), ("ves", "f"), ("oes", "o"), ("s", "")):
        if word.endswith(ending) and len(word) > len(ending) + 2 and not word.endswith("ss"):
            return word[: -len(ending)] + instead
    return word
