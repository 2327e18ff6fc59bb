"""The arithmetic of ingoing nitrite: on which grams a dose in ppm is taken, method by method.

Source: FSIS Directive 7620.3, Processing Inspectors' Calculations Handbook (1995), chapter 3. A
percentage is a share here (10 % is 1/10): the handbook writes the percentage where its own
arithmetic needs the share.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from generator.measures.rounding import total
from generator.measures.words import NARROW, plain
from generator.resolve.joined import House
from generator.rules.basics.product import Component, Product

MILLION = 1_000_000
_MEAT = ("meat", "poultry", "game", "wild-game", "ratite")
ION_OF_SODIUM_NITRITE = Fraction(67, 100)
"""Nitrite ion over sodium nitrite, by weight (trade note on Regulation (EU) 2023/2108, 2023)."""


@dataclass(frozen=True)
class Dose:
    """The grams an ingoing substance is set against: ppm = grams of it ÷ ``on`` × 1,000,000.

    ``rule`` says so in words, ``inputs`` what went in. ``grows`` is by how many grams ``on`` grows
    with every gram put to the pickle: none where there is no pickle.
    """

    on: Fraction
    rule: str
    inputs: tuple[tuple[str, str], ...]
    grows: Fraction = Fraction(0)

    def ppm(self, grams: Fraction) -> Fraction:
        """The dose of so many grams, in parts per million."""
        return grams / self.on * MILLION

    def grams_at(self, ppm: Fraction, share: Fraction, now: Fraction) -> Fraction:
        """The grams of an ingredient, ``share`` of it the substance, that come to ``ppm`` when they
        take the place of the ``now`` grams of it in the pickle, whose weight changes with them."""
        part = ppm / MILLION
        return part * (self.on - self.grows * now) / (share - part * self.grows)


def is_meat(house: House, component: Component) -> bool:
    """Whether it belongs to the meat block: meat or poultry of any kind, by its species."""
    return house.pack.class_of(component.species) in _MEAT


def takes_up(house: House, component: Component) -> bool:
    """Whether it takes up brine: meat and poultry, and fish, which is no part of a meat block."""
    return house.pack.class_of(component.species) in (*_MEAT, "fish")


def green_weight(
    house: House, components: tuple[Component, ...], skin: Fraction = Fraction(1)
) -> Fraction:
    """Green weight of the meat and poultry among ``components``, in grams.

    ``skin`` is what the weight of a belly with its skin on is multiplied by; a belly not stated to
    have its skin taken off counts as having it.
    """
    return sum(
        (
            c.grams * (1 if c.cure.skin == "taken-off" else skin)
            for c in components
            if is_meat(house, c)
        ),
        Fraction(0),
    )


def pickle_parts(
    house: House, product: Product, taken: tuple[str, ...] | frozenset[str]
) -> frozenset[str]:
    """The parts of a formula that are its pickle: those that hold a cure; without one, those of
    ``taken`` that hold no meat or fish, else all that hold none."""
    cured = {c.part for c in product.components if c.nitrite and c.cures}
    flesh = {c.part for c in product.components if takes_up(house, c)}
    if cured:
        return frozenset(cured) - flesh
    present = {c.part for c in product.components}
    return frozenset(set(taken) - flesh or present - flesh)


def weight_of(product: Product, parts: frozenset[str]) -> Fraction:
    """What some parts weigh in the product, in grams."""
    return total(c.weight for c in product.components if c.part in parts)


def on_the_meat(green: Fraction) -> Dose:
    """Comminuted and dry cured: ppm = nitrite × 1,000,000 ÷ green weight of the meat block."""
    return Dose(green, "nitrite ÷ meat block", ())


def at_balance(green: Fraction, pickle: Fraction) -> Dose:
    """Immersion cured, method two (p. 22): meat and cover pickle are one system;
    ppm = nitrite × 1,000,000 ÷ (green weight + pickle weight)."""
    inputs = (("Pickle", f"{plain(pickle, 2)}{NARROW}g"),)
    return Dose(
        green + pickle, "nitrite ÷ (meat block + pickle), handbook method two", inputs, Fraction(1)
    )


def taken_up(
    green: Fraction, pickle: Fraction, share: Fraction, pumped: bool, skin: Fraction = Fraction(1)
) -> Dose:
    """Pumped (p. 19), and immersion cured by method one (p. 22):
    ppm = nitrite × pump or pick-up × 1,000,000 ÷ pickle weight.

    ``share`` is of the green weight as weighed; ``skin`` is the true green weight over that one.
    """
    word = "pump" if pumped else "pick-up"
    percent = plain(share * 100, 2)
    inputs = (
        ("Pickle", f"{plain(pickle, 2)}{NARROW}g"),
        (word.capitalize(), f"{percent}{NARROW}% of green weight"),
    )
    method = "" if pumped else ", handbook method one"
    return Dose(pickle / share * skin, f"nitrite × {word} ÷ pickle{method}", inputs, skin / share)


def as_ion(ppm: Fraction) -> Fraction:
    """A dose of sodium nitrite as nitrite ion, the way European law counts: arithmetic, no
    limit."""
    return ppm * ION_OF_SODIUM_NITRITE
