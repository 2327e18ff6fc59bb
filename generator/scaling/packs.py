"""Whole packs that cover a weight: the least left over, then the fewest packs.

Exact. Packs are whole numbers of their greatest common measure, so what can be bought with the
smaller packs matters only by its remainder after whole largest packs: for each remainder the least
sum is found once (a shortest path over the remainders, as the coin problem is solved).
"""

from __future__ import annotations

import functools
import heapq
import math
from fractions import Fraction

MOST_REMAINDERS = 20_000
"""With more, as of pounds beside kilos, the largest packs are bought first and the rest filled
up."""

Counts = tuple[int, ...]
"""How many of each size, in the order of the sizes."""


def packs_for(need: Fraction, sizes: tuple[Fraction, ...]) -> Counts:
    """How many of each of ``sizes`` (grams, each above zero) cover ``need``: nothing for nothing.

    The sum is the least that whole packs can make; of equal sums the fewest packs.
    """
    if need <= 0:
        return (0,) * len(sizes)
    order = sorted(set(sizes), reverse=True)
    scale = math.lcm(*(size.denominator for size in order))
    whole = [int(size * scale) for size in order]
    common = math.gcd(*whole)
    whole = [size // common for size in whole]
    least = math.ceil(need * scale / common)
    if whole[0] > MOST_REMAINDERS:
        counts = _largest_first(least, tuple(whole))
    else:
        counts = _least_over(least, tuple(whole))
    found = dict(zip(order, counts, strict=True))
    return tuple(found.pop(size, 0) for size in sizes)


def _least_over(least: int, sizes: tuple[int, ...]) -> Counts:
    """The least sum from ``least`` on that the ``sizes`` make, the largest first; of the ways to
    make it one with the fewest packs, where that fits into it."""
    largest = sizes[0]
    by_sum, by_count = _remainders(sizes, False), _remainders(sizes, True)
    sums = {
        rest: max(total, least + (rest - least) % largest) for rest, (total, _) in by_sum.items()
    }
    best = min(sums.values())
    rest = best % largest
    total, small = by_count[rest] if by_count[rest][0] <= best else by_sum[rest]
    return ((best - total) // largest, *small)


@functools.lru_cache(maxsize=2048)
def _remainders(sizes: tuple[int, ...], by_count: bool) -> dict[int, tuple[int, Counts]]:
    """For each remainder after whole largest packs: a sum of the smaller packs that has it, and how
    many of each. The least sum; or, ``by_count``, that with which the fewest packs make up any one
    weight: each small pack costs what it lacks to the largest."""
    largest, smaller = sizes[0], sizes[1:]
    found: dict[int, tuple[int, Counts]] = {}
    due: list[tuple[int, int, int, Counts]] = [(0, 0, 0, (0,) * len(smaller))]
    while due:
        cost, packs, total, counts = heapq.heappop(due)
        rest = total % largest
        if rest in found:
            continue
        found[rest] = (total, counts)
        for at, size in enumerate(smaller):
            if (total + size) % largest not in found:
                more = (*counts[:at], counts[at] + 1, *counts[at + 1 :])
                step = largest - size if by_count else size
                heapq.heappush(due, (cost + step, packs + 1, total + size, more))
    return found


def _largest_first(least: int, sizes: tuple[int, ...]) -> Counts:
    """Whole largest packs, then whole next ones, and at one of the sizes one more to cover the
    rest: of these ways the one with the least left over, then the fewest packs."""
    ways: list[tuple[int, int, Counts]] = []
    taken: list[int] = []
    rest = least
    for at, size in enumerate(sizes):
        counts = (*taken, math.ceil(Fraction(rest, size)), *(0,) * (len(sizes) - at - 1))
        total = sum(n * s for n, s in zip(counts, sizes, strict=True))
        ways.append((total, sum(counts), counts))
        taken.append(rest // size)
        rest -= taken[-1] * size
    return min(ways)[2]
