"""A figure that is known within bounds: what enters a prediction, and what comes out of it."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class Range:
    """A figure with the bounds that hold it about nine times in ten. Raises ValueError unless
    ``low`` ≤ ``likely`` ≤ ``high``; a bound may be infinite, the likely figure too."""

    low: float
    likely: float
    high: float

    def __post_init__(self) -> None:
        if math.isnan(self.low + self.likely + self.high) and not math.isinf(self.high):
            raise ValueError("not a number")
        if not self.low <= self.likely <= self.high:
            raise ValueError(f"{self.low}, {self.likely}, {self.high} are not in order")

    @staticmethod
    def exact(value: float) -> Range:
        """A figure taken as it is stated."""
        return Range(value, value, value)

    @staticmethod
    def within(value: float, share: float) -> Range:
        """A figure and a share of it to both sides."""
        off = abs(value) * share
        return Range(value - off, value, value + off)

    @staticmethod
    def off_by(value: float, most: float) -> Range:
        """A figure and how far it may be off to both sides."""
        return Range(value - most, value, value + most)

    @property
    def is_exact(self) -> bool:
        return self.low == self.high
