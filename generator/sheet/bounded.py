"""A formula's bounds: what each counts and of what, and whether weights hold it.

All is counted as it is weighed. What an ingredient is made of lies from … to …: a bound holds only
if it holds at the worse end, is broken only if it is at the better one, and can't be told between.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from generator.composition.contents import Contents
from generator.files.finding import Finding, Place, Refused
from generator.measures.between import NOTHING, Between
from generator.measures.kilos import kilos
from generator.measures.words import NARROW, listed, plain
from generator.records.bounds import Bound
from generator.resolve.joined import House, JoinedFormula, JoinedLine
from generator.sheet.composed import Made, contents_in
from generator.sheet.doughs import Opened, opened_lines
from generator.sheet.percents import Key, key_of, named_lines
from generator.sheet.walked import Walk
from generator.sheet.weighing import WeighedLine, unit_weights_of

Verdict = Literal["holds", "broken", "cannot tell"]
Grams = Mapping[Key, Fraction]
"""Weights by the part and the item that is weighed into it."""
_ONE = Between.just(1)
_MOST_NAMES = 3


@dataclass(frozen=True)
class Cell:
    """What may be weighed into a part: a line as it is, or with another ingredient in it. ``of`` is
    the key of the line whose place it takes, its own for the line itself."""

    line: WeighedLine
    of: Key
    contents: Contents
    opened: Opened

    @property
    def key(self) -> Key:
        return key_of(self.line.joined)

    @property
    def name(self) -> str:
        return self.line.joined.name


@dataclass(frozen=True)
class Counted:
    """A bound with what it counts: the share of a gram of each cell that counts (``part``), and
    that it is a share of (``whole``; None for a weight). ``words`` is what it is about, ``ident``
    its keys, ``named`` each cell's name."""

    ident: str
    words: str
    bound: Bound
    place: Place
    part: Mapping[Key, Between]
    whole: Mapping[Key, Fraction] | None
    named: Mapping[Key, str]

    def figure(self, grams: Grams) -> Between | None:
        """What it is with weights; None of nothing."""
        part = sum((self.part.get(k, NOTHING).times(g) for k, g in grams.items()), NOTHING)
        if self.whole is None:
            return part
        whole = sum((self.whole.get(k, Fraction(0)) * g for k, g in grams.items()), Fraction(0))
        return part.times(1 / whole) if whole else None

    def verdict(self, grams: Grams) -> Verdict:
        """Whether weights hold it; what is a share of nothing does."""
        found, least, most = self.figure(grams), self.bound.least, self.bound.most
        if found is None:
            return "holds"
        low = Fraction(0) if least is None else least
        if found.low >= low and (most is None or found.high <= most):
            return "holds"
        over = most is not None and found.low > most
        return "broken" if found.high < low or over else "cannot tell"

    def open_by(self, grams: Grams) -> tuple[str, ...]:
        """What leaves its figure open, the most first."""
        widths = {k: self.part.get(k, NOTHING).width * g for k, g in grams.items()}
        wide = sorted((k for k, w in widths.items() if w), key=lambda k: (-widths[k], k))
        return tuple(dict.fromkeys(self.named[k] for k in wide))

    def figure_words(self, value: Fraction, places: int = 2) -> str:
        """A figure in its own unit."""
        if self.whole is None:
            return kilos(value)
        return f"{plain(value * 100, places)}{NARROW}%"

    def spoken(self, found: Between | None) -> str:
        """A figure from … to … in its own unit."""
        if found is None:
            return "nothing"
        if self.whole is None:
            return kilos(found.low)
        return f"{found.times(Fraction(100)).words(2)}{NARROW}%"

    @property
    def limits(self) -> str:
        """Its ends in words."""
        least, most = self.bound.least, self.bound.most
        if least is not None and most is not None:
            low = plain(least * 100, 3) if self.whole is not None else kilos(least)
            return f"{low} to {self.figure_words(most, 3)}"
        if most is not None:
            return f"at most {self.figure_words(most, 3)}"
        return f"at least {self.figure_words(least or Fraction(0), 3)}"


def cells_of(
    house: House, walk: Walk, walks: Mapping[str, Walk], made: Mapping[str, Made]
) -> tuple[Cell, ...]:
    """All that may be weighed: each line, then what may be in its place and is computed."""
    lines = [(line, key_of(line.joined)) for line in walk.lines]
    for line in walk.lines:
        for other in line.joined.may_be:
            if other.formula is None or other.formula in walks:
                own = unit_weights_of(house, other.ingredient)
                stood_in = replace(line, joined=other, grams=Fraction(0), unit_weights=own)
                lines.append((stood_in, key_of(line.joined)))
    opened = opened_lines(house, walk, [line for line, _ in lines], walks, made)
    return tuple(
        Cell(line, of, _contents(house, line.joined, made), one)
        for (line, of), one in zip(lines, opened, strict=True)
    )


def _contents(house: House, line: JoinedLine, made: Mapping[str, Made]) -> Contents:
    if line.ingredient is not None:
        return contents_in(house, line.ingredient)
    return made[line.item].balance.contents


def with_others(formula: JoinedFormula, cells: Iterable[Cell]) -> JoinedFormula:
    """A formula whose lines hold what may be in their places, too; in its base where theirs are."""
    lines, base, known = list(formula.lines), set(formula.base), set(map(key_of, formula.lines))
    for cell in cells:
        if cell.key not in known:
            known.add(cell.key)
            lines.append(cell.line.joined)
            if cell.of in formula.base:
                base.add(cell.key)
    return replace(formula, lines=tuple(lines), base=frozenset(base))


def _share(contents: Contents, name: str) -> Between:
    """What counts of a gram of food by a bound's name."""
    if name == "lean":
        return _rest(contents.shares["fat"])
    return _milk_without_fat(contents) if name == "msnf" else contents.shares[name]


def _rest(share: Between) -> Between:
    return Between(1 - share.high, 1 - share.low)


def _milk_without_fat(contents: Contents) -> Between:
    """Milk solids without the milk's fat. Fat is the milk's as far as milk solids and water are all
    there is; what else is in the food may hold some of it."""
    shares = contents.shares
    milk, fat = shares["milk_solids"], shares["fat"]
    if not milk.high:
        return NOTHING
    other = max(1 - shares["water"].low - milk.low, Fraction(0))
    low = max(milk.low - min(fat.high, milk.high), Fraction(0))
    return Between(low, max(milk.high - max(fat.low - other, Fraction(0)), low))


def counted_bounds(
    formula: JoinedFormula, cells: tuple[Cell, ...]
) -> tuple[tuple[Counted, ...], tuple[Finding, ...]]:
    """Every bound of a formula with what it counts, and what is wrong with those that can't be."""
    record, found, findings = formula.formula.bounds, list[Counted](), list[Finding]()
    if record is None:
        return (), ()
    counting = _Counting(with_others(formula, cells), cells)
    for keys, number, bound in record.by_key:
        several = len(record.shares[keys[1]] if len(keys) > 1 else getattr(record, keys[0])) > 1
        place = record.place(*keys, number) if several else record.place(*keys)
        try:
            found.append(counting.counted(keys, number, bound, place))
        except Refused as refused:
            findings.append(_finding(refused, place, formula.id))
    findings += _contradictions(found, formula.id)
    return tuple(found), tuple(findings)


def _finding(refused: Refused, place: Place, formula: str) -> Finding:
    about = frozenset({formula})
    return Finding(refused.code, "error", refused.message, place, refused.help, about=about)


class _Counting:
    """What is counted of each cell, by the names of a formula with all that may be in it."""

    def __init__(self, formula: JoinedFormula, cells: tuple[Cell, ...]) -> None:
        self.formula = formula
        self.cells = {cell.key: cell for cell in cells}
        self.named = {key: cell.name for key, cell in self.cells.items()}

    def counted(self, keys: tuple[str, ...], number: int, bound: Bound, place: Place) -> Counted:
        """A bound with what it counts. Raises Refused for what isn't in the formula."""
        ident = ".".join(keys) + (f".{number + 1}" if number else "")
        words, part, whole = self._of(keys, bound)
        return Counted(ident, words, bound, place, part, whole, self.named)

    def _of(
        self, keys: tuple[str, ...], bound: Bound
    ) -> tuple[str, Mapping[Key, Between], Mapping[Key, Fraction] | None]:
        name = keys[-1].replace("-", " ").replace("_", " ")
        if keys[0] == "total":
            return "all that is weighed", dict.fromkeys(self.cells, _ONE), None
        if keys[0] == "hydration":
            return name, *self._hydration(bound)
        whole, where = self._whole(bound)
        name, part = self._part(keys, name)
        if bound.inside:
            part = {key: share for key, share in part.items() if key in whole}
        sign = "in" if bound.inside else "of"
        return f"{name} {sign} the {where}" if where else name, part, whole

    def _part(self, keys: tuple[str, ...], name: str) -> tuple[str, Mapping[Key, Between]]:
        """What counts of a gram of each cell, and how it is called."""
        if keys[0] != "shares":
            part = {key: _share(cell.contents, keys[0]) for key, cell in self.cells.items()}
            return "MSNF" if name == "msnf" else name, part
        lines = sorted(self._lines(keys[1]))
        called = next((self.named[k] for k in lines if k[1] == keys[1]), name)
        return called, dict.fromkeys(lines, _ONE)

    def _hydration(self, bound: Bound) -> tuple[Mapping[Key, Between], Mapping[Key, Fraction]]:
        if bound.of not in ("", "flour") or bound.inside:
            raise Refused(
                "bound-of-what",
                "Hydration is always of the flour.",
                "Leave out what is behind the %.",
            )
        flour = self._flour()
        if not any(flour.values()):
            raise Refused(
                "bound-of-what",
                "There is no flour here for a hydration.",
                "An ingredient counts as flour by its `foodstuff`, or by `flour: yes`. Its base "
                "must hold flour.",
            )
        liquid = {key: Between.just(c.opened.liquid) for key, c in self.cells.items()}
        return liquid, flour

    def _flour(self) -> dict[Key, Fraction]:
        return {key: cell.opened.flour for key, cell in self.cells.items()}

    def _whole(self, bound: Bound) -> tuple[Mapping[Key, Fraction], str]:
        """What a share is of, and how it is called; "" for all that is weighed."""
        if not bound.of:
            return dict.fromkeys(self.cells, Fraction(1)), ""
        words = bound.of.replace("-", " ")
        if bound.of == "base" and named_lines(self.formula, "base") is None:
            return dict.fromkeys(self.formula.base, Fraction(1)), words
        if bound.of == "flour" and named_lines(self.formula, "flour") is None:
            flour = self._flour()
            if any(flour.values()):
                return flour, words
        return dict.fromkeys(self._lines(bound.of), Fraction(1)), words

    def _lines(self, name: str) -> frozenset[Key]:
        found = named_lines(self.formula, name)
        if found is None:
            parts = listed([f"`{part}`" for part in self.formula.formula.parts], "or")
            raise Refused(
                "bound-of-what",
                f"`{name}` is not a part or a line of this formula.",
                f"Name a part ({parts}), an ingredient or a made-ahead formula in it.",
            )
        return found


def _contradictions(found: list[Counted], formula: str) -> Iterator[Finding]:
    """Bounds of one thing that nothing can hold together."""
    for number, one in enumerate(found):
        for other in found[:number]:
            same = (one.words, one.whole) == (other.words, other.whole)
            if same and (_above(one.bound, other.bound) or _above(other.bound, one.bound)):
                yield Finding(
                    "bounds-contradict",
                    "error",
                    f"{_first(one.words)}: {one.limits}, and also {other.limits}. Nothing is both.",
                    one.place,
                    "Keep the one that is meant.",
                    about=frozenset({formula}),
                )


def _above(one: Bound, other: Bound) -> bool:
    """Whether the least of one is above the most of another."""
    return one.least is not None and other.most is not None and one.least > other.most


def _first(words: str) -> str:
    return words[:1].upper() + words[1:]


def bound_findings(
    house: House, walks: Mapping[str, Walk], made: Mapping[str, Made]
) -> list[Finding]:
    """What is wrong with the formulas' bounds: what isn't there, what contradicts, and what the
    formula as written doesn't hold, or nobody can tell of it."""
    findings: list[Finding] = []
    for ident, walk in walks.items():
        if walk.formula.formula.bounds is None:
            continue
        cells = cells_of(house, walk, walks, made)
        bounds, wrong = counted_bounds(walk.formula, cells)
        findings += wrong
        as_written = {key_of(line.joined): line.grams for line in walk.lines}
        for bound in bounds if not wrong else ():
            findings += _as_written(bound, as_written, ident)
    return findings


def _as_written(bound: Counted, grams: Grams, formula: str) -> Iterator[Finding]:
    """Why a formula as it is written doesn't hold its own bound; a batch's weight is asked of a
    batch alone."""
    verdict, found = bound.verdict(grams), bound.figure(grams)
    if verdict == "holds" or bound.whole is None:
        return
    about, name, figure = frozenset({formula}), _first(bound.words), bound.spoken(found)
    if verdict == "broken":
        words = f"{name}: {figure} as it is written. Its own bound is {bound.limits}."
        help = "Put the bound or the amounts right."
        yield Finding("bound-not-held", "warning", words, bound.place, help, about=about)
        return
    by = listed(list(bound.open_by(grams)[:_MOST_NAMES]))
    words = f"{name}: {figure} as it is written. It isn't known whether it is {bound.limits}."
    help = f"It is left open by {by}: state its share under `composition`, or name a `foodstuff`."
    yield Finding("bound-unknown", "warning", words, bound.place, help, about=about)
