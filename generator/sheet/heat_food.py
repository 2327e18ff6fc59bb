"""The food at a step as heat asks for it: the shares of water, protein, fat and so on by mass
balance, within bounds; what isn't known widens them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from generator.composition.balance import Balance
from generator.heat.constituents import CONSTITUENTS, Composition
from generator.heat.ranges import Range

USUAL: Mapping[str, Range] = {
    "water": Range(0.50, 0.70, 0.90),
    "protein": Range(0.0, 0.10, 0.30),
    "fat": Range(0.0, 0.08, 0.40),
    "carbohydrate": Range(0.0, 0.09, 0.40),
    "fibre": Range(0.0, 0.01, 0.06),
    "ash": Range(0.0, 0.02, 0.05),
}
"""What a share is taken to be where nothing states it: nearly all food that is cooked or chilled
lies within. Ours."""
_WIDE = 0.40
"""A share that may be anything over so wide a span counts as not known."""
_KNOWN = 0.05
_ALIKE = 0.01


@dataclass(frozen=True)
class Food:
    """What a food is made of, and how far that is known: the constituents whose share is known to
    5 % of the weight, those taken to be as usual, and the names that leave them open."""

    composition: Composition
    known: tuple[str, ...]
    usual: tuple[str, ...]
    open_by: tuple[str, ...] = ()


UNKNOWN_FOOD = Food(
    Composition(
        {name: Range.exact(one.likely) if name != "water" else one for name, one in USUAL.items()}
    ),
    (),
    CONSTITUENTS,
)
"""A food of which nothing is known."""


def food_of(balance: Balance | None) -> Food:
    """The food of a balance; of one that holds nothing, or states nothing, what is usual."""
    if balance is None or _says_nothing(balance):
        return UNKNOWN_FOOD
    bounds = {name: _bounds(balance, name) for name in CONSTITUENTS}
    usual = tuple(name for name, one in bounds.items() if _open(name, one))
    known = tuple(n for n, (low, high) in bounds.items() if high - low <= _KNOWN)
    bounds |= {name: _as_usual(bounds[name], USUAL[name]) for name in usual}
    shares = _likely(bounds)
    if shares is None:
        return UNKNOWN_FOOD
    return Food(Composition(shares), known, usual, _left_open_by(balance, known))


def _left_open_by(balance: Balance, known: tuple[str, ...]) -> tuple[str, ...]:
    """What leaves the other constituents open."""
    unknown = [name for name in CONSTITUENTS if name not in known]
    return tuple(dict.fromkeys(name for key in unknown for name in balance.left_open_by(key)))


def _says_nothing(balance: Balance) -> bool:
    return not balance.grams or not balance.stated - {"salt", "milk_solids"}


def _open(name: str, bounds: tuple[float, float]) -> bool:
    """Whether a share may be so much that what is usual says more."""
    return bounds[1] - bounds[0] > (_KNOWN if name in ("fibre", "ash") else _WIDE)


def _bounds(balance: Balance, name: str) -> tuple[float, float]:
    """A share from … to …; carbohydrate without its fibre, alcohol counted with the water."""
    share = balance.share(name)
    low, high = float(share.low), float(share.high)
    if name == "carbohydrate":
        fibre = balance.share("fibre")
        low, high = max(low - float(fibre.high), 0.0), max(high - float(fibre.low), 0.0)
    if name == "water" and "alcohol" in balance.stated:
        low += float(balance.share("alcohol").low)
    return min(low, 1.0), min(max(low, high), 1.0)


def _as_usual(bounds: tuple[float, float], usual: Range) -> tuple[float, float]:
    """What is known and what is usual together; what is known alone where they don't meet."""
    low, high = max(bounds[0], usual.low), min(bounds[1], usual.high)
    return (low, high) if low <= high else bounds


def _likely(bounds: Mapping[str, tuple[float, float]]) -> dict[str, Range] | None:
    """The shares with a likely figure each, 1 in all: filled up from the least by what each has
    room for and usually is. None where they can't be 1 in all."""
    least = sum(low for low, _ in bounds.values())
    room = {n: max(min(high, 1 - (least - low)) - low, 0.0) for n, (low, high) in bounds.items()}
    if least > 1.02 or least + sum(room.values()) < 0.90:
        return None
    likely = _filled_up(bounds, room, 1 - least)
    whole = sum(likely.values())
    found = {}
    for name, (low, _) in bounds.items():
        one = likely[name] / whole
        if room[name] <= _ALIKE:
            found[name] = Range.exact(one)
        else:
            found[name] = Range(min(low, one), one, max(low + room[name], one))
    return found


def _filled_up(
    bounds: Mapping[str, tuple[float, float]], room: Mapping[str, float], left: float
) -> dict[str, float]:
    """Each share from its least up, until nothing is left: first by what it usually is."""
    likely = {name: low for name, (low, _) in bounds.items()}
    for weights in ({n: min(room[n], USUAL[n].likely) for n in room}, room):
        whole = sum(weights.values())
        if left <= 0 or whole <= 0:
            break
        share = min(left / whole, 1.0)
        for name, weight in weights.items():
            added = min(share * weight, bounds[name][0] + room[name] - likely[name])
            likely[name] += added
            left -= added
    return likely
