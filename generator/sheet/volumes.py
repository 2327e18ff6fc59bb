"""How much room food takes up: by its measured unit weights, else by a stated assumption.

Two questions, two answers. Does it go in? Then a volume is never too small: ``bulk_of``. What does
a volume of it weigh? Then the likeliest counts: ``likely_of``.

For the first, the lightest measure of a food counts: a cup of it chopped, before a cup packed.
Liquid fills the gaps between pieces and powder: what is wet takes up the heap, or the liquid and
the food itself without its air, whichever is more.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction

from generator.measures.between import Between
from generator.measures.rounding import total, total_of
from generator.records.ingredient import Ingredient
from generator.resolve.joined import House
from generator.rules.basics.product import Component, Product
from generator.scaling.weights import UnitWeight
from generator.sheet.composed import contents_in

CLOSE = Fraction(11, 10)
"""Millilitres a gram of food without a measure takes up if it is comminuted or liquid: as oil, the
lightest pourable food measured."""
PIECES = Fraction(2)
"""The same for pieces of meat and fish: as much air between them as food."""
_WATER, _FAT, _REST, _ALCOHOL = (
    Fraction(1),
    Fraction(107527, 100000),
    Fraction(6329, 10000),
    Fraction(1000, 789),
)
"""Millilitres a gram of each takes up. Water, fat and the other solids: W. S. Arbuckle, Ice Cream,
the density of a mix by its composition, as "How to Calculate the Density of Ice Cream Mix" (eHow)
gives it, read 2026-11-29. Alcohol: from memory, 789 g a litre at 20 °C."""
_SURE = Fraction(3, 10)
"""How far apart the bounds of a food's own room may be, in ml a gram, before it says nothing."""
_SOLID = Fraction(2, 3)
"""Millilitres a gram of dry food itself takes up where its composition isn't known: near the other
solids of a mix."""
_MOIST = Fraction(1)
"""The same for any other food: as water."""
_PACKED = Fraction(3, 5)
"""The share of a heap of pieces or grains that is food, where no measure of it is entered; the rest
is air. Ours: spheres that were shaken down leave two fifths."""
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


def _own_room(house: House, facts: Ingredient | None) -> Fraction | None:
    """Millilitres one gram of a food itself takes up, without air, by its composition; None where
    too little of that is known."""
    if facts is None:
        return None
    shares = contents_in(house, facts).shares
    alcohol = Between.just(shares["alcohol"].low)  # where none is stated there is none
    named = shares["water"] + shares["fat"] + alcohol
    rest = Between(max(1 - named.high, Fraction(0)), max(1 - named.low, Fraction(0)))
    room = shares["water"].times(_WATER) + shares["fat"].times(_FAT)
    room += alcohol.times(_ALCOHOL) + rest.times(_REST)
    return (room.low + room.high) / 2 if room.width <= _SURE else None


def likely_of(house: House, product: Product) -> Bulk:
    """The room a product most likely takes up at factor 1, its losses taken off in proportion: what
    is in it by its measures or its composition, liquid in the gaps of the rest. Dry food without a
    measure has gaps as grains have."""

    def rooms(part: Component) -> _Rooms:
        known = _own_room(house, part.facts)
        own = known if known is not None else _unknown(part)
        heap = part.room if part.room is not None else own / _PACKED
        return _Rooms(heap, own, own if known is None and part.room is None else None)

    return _taken_up(product, rooms)


def _unknown(part: Component) -> Fraction:
    """Millilitres a gram of food takes up whose composition isn't known: a liquid by its lightest
    measure."""
    if part.form == "liquid" and part.room is not None:
        return part.room
    return _SOLID if part.form == "dry" else _MOIST


def bulk_of(product: Product) -> Bulk:
    """The room a product takes up at factor 1, its losses taken off in proportion."""

    def rooms(part: Component) -> _Rooms:
        room = part.room if part.room is not None else _ASSUMED.get(part.form, LOOSE)
        wet = room if part.form == "liquid" else min(room, CLOSE)
        return _Rooms(room, wet, room if part.room is None else None)

    return _taken_up(product, rooms)


@dataclass(frozen=True)
class _Rooms:
    """Millilitres a gram of a part takes up in a ``heap``, and ``wet``, its gaps filled; what was
    ``assumed`` where neither is known."""

    heap: Fraction
    wet: Fraction
    assumed: Fraction | None


def _taken_up(product: Product, rooms: Callable[[Component], _Rooms]) -> Bulk:
    """The room a product takes up by that of each of its parts: the heap of what is no liquid, or
    all of it wet, whichever is more."""
    parts = [(part, rooms(part)) for part in product.components]
    listed = total(part.grams for part, _ in parts)
    assumed = {part.name: room.assumed for part, room in parts if room.assumed is not None}
    if not listed:
        return Bulk(Fraction(0), tuple(assumed.items()))
    heap = total_of((part.grams, room.heap) for part, room in parts if part.form != "liquid")
    wet = total_of((part.grams, room.wet) for part, room in parts)
    guessed = total(part.grams for part, room in parts if room.assumed is not None)
    return Bulk(max(heap, wet) * product.mass / listed, tuple(assumed.items()), guessed / listed)


def least_of(product: Product) -> Fraction:
    """The least room a product can take up at factor 1, in millilitres: the food itself, with no
    air between its pieces, its losses taken off in proportion."""
    listed = total(part.grams for part in product.components)
    ml = total_of(
        (part.grams, min(part.room, CLOSE) if part.room is not None else CLOSE)
        for part in product.components
    )
    return ml * product.mass / listed if listed else Fraction(0)
