"""Loads: equal shares of a batch between what a machine needs and what it takes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from generator.files.finding import Refused
from generator.measures.kilos import kilos


@dataclass(frozen=True)
class Loads:
    """``count`` equal loads of ``grams`` each; ``pieces`` per load where whole fills go in."""

    count: int
    grams: Fraction
    pieces: tuple[int, ...] = ()


def equal_loads(
    grams: Fraction, most: Fraction | None, least: Fraction | None, machine: str
) -> Loads:
    """As few equal loads as the machine allows. ``grams`` is all that goes through it.

    Raises Refused if no number of equal loads stays between its least and its most.
    """
    count = max(1, math.ceil(grams / most)) if most else 1
    each = grams / count
    if least is not None and each < least:
        smaller = f", or at most {kilos((count - 1) * most)}" if most and count > 1 else ""
        raise Refused(
            "load-below-minimum",
            f"{machine}: {kilos(each)} a load is below the {kilos(least)} it needs.",
            f"Make at least {kilos(count * least)} at this step{smaller}.",
        )
    return Loads(count, each)


def whole_piece_loads(
    pieces: int,
    grams_each: Fraction,
    most: Fraction | None,
    machine: str,
    takes: str = "it takes",
) -> Loads:
    """Loads of whole fills, as equal as they come. Raises Refused if one fill is too much."""
    if most is None or pieces == 0:
        return Loads(1, pieces * grams_each, (pieces,))
    capacity = math.floor(most / grams_each)
    if capacity == 0:
        raise Refused(
            "load-above-maximum",
            f"{machine}: one fill of {kilos(grams_each)} is above the {kilos(most)} {takes}.",
            "Choose a smaller fill or another machine.",
        )
    count = math.ceil(pieces / capacity)
    small, extra = divmod(pieces, count)
    shares = tuple(small + (1 if index < extra else 0) for index in range(count))
    return Loads(count, shares[0] * grams_each, shares)
