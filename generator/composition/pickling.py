"""What goes into a pickle, a brine or a jar so that the food comes out with the salt, acid and
nitrite that are wanted. Exact; grams, and shares of the weight.

Nitrite is counted as ingoing, on the green weight of the meat: FSIS Directive 7620.3, Processing
Inspectors' Calculations Handbook (1995), chapter 3. Pumped: ppm = nitrite × pump × 1,000,000 ÷
pickle (p. 19). Immersion at balance, method two: ppm = nitrite × 1,000,000 ÷ (green weight +
pickle) (p. 22). Dry and comminuted: ppm = nitrite × 1,000,000 ÷ green weight (p. 12, p. 24).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

MILLION = 1_000_000
SATURATED = Fraction(264, 1000)
"""Salt in a brine that takes no more of it at 60 °F: 26.4 % by weight (Netipedia, Brine; there also
23.3 % at 32 °F)."""
Loss = Literal["water", "juice"]


@dataclass(frozen=True)
class Uptake:
    """Meat and the pickle it takes up. ``green_g`` is its weight raw, ``true`` its true green
    weight over that one (a belly's skin is none), ``pump`` the pickle put in as a share of the
    green weight; ``drips`` is what runs out again, a share of the pumped weight, as pickle;
    ``loses`` the cook loss, a share of what is left then."""

    green_g: Fraction
    pump: Fraction
    drips: Fraction = Fraction(0)
    loses: Fraction = Fraction(0)
    true: Fraction = Fraction(1)

    @property
    def stays(self) -> Fraction:
        """The pickle that stays, as a share of the green weight."""
        return self.pump - self.drips * (1 + self.pump)

    @property
    def before_cooking(self) -> Fraction:
        """The weight before it is cooked, as a share of the green weight."""
        return (1 + self.pump) * (1 - self.drips)

    def finished(self, loss: Loss) -> Fraction:
        """What the salt that went in is set against, as a share of the green weight: what is left
        after cooking where water alone is lost, what was there before it where the juice takes its
        salt along."""
        return self.before_cooking * (1 - self.loses if loss == "water" else 1)

    def of_the_pickle(self, share: Fraction, loss: Loss) -> Fraction:
        """The share of the pickle that comes to ``share`` of the finished meat."""
        return share * self.finished(loss) / self.stays

    def in_the_meat(self, share: Fraction, loss: Loss) -> Fraction:
        """What ``share`` of the pickle comes to in the finished meat."""
        return share * self.stays / self.finished(loss)

    def cure_share(self, ppm: Fraction, nitrite: Fraction) -> Fraction:
        """The share of the pickle that is a cure, ``nitrite`` of it nitrite, for ``ppm`` ingoing.
        What drips out again is not taken off: it went in."""
        return ppm / MILLION * self.true / (nitrite * self.pump)

    def most_cure(self, ppm: Fraction, nitrite: Fraction, rest_g: Fraction) -> Fraction:
        """The grams of a cure beside ``rest_g`` of the other pickle that come to ``ppm``."""
        share = self.cure_share(ppm, nitrite)
        return share * rest_g / (1 - share)

    def ppm(self, cure_g: Fraction, nitrite: Fraction, pickle_g: Fraction) -> Fraction:
        """The ingoing nitrite of so much cure in so much pickle."""
        return cure_g * nitrite * self.pump / self.true / pickle_g * MILLION


def cure_on_meat(ppm: Fraction, nitrite: Fraction, green_g: Fraction) -> Fraction:
    """The grams of a cure for ``ppm`` on the green weight: dry and comminuted."""
    return ppm / MILLION * green_g / nitrite


def most_cure_at_balance(
    ppm: Fraction, nitrite: Fraction, green_g: Fraction, rest_g: Fraction
) -> Fraction:
    """The grams of a cure beside ``rest_g`` of the other brine for ``ppm`` of meat and brine
    together."""
    share = ppm / MILLION
    return share * (green_g + rest_g) / (nitrite - share)


@dataclass(frozen=True)
class Jar:
    """Food under a liquid of water and vinegar, all in grams."""

    food_g: Fraction
    liquid_g: Fraction

    def salt(self, share: Fraction) -> Fraction:
        """Salt by the trade's way of saying it: a share of food and liquid together."""
        return share * (self.food_g + self.liquid_g)

    def vinegar(self, share: Fraction, acid: Fraction, dry_g: Fraction) -> Fraction:
        """The vinegar, ``acid`` of it acid, among the liquid, for ``share`` of all that is in the
        jar; ``dry_g`` is what is stirred into the liquid. The food's own acid is not counted."""
        return share * (self.food_g + self.liquid_g + dry_g) / acid


def in_the_water(salt_g: Fraction, water_g: Fraction) -> Fraction:
    """Salt as a share of salt and water together."""
    return salt_g / (salt_g + water_g) if salt_g + water_g else Fraction(0)
