"""How much of each food makes a mix with the fat, milk solids, sugar or solids that are wanted.

The method is the algebraic one of the trade: one equation for the weight, one for each target.
With 9 % of the serum of cream and milk taken as their milk solids it is the serum-point method
(H. D. Goff, University of Guelph, Ice Cream Technology, mix calculations); of two foods and one
target it is Pearson's square. All figures are exact: grams, and shares of the weight.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeAlias

MOST_FOODS = 10
"""More than a mix is made of; it bounds the corners that are tried."""
_Row: TypeAlias = list[Fraction]


@dataclass(frozen=True)
class Food:
    """A food to mix: its ``name``, and each constituent's share of its weight."""

    name: str
    shares: Mapping[str, Fraction]

    def share(self, constituent: str) -> Fraction:
        """A constituent as a share of its weight; none where it isn't named."""
        return self.shares.get(constituent, Fraction(0))


@dataclass(frozen=True)
class Reach:
    """A target that can't be met: from what to what these foods come, as shares, and whether with
    all the other targets met (``beside``) or by itself."""

    constituent: str
    wanted: Fraction
    low: Fraction
    high: Fraction
    beside: bool


@dataclass(frozen=True)
class NoMix(Exception):
    """Why there is no such mix: ``reaches`` are the targets that can't be met, ``short_of`` names a
    food of which less than nothing would be needed; ``free`` is by how many foods too many there
    are, or targets too few."""

    reaches: tuple[Reach, ...] = ()
    short_of: str = ""
    free: int = 0


def mixed_to(
    foods: Sequence[Food], wanted: Mapping[str, Fraction], total: Fraction
) -> tuple[Fraction, ...]:
    """The grams of each food that make ``total`` grams with every constituent ``wanted`` (shares of
    the total). Raises NoMix where there is none, or more than one."""
    solved = _solved(_rows(foods, wanted, total))
    if solved is None:
        raise NoMix(_reaches(foods, wanted))
    values, free = solved
    if free and _reachable(foods, wanted):
        raise NoMix(free=free)
    if free:
        raise NoMix(_reaches(foods, wanted))
    if any(value < 0 for value in values):
        least = min(range(len(foods)), key=lambda i: values[i])
        raise NoMix(_reaches(foods, wanted), foods[least].name)
    return tuple(values)


def square(fatter: Fraction, leaner: Fraction, wanted: Fraction) -> tuple[Fraction, Fraction]:
    """Pearson's square: the parts of the richer and of the leaner food, by the differences across
    the square. Raises ValueError where ``wanted`` is not between the two."""
    if fatter == leaner or not min(fatter, leaner) <= wanted <= max(fatter, leaner):
        raise ValueError("what is wanted is not between the two")
    return abs(wanted - leaner), abs(fatter - wanted)


def to_add(have: Fraction, share: Fraction, added: Fraction, wanted: Fraction) -> Fraction:
    """The grams of a food with ``added`` of a constituent that bring ``have`` grams with ``share``
    of it to ``wanted``. Raises ValueError where no amount does."""
    if share == wanted:
        return Fraction(0)
    if added == wanted or (share - wanted) / (wanted - added) < 0:
        raise ValueError("no amount brings it there")
    return have * (share - wanted) / (wanted - added)


def _rows(
    foods: Sequence[Food], wanted: Mapping[str, Fraction], total: Fraction
) -> tuple[_Row, ...]:
    weight: _Row = [*(Fraction(1) for _ in foods), total]
    return (weight, *([*(f.share(n) for f in foods), w * total] for n, w in wanted.items()))


def _solved(rows: Sequence[_Row]) -> tuple[_Row, int] | None:
    """What solves a system by elimination, what is free taken as nothing, and how many are free;
    None where nothing does."""
    work = [list(row) for row in rows]
    width = len(work[0]) - 1
    pivots: list[int] = []
    for column in range(width):
        if _eliminated(work, column, len(pivots)):
            pivots.append(column)
    if any(row[-1] for row in work[len(pivots) :]):
        return None
    values = [Fraction(0)] * width
    for row, column in zip(work, pivots, strict=False):
        values[column] = row[-1]
    return values, width - len(pivots)


def _eliminated(work: list[_Row], column: int, at: int) -> bool:
    """Whether a column is one's to solve for by a row from ``at`` on; it is then gone from all
    others."""
    found = next((i for i in range(at, len(work)) if work[i][column]), None)
    if found is None:
        return False
    work[at], work[found] = work[found], work[at]
    work[at] = [value / work[at][column] for value in work[at]]
    for i, row in enumerate(work):
        if i != at and row[column]:
            times = row[column]
            work[i] = [a - times * b for a, b in zip(row, work[at], strict=True)]
    return True


def _corners(foods: Sequence[Food], wanted: Mapping[str, Fraction]) -> Iterator[_Row]:
    """The mixes of 1 g that meet ``wanted`` with as few foods as can be: between them lie all that
    do."""
    rows = _rows(foods, wanted, Fraction(1))
    for size in range(1, min(len(rows), len(foods)) + 1):
        for chosen in itertools.combinations(range(len(foods)), size):
            solved = _solved([[*(row[i] for i in chosen), row[-1]] for row in rows])
            if solved is None or solved[1] or any(value < 0 for value in solved[0]):
                continue
            corner = [Fraction(0)] * len(foods)
            for i, value in zip(chosen, solved[0], strict=True):
                corner[i] = value
            yield corner


def _reachable(foods: Sequence[Food], wanted: Mapping[str, Fraction]) -> bool:
    return next(_corners(foods, wanted), None) is not None


def _reaches(foods: Sequence[Food], wanted: Mapping[str, Fraction]) -> tuple[Reach, ...]:
    """The targets that bind: those out of reach with the others met; where the others can't be met
    either, those out of reach by themselves; where none is, all as far as they go alone."""
    beside = [
        reach
        for name in wanted
        if (reach := _reach(foods, wanted, name, {n: w for n, w in wanted.items() if n != name}))
    ]
    if beside:
        return tuple(beside)
    alone = [reach for name in wanted if (reach := _reach(foods, wanted, name, {}))]
    out = [r for r in alone if not r.low <= r.wanted <= r.high]
    return tuple(out or alone)


def _reach(
    foods: Sequence[Food], wanted: Mapping[str, Fraction], name: str, others: Mapping[str, Fraction]
) -> Reach | None:
    """From what to what a constituent comes with ``others`` met; None where they can't be."""
    found = [
        sum((x * f.share(name) for x, f in zip(corner, foods, strict=True)), Fraction(0))
        for corner in _corners(foods, others)
    ]
    if not found:
        return None
    return Reach(name, wanted[name], min(found), max(found), bool(others))
