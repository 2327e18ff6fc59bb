"""A formula made of other amounts, as a linear program: which weights are free, which follow, what
must hold, what should be near.

A line in weight should weigh what it does in the batch, a line in percent should stay its
percentage of what there then is. A percentage that stays follows, exactly. It always stays where
no bound counts the line, and of a cure or a gelling agent; one in weight never rises above its
share of the base.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from generator.measures.rounding import half_up
from generator.scaling.nearest import Program, Row, Wish
from generator.sheet.bounded import Cell, Counted, Grams, with_others
from generator.sheet.percents import Key, Of, key_of, what_of
from generator.sheet.sheet import as_needed
from generator.sheet.walked import Walk

_HELD = ("cure", "gelling-agent")
"""Functions whose dose is never changed."""
_WRAPS = frozenset({"fills", "stuffs", "encloses"})
"""What a step does that takes a casing, a skin or a leaf in."""
_LEAST_END = Fraction(1, 100)
"""What a bound at 0 % counts as, where it is relaxed."""
_Sum = dict[int, Fraction]


@dataclass(frozen=True)
class Want:
    """What is asked: the formula ``walk`` at a ``factor``, of ``have``, what there is of each item
    in grams as purchased; ``total`` is what the batch weighs, None where only a bound says it.
    ``steps`` are the weights a scale tells apart, by the cell's key and whose place it takes.
    ``kept_out`` are names of foods on hand that may not go in, each with why."""

    walk: Walk
    cells: tuple[Cell, ...]
    bounds: tuple[Counted, ...]
    factor: Fraction
    total: Fraction | None
    have: Mapping[str, Fraction]
    steps: Mapping[tuple[Key, Key], Fraction]
    kept_out: tuple[tuple[str, str], ...] = ()

    def trimmed(self, item: str) -> Fraction:
        """What is left of a gram of an item once it is trimmed."""
        for cell in self.cells:
            facts = cell.line.joined.ingredient
            if cell.line.joined.item == item and facts is not None:
                return 1 - facts.trim_share
        return Fraction(1)

    def as_it_is(self) -> dict[Key, Fraction]:
        """The weights of the formula as it is, in grams."""
        return {key_of(line.joined): line.grams * self.factor for line in self.walk.lines}


@dataclass(frozen=True)
class Model:
    """A program and what its variables are: each a cell; ``sums`` says of every key what it weighs
    by the variables, ``follow`` are the keys that only follow."""

    program: Program
    variables: tuple[Cell, ...]
    sums: Mapping[Key, Mapping[int, Fraction]]
    follow: frozenset[Key]

    def grams(self, weights: tuple[Fraction, ...]) -> dict[Key, Fraction]:
        """What every key weighs, exactly."""
        return {
            key: sum((c * weights[n] for n, c in terms.items()), Fraction(0))
            for key, terms in self.sums.items()
        }


@dataclass
class _Making:
    """The model under way."""

    want: Want
    better_ends: bool = False
    percents: dict[Key, tuple[Fraction, Of]] = field(default_factory=dict)
    own: dict[Key, Cell] = field(default_factory=dict)

    def __post_init__(self) -> None:
        formula = self.want.walk.formula
        whole = with_others(formula, self.want.cells)
        self.own = {cell.key: cell for cell in self.want.cells if cell.key == cell.of}
        for key, cell in self.own.items():
            amount = cell.line.joined.line.amount
            if amount.kind == "percent" and (amount.of or key not in formula.base):
                self.percents[key] = amount.value / 100, what_of(whole, cell.line.joined)

    def held(self) -> frozenset[Key]:
        """The keys whose percentage always stays: a cure's, and each that no bound counts, that
        isn't asked of what is on hand and may be nothing else."""
        return frozenset(
            key
            for key, cell in self.own.items()
            if key in self.percents and (_function(cell) in _HELD or not self._may_change(cell))
        )

    def follows_size(self, cell: Cell) -> bool:
        """Whether a line goes by the size of the batch and by nothing else: outside the base, taken
        as needed, by the piece or by length, or taken in where the food is filled or wrapped, as
        casings are. A bound of its own in `shares`, or something else it may be, frees it."""
        line, formula = cell.line.joined, self.want.walk.formula
        if cell.key != cell.of or cell.key in formula.base or line.may_be:
            return False
        if any(one.ident.startswith("shares.") and one.part.get(cell.key) for one in self._own):
            return False
        wraps = any(line.part in step.parts and step.effects & _WRAPS for step in formula.steps)
        return wraps or line.line.amount.kind in ("as-needed", "count", "length")

    @property
    def _own(self) -> tuple[Counted, ...]:
        """The bounds of single items: those whose share counts nothing else."""
        return tuple(
            one
            for one in self.want.bounds
            if len({key[1] for key, share in one.part.items() if share.high}) == 1
        )

    def _may_change(self, cell: Cell) -> bool:
        if self.follows_size(cell):
            return False
        counted = any(
            (share := one.part.get(cell.key)) is not None and share.high > 0
            for one in self.want.bounds
            if one.whole is not None
        )
        return counted or cell.key[1] in self.want.have or bool(cell.line.joined.may_be)

    def variables(self, follow: frozenset[Key]) -> tuple[Cell, ...]:
        """What is free: each line that doesn't follow, and what may be in its place and is here."""
        return tuple(
            cell
            for cell in self.want.cells
            if (cell.key == cell.of and cell.key not in follow) or self._stands_in(cell, follow)
        )

    def _stands_in(self, cell: Cell, follow: frozenset[Key]) -> bool:
        other = cell.key != cell.of and cell.of not in follow
        there = self.want.have.get(cell.line.joined.item, Fraction(0)) > 0
        return other and there and cell.key not in self.percents

    def made(self, follow: frozenset[Key], slack: Fraction) -> Model:
        """The model in which the percentages of ``follow`` stay; a batch's weight may be off by
        ``slack``."""
        free = self.variables(follow)
        sums = self._sums(free, follow)
        rows = [*self._bounds(sums), *self._size(sums, slack), *self._stock(sums)]
        rows += [*self._doses(free, sums), *self._stays(free), *self._parts(free, sums)]
        rows += self._tracks(free, sums)
        wishes = tuple(self._wishes(free, sums, follow))
        steps = tuple(self._step(cell) for cell in free)
        return Model(Program(steps, tuple(rows), wishes), free, sums, follow)

    def _sums(self, free: tuple[Cell, ...], follow: frozenset[Key]) -> dict[Key, _Sum]:
        """What every key weighs by the free variables: those that follow by elimination."""
        sums: dict[Key, _Sum] = {}
        for n, cell in enumerate(free):
            sums.setdefault(cell.key, {})[n] = Fraction(1)
        order = sorted(follow)
        rows: list[tuple[dict[Key, Fraction], _Sum]] = []
        for key in order:
            share, among = self._share_of(key)
            row = {key: Fraction(1)}
            for other in among & follow:
                row[other] = row.get(other, Fraction(0)) - share
            rows.append((row, _times(_added(sums.get(k, {}) for k in among - follow), share)))
        return sums | _eliminated(order, rows)

    def _share_of(self, key: Key) -> tuple[Fraction, frozenset[Key]]:
        """A percentage, and the keys it is of."""
        share, of = self.percents[key]
        return share, of.lines - {key} if of.rest else of.lines

    def _bounds(self, sums: Mapping[Key, _Sum]) -> Iterator[Row]:
        for one in self.want.bounds:
            least, most = one.bound.least, one.bound.most
            whole = one.whole
            for sign, end in ((1, most), (-1, least)):
                if end is None:
                    continue
                terms = [
                    _times(terms, sign * (self._end(one, key, sign) - end * _of(whole, key)))
                    for key, terms in sums.items()
                ]
                most_g = Fraction(0) if whole is not None else sign * end
                name = f"{one.ident}{'<' if sign > 0 else '>'}"
                yield Row(name, _added(terms), most_g, self._give(one, end))

    def _give(self, one: Counted, end: Fraction) -> Fraction:
        """What counts as relaxing a bound once: as much again as it allows of what there is."""
        if one.whole is None:
            return end
        as_it_is = self.want.as_it_is()
        whole = sum((_of(one.whole, key) * g for key, g in as_it_is.items()), Fraction(0))
        return max(end, _LEAST_END) * max(whole, Fraction(1))

    def _end(self, one: Counted, key: Key, sign: int) -> Fraction:
        """What counts of a gram, at its worse end for an upper bound (``sign`` 1) or a lower."""
        share = one.part.get(key)
        if share is None:
            return Fraction(0)
        return share.high if (sign > 0) != self.better_ends else share.low

    def _size(self, sums: Mapping[Key, _Sum], slack: Fraction) -> Iterator[Row]:
        if self.want.total is not None:
            whole = _added(sums.values())
            yield Row("size<", whole, self.want.total + slack)
            yield Row("size>", _times(whole, Fraction(-1)), slack - self.want.total)

    def _stock(self, sums: Mapping[Key, _Sum]) -> Iterator[Row]:
        for item, grams in self.want.have.items():
            used = _added(terms for key, terms in sums.items() if key[1] == item)
            yield Row(f"stock:{item}", used, grams * self.want.trimmed(item))

    def _doses(self, free: tuple[Cell, ...], sums: Mapping[Key, _Sum]) -> Iterator[Row]:
        """A cure in weight: never above its share of the base."""
        for n, cell in enumerate(free):
            if _function(cell) in _HELD and cell.key == cell.of:
                terms = _times(self._base(sums, cell.key), -self._dose(cell))
                yield Row(f"dose:{cell.key[1]}", _added([{n: Fraction(1)}, terms]), Fraction(0))

    def _stays_as_needed(self, cell: Cell) -> bool:
        """Whether it is taken as needed, as much as the batch's size asks for: outside the base
        however much there is of it."""
        if not as_needed(cell.line):
            return False
        if self.follows_size(cell):
            return self.want.total is not None
        return cell.key[1] not in self.want.have

    def _aim(self, cell: Cell) -> Fraction:
        """What a line weighs in the batch; of what is taken as needed to a milligram, so that it
        can be typed."""
        aim = cell.line.grams * self.want.factor
        return half_up(aim, Fraction(1, 1000)) or aim if as_needed(cell.line) else aim

    def _step(self, cell: Cell) -> Fraction:
        """The steps of a weight; what stays as it is has one, all of it."""
        if self._stays_as_needed(cell):
            return self._aim(cell)
        return self.want.steps[cell.key, cell.of]

    def _stays(self, free: tuple[Cell, ...]) -> Iterator[Row]:
        """What is taken as needed stays as it is."""
        for n, cell in enumerate(free):
            if self._stays_as_needed(cell):
                aim = self._aim(cell)
                for sign in (1, -1):
                    yield Row(f"stays:{cell.key[1]}", {n: Fraction(sign)}, sign * aim)

    def _tracks(self, free: tuple[Cell, ...], sums: Mapping[Key, _Sum]) -> Iterator[Row]:
        """A weight outside the base that no bound counts goes with the base, to a step; so does
        what is taken as needed where the batch has no size of its own."""
        for n, cell in enumerate(free):
            key = cell.key
            outside = key == cell.of and key not in self.want.walk.formula.base
            free_size = self.want.total is None and self.follows_size(cell)
            weighed = key not in self.percents and (free_size or not as_needed(cell.line))
            if outside and weighed and not self._may_change(cell):
                of = _times(self._base(sums, key), -self._dose(cell))
                for sign in (1, -1):
                    terms = _times(_added([{n: Fraction(1)}, of]), Fraction(sign))
                    yield Row(f"follows:{key[1]}", terms, self.want.steps[key, cell.of])

    def _parts(self, free: tuple[Cell, ...], sums: Mapping[Key, _Sum]) -> Iterator[Row]:
        """No part is left empty: a step takes it in."""
        for part in self.want.walk.formula.formula.parts:
            finest = [self._step(c) for c in free if c.key[0] == part]
            if finest:
                whole = _added(terms for key, terms in sums.items() if key[0] == part)
                yield Row(f"part:{part}", _times(whole, Fraction(-1)), -min(finest))

    def _dose(self, cell: Cell) -> Fraction:
        base = self.want.walk.formula.base - {cell.key}
        whole = sum(
            (ln.grams for ln in self.want.walk.lines if key_of(ln.joined) in base), Fraction(0)
        )
        return cell.line.grams / whole if whole else Fraction(1)

    def _base(self, sums: Mapping[Key, _Sum], but: Key) -> _Sum:
        base = with_others(self.want.walk.formula, self.want.cells).base - {but}
        return _added(sums.get(key, {}) for key in base)

    def _wishes(
        self, free: tuple[Cell, ...], sums: Mapping[Key, _Sum], follow: frozenset[Key]
    ) -> Iterator[Wish]:
        for key, cell in self.own.items():
            aim = self._aim(cell)
            if key in follow or not aim:
                continue
            places = [n for n, one in enumerate(free) if one.of == key]
            whole: _Sum = dict.fromkeys(places, Fraction(1))
            yield self._wish(cell, whole, aim, sums)
            others = [n for n in places if free[n].key != key]
            if others:
                yield Wish(dict.fromkeys(others, Fraction(1)), Fraction(0), aim)

    def _wish(self, cell: Cell, whole: _Sum, aim: Fraction, sums: Mapping[Key, _Sum]) -> Wish:
        """That a line stays its percentage, or a cure its dose; else what it weighs."""
        if cell.key in self.percents:
            share, among = self._share_of(cell.key)
            of = _times(_added(sums.get(k, {}) for k in among), -share)
            return Wish(_added([whole, of]), Fraction(0), aim)
        if _function(cell) in _HELD:
            of = _times(self._base(sums, cell.key), -self._dose(cell))
            return Wish(_added([whole, of]), Fraction(0), aim)
        return Wish(whole, aim, aim)


def _of(whole: Mapping[Key, Fraction] | None, key: Key) -> Fraction:
    """What a gram counts in what a bound is of; nothing for one that is a weight."""
    return Fraction(0) if whole is None else whole.get(key, Fraction(0))


def _function(cell: Cell) -> str | None:
    facts = cell.line.joined.ingredient
    return facts.function if facts is not None else None


def _added(sums: Iterable[Mapping[int, Fraction]]) -> _Sum:
    found: _Sum = {}
    for one in sums:
        for n, c in one.items():
            found[n] = found.get(n, Fraction(0)) + c
    return {n: c for n, c in found.items() if c}


def _times(one: Mapping[int, Fraction], factor: Fraction) -> _Sum:
    return {n: c * factor for n, c in one.items()}


def _eliminated(order: list[Key], rows: list[tuple[dict[Key, Fraction], _Sum]]) -> dict[Key, _Sum]:
    """What each key weighs by rows of coefficients, each with its sum of variables."""
    for n, key in enumerate(order):
        row, rest = rows[n]
        lead = row[key]
        rows[n] = {k: c / lead for k, c in row.items() if c}, _times(rest, 1 / lead)
        for m, (other, theirs) in enumerate(rows):
            if m != n and other.get(key):
                times = other[key]
                left = dict(other)
                for k, c in rows[n][0].items():
                    left[k] = left.get(k, Fraction(0)) - times * c
                rows[m] = left, _added([theirs, _times(rows[n][1], -times)])
    return {key: rows[n][1] for n, key in enumerate(order)}


def making(want: Want, better_ends: bool = False) -> _Making:
    """The model of what is asked, to be made with more or fewer percentages that stay;
    ``better_ends``: what isn't known counts at its better end."""
    return _Making(want, better_ends)


def broken_bounds(bounds: Iterable[Counted], grams: Grams) -> list[Counted]:
    """The bounds that weights don't hold, asked of the weights themselves."""
    return [one for one in bounds if one.verdict(grams) != "holds"]
