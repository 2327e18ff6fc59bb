"""Which scale weighs a line, how it is rounded there, and how sure the weighing is."""

from __future__ import annotations

import functools
import itertools
import math
import operator
from dataclasses import dataclass, replace
from fractions import Fraction

from generator.measures.kilos import small_weight
from generator.measures.rounding import half_up, to_side
from generator.measures.words import as_scale_shows, plain

ORDINARY = Fraction(1, 100)
STRICT = Fraction(1, 200)
"""Permitted weighing uncertainty: 1 %, and 0.5 % for salt, cure and gelling agents."""
AS_NEEDED = Fraction(1, 10)
"""For what is taken as needed: near enough to start from, and no scale is asked for."""


@dataclass(frozen=True)
class ScaleFacts:
    """A scale's figures in grams; ``capacity`` is net of the tare, ``here`` if at the station,
    ``elsewhere`` if at another (neither: it goes round the house).

    ``unit`` is what its display shows (g, kg, oz, lb), ``unit_g`` the grams of one such unit.
    """

    id: str
    name: str
    division: Fraction
    accuracy: Fraction
    capacity: Fraction
    least: Fraction
    here: bool
    unit: str = "g"
    unit_g: Fraction = Fraction(1)
    elsewhere: bool = False

    def shows(self, grams: Fraction) -> str:
        """The figure on its display for so many grams: as many decimals as its division has."""
        return as_scale_shows(grams / self.unit_g, self.division / self.unit_g)

    def uncertainty(self, weighings: int = 1) -> Fraction:
        """Half the division plus the accuracy, in grams, for so many weighings."""
        return self._of_one if weighings == 1 else weighings * self._of_one

    @functools.cached_property
    def _of_one(self) -> Fraction:
        return self.division / 2 + self.accuracy

    @functools.cached_property
    def _coarse_first(self) -> tuple[float, Fraction, float, Fraction, str]:
        # figures that differ as floats differ so exactly; those that don't are asked exactly
        coarse, off = -self.division, -self.accuracy
        return float(coarse), coarse, float(off), off, self.id

    @functools.cached_property
    def _ratios(self) -> tuple[int, int, int, int, int, int]:
        """Its capacity, its least and its uncertainty, each over its denominator: every line of
        every batch is compared with them in whole numbers."""
        known = (self.capacity, self.least, self._of_one)
        (most, of_most), (least, of_least), (off, of_off) = (f.as_integer_ratio() for f in known)
        return most, of_most, least, of_least, off, of_off

    def weighings(self, grams: Fraction) -> int:
        """How many weighings it takes to stay within the capacity."""
        over, under = grams.as_integer_ratio()
        most, of_most = self._ratios[:2]
        if over * of_most <= most * under:
            return 1
        return max(1, -(-over * of_most // (most * under)))  # rounded up

    def can(self, grams: Fraction, permitted: Fraction, most_weighings: int) -> bool:
        """Whether it weighs so much within what is permitted, in at most so many weighings."""
        count = self.weighings(grams)
        if count > most_weighings:
            return False
        over, under = grams.as_integer_ratio()
        _, _, least, of_least, off, of_off = self._ratios
        if over * of_least < least * count * under:
            return False
        share, of_share = permitted.as_integer_ratio()
        return off * count * of_share * under <= share * over * of_off


@dataclass(frozen=True)
class Weighing:
    """One line as weighed: grams shown in all, on which scale, in how many weighings.

    ``share`` is the uncertainty over the exact weight; ``needs`` the division a scale would need
    if none in the house is good enough, else None.
    """

    grams: Fraction
    each: Fraction
    count: int
    scale: ScaleFacts | None
    share: Fraction
    permitted: Fraction
    needs: Fraction | None

    @property
    def tolerance(self) -> Fraction:
        """How far what the scale shows may be from ``grams``, in grams, either way: what is
        permitted less what a weighing can be off itself, down to a division; never below nothing.
        """
        if self.scale is None:
            return Fraction(0)
        over = self.permitted * self.grams - self.scale.uncertainty(self.count)
        return max(Fraction(0), to_side(over, "down", self.scale.division))


def choose(grams: Fraction, permitted: Fraction, scales: tuple[ScaleFacts, ...]) -> Weighing:
    """The coarsest scale within what is permitted: of the station first, then of the house, at
    last of another station; whole before split; else the finest, with the division that would do.

    ``grams`` is the exact weight of one load's line.
    """
    coarse_first = sorted(scales, key=_coarse_first)
    at_station = [s for s in coarse_first if s.here]
    near = [s for s in coarse_first if not s.elsewhere]
    for groups in ((at_station, near), (coarse_first,)):
        for most in (1, 20):
            for scale in itertools.chain(*groups):
                if scale.can(grams, permitted, most):
                    return _weigh(grams, permitted, scale, None)
    if not coarse_first:
        return Weighing(half_up(grams), half_up(grams), 1, None, Fraction(0), permitted, None)
    finest = min(coarse_first, key=lambda s: (s.division, s.accuracy, s.id))
    return _weigh(grams, permitted, finest, _needed(grams, permitted, finest))


_coarse_first = operator.attrgetter("_coarse_first")


def _weigh(
    grams: Fraction, permitted: Fraction, scale: ScaleFacts, needs: Fraction | None
) -> Weighing:
    count = scale.weighings(grams)
    each = half_up(grams if count == 1 else grams / count, scale.division)
    share = scale.uncertainty(count) / grams
    shown = each if count == 1 else each * count
    return Weighing(shown, each, count, scale, share, permitted, needs)


def choose_below(
    grams: Fraction, most: Fraction, permitted: Fraction, scales: tuple[ScaleFacts, ...]
) -> Weighing:
    """A line with a legal maximum: the scale as always, rounded down to a step, and further down
    until what it shows and what a weighing can be off in all, half a division and the accuracy,
    stay within ``most`` grams together."""
    weighing = choose(grams, permitted, scales)
    scale = weighing.scale
    if scale is None:
        return weighing
    highest = min(grams / weighing.count, most / weighing.count - scale.uncertainty())
    each = max(Fraction(0), to_side(highest, "down", scale.division))
    return replace(weighing, grams=each * weighing.count, each=each)


def choose_above(
    grams: Fraction, least: Fraction, permitted: Fraction, scales: tuple[ScaleFacts, ...]
) -> Weighing:
    """A line of which a least amount is required: the scale as always, rounded up to a step, and
    further up until what it shows less what a weighing can be off in all is at least ``least``
    grams."""
    weighing = choose(grams, permitted, scales)
    scale = weighing.scale
    if scale is None:
        return weighing
    lowest = max(grams / weighing.count, least / weighing.count + scale.uncertainty())
    each = to_side(lowest, "up", scale.division)
    return replace(weighing, grams=each * weighing.count, each=each)


def _needed(grams: Fraction, permitted: Fraction, finest: ScaleFacts) -> Fraction:
    """The largest division 1, 2, 5 × 10ⁿ g that is good enough, its accuracy in the finest scale's
    proportion to its division."""
    ratio = finest.accuracy / finest.division
    most = permitted * grams / (Fraction(1, 2) + ratio)
    power = Fraction(10) ** math.floor(math.log10(float(most)))
    for factor in (10, 5, 2, 1):
        if factor * power <= most:
            return factor * power
    return power


def too_coarse_words(weighing: Weighing) -> str:
    """What to say of a line no scale in the house weighs well enough."""
    assert weighing.scale is not None and weighing.needs is not None
    off = small_weight(weighing.scale.uncertainty(weighing.count), 3)
    share = plain(to_side(weighing.share * 100, "up", Fraction(1, 10)), 1)
    return f"Weighs to ±{off}, {share} %. Needs one that reads {plain(weighing.needs, 6)} g."
