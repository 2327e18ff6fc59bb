"""A figure known to lie between two: exact where both are one."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from generator.measures.rounding import half_up, to_side
from generator.measures.words import plain


@dataclass(frozen=True)
class Between:
    """What lies from ``low`` to ``high``, both exact and in one unit; ``low`` is not above
    ``high``. A figure that is known is held once, and reckoned with once: most are, thousands in a
    large kitchen."""

    low: Fraction
    high: Fraction

    @staticmethod
    def just(value: Fraction | int) -> Between:
        """A figure that is known."""
        known = Fraction(value)
        return Between(known, known)

    @staticmethod
    def wide(low: Fraction, width: Fraction) -> Between:
        """What begins at ``low`` and is so wide."""
        return Between(low, low + width if width else low)

    @property
    def _held_once(self) -> bool:
        return self.low is self.high

    @property
    def known(self) -> bool:
        """Whether it is one figure."""
        return self.low == self.high

    @property
    def width(self) -> Fraction:
        """How far it is from being known."""
        return self.high - self.low

    def __add__(self, other: Between) -> Between:
        low = self.low + other.low
        return Between(low, low if self._held_once and other._held_once else self.high + other.high)

    def times(self, factor: Fraction) -> Between:
        """It, so many times; ``factor`` is not below 0."""
        low = self.low * factor
        return Between(low, low if self._held_once else self.high * factor)

    def per(self, other: Between) -> Between | None:
        """How much of it to one of the other, whatever each is; None where the other may be
        nothing."""
        return Between(self.low / other.high, self.high / other.low) if other.low > 0 else None

    def within(self, low: Fraction, high: Fraction) -> Between:
        """It, as far as it is between two bounds."""
        return Between(min(max(self.low, low), high), max(min(self.high, high), low))

    def words(self, places: int) -> str:
        """``62.4``, or ``58.1 to 66.2``: one figure only where both round to it. Two are bounds, so
        they are rounded outward: what lies between stays between."""
        step = Fraction(1, 10**places)
        low, high = half_up(self.low, step), half_up(self.high, step)
        return plain(low, places) if low == high else self.outward(places)

    def outward(self, places: int) -> str:
        """The same with both ends rounded outward, whether or not they are near; one figure where
        that is all of it."""
        step = Fraction(1, 10**places)
        low, high = to_side(self.low, "down", step), to_side(self.high, "up", step)
        if low == high:
            return plain(low, places)
        return f"{plain(low, places)} to {plain(high, places)}"

    def words_beside(self, bound: Fraction, places: int) -> str:
        """The same beside a bound it is held to: with as many decimals, from ``places`` on and six
        at most, as leave each end on its own side of the bound."""
        found = self.words(places)
        for digits in range(places, _MOST_PLACES + 1):
            step = Fraction(1, 10**digits)
            low, high = half_up(self.low, step), half_up(self.high, step)
            if low != high:
                low, high = to_side(self.low, "down", step), to_side(self.high, "up", step)
            found = self.words(digits)
            if _side(low, bound) == _side(self.low, bound) and _side(high, bound) == _side(
                self.high, bound
            ):
                break
        return found


_MOST_PLACES = 6


def _side(value: Fraction, bound: Fraction) -> int:
    """-1 below a bound, 0 on it, 1 above."""
    return (value > bound) - (value < bound)


NOTHING = Between.just(0)
