"""Yields measured in the house: tests by their weights, their mean and how far they spread."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from pydantic import Field

from generator.records.fields import Date, Mass, WholeNumber, Words
from generator.records.record import Record
from generator.records.shares import ShareRange

_FINE = 10**6
"""A spread is rounded up to a millionth of the weight."""
_OUTLIER = Fraction(7, 2)
_TO_SIGMA = Fraction(6745, 10000)
_LEAST_DEVIATION = Fraction(1, 200)
"""Half a percent of the weight: how well a kitchen weighs twice. Tests that agree better than that
make no outlier of the next one."""
_ENOUGH = 4
"""Of so many tests one may be called an outlier."""


class YieldTest(Record):
    """One yield test of a step: weighed before and after it."""

    date: Date = Field(description="The day it was weighed.")
    before: Mass = Field(description="What went into the step.", examples=["5 kg"])
    after: Mass = Field(description="What came out of it.", examples=["3.9 kg"])
    portions: WholeNumber | None = Field(
        None, description="How many portions were served from it.", examples=["21"]
    )
    note: Words = Field("", description="A remark.", examples=["New supplier."])

    @property
    def share(self) -> Fraction:
        """After over before."""
        return self.after.value / self.before.value


class TrimTest(Record):
    """One trim test of an ingredient: weighed as purchased and ready to use."""

    date: Date = Field(description="The day it was weighed.")
    raw: Mass = Field(description="What it weighed as purchased.", examples=["12 kg"])
    trimmed: Mass = Field(description="What it weighed ready to use.", examples=["10.2 kg"])
    note: Words = Field("", description="A remark.", examples=["New supplier."])

    @property
    def share(self) -> Fraction:
        """Ready to use over purchased."""
        return self.trimmed.value / self.raw.value


@dataclass(frozen=True)
class StepYield:
    """What a step makes of the weight that comes to it: after over before, ``mean`` with what it
    may fall to (``low``) and come to (``high``); measured by so many ``tests``, none where it is
    stated. ``spread`` is the tests' sample standard deviation, None for fewer than two."""

    mean: Fraction
    low: Fraction
    high: Fraction
    tests: int = 0
    spread: Fraction | None = None

    @property
    def varies(self) -> bool:
        """Whether it is a range."""
        return self.low != self.high


def lost(loses: ShareRange) -> StepYield:
    """The yield of a step that loses so much."""
    return StepYield(1 - loses.mean, 1 - loses.high, 1 - loses.low)


def gained(gains: ShareRange) -> StepYield:
    """The yield of a step that gains so much."""
    return StepYield(1 + gains.mean, 1 + gains.low, 1 + gains.high)


def measured(shares: Sequence[Fraction]) -> StepYield:
    """The yield by tests: their mean, give or take their sample standard deviation.

    ``shares`` are after over before, one a test; at least one. The deviation divides by n − 1
    (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.6, Measures of Scale: from memory) and
    is rounded up.
    """
    mean = sum(shares, Fraction(0)) / len(shares)
    if len(shares) < 2:
        return StepYield(mean, mean, mean, len(shares))
    variance = sum(((s - mean) ** 2 for s in shares), Fraction(0)) / (len(shares) - 1)
    spread = root_up(variance)
    low = mean - spread if spread < mean else min(shares)
    return StepYield(mean, low, mean + spread, len(shares), spread)


def root_up(value: Fraction) -> Fraction:
    """A square root rounded up to a millionth; exact where it is one."""
    scaled = math.ceil(value * _FINE**2)
    root = math.isqrt(scaled)
    return Fraction(root if root * root == scaled else root + 1, _FINE)


def outliers(shares: Sequence[Fraction]) -> list[int]:
    """Which of at least four tests lie far from the others: those whose modified Z-score is above
    3.5 (Iglewicz and Hoaglin, How to Detect and Handle Outliers, ASQC 1993)."""
    if len(shares) < _ENOUGH:
        return []
    middle = statistics.median(shares)
    deviation = max(statistics.median(abs(s - middle) for s in shares), _LEAST_DEVIATION)
    return [n for n, s in enumerate(shares) if _TO_SIGMA * abs(s - middle) / deviation > _OUTLIER]
