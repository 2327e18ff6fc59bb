"""The bakers' overall formula: everything in a dough on its total flour, with what preferments
bring.

Total flour is 100 %. A preferment (a poolish, a biga, a sour) is opened: its flour, water, salt and
yeast are counted with the dough's own, and the share of the flour that it ferments ahead is the
prefermented flour. Hydration is said twice: the liquids as they are weighed, as a formula is
written, and the water in all but the flour, by composition.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from generator.composition.contents import Contents
from generator.measures.between import Between

_MOSTLY = Fraction(1, 2)
"""A liquid of which less than half can be water, an oil or a syrup, is no part of the hydration."""


@dataclass(frozen=True)
class Doughed:
    """An ingredient as it comes into a dough: ``grams`` of it, by the preferment or soaker it comes
    ``through`` ("" for none). ``flour``: it counts in the 100 %; ``ahead``: it is fermented before
    the dough is mixed; ``salt`` is the share of it that is salt put in."""

    item: str
    name: str
    grams: Fraction
    contents: Contents
    flour: bool = False
    liquid: bool = False
    through: str = ""
    ahead: bool = False
    salt: Fraction = Fraction(0)


@dataclass(frozen=True)
class Row:
    """An ingredient of the overall formula: grams in all, and those that come by each preferment,
    by its name."""

    item: str
    name: str
    grams: Fraction
    by: tuple[tuple[str, Fraction], ...]
    flour: bool


@dataclass(frozen=True)
class Overall:
    """The overall formula of a dough. ``rows`` are in the order of the dough, its flours first;
    ``later`` comes to the dough once it is mixed. Shares are of the total flour."""

    flour_g: Fraction
    dough_g: Fraction
    rows: tuple[Row, ...]
    later: tuple[Row, ...]
    ahead_g: tuple[tuple[str, Fraction], ...]
    liquid_g: Fraction
    water_g: Between
    salt_g: Fraction
    sugar_g: Between

    def on_flour(self, grams: Fraction) -> Fraction:
        """Grams as a share of the total flour."""
        return grams / self.flour_g

    @property
    def prefermented(self) -> Fraction:
        """The share of the total flour that is fermented ahead."""
        return sum((grams for _, grams in self.ahead_g), Fraction(0)) / self.flour_g

    @property
    def through(self) -> tuple[str, ...]:
        """The preferments and soakers that were opened, by their names."""
        return tuple(dict.fromkeys(name for row in self.rows for name, _ in row.by))


def overall(dough: Iterable[Doughed], later: Iterable[Doughed] = ()) -> Overall | None:
    """The overall formula of what a dough is mixed from, and of what comes to it later; None where
    there is no flour in it."""
    held = tuple(dough)
    flours, others = [o for o in held if o.flour], [o for o in held if not o.flour]
    flour = _grams(flours)
    if not flour:
        return None
    ahead = _by(one for one in flours if one.ahead)
    return Overall(
        flour,
        _grams(held),
        _rows([*flours, *others]),
        _rows(later),
        ahead,
        _grams(one for one in others if wets(one)),
        _of(others, "water"),
        sum((one.grams * one.salt for one in held), Fraction(0)),
        _of(others, "sugar"),
    )


def _grams(held: Iterable[Doughed]) -> Fraction:
    return sum((one.grams for one in held), Fraction(0))


def wets(one: Doughed) -> bool:
    """Whether it counts in the hydration: a liquid that is mostly water."""
    return one.liquid and one.contents.shares["water"].high >= _MOSTLY


def _of(held: Iterable[Doughed], name: str) -> Between:
    """The grams of a constituent in several ingredients."""
    return sum((one.contents.shares[name].times(one.grams) for one in held), Between.just(0))


def _rows(held: Iterable[Doughed]) -> tuple[Row, ...]:
    """Ingredients merged by what they are."""
    merged: dict[tuple[str, bool], list[Doughed]] = {}
    for one in held:
        merged.setdefault((one.item, one.flour), []).append(one)
    return tuple(
        Row(item, ones[0].name, sum((o.grams for o in ones), Fraction(0)), _by(ones), flour)
        for (item, flour), ones in merged.items()
    )


def _by(ones: Iterable[Doughed]) -> tuple[tuple[str, Fraction], ...]:
    found: dict[str, Fraction] = {}
    for one in ones:
        if one.through:
            found[one.through] = found.get(one.through, Fraction(0)) + one.grams
    return tuple(found.items())
