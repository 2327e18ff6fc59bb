"""The nearest weights within bounds: a linear program, its answer on the steps of the scales, and
what to relax where there is none.

Nearest means the least sum of relative deviations, |weight - wished| / wished over all wishes. Such
a sum is least where few weights change: a cook can take that in, and the rest tastes as it did. The
least largest deviation, the other usual measure, changes every weight a little.

A solver in floats (HiGHS, by scipy) proposes; nothing it says is trusted. Weights are whole numbers
of steps, so exact fractions, and each row is asked again in fractions.
"""

from __future__ import annotations

import math
import os
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import Any

from generator.measures.rounding import half_up

Terms = Mapping[int, Fraction]
"""Coefficients by the number of a variable."""
_TINY = 1e-9
_LONGEST_S = 5.0
_TRIES = 8
_INFEASIBLE = 2
"""The solver's status for what has no answer, as `scipy.optimize.linprog` documents it."""


@dataclass(frozen=True)
class Row:
    """What must hold: the sum of ``terms`` is at most ``most``. An ``elastic`` row may be relaxed
    where there is no answer: passed by so much, it counts as relaxed once, and no row is relaxed
    further. ``name`` says which it is."""

    name: str
    terms: Terms
    most: Fraction
    elastic: Fraction | None = None

    def over(self, weights: Sequence[Fraction]) -> Fraction:
        """How far it is passed; below 0 is room."""
        return value_of(self.terms, weights) - self.most


@dataclass(frozen=True)
class Wish:
    """What should be near: the sum of ``terms`` to ``aim``, as a share of ``per``, above 0."""

    terms: Terms
    aim: Fraction
    per: Fraction

    def off(self, weights: Sequence[Fraction]) -> Fraction:
        """How far it is missed, as a share."""
        return abs(value_of(self.terms, weights) - self.aim) / self.per


@dataclass(frozen=True)
class Program:
    """Variables of at least 0, one for each of ``steps``, the weights a scale tells apart; ``rows``
    that must hold and ``wishes`` to come near."""

    steps: tuple[Fraction, ...]
    rows: tuple[Row, ...]
    wishes: tuple[Wish, ...]

    def broken(self, weights: Sequence[Fraction]) -> list[Row]:
        """The rows that weights don't hold, asked in exact numbers."""
        return [row for row in self.rows if row.over(weights) > 0]

    def distance(self, weights: Sequence[Fraction]) -> Fraction:
        """The sum of all deviations."""
        return sum((wish.off(weights) for wish in self.wishes), Fraction(0))


@dataclass(frozen=True)
class Answer:
    """Weights by their variables; ``binding`` are the names of the rows without which they would be
    nearer. ``proved``: no weights on the steps are nearer, by the solver's own search."""

    weights: tuple[Fraction, ...]
    binding: tuple[str, ...] = ()
    proved: bool = True


def value_of(terms: Terms, weights: Sequence[Fraction]) -> Fraction:
    """The sum of terms for weights."""
    return sum((c * weights[n] for n, c in terms.items()), Fraction(0))


def nearest(program: Program) -> Answer | None:
    """The nearest weights whatever the steps, as near as floats come; None where nothing holds all
    rows. What binds is what has a price in it."""
    unit = _unit(program)
    found = _solved(_matrix(program, unit, program.rows))
    if found is None:
        return None
    values, prices = found
    names = (row.name for row, price in zip(program.rows, prices, strict=False) if price < -1e-7)
    return Answer(_exact(values[: len(program.steps)], unit), tuple(dict.fromkeys(names)))


def on_steps(program: Program, margins: Mapping[str, Fraction] | None = None) -> Answer | None:
    """The nearest weights that are whole numbers of steps and hold every row exactly, ``margins``
    further inside by a row's name; None where the solver finds none."""
    inside = dict(margins or {})
    rows = tuple(replace(r, most=r.most - inside.get(r.name, Fraction(0))) for r in program.rows)
    for _ in range(_TRIES):
        counts, proved = _counted(replace(program, rows=rows))
        if counts is None:
            return None if proved else _rounded(replace(program, rows=rows))
        weights = tuple(n * step for n, step in zip(counts, program.steps, strict=True))
        passed = {row.name for row in program.broken(weights)}
        if not passed:
            return Answer(weights, (), proved)
        rows = tuple(_tighter(row, program) if row.name in passed else row for row in rows)
    return None


def _rounded(program: Program) -> Answer | None:
    """Weights brought to their nearest steps from so far inside that every row holds: for when the
    search takes too long. They may not be the nearest."""
    halves = [step / 2 for step in program.steps]
    inside = (
        replace(r, most=r.most - sum((abs(c) * halves[n] for n, c in r.terms.items()), Fraction(0)))
        for r in program.rows
    )
    found = nearest(replace(program, rows=tuple(inside)))
    if found is None:
        return None
    weights = tuple(map(half_up, found.weights, program.steps))
    return None if program.broken(weights) else Answer(weights, (), proved=False)


def _tighter(row: Row, program: Program) -> Row:
    """A row that floats passed by a hair, a hair further inside."""
    finest = min(
        (abs(c) * program.steps[n] for n, c in row.terms.items() if c), default=Fraction(1)
    )
    return replace(row, most=row.most - finest / 1000)


def relaxed(program: Program) -> tuple[tuple[Fraction, ...], dict[str, Fraction]] | None:
    """Weights that pass elastic rows by the least in all, each as a share of its ``elastic``, and
    by how much each, by its name, in the row's own unit; of such weights the nearest. None where
    the other rows alone don't hold.

    The weights are as near as floats come: what is said of them is rounded outward by who asks.
    """
    unit, count = _unit(program), len(program.steps)
    soft = [n for n, row in enumerate(program.rows) if row.elastic is not None]
    least = _solved(_elastic(program, unit, soft, None))
    if least is None:
        return None
    whole = sum(least[0][count : count + len(soft)])
    found = _solved(_elastic(program, unit, soft, whole)) or least
    weights = _exact(found[0][:count], unit)
    passed = {program.rows[n].name: program.rows[n].over(weights) for n in soft}
    return weights, {
        name: over for name, over in passed.items() if over > unit * Fraction(1, 10**7)
    }


def greatest_part(whole: Program, half: Program) -> Fraction:
    """The greatest part of a size, 0 to 1, at which every row holds, as near as floats come; 0
    where none does. ``whole`` and ``half`` are the rows at the size and at half of it, one by one:
    between them what a row allows goes straight."""
    unit, count = _unit(whole), len(whole.steps)
    rows, most = list[dict[int, float]](), list[float]()
    for full, part in zip(whole.rows, half.rows, strict=True):
        grows = 2 * (full.most - part.most)
        rows.append({n: float(c) for n, c in full.terms.items()} | {count: -float(grows / unit)})
        most.append(float((full.most - grows) / unit))
    matrix = _Matrix([0.0] * count + [-1.0], [*rows, {count: 1.0}], [*most, 1.0], [0] * (count + 1))
    found = _solved(matrix)
    return Fraction(0) if found is None else Fraction(found[0][count]).limit_denominator(10**9)


def _unit(program: Program) -> Fraction:
    """The weight that counts as one in floats, so that all are of one order."""
    sizes = [abs(row.most) for row in program.rows] + [wish.per for wish in program.wishes]
    return max([size for size in sizes if size], default=Fraction(1))


def _exact(values: Iterable[float], unit: Fraction) -> tuple[Fraction, ...]:
    return tuple(max(Fraction(v).limit_denominator(10**12), Fraction(0)) * unit for v in values)


@dataclass
class _Matrix:
    """A program in floats: cost, rows at most, each variable's share of whole numbers."""

    cost: list[float]
    rows: list[dict[int, float]]
    most: list[float]
    whole: list[int]


def _matrix(program: Program, unit: Fraction, rows: Iterable[Row]) -> _Matrix:
    """Variables, then a deviation for each wish, which is at least what it is off either way."""
    count, wishes = len(program.steps), program.wishes
    found = _Matrix([0.0] * count + [1.0] * len(wishes), [], [], [0] * (count + len(wishes)))
    for row in rows:
        found.rows.append({n: float(c) for n, c in row.terms.items()})
        found.most.append(float(row.most / unit))
    for place, wish in enumerate(wishes):
        share = unit / wish.per
        for sign in (1, -1):
            terms = {n: float(sign * c * share) for n, c in wish.terms.items()}
            found.rows.append({**terms, count + place: -1.0})
            found.most.append(float(sign * wish.aim / wish.per))
    return found


def _elastic(program: Program, unit: Fraction, soft: list[int], whole: float | None) -> _Matrix:
    """The same with what each elastic row may be passed by, behind the variables: as little as can
    be in all, or, once that is known as ``whole``, so much at most and the wishes nearest."""
    plain, count, more = _matrix(program, unit, program.rows), len(program.steps), len(soft)
    moved = [{(n if n < count else n + more): c for n, c in row.items()} for row in plain.rows]
    for place, number in enumerate(soft):
        give = program.rows[number].elastic
        assert give is not None
        moved[number][count + place] = -float(give / unit)
    for place in range(more):  # twice what a bound allows would be another formula
        moved.append({count + place: 1.0})
        plain.most.append(1.0)
    deviations = len(program.wishes)
    cost = [0.0] * count + [1.0] * more + [0.0] * deviations
    if whole is not None:
        cost = [0.0] * count + [0.0] * more + [1.0] * deviations
        moved.append({count + place: 1.0 for place in range(more)})
        plain.most.append(whole + _TINY)
    return _Matrix(cost, moved, plain.most, [0] * len(cost))


def _counted(program: Program) -> tuple[list[int] | None, bool]:
    """How many steps of each, and whether nothing is nearer; None where no numbers hold, or, if
    that isn't proved, none were found in time."""
    unit, count = _unit(program), len(program.steps)
    matrix = _matrix(program, unit, program.rows)
    steps = [float(step / unit) for step in program.steps] + [1.0] * len(program.wishes)
    matrix.rows = [{n: c * steps[n] for n, c in row.items()} for row in matrix.rows]
    for place, _ in enumerate(program.rows):  # one step of what counts least is about one
        row = matrix.rows[place]
        size = min((abs(c) for c in row.values() if c), default=1.0)
        matrix.rows[place] = {n: c / size for n, c in row.items()}
        matrix.most[place] /= size
    matrix.whole[:count] = [1] * count
    result = _run(matrix)
    if result.x is None:
        return None, result.status == _INFEASIBLE
    return [math.floor(v + 0.5) for v in result.x[:count]], result.status == 0


def _solved(matrix: _Matrix) -> tuple[list[float], list[float]] | None:
    """The values of all variables and the prices of the rows; None where there is no answer."""
    result = _run(matrix)
    if result.status != 0 or result.x is None:
        return None
    return [float(v) for v in result.x], [float(v) for v in result.ineqlin.marginals]


def _run(matrix: _Matrix) -> Any:
    """What the solver says. It takes most of a second to load: only who asks it loads it."""
    import numpy
    from scipy.optimize import linprog

    table = numpy.zeros((len(matrix.rows), len(matrix.cost)))
    for place, row in enumerate(matrix.rows):
        for n, c in row.items():
            table[place, n] += c
    whole = matrix.whole if any(matrix.whole) else None
    options = {"time_limit": _LONGEST_S, "mip_rel_gap": 0.0} if whole else {}
    with _silent():
        return linprog(
            matrix.cost,
            A_ub=table if matrix.rows else None,
            b_ub=matrix.most if matrix.rows else None,
            bounds=(0, None),
            integrality=whole,
            method="highs",
            options=options,
        )


@contextmanager
def _silent() -> Iterator[None]:
    """Without what the solver's own code prints, past Python, among an answer's lines."""
    try:
        kept = os.dup(1)
    except OSError:  # there is no standard output
        yield
        return
    try:
        with Path(os.devnull).open("wb") as nowhere:
            sys.stdout.flush()
            os.dup2(nowhere.fileno(), 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
