"""From a batch size to a factor, and from a factor to fills, portions and yields."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from generator.files.finding import Refused

MOST_FACTOR = Fraction(10000)


@dataclass(frozen=True)
class Figures:
    """A formula as written, in grams: ``base``, ``total`` (all that is weighed), ``filled`` (what
    goes into vessels, None without a filling step), ``finished`` (after the last loss).

    ``fill`` is one vessel's worth. Portions come by weight (``portion``), by count from a fill
    (``per_fill``), or by slices (``per_fill`` slices taking ``sliced`` of the finished weight).

    Where the formula is made in ``pieces``, that many of them are in the formula as written, and
    every batch has a whole number of them; ``to_a_fill`` of them are one fill, the last fill of a
    batch holds what is left. ``lightest`` and ``heaviest`` are how much a fill's own share of the
    finished weight is below and above its mean, in grams, if all its pieces are.
    ``beside`` is how much of a fill its pieces lie in, and aren't: fat, brine, sauce.
    """

    base: Fraction
    total: Fraction
    filled: Fraction | None
    finished: Fraction
    fill: Fraction | None = None
    portion: Fraction | None = None
    per_fill: int | None = None
    sliced: Fraction = Fraction(1)
    pieces: int | None = None
    lightest: Fraction = Fraction(0)
    heaviest: Fraction = Fraction(0)
    to_a_fill: int = 1
    beside: Fraction = Fraction(0)

    @cached_property
    def fills(self) -> Fraction | None:
        """Fills or pieces in the formula as written, exactly; None where it makes none."""
        if self.pieces is not None:
            return Fraction(self.pieces, self.to_a_fill)
        if self.fill is None:
            return None
        return (self.filled if self.filled is not None else self.finished) / self.fill

    @cached_property
    def yielded(self) -> Fraction:
        """What can be served: the finished weight without the ends."""
        return self.finished * self.sliced


@dataclass(frozen=True)
class Yields:
    """What a batch gives, in grams; ``rest_g`` is filled mass over after the last whole fill,
    ``ends_g`` what slicing leaves, ``portion_g`` one portion, ``portion_from_g`` and
    ``portion_to_g`` that of the lightest and the heaviest piece where each is one, ``fill_g`` one
    fill; ``rest_pieces`` are the pieces in the last fill, which isn't full. ``beside_g`` of a
    portion is what its pieces lie in."""

    base_g: Fraction
    total_g: Fraction
    filled_g: Fraction | None
    finished_g: Fraction
    yield_g: Fraction
    ends_g: Fraction
    fills: int | None
    rest_g: Fraction
    portions: int | None
    portion_g: Fraction | None
    portion_from_g: Fraction | None = None
    portion_to_g: Fraction | None = None
    fill_g: Fraction | None = None
    rest_pieces: int = 0
    beside_g: Fraction = Fraction(0)

    @property
    def yield_share(self) -> Fraction:
        """What can be served, over all that is weighed: the theoretical yield."""
        return self.yield_g / self.total_g if self.total_g else Fraction(0)

    @property
    def over_portions_g(self) -> Fraction:
        """What is left after the last whole portion, in grams; 0 for crumbs below a gram."""
        if self.portions is None or self.portion_g is None:
            return Fraction(0)
        rest = self.yield_g - self.portions * self.portion_g
        return rest if rest >= 1 else Fraction(0)


def factor_for(kind: str, value: Fraction, figures: Figures) -> Fraction:
    """The factor on the formula as written that gives a batch size.

    ``value`` is in grams for total, base and yield, a count for portions and fills. Raises Refused
    if the formula doesn't make such a size.
    """
    if value <= 0:
        raise Refused("size-not-above-zero", "A batch size must be above zero.", "Write how much.")
    if kind == "base":
        factor = value / figures.base
    elif kind == "total":
        factor = value / figures.total
    elif kind == "yield":
        factor = value / figures.yielded
    elif kind == "fills":
        factor = value / _fills_at_one(figures)
    elif kind == "portions":
        factor = _portion_factor(value, figures)
    else:
        raise Refused("size-unreadable", f"`{kind}` is not a kind of batch size.", "")
    factor = in_whole_pieces(factor, figures)
    if factor > MOST_FACTOR:
        raise Refused(
            "size-too-large", "That is over 10,000 times the formula.", "Check the figure."
        )
    return factor


def in_whole_pieces(factor: Fraction, figures: Figures) -> Fraction:
    """The largest factor up to ``factor`` that gives whole pieces; ``factor`` itself where the
    formula counts none. Raises Refused where not even one piece is left."""
    if figures.pieces is None:
        return factor
    whole = math.floor(factor * figures.pieces)
    if whole == 0:
        raise Refused("size-below-a-piece", "That is less than one piece.", "")
    return Fraction(whole, figures.pieces)


def _fills_at_one(figures: Figures) -> Fraction:
    if figures.fills is None:
        raise Refused(
            "fill-missing",
            "This formula doesn't say what one fill weighs.",
            "Write it under `makes` as `fill_weight`, or give a weight.",
        )
    return figures.fills


def _portion_factor(portions: Fraction, figures: Figures) -> Fraction:
    if portions.denominator != 1:
        raise Refused("portions-whole", "Portions must be whole.", "")
    if figures.portion is not None:
        return portions * figures.portion / figures.yielded
    if figures.per_fill and figures.pieces is not None:
        pieces = math.ceil(portions * figures.to_a_fill / figures.per_fill)
        return Fraction(pieces, figures.pieces)
    if figures.per_fill:
        fills = math.ceil(portions / figures.per_fill)
        return fills / _fills_at_one(figures)
    raise Refused(
        "portion-missing",
        "This formula doesn't say what a portion is.",
        "Write it under `makes` as `portion`, or give fills or weight.",
    )


def yields_at(factor: Fraction, figures: Figures) -> Yields:
    """What a batch of this factor gives."""
    filled = figures.filled * factor if figures.filled is not None else None
    finished, yielded = figures.finished * factor, figures.yielded * factor
    fills: int | None = None
    rest, rest_pieces = Fraction(0), 0
    if figures.fills is not None:
        exact = figures.fills * factor
        fills = math.floor(exact)
        rest = (exact - fills) * (figures.fill or 0)
        if figures.pieces is not None:
            rest_pieces = int((exact - fills) * figures.to_a_fill)
    portions: int | None = None
    portion_g: Fraction | None = None
    if figures.portion is not None:
        portions, portion_g = math.floor(yielded / figures.portion), figures.portion
    elif figures.per_fill and fills is not None:
        exact_fills = _fills_at_one(figures) * factor
        whole = fills if figures.pieces is None else exact_fills
        portions = math.floor(whole * figures.per_fill)
        portion_g = yielded / exact_fills / figures.per_fill if exact_fills else None
    lightest, heaviest = _scatter(figures, portion_g)
    return Yields(
        figures.base * factor,
        figures.total * factor,
        filled,
        finished,
        yielded,
        finished - yielded,
        fills,
        rest,
        portions,
        portion_g,
        lightest,
        heaviest,
        figures.fill,
        rest_pieces,
        figures.beside / figures.per_fill if figures.per_fill else Fraction(0),
    )


def _scatter(
    figures: Figures, portion_g: Fraction | None
) -> tuple[Fraction | None, Fraction | None]:
    """The lightest and the heaviest portion, where pieces are weighed one by one and differ."""
    per = figures.per_fill
    if portion_g is None or not per or not (figures.lightest or figures.heaviest):
        return None, None
    return portion_g - figures.lightest / per, portion_g + figures.heaviest / per


@dataclass(frozen=True)
class Stock:
    """What there is, by item, and what the formula as written takes of it: grams as purchased."""

    have: Mapping[str, Fraction]
    takes: Mapping[str, Fraction]

    def lacking(self, factor: Fraction) -> dict[str, Fraction]:
        """The items of which a batch of a factor takes more than there is, and how much it
        takes."""
        needs = {item: self.takes[item] * factor for item in self.have}
        return {item: grams for item, grams in needs.items() if grams > self.have[item]}


@dataclass(frozen=True)
class OnHand:
    """What can be made of what there is: the factor, the scarcest item, what is left of the
    rest; and the ``stock`` it is of."""

    factor: Fraction
    binding: str
    leftover: dict[str, Fraction]
    stock: Stock


def from_on_hand(
    have: Mapping[str, Fraction],
    needs: Mapping[str, Fraction],
    trims: Mapping[str, Fraction],
    figures: Figures | None = None,
) -> OnHand:
    """The batch the scarcest ingredient allows; of ``figures`` with pieces, a whole number of them.

    ``have`` is grams as purchased by item, ``needs`` grams ready to use at factor 1, ``trims`` the
    share lost in trimming. Left over is in grams as purchased. Items not named are taken to be
    there. Raises Refused for an item the formula doesn't use.
    """
    if not have:
        raise Refused("on-hand-empty", "Nothing on hand was named.", "")
    factors: dict[str, Fraction] = {}
    for item, grams in have.items():
        if not needs.get(item):
            known = ", ".join(sorted(needs))
            raise Refused("item-unknown", f"This formula has no `{item}`.", f"It has: {known}.")
        if grams <= 0:
            raise Refused("amount-zero", f"`{item}`: nothing on hand.", "Write how much there is.")
        factors[item] = grams * (1 - trims.get(item, Fraction(0))) / needs[item]
    binding = min(factors, key=lambda item: (factors[item], item))
    factor = factors[binding] if figures is None else in_whole_pieces(factors[binding], figures)
    if factor > MOST_FACTOR:
        raise Refused(
            "size-too-large", "That is over 10,000 times the formula.", "Check the figure."
        )
    leftover = {
        item: grams - needs[item] * factor / (1 - trims.get(item, Fraction(0)))
        for item, grams in have.items()
        if item != binding or factor != factors[binding]
    }
    return OnHand(factor, binding, leftover, stock_of(have, needs, trims))


def stock_of(
    have: Mapping[str, Fraction], needs: Mapping[str, Fraction], trims: Mapping[str, Fraction]
) -> Stock:
    """What there is of what a formula needs, each as purchased."""
    takes = {item: needs[item] / (1 - trims.get(item, Fraction(0))) for item in have}
    return Stock(have, takes)
