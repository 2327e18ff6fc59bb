"""The individuals chart: single values in their order, with limits from their moving ranges.

NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2: the limits are mean ± 3·MR̄/1.128, the
moving ranges being those of two neighbours. 2.66 and 3.267 are those of the tables for n = 2 (E2
and D4). Exact.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Literal

OUT = Fraction("2.66")
"""E2 for n = 2: how many mean moving ranges a value may be from the mean."""
RANGE_OUT = Fraction("3.267")
"""D4 for n = 2: how many mean moving ranges one moving range may be."""
RUN = 8
"""So many values in a row on one side of the mean are a drift (Western Electric rules)."""
RULE = (
    "Individuals chart: mean ± 2.66 × the mean moving range; a moving range at most 3.267 × it. "
    "A drift is a value outside, or 8 in a row on one side of the mean."
)
SOURCE = (
    "NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2 (individuals charts); Western "
    "Electric rules (8 in a row)"
)

Signal = Literal["outside", "range", "run"]


@dataclass(frozen=True)
class Individuals:
    """Values in their order with the figures of their chart, in the values' own unit.

    ``spread`` is their sample standard deviation; that, ``mean_range`` and the limits are None for
    fewer than two. ``signals`` says by the place of a value, from 0, what is said of it.
    """

    values: tuple[Fraction, ...]
    mean: Fraction
    spread: float | None
    ranges: tuple[Fraction, ...]
    mean_range: Fraction | None
    low: Fraction | None
    high: Fraction | None
    range_high: Fraction | None
    signals: dict[int, tuple[Signal, ...]]

    @property
    def drifts_now(self) -> bool:
        """Whether something is said of the last value: what was once is over."""
        return len(self.values) - 1 in self.signals


def individuals(values: Sequence[Fraction]) -> Individuals:
    """The chart of at least one value. Raises ValueError for none.

    >>> individuals([Fraction(4), Fraction(6)]).high
    Fraction(258, 25)
    """
    if not values:
        raise ValueError("a chart needs a value")
    mean = sum(values, Fraction(0)) / len(values)
    ranges = tuple(abs(b - a) for a, b in pairwise(values))
    if not ranges:
        return Individuals(tuple(values), mean, None, (), None, None, None, None, {})
    mean_range = sum(ranges, Fraction(0)) / len(ranges)
    variance = sum(((v - mean) ** 2 for v in values), Fraction(0)) / (len(values) - 1)
    low, high = mean - OUT * mean_range, mean + OUT * mean_range
    range_high = RANGE_OUT * mean_range
    found: dict[int, tuple[Signal, ...]] = {}
    for at, signal in (
        *((n, "outside") for n, v in enumerate(values) if not low <= v <= high),
        *((n, "range") for n, r in enumerate(ranges, 1) if r > range_high),
        *((n, "run") for n in _ends_of_runs(values, mean)),
    ):
        found[at] = (*found.get(at, ()), signal)  # type: ignore[arg-type]
    signals = dict(sorted(found.items()))
    spread = math.sqrt(variance)
    return Individuals(
        tuple(values), mean, spread, ranges, mean_range, low, high, range_high, signals
    )


def _ends_of_runs(values: Sequence[Fraction], mean: Fraction) -> Iterator[int]:
    """Each value that is at least the eighth in a row on its side of the mean; one on the mean
    itself ends a run."""
    side, length = 0, 0
    for n, value in enumerate(values):
        now = (value > mean) - (value < mean)
        length = length + 1 if now == side else 1
        side = now
        if side and length >= RUN:
            yield n
