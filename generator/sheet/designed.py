"""A design: what to weigh for what is wanted, the limits it is held to, and the lines to paste.

Every job's design has this form: exact grams, then what the station's scale shows of them; the
figures are those of what is weighed. It computes and never permits: a formula made of it is checked
like all others.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from generator.files.finding import Refused
from generator.measures.basis import Basis
from generator.measures.between import Between
from generator.measures.rounding import Side, to_side
from generator.measures.words import NARROW, plain
from generator.reference.cautions import RANK
from generator.reference.row_kinds import AdditiveRow
from generator.resolve.joined import House
from generator.rules.basics.limit import Bound, Source
from generator.scaling.scales import STRICT, Weighing, choose, too_coarse_words
from generator.sheet.cautioning import Notice
from generator.sheet.design_foods import DesignFood
from generator.sheet.station_scales import scales_at

Unit = Literal["pct", "ppm", "g"]
SHOWN: dict[Unit, str] = {"pct": "%", "ppm": "ppm", "g": "g"}
"""The unit of a figure by the end of its key in JSON."""
_SHOWN_PPM = Fraction(1, 100)


@dataclass(frozen=True)
class DesignLine:
    """One line to weigh: the ``part`` of the formula it belongs to, exact grams, and what the scale
    shows."""

    part: str
    food: DesignFood
    exact_g: Fraction
    weighing: Weighing
    basis: Basis


@dataclass(frozen=True)
class DesignFigure:
    """A figure of what is weighed, from … to …, in the unit that ends its ``key``."""

    key: str
    unit: Unit
    words: str
    value: Between
    basis: Basis


Held = Literal["meets", "close", "fails"]
"""Whether a row is met by what is weighed: surely, as far as the scale's error lets anybody say, or
not. "close" is a dose that meets it as the scale shows it, and may miss it by the scale's error."""


@dataclass(frozen=True)
class DesignLimit:
    """A row of law or guidance the design is held to, with the ``ppm`` it comes to as the scale
    shows it, and from where to where that may be (``within``) by the scale's error. A ``set`` dose
    may fall short of its row by what a weighing may be off: ``row_ppm`` is what it is set at."""

    name: str
    bound: Bound
    row_ppm: Fraction
    printed: str
    ppm: Fraction
    within: Between
    set: bool
    source: Source

    @property
    def end_ppm(self) -> Fraction:
        """The least or the most that is let through."""
        return self.row_ppm * (1 - STRICT) if self.set and self.bound == "min" else self.row_ppm

    @property
    def verdict(self) -> Held:
        """By the figure itself, never by the one shown."""
        if self.bound == "max":
            if self.ppm > self.end_ppm:
                return "fails"
            return "meets" if self.within.high <= self.end_ppm else "close"
        if self.ppm < self.end_ppm:
            return "fails"
        return "meets" if self.within.low >= self.end_ppm else "close"

    @property
    def words(self) -> str:
        """In a sentence's words: "203 ppm (202.5 to 203.5 by the scale's error) against at most
        200 ppm: does not meet it". A figure that misses the row is rounded away from it."""
        away: Side = "up" if self.bound == "max" else "down"
        ppm = to_side(self.ppm, away, _SHOWN_PPM) if self.verdict == "fails" else self.ppm
        shown = plain(ppm, 2)
        ends = self.within.outward(2)
        return (
            f"{shown}{NARROW}ppm ({ends} by the scale's error) against {self._row}: {self._verdict}"
        )

    @property
    def _row(self) -> str:
        row = f"{plain(self.row_ppm)}{NARROW}ppm"
        if self.set and self.bound == "min":
            return f"{row}, set, {plain(STRICT * 100)}{NARROW}% less at most"
        return f"at {'most' if self.bound == 'max' else 'least'} {row}"

    @property
    def _verdict(self) -> str:
        side = "above" if self.bound == "max" else "below"
        words: dict[Held, str] = {
            "meets": "meets it",
            "close": f"may be {side}",
            "fails": "does not meet it",
        }
        return words[self.verdict]


@dataclass(frozen=True)
class Design:
    """What a job asked for: the lines, their figures, limits and cautions; ``yaml`` are the lines
    to paste into a formula, ``step`` those for its step."""

    job: str
    title: str
    lines: tuple[DesignLine, ...]
    figures: tuple[DesignFigure, ...]
    yaml: tuple[str, ...]
    step: tuple[str, ...] = ()
    limits: tuple[DesignLimit, ...] = ()
    cautions: tuple[Notice, ...] = ()
    notes: tuple[str, ...] = ()


def weighed(
    house: House,
    station: str,
    part: str,
    food: DesignFood,
    exact: Fraction,
    basis: Basis,
    weighing: Weighing | None = None,
) -> DesignLine:
    """A line as the station's scale weighs it. Raises Refused for what no scale shows."""
    found = weighing or choose(exact, food.permitted, scales_at(house, station))
    if found.scale is None:
        raise Refused("design-no-scale", "There is no scale here to weigh it on.", "Add one.")
    if found.grams <= 0:
        raise Refused(
            "design-too-little",
            f"{food.name}: {plain(exact, 4)} g is less than any scale here weighs.",
            "Make more at a time.",
        )
    return DesignLine(part, food, exact, found, basis)


def total(lines: Iterable[DesignLine], part: str = "") -> Fraction:
    """What the lines weigh as the scales show them, of one part or of all."""
    return sum((ln.weighing.grams for ln in lines if part in ("", ln.part)), Fraction(0))


def holds(lines: Iterable[DesignLine], constituent: str) -> Between:
    """The grams of a constituent in what is weighed."""
    nothing = Between.just(0)
    return sum(
        (ln.food.shares.get(constituent, nothing).times(ln.weighing.grams) for ln in lines),
        nothing,
    )


def yaml_of(lines: Sequence[DesignLine], base: str = "") -> tuple[str, ...]:
    """The lines as they stand in a formula's YAML. Raises Refused for a food that would be in one
    part twice: a formula has each once."""
    keys = [(ln.part, ln.food.id) for ln in lines]
    twice = next((ident for part, ident in keys if keys.count((part, ident)) > 1), None)
    if twice is not None:
        raise Refused(
            "design-twice", f"{twice} is named twice.", "Name another food for one of the two."
        )
    found = [f"base: {base}"] if base else []
    found.append("parts:")
    for part in dict.fromkeys(ln.part for ln in lines):
        found.append(f"  {part}:")
        found += [
            f"    {ln.food.id}: {plain(ln.weighing.grams, 6, grouped=False)} g"
            for ln in lines
            if ln.part == part
        ]
    return tuple(found)


def notes_of(lines: Sequence[DesignLine]) -> tuple[str, ...]:
    """What is to be known of the lines: foods that the kitchen doesn't hold yet, scales too
    coarse."""
    typed = [ln.food for ln in lines if ln.food.facts is None]
    notes = [
        f"{f.id} is none of the kitchen's yet: add it to standards/ingredients." for f in typed
    ]
    notes += [
        f"{ln.food.name}: {too_coarse_words(ln.weighing)}"
        for ln in lines
        if ln.weighing.needs is not None and ln.weighing.scale is not None
    ]
    return tuple(dict.fromkeys(notes))


def limit_of(
    house: House,
    row: AdditiveRow,
    name: str,
    bound: Bound,
    ppm: Fraction,
    within: Between,
    exact: bool = False,
) -> DesignLimit:
    """The limit of a row of additives for so many ppm, which the scale's error may put anywhere
    ``within``; ``exact``: it may fall short of a set dose by what a weighing may be off."""
    assert house.additives is not None and row.ppm is not None
    facts = house.additives.facts
    source = Source(
        row.document or facts.document,
        facts.edition,
        row.clause,
        tuple(house.library.source_title(key) for key in row.read_in),
        facts.checked_on,
        row.standing,
    )
    return DesignLimit(name, bound, row.ppm, row.printed_ppm, ppm, within, exact, source)


def cautions_of(
    house: House,
    functions: Iterable[str] = (),
    does: Iterable[str] = (),
    at_hand: Iterable[str] = (),
) -> tuple[Notice, ...]:
    """The cautions that what is weighed and done raises by itself, the gravest first. Those that
    hang on machines and on what is done to the food later are the formula's."""
    told = {"function": set(functions), "does": set(does), "at_hand": set(at_hand)}
    found: list[Notice] = []
    for ident, caution in house.library.cautions.items():
        asked = caution.when.model_fields_set
        if asked <= set(told) and all(set(getattr(caution.when, k)) & told[k] for k in asked):
            words = house.library.source_title(caution.source)
            found.append(Notice(ident, caution.severity, caution.name, caution.words, words))
    return tuple(sorted(found, key=lambda n: RANK.index(n.severity)))
