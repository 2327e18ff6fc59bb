"""The nearest formula that the stock can make within its bounds; or which bound to relax, and by
how much."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from generator.measures.between import Between
from generator.measures.kilos import kilos_step
from generator.measures.rounding import to_side
from generator.measures.words import listed
from generator.records.bounds import Bound
from generator.resolve.joined import House
from generator.scaling.nearest import Answer, greatest_part, nearest, on_steps, relaxed
from generator.scaling.scales import choose
from generator.sheet.blend_model import Model, Want, broken_bounds, making
from generator.sheet.bounded import Cell, Counted, cells_of, counted_bounds
from generator.sheet.composed import Made
from generator.sheet.named_species import named_species, species_of
from generator.sheet.percents import Key, key_of
from generator.sheet.sheet import Batch
from generator.sheet.station_scales import scales_for
from generator.sheet.walked import Walk

_NEVER = Fraction(1, 10**7)
"""Below this share of a line a float is off by itself."""
_TRIES = 6
_PLACES = (Fraction(1, 1000), Fraction(1, 10000), Fraction(1, 100000))
"""How finely a relaxed share is said: 0.1 %, and finer where the whole bound is."""


@dataclass(frozen=True)
class NewLine:
    """A line of the nearest formula: ``was_g`` in the formula as it is at this size, ``now_g`` what
    it weighs; ``follows``: it keeps its percentage. ``instead_of`` names the lines it takes the
    place of, if it isn't in the formula."""

    key: Key
    name: str
    was_g: Fraction
    now_g: Fraction
    follows: bool
    instead_of: tuple[str, ...] = ()


@dataclass(frozen=True)
class Left:
    """What there is of an item, as purchased, what of it is used, and how much more the formula as
    it is would take."""

    item: str
    name: str
    have_g: Fraction
    used_g: Fraction
    short_g: Fraction

    @property
    def left_g(self) -> Fraction:
        """What is left over."""
        return self.have_g - self.used_g


@dataclass(frozen=True)
class Nearest:
    """The nearest formula: its lines, its bounds with what each is, those that bind, what is left
    over. ``off`` is the sum of all deviations; ``proved``: none on the scales' steps is nearer."""

    want: Want
    lines: tuple[NewLine, ...]
    bounds: tuple[tuple[Counted, Between | None], ...]
    binding: frozenset[str]
    left: tuple[Left, ...]
    off: Fraction
    proved: bool

    @property
    def grams(self) -> dict[Key, Fraction]:
        """What each line weighs."""
        return {line.key: line.now_g for line in self.lines}

    @property
    def total_g(self) -> Fraction:
        return sum((line.now_g for line in self.lines), Fraction(0))


@dataclass(frozen=True)
class Relaxed:
    """A bound that is relaxed: as it is, and as it would have to be; ``by`` in the bound's own unit
    (a share, or grams)."""

    counted: Counted
    old: Bound
    new: Bound
    by: Fraction


@dataclass(frozen=True)
class NoAnswer:
    """That nothing holds all bounds: which to relax, the least in all; ``most_g`` is the largest
    batch that holds them, 0 if none does; ``open_by`` names what leaves a bound open, if it may
    hold after all; ``sized`` names what is short and goes by the batch's size alone."""

    want: Want
    relaxed: tuple[Relaxed, ...]
    most_g: Fraction
    open_by: tuple[tuple[str, tuple[str, ...]], ...]
    left: tuple[Left, ...]
    sized: tuple[str, ...] = ()


def want_of(
    house: House,
    walk: Walk,
    walks: Mapping[str, Walk],
    made: Mapping[str, Made],
    batch: Batch,
    have: Mapping[str, Fraction],
    sized: bool = True,
) -> Want:
    """What is asked: a formula in the size of ``batch``, of what there is of each item in grams as
    purchased. Unless it is ``sized``, a bound of its weight stands for that of the batch, if there
    is one."""
    cells, out = _as_it_is_called(house, walk, walks, cells_of(house, walk, walks, made))
    bounds, _ = counted_bounds(walk.formula, cells)
    total: Fraction | None = sum((line.exact_g for line in batch.lines), Fraction(0))
    if not sized and any(one.whole is None for one in bounds):
        total = None
    steps = steps_of(house, walk, batch, cells)
    items = {cell.line.joined.item for cell in cells}
    held = {item: grams for item, grams in have.items() if item in items}
    kept_out = tuple((cell.name, why) for cell, why in out if have.get(cell.line.joined.item))
    return Want(walk, cells, bounds, batch.factor, total, held, steps, kept_out)


def _as_it_is_called(
    house: House, walk: Walk, walks: Mapping[str, Walk], cells: tuple[Cell, ...]
) -> tuple[tuple[Cell, ...], tuple[tuple[Cell, str], ...]]:
    """What may be weighed under the name the food has; and what may not, each with why: meat or
    fish of an animal that the name doesn't tell, where it tells one, and the formula hasn't."""
    named = named_species(house, walk)
    lines = (line.joined for line in walk.lines)
    there = frozenset[str]().union(*(species_of(house, line, walks) for line in lines))
    kept, out = list[Cell](), list[tuple[Cell, str]]()
    for cell in cells:
        strange = species_of(house, cell.line.joined, walks) - named - there
        if cell.key != cell.of and named and strange:
            out.append((cell, f"it is {listed(sorted(strange))}, and the name says "))
        else:
            kept.append(cell)
    words = listed(sorted(named))
    return tuple(kept), tuple((cell, why + words) for cell, why in out)


def steps_of(
    house: House, walk: Walk, batch: Batch, cells: tuple[Cell, ...]
) -> dict[tuple[Key, Key], Fraction]:
    """The weights that the scales tell apart, for each cell and whose place it takes: a division
    for each load, or whole pieces of what is counted."""
    scales = scales_for(house, walk.formula)
    by_key = {key_of(one.line.joined): one for one in batch.lines}
    found: dict[tuple[Key, Key], Fraction] = {}
    for cell in cells:
        line, own = by_key[cell.of], cell.key == cell.of
        amount = cell.line.joined.line.amount
        if own and amount.kind == "count":
            found[cell.key, cell.of] = cell.line.grams / amount.value / amount.value.denominator
            continue
        each = line.exact_g / line.loads
        weighing = choose(each, cell.line.permitted, scales) if each else None
        scale = weighing.scale if weighing is not None else None
        division = scale.division if scale is not None else Fraction(1)
        found[cell.key, cell.of] = division * line.loads
    return found


def reformulate(want: Want) -> Nearest | NoAnswer:
    """The nearest formula within the bounds of what there is, or what to relax."""
    found = _solved(want)
    return found if found is not None else _no_answer(want)


def _solved(want: Want) -> Nearest | None:
    """The nearest formula on the steps of the scales; None where the bounds leave none."""
    model = making(want)
    held = model.held()
    loose = model.made(held, Fraction(0))
    slacks = _slacks(want, loose)
    first = nearest(loose.program) or nearest(model.made(held, slacks[0]).program)
    if first is None:
        return None
    kept = held | _kept(loose, first.weights, want)
    for slack in slacks:
        for follow in dict.fromkeys((kept, held)):
            answer = _on_scales(want, model.made(follow, slack), first.binding)
            if answer is not None:
                return answer
    return None


def _on_scales(want: Want, made: Model, binding: tuple[str, ...]) -> Nearest | None:
    """The nearest formula on the steps of the scales, so far inside its bounds that they hold once
    all is weighed if that can be; None where there is none."""
    margins = _margins(want, made)
    answer = on_steps(made.program, margins) if any(margins.values()) else None
    answer = answer or on_steps(made.program)
    if answer is None:
        return None
    found = _nearest(want, made, answer, binding)
    return None if broken_bounds(want.bounds, found.grams) or _overdrawn(found) else found


def _slacks(want: Want, model: Model) -> tuple[Fraction, ...]:
    """How far the batch may be off its size for its weights to be steps: as far as the coarsest
    step of what is weighed brings it, with what follows; then, where pieces are counted, as far as
    one of them does."""
    whole: dict[int, Fraction] = {}
    for terms in model.sums.values():
        for n, c in terms.items():
            whole[n] = whole.get(n, Fraction(0)) + c
    moves = [step * whole.get(n, Fraction(0)) for n, step in enumerate(model.program.steps)]
    kinds = [cell.line.joined.line.amount.kind for cell in model.variables]
    weighed = [m for m, k in zip(moves, kinds, strict=True) if k not in ("as-needed", "count")]
    grams = want.as_it_is()
    base = sum((grams[key] for key in want.walk.formula.base), Fraction(0))
    wide = max(moves, default=Fraction(0)) * sum(grams.values(), Fraction(0)) / base
    return (max(weighed), wide) if weighed else (wide,)


def _kept(model: Model, weights: tuple[Fraction, ...], want: Want) -> frozenset[Key]:
    """The lines in percent that stay their percentage in the nearest weights, with nothing in their
    place."""
    percents = making(want).percents
    grams = model.grams(weights)
    found: set[Key] = set()
    for key, (share, of) in percents.items():
        among = of.lines - {key} if of.rest else of.lines
        due = share * sum((grams.get(k, Fraction(0)) for k in among), Fraction(0))
        stands_in = any(
            weights[n] > 0 for n, c in enumerate(model.variables) if c.of == key and c.key != key
        )
        if due and not stands_in and abs(grams.get(key, Fraction(0)) - due) <= due * _NEVER:
            found.add(key)
    return frozenset(found)


def _margins(want: Want, model: Model) -> dict[str, Fraction]:
    """How far inside a bound weights must be so that it holds once the lines that follow are
    rounded on their scales: half a step each way, a whole one for a cure."""
    found: dict[str, Fraction] = {}
    for one in want.bounds:
        for sign, end in (("<", one.bound.most), (">", one.bound.least)):
            if end is None:
                continue
            room = Fraction(0)
            for key in model.follow:
                share = one.part.get(key)
                part = Fraction(0) if share is None else (share.high if sign == "<" else share.low)
                whole = Fraction(0) if one.whole is None else one.whole.get(key, Fraction(0))
                room += abs(part - end * whole) * want.steps[key, key]
            found[f"{one.ident}{sign}"] = room
    return found


def _nearest(want: Want, model: Model, answer: Answer, binding: tuple[str, ...]) -> Nearest:
    grams = model.grams(answer.weights)
    bounds = tuple((one, one.figure(grams)) for one in want.bounds)
    return Nearest(
        want,
        tuple(_lines(want, model, answer.weights, grams)),
        bounds,
        frozenset(binding),
        _left(want, grams),
        model.program.distance(answer.weights),
        answer.proved,
    )


def _lines(
    want: Want, model: Model, weights: tuple[Fraction, ...], grams: Mapping[Key, Fraction]
) -> list[NewLine]:
    """The lines in the formula's order, what is new behind the line whose place it takes."""
    was = want.as_it_is()
    instead: dict[Key, list[str]] = {}
    names = {cell.key: cell.name for cell in want.cells}
    for n, cell in enumerate(model.variables):
        if cell.key != cell.of and weights[n] > 0:
            instead.setdefault(cell.key, []).append(names[cell.of])
    found: dict[Key, NewLine] = {}
    for cell in sorted(want.cells, key=lambda c: list(was).index(c.of)):
        key = cell.key
        there = key in was or grams.get(key, Fraction(0)) > 0
        if there and key not in found:
            others = tuple(instead.get(key, ()))
            now, before = grams.get(key, Fraction(0)), was.get(key, Fraction(0))
            found[key] = NewLine(key, cell.name, before, now, key in model.follow, others)
    return list(found.values())


def _left(want: Want, grams: Mapping[Key, Fraction]) -> tuple[Left, ...]:
    """What there is of each item, what is used of it, and what the formula as it is lacks."""
    was = want.as_it_is()
    names = {cell.line.joined.item: cell.name for cell in want.cells}
    found: list[Left] = []
    for item, have in want.have.items():
        trimmed = want.trimmed(item)
        used = sum((g for k, g in grams.items() if k[1] == item), Fraction(0)) / trimmed
        needed = sum((g for k, g in was.items() if k[1] == item), Fraction(0)) / trimmed
        found.append(Left(item, names[item], have, used, max(needed - have, Fraction(0))))
    return tuple(found)


def left_at(want: Want, factor: Fraction) -> tuple[Left, ...]:
    """What there is of each item, and how much more the formula as it is would take at a factor on
    what is written."""
    return _left(replace(want, factor=factor), {})


def _overdrawn(found: Nearest) -> bool:
    """Whether more is used of an item than there is."""
    return any(one.left_g < 0 for one in found.left)


def _no_answer(want: Want) -> NoAnswer:
    """Which bounds to relax, the least in all, until it can be made on the scales."""
    model = making(want)
    loose = model.made(model.held(), Fraction(0))
    ends = _relaxed_ends(want, loose)
    left = _left(want, {})
    return NoAnswer(want, ends, _largest(want), _open(want), left, _sized(want, left))


def _sized(want: Want, left: tuple[Left, ...]) -> tuple[str, ...]:
    """The names of what is short and goes by the batch's size alone."""
    model, short = making(want), {one.item for one in left if one.short_g}
    found = (c.name for c in want.cells if c.key[1] in short and model.follows_size(c))
    return tuple(dict.fromkeys(found))


def not_a_batch(found: Nearest) -> NoAnswer:
    """A nearest formula that is too small for the machines: there is none, and no bound would make
    it larger."""
    sized = _sized(found.want, found.left)
    return NoAnswer(found.want, (), found.total_g, (), found.left, sized)


def _largest(want: Want) -> Fraction:
    """The largest batch that holds all bounds on the scales, in readable grams; 0 if none does. A
    smaller one always does if a larger one does: what is on hand alone has a size."""
    if want.total is None:
        return Fraction(0)
    sized = [making(w) for w in (want, _at_size(want, want.total / 2))]
    whole, half = (one.made(one.held(), Fraction(0)).program for one in sized)
    low = want.total * greatest_part(whole, half)
    step = kilos_step(low) if low else Fraction(1)
    for down in range(_TRIES):
        size = to_side(low, "down", step) - down * step
        if size > 0 and _solved(_at_size(want, size)) is not None:
            return size
    return Fraction(0)


def _at_size(want: Want, total: Fraction) -> Want:
    """The same in a smaller batch."""
    assert want.total is not None
    return replace(want, total=total, factor=want.factor * total / want.total)


def _relaxed_ends(want: Want, loose: Model) -> tuple[Relaxed, ...]:
    """The bounds to relax and their new ends: rounded outward, and further out until the scales
    can weigh it; none where no end that moves makes it possible."""
    found = relaxed(loose.program)
    if found is None:
        return ()
    weights, over = found
    grams = loose.grams(weights)
    for more in range(_TRIES):
        ends = _outward(want, grams, over, more)
        if ends and _solved(applied(want, ends)) is not None:
            return ends
    return ()


def applied(want: Want, ends: tuple[Relaxed, ...]) -> Want:
    """What is asked, with bounds relaxed."""
    new = {one.counted.ident: one.new for one in ends}
    bounds = tuple(
        replace(one, bound=new[one.ident]) if one.ident in new else one for one in want.bounds
    )
    return replace(want, bounds=bounds)


def _outward(
    want: Want, grams: Mapping[Key, Fraction], over: Mapping[str, Fraction], more: int
) -> tuple[Relaxed, ...]:
    """New ends that hold the weights, rounded outward, and ``more`` readable steps further out."""
    found: dict[str, Relaxed] = {}
    for one in want.bounds:
        bound = one.bound
        for sign in ("<", ">"):
            if f"{one.ident}{sign}" in over:
                bound = _moved(one, bound, grams, sign, more)
        if bound != one.bound:
            by = max(_apart(bound.most, one.bound.most), _apart(bound.least, one.bound.least))
            found[one.ident] = Relaxed(one, one.bound, bound, by)
    return tuple(found.values())


def _apart(one: Fraction | None, other: Fraction | None) -> Fraction:
    return abs(one - other) if one is not None and other is not None else Fraction(0)


def _moved(
    one: Counted, bound: Bound, grams: Mapping[Key, Fraction], sign: str, more: int
) -> Bound:
    """A bound with an end moved so far that the weights hold it."""
    found = one.figure(grams)
    if found is None:
        return bound
    if sign == "<":
        step = _readable(one, bound.most)
        return replace(bound, most=to_side(found.high - step / 100, "up", step) + more * step)
    step = _readable(one, bound.least)
    low = to_side(found.low + step / 100, "down", step) - more * step
    return replace(bound, least=max(low, Fraction(0)))


def _readable(one: Counted, end: Fraction | None) -> Fraction:
    """How finely a new end is said."""
    if one.whole is None:
        return kilos_step(end or Fraction(1))
    size = end or Fraction(1)
    return next((s for s in _PLACES if s * 20 <= size), _PLACES[-1])


def _open(want: Want) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """The bounds that weights may hold though nobody can tell, each with what leaves it open, the
    most first; none where no weights may hold all bounds."""
    sized = making(want, better_ends=True)
    model = sized.made(sized.held(), Fraction(0))
    found = nearest(model.program)
    if found is None:
        return ()
    grams = model.grams(found.weights)
    unsure = (one for one in want.bounds if one.verdict(grams) == "cannot tell")
    return tuple((one.words, one.open_by(grams)) for one in unsure)
