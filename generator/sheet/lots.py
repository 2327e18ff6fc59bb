"""What is counted of the food at a step: the fills it is in, or its whole pieces, or nothing."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from generator.records.process import Left
from generator.sheet.walked import Walk, WalkedStep
from generator.sheet.weighing import piece_words

_BREAKS = frozenset({"cuts", "slices", "comminutes", "pools"})
"""No piece is one afterwards."""
_POOLS = frozenset({"comminutes", "pools"})
"""No fill is one afterwards."""


@dataclass(frozen=True)
class Lot:
    """So ``many`` whole things at a step, in the formula as written: what ``one`` and ``more`` of
    them are called, the ``vessel`` they are in."""

    many: Fraction
    one: str
    more: str
    vessel: str | None = None


@dataclass(frozen=True)
class _Carried:
    """Which share of all fills, and of all pieces, a stream holds."""

    fills: Fraction = Fraction(0)
    pieces: Fraction = Fraction(0)

    def joined(self, other: _Carried) -> _Carried:
        return _Carried(self.fills + other.fills, self.pieces + other.pieces)

    def times(self, share: Fraction) -> _Carried:
        return _Carried(self.fills * share, self.pieces * share)


def lots_of(walk: Walk) -> dict[int, Lot]:
    """What is counted of the food that comes to each step, by the step's number; a step where
    nothing is counted isn't in it.

    Food that a step divides takes its share of the fills or pieces along. What else stays behind at
    a step, drained or trimmed off, takes none.
    """
    streams: dict[tuple[int, str], _Carried] = {}
    found: dict[int, Lot] = {}
    for walked in walk.steps:
        step = walked.step
        here = _Carried()
        for come in step.comes:
            here = here.joined(streams[come.number, come.name if come.left else ""])
        here = here.joined(_Carried(pieces=_own_pieces(walk, walked)))
        lot = _lot(walk, here)
        if lot is not None:
            found[step.number] = lot
        streams |= _given(walk, walked, here)
    return found


def _own_pieces(walk: Walk, walked: WalkedStep) -> Fraction:
    """1 where the step takes in the line whose pieces are counted."""
    makes = walk.formula.formula.makes
    piece = makes.piece if makes is not None else None
    own = any(ln.joined.item == piece and ln.joined.part in walked.step.parts for ln in walk.lines)
    return Fraction(1 if piece is not None and own else 0)


def _given(walk: Walk, walked: WalkedStep, here: _Carried) -> dict[tuple[int, str], _Carried]:
    """What a step gives, and what stays behind there, by the number and the name."""
    step = walked.step
    number, effects, leaves = step.number, step.effects, step.step.leaves
    divides = "divides" in effects and "takes-off" not in effects  # what is trimmed stays one
    parted = {n: _share(left) for n, left in leaves.items() if divides and left.of is None}
    given = {(number, name): here.times(share) for name, share in parted.items()}
    given |= {(number, one.name): _Carried() for one in walked.left if one.name not in parted}
    rest = here.times(1 - sum(parted.values(), Fraction(0)))
    if effects & _BREAKS:
        rest = _Carried(rest.fills)
        given = {key: _Carried(one.fills) for key, one in given.items()}
    if effects & _POOLS:
        rest = _Carried(pieces=rest.pieces)
    if number == walk.filled_at:
        rest = _Carried(Fraction(1))
    return given | {(number, ""): rest}


def _share(left: Left) -> Fraction:
    return left.share if left.share is not None else Fraction(0)


def _lot(walk: Walk, here: _Carried) -> Lot | None:
    """What is counted of a stream: its fills, else its pieces."""
    makes, figures = walk.formula.formula.makes, walk.least or walk.figures
    if makes is None or not figures.fills:
        return None
    if here.fills:
        return Lot(figures.fills * here.fills, makes.unit, makes.plural, makes.vessel)
    if not here.pieces or figures.pieces is None:
        return None
    if makes.to_a_fill == 1:
        return Lot(figures.pieces * here.pieces, makes.unit, makes.plural, makes.vessel)
    line = next(ln for ln in walk.lines if ln.joined.item == makes.piece)
    return Lot(figures.pieces * here.pieces, *piece_words(line))
