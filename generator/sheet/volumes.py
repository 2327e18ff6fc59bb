"""How much room food takes up: by its measured unit weights, else by a stated assumption.

The lightest measure of a food counts (a cup of it chopped before a cup of it packed), so that a
volume is never too small. Liquid fills the gaps between pieces and powder: what is wet takes up the
heap, or the liquid and the food itself without its air, whichever is more.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from generator.rules.basics.product import Product
from generator.scaling.weights import UnitWeight

CLOSE = Fraction(11, 10)
"""Millilitres a gram of food without a measure takes up if it is comminuted or liquid: as oil, the
lightest pourable food measured."""
PIECES = Fraction(2)
"""The same for pieces of meat and fish: as much air between them as food."""
LOOSE = Fraction(3)
"""The same for anything else, powders and cut vegetables: only leaves, flakes and ground nuts
lie looser."""


_ASSUMED: dict[str | None, Fraction] = {
    "comminuted": CLOSE,
    "liquid": CLOSE,
    "intact": PIECES,
    "tenderised": PIECES,
    "injected": PIECES,
}


@dataclass(frozen=True)
class Bulk:
    """Room taken up: ``ml`` in all, what was assumed as (name, ml a gram), and the
    ``share`` of the weight that is."""

    ml: Fraction
    assumed: tuple[tuple[str, Fraction], ...] = ()
    share: Fraction = Fraction(0)


def room_of(weights: Iterable[UnitWeight]) -> Fraction | None:
    """The most millilitres one gram takes up by any of its measures; None if there is none."""
    rooms = [w.ml / w.grams for w in weights if w.ml is not None and w.grams]
    return max(rooms) if rooms else None


def bulk_of(product: Product) -> Bulk:
    """The room a product takes up at factor 1, its losses taken off in proportion."""
    heap, wet, listed, guessed = Fraction(0), Fraction(0), Fraction(0), Fraction(0)
    assumed: dict[str, Fraction] = {}
    for part in product.components:
        room = part.room
        if room is None:
            room = assumed[part.name] = _ASSUMED.get(part.form, LOOSE)
            guessed += part.grams
        liquid = part.form == "liquid"
        heap += Fraction(0) if liquid else part.grams * room
        wet += part.grams * (room if liquid else min(room, CLOSE))
        listed += part.grams
    ml = max(heap, wet) * product.mass / listed if listed else Fraction(0)
    return Bulk(ml, tuple(assumed.items()), guessed / listed if listed else Fraction(0))


def least_of(product: Product) -> Fraction:
    """The least room a product can take up at factor 1, in millilitres: the food itself, with no
    air between its pieces, its losses taken off in proportion."""
    listed, ml = Fraction(0), Fraction(0)
    for part in product.components:
        listed += part.grams
        ml += part.grams * min(part.room if part.room is not None else CLOSE, CLOSE)
    return ml * product.mass / listed if listed else Fraction(0)
