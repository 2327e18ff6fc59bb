"""What is counted of the food at a step: the fills it is in, or its whole pieces, or nothing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from generator.measures.words import listed
from generator.records.formula import Makes
from generator.records.process import Left
from generator.scaling.weights import piece_of
from generator.sheet.walked import Walk, WalkedStep
from generator.sheet.weighing import WeighedLine, piece_words, pours

_BREAKS = frozenset({"cuts", "slices", "comminutes", "pools"})
"""No piece is one afterwards."""
_NO = Fraction(0)
_AS_A_PIECE = Fraction(1, 10)
"""From this share of a counted piece's weight on, a piece of another line lies in a place of its
own: a clove or a leaf lies between. Ours."""
_POOLS = frozenset({"comminutes", "pools"})
"""No fill is one afterwards."""


@dataclass(frozen=True)
class Lot:
    """So ``many`` whole things at a step, in the formula as written: what ``one`` and ``more`` of
    them are called, the ``vessel`` they are in; ``beside`` is how many pieces of other lines lie
    there for each of them. ``closed`` are fills made ahead, as they come: whole ones go in."""

    many: Fraction
    one: str
    more: str
    vessel: str | None = None
    beside: Fraction = Fraction(0)
    closed: bool = False


@dataclass(frozen=True)
class _Carried:
    """Which share of all fills, of all pieces, and of those of other counted lines, by part and
    item, a stream holds."""

    fills: Fraction = Fraction(0)
    pieces: Fraction = Fraction(0)
    beside: Mapping[tuple[str, str], Fraction] = field(default_factory=dict)

    def joined(self, other: _Carried) -> _Carried:
        if other == _EMPTY:
            return self
        if self == _EMPTY:
            return other
        keys = dict.fromkeys((*self.beside, *other.beside))
        both = {k: self.beside.get(k, _NO) + other.beside.get(k, _NO) for k in keys}
        return _Carried(self.fills + other.fills, self.pieces + other.pieces, both)

    def times(self, share: Fraction) -> _Carried:
        if share == 1:
            return self
        beside = {key: own * share for key, own in self.beside.items()}
        return _Carried(self.fills * share, self.pieces * share, beside)


_EMPTY = _Carried()


def lots_of(walk: Walk) -> dict[int, Lot]:
    """What is counted of the food that comes to each step, by the step's number; a step where
    nothing is counted isn't in it.

    Food that a step divides takes its share of the fills or pieces along. What else stays behind at
    a step, drained or trimmed off, takes none. Worked out once a walk, and kept beside it: every
    batch asks.
    """
    return walk.once("lots", 0, lambda: _counted(walk))


def _counted(walk: Walk) -> dict[int, Lot]:
    others = tuple(_others(walk))
    streams: dict[tuple[int, str], _Carried] = {}
    found: dict[int, Lot] = {}
    for walked in walk.steps:
        step = walked.step
        here = _Carried()
        for come in step.comes:
            here = here.joined(streams[come.number, come.name if come.left else ""])
        here = here.joined(_Carried(_NO, _own_pieces(walk, walked), _own_beside(others, walked)))
        lot = _lot(walk, others, here) or _closed(walk, walked)
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


_OPENS_NOT = frozenset({"stores", "waits", "heats", "cooks", "reheats", "cools", "thaws"})
_OPENS_NOT |= {"holds-hot", "freezes", "slacks", "handles", "in-water", "bakes"}
"""What is done to food in the vessel it came in."""


def _closed(walk: Walk, walked: WalkedStep) -> Lot | None:
    """The fills of one formula made ahead, as long as nothing else is with them and no step opened
    them; None of any other food."""
    sources = {(c.part, c.item if not c.came else c.came) for c in walked.before.components}
    lines = [ln for ln in walk.lines if (ln.joined.part, ln.joined.item) in sources]
    if len(lines) != 1 or lines[0].joined.formula is None:
        return None
    amount = lines[0].joined.line.amount
    weight = piece_of(amount.unit, lines[0].unit_weights) if amount.kind == "count" else None
    way = (*walk.formula.before(walked.step.number), walked.step)
    opened = any(step.effects - _OPENS_NOT for step in way)
    if weight is None or not weight.vessel or opened:
        return None
    return Lot(amount.value, *piece_words(lines[0]), weight.vessel, closed=True)


def _own_beside(
    others: Iterable[WeighedLine], walked: WalkedStep
) -> dict[tuple[str, str], Fraction]:
    """The other counted lines that a step takes in, each whole."""
    parts = walked.step.parts
    return {
        (ln.joined.part, ln.joined.item): Fraction(1) for ln in others if ln.joined.part in parts
    }


def _others(walk: Walk) -> Iterator[WeighedLine]:
    """The lines counted in whole pieces beside the one whose pieces are counted, and large enough
    for places of their own."""
    makes = walk.formula.formula.makes
    piece = makes.piece if makes is not None else None
    counted = [ln for ln in walk.lines if ln.joined.line.amount.kind == "count"]
    own = next((ln for ln in counted if ln.joined.item == piece), None)
    if own is None:
        return
    least = own.grams / own.joined.line.amount.value * _AS_A_PIECE
    for line in counted:
        joined = line.joined
        whole = joined.item != piece and not joined.line.prepare and not pours(line)
        if whole and line.grams / joined.line.amount.value >= least:
            yield line


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
        rest = _Carried(rest.fills)  # no piece of any line is one
        given = {key: _Carried(one.fills) for key, one in given.items()}
    if effects & _POOLS:
        rest = _Carried(_NO, rest.pieces, rest.beside)
    if number == walk.filled_at:
        rest = _Carried(Fraction(1))
    return given | {(number, ""): rest}


def _share(left: Left) -> Fraction:
    return left.share if left.share is not None else Fraction(0)


def _lot(walk: Walk, others: Iterable[WeighedLine], here: _Carried) -> Lot | None:
    """What is counted of a stream: its fills, else its pieces."""
    makes, figures = walk.formula.formula.makes, walk.least or walk.figures
    if makes is None or not figures.fills:
        return None
    if here.fills:
        return Lot(figures.fills * here.fills, makes.unit, makes.plural, makes.vessel)
    if not here.pieces or figures.pieces is None:
        return None
    return _pieces(walk, makes, others, here, figures.pieces * here.pieces)


def _pieces(
    walk: Walk, makes: Makes, beside: Iterable[WeighedLine], here: _Carried, many: Fraction
) -> Lot:
    """So many pieces, with those of other lines that lie beside them."""
    words, vessel = (makes.unit, makes.plural), makes.vessel
    if makes.to_a_fill > 1:
        words = piece_words(next(ln for ln in walk.lines if ln.joined.item == makes.piece))
        vessel = None
    others = [(line, here.beside.get((line.joined.part, line.joined.item))) for line in beside]
    lying = [(line, line.joined.line.amount.value * share) for line, share in others if share]
    words = _with_others(words, [line for line, _ in lying])
    return Lot(many, *words, vessel, sum((n for _, n in lying), _NO) / many)


def _with_others(words: tuple[str, str], others: Iterable[WeighedLine]) -> tuple[str, str]:
    """What is counted, in words, with what lies beside it: leg with breasts, legs with breasts."""
    beside = listed(list(dict.fromkeys(_called(line) for line in others)))
    one, more = words
    return (f"{one} with {beside}", f"{more} with {beside}") if beside else words


def _called(line: WeighedLine) -> str:
    """What the pieces of a line are called: breasts; by the food's name where it has no word."""
    one, more = piece_words(line)
    return line.joined.name.lower() if one == "piece" else more
