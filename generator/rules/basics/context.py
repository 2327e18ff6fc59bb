"""Rule inputs and results."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Literal, TypedDict

from generator.files.finding import Finding, Place, Severity
from generator.measures.rounding import to_side
from generator.measures.temperature import Degree, Temperature, TemperatureDifference
from generator.measures.words import NARROW, breakable, date, duration, plain
from generator.records.effects import HEATS
from generator.records.process import Target, read_target
from generator.reference.row_kinds import CoolRow, HoldRow, ReducedOxygenRow, RowHead
from generator.resolve.joined import House, JoinedFormula, JoinedStep
from generator.rules.basics.course import Course, Stay
from generator.rules.basics.fate import Fate
from generator.rules.basics.house_rule import HouseRule
from generator.rules.basics.limit import Limit, Source, figure_of
from generator.rules.basics.product import Component, Product

DAY_S = Fraction(86400)
_AT = re.compile(r"(?<![\w-])at: *")
_COLDEST = Temperature.of(-5, "°C")
_HOTTEST = Temperature.of(100, "°C")
"""Between these a figure may be meant in the other scale; a core isn't hotter than boiling
water."""


@dataclass(frozen=True)
class Outcome:
    """A rule's answer: limits, findings, and what it learned for the next state: raw food made safe
    (``cooked``), a roast cooked by the roast chart (``roast``), a steak cooked on its surface
    (``seared``), fish freed of parasites (``freed``), packed without air for so many ``air_days``,
    and kept colder than other food by ``air_row``, acidified to need no control (why), what came
    cold held to the limit for reheating (``reheated``)."""

    limits: tuple[Limit, ...] = ()
    findings: tuple[Finding, ...] = ()
    cooked: bool = False
    roast: bool = False
    freed: bool = False
    air_days: int | None = None
    air_row: ReducedOxygenRow | None = None
    acidified: str = ""
    seared: bool = False
    reheated: bool = False


NOTHING = Outcome()


def authorisation_problem(house: House, what: str, none: str, called: str) -> str:
    """Why nothing on file allows ``what`` today: ``none``, or that ``called`` (by its document)
    isn't in force; empty if something does."""
    held = [a for a in house.kitchen.authorisations if a.for_ == what]
    if not held:
        return none
    if any(a.in_force(house.as_of) for a in held):
        return ""
    last = max(held, key=lambda a: a.until)
    return f"{called} ({last.document}) isn't in force on {date(house.as_of)}."


class Names(TypedDict):
    """The first keywords of every limit of a step: one spelling of its id."""

    id: str
    step: str
    number: int
    verb: str


@dataclass(frozen=True)
class StepContext:
    """One step as a rule sees it. ``due`` says that raw food must be safe by the end of it,
    ``cools`` that it brings the food to cold: by its verb, or warm food put into the cold last;
    ``to_come`` is what later steps take in. ``course`` is the food's temperature before the step,
    ``stay`` what the step is for it, ``needs_cold`` whether it has to be cold or hot here;
    ``chilled_later`` says that a later step cools it before it is heated or served, ``fate`` what
    becomes of it in the end, ``stood`` the seconds it was between cold and hot before it
    was heated up again, once it was ready to eat; ``warms`` that heat goes into it here, whatever
    the step is called."""

    house: House
    formula: JoinedFormula
    step: JoinedStep
    before: Product
    due: bool = False
    later_hot_hold: bool = False
    cools: bool = False
    to_come: tuple[Component, ...] = ()
    course: Course = field(default_factory=Course)
    stay: Stay = field(default_factory=lambda: Stay("between", "unknown"))
    needs_cold: bool = False
    chilled_later: bool = False
    fate: Fate = field(default_factory=lambda: Fate(False, True, True))
    stood: Fraction = Fraction(0)
    warms: bool = False

    @property
    def freed(self) -> bool:
        """Whether the formula's word that the finished food needs no cold counts at the step: raw
        dough isn't bread yet."""
        return bool(self.formula.formula.not_tcs) and not self.needs_cold

    def names(self, of: str) -> Names:
        """What names a limit at this step: its id, which ends in ``of``, and the step's own."""
        step = self.step
        ident = f"{self.formula.id}/{step.id}/{of}"
        return Names(id=ident, step=step.id, number=step.number, verb=step.verb)

    def time_place(self) -> Place:
        """Where the step's time is written: in the formula, else in the process."""
        formula, step = self.formula.formula, self.step.step
        if self.step.id in formula.times:
            return formula.place("times", self.step.id)
        return step.place("time" if step.time is not None else "do")

    @property
    def unit(self) -> Degree:
        return self.house.kitchen.temperature

    @property
    def accuracy(self) -> TemperatureDifference:
        return self.house.probe.accuracy

    def target_place(self) -> Place:
        """Where the target is: in the formula, else in the process."""
        formula, step = self.formula.formula, self.step.step
        if self.step.target is None:
            return step.place("do")
        place = step.place("target")
        if self.step.id in formula.targets:
            place = formula.place("targets", self.step.id)
        if place.length == 1:  # `core: 75 °C` on a line of its own: the whole of it is meant
            place = replace(place, length=len(place.text) - place.column + 1)
        return place

    def finding(
        self,
        code: str,
        severity: Severity,
        message: str,
        help: str = "",
        write: tuple[str, ...] = (),
        place: Place | None = None,
        source: str = "",
    ) -> Finding:
        where = place or self.target_place()
        return Finding(
            code, severity, message, where, help, write, source, frozenset({self.formula.id})
        )

    def fixed(self, *targets: str) -> tuple[str, ...]:
        """The line a target is on with each of ``targets`` in its place; before them the target
        as typed but in the other scale, if that would do. What the step's `at` is too cool for has
        it set hotter on the same line, and is left out where `at` is on another (`hotter`)."""
        place = self.target_place()
        typed = (*self._other_scale(targets), *targets)
        lines = (self._set_hotter(place, place.fixed(target), target) for target in typed)
        return tuple(line for line in lines if line)

    def _too_cool_for(self, typed: str) -> Temperature | None:
        """The temperature of a target that what the step is set to can't bring food to; None where
        it can, or where nothing is set. A machine that heats the food itself sets no such figure.
        """
        step, at, target = self.step, self.step.step.at, read_target(typed)
        heats_itself = step.machine is not None and step.machine.kind == "microwave"
        wanted = target.coolest if target.kind in ("core", "surface") else None
        if at is None or wanted is None or not step.effects & HEATS or heats_itself:
            return None
        return wanted if at.warmest < wanted else None

    def _set_hotter(self, place: Place, line: str, typed: str) -> str:
        """A line to write, with the step's `at` as hot as the target that is ``typed`` on it, if it
        is too cool for that; empty where `at` isn't on that line."""
        wanted, at = self._too_cool_for(typed), self.step.step.place("at")
        if wanted is None:
            return line
        found = _AT.search(line) if (at.file, at.line) == (place.file, place.line) else None
        if found is None:
            return ""
        moved = replace(at, text=line, column=found.end() + 1)
        return moved.fixed(breakable(str(wanted)))

    def within_reach(self, targets: tuple[str, ...]) -> tuple[str, ...]:
        """Those of ``targets`` that what the step is set to can bring food to."""
        return tuple(t for t in targets if self._too_cool_for(t) is None)

    def hotter(self, *targets: str) -> str:
        """What to do besides where the step is set too cool for all of ``targets``, a sentence."""
        wanted = [w for w in map(self._too_cool_for, targets) if w is not None]
        if not wanted or len(wanted) < len(targets):
            return ""
        return (
            f"At {self.step.step.at} it can't get there: set `at` to {min(wanted)} or hotter, too."
        )

    def _other_scale(self, targets: tuple[str, ...]) -> tuple[str, ...]:
        """The target as typed but in the other scale, where that would do for one of
        ``targets``."""
        typed = self.step.target
        if typed is None or typed.degrees is None or typed.degrees.is_range:
            return ()
        one = typed.degrees.coolest
        if len(self.house.probe.reads) == 1 and one.unit in self.house.probe.reads:
            return ()  # nobody here reads the other scale
        try:
            meant = one.swapped()
        except ValueError:
            return ()
        if not any(self._would_do(typed, meant, read_target(target)) for target in targets):
            return ()
        held = f" for {typed.hold.text}" if typed.hold else ""
        return (breakable(f"{typed.kind} {meant}{held}"),)

    def _would_do(self, typed: Target, meant: Temperature, wanted: Target) -> bool:
        """Whether what is ``typed`` would do for a target that is ``wanted``, were its temperature
        the one that is ``meant``."""
        assert wanted.coolest is not None and wanted.warmest is not None
        if wanted.kind in ("to", "below"):
            return _COLDEST <= meant <= wanted.warmest + self.accuracy
        if wanted.hold and typed.hold and typed.hold.shortest < wanted.hold.shortest:
            return False
        return wanted.coolest - self.accuracy <= meant <= _HOTTEST

    def targets_with(self, targets: tuple[str, ...]) -> tuple[tuple[str, ...], Place]:
        """The formula's line of targets with each of ``targets`` for this step in it, behind those
        it has, or as a line of its own below them; and where that line is, or the process is named
        if there is none."""
        formula = self.formula.formula
        if not formula.targets or self.step.id in formula.targets:
            lines = tuple(f"targets: {{{self.step.id}: {t}}}" for t in targets)
            return lines, formula.key_place("process")
        place = formula.key_place("targets")
        whole = place.text.strip()
        if not (whole.startswith("targets: {") and whole.endswith("}")):
            return tuple(f"{self.step.id}: {t}" for t in targets), place
        return tuple(f"{whole[:-1]}, {self.step.id}: {t}}}" for t in targets), place

    def as_typed(self, kind: str, value: Fraction, hold: Fraction | None = None) -> str:
        """A target of a figure in the kitchen's unit as a chef types it: "core 68 °C for 1 min"."""
        return breakable(f"{kind} {self.degrees(value)}{held(hold) if hold else ''}")

    def source(self, row: RowHead, clause: str = "") -> Source:
        """The source of a row in the pack in force."""
        return source_of(self.house, row, clause)

    def degrees(self, value: Fraction) -> str:
        """A figure in the kitchen's unit, as people read it."""
        return f"{plain(value)}{NARROW}{self.unit}"


def chilled_to(house: House) -> str:
    """A target for chilling as a chef types it, on this kitchen's probe and scale: to the coldest
    figure at which cooling ends by the rules in force, or, where they set none, at which food is
    held cold."""
    rows = house.pack.rows_of(CoolRow)
    ends = [(r.stages[-1].to, r.stages[-1].printed) for _, r in rows if r.stages]
    ends += [(r.packed_at.value, r.packed_at.printed) for _, r in rows if r.packed_at is not None]
    held = [
        r
        for _, r in house.pack.rows_of(HoldRow, "cold_hold")
        if r.measured == "core" and not r.group
    ]
    ends = ends or [(r.value, r.printed) for r in held if r.value is not None]
    unit = house.kitchen.temperature
    figures = [figure_of(v, p, "max", house.probe.accuracy).read_at(unit) for v, p in ends]
    value = min(figures, default=to_side(Temperature.of(4, "°C").in_unit(unit), "down"))
    return f"to {plain(value)} {unit}"


def source_of(house: House, row: RowHead, clause: str = "") -> Source:
    """Document, edition and clause of a row, and the titles of the copies it was read in."""
    return house.once(("source", clause), row, lambda: _source_of(house, row, clause))


def _source_of(house: House, row: RowHead, clause: str) -> Source:
    facts = house.pack.facts
    copies = tuple(house.library.source_title(key) for key in row.read_in)
    return Source(
        row.document or facts.document,
        "" if row.document else facts.edition,
        clause or row.clause,
        copies,
        facts.checked_on,
        row.standing,
    )


def cited(house: House, row: RowHead, clause: str = "") -> str:
    """Document and clause of a row as a finding names them: those of the row's own text, which in a
    pack of law and guidance need not be the pack's."""
    source = source_of(house, row, clause)
    return f"{source.document}, {source.clause}"


def both(value: Temperature, shown_c: Fraction, shown_f: Fraction) -> str:
    """A limit in its unit of record with the other in brackets: 165 °F (74 °C)."""
    first = f"{plain(value.in_unit(value.unit))}{NARROW}{value.unit}"
    if value.unit == "°F":
        return f"{first} ({plain(shown_c)}{NARROW}°C)"
    return f"{first} ({plain(shown_f)}{NARROW}°F)"


def held(seconds: Fraction) -> str:
    """A least time as words behind a temperature, whole seconds on the strict side: " for 17 s"."""
    return f" for {duration(to_side(seconds, 'up'))}"


def hold_words(seconds: Fraction | None) -> str:
    """A hold as words straight behind a temperature: " for 17 s", ", any one reading", or
    nothing."""
    if seconds is None:
        return ""
    return held(seconds) if seconds else ", any one reading"


Rule = Callable[[StepContext], Outcome]


DayOne = Literal["made", "opened", "prepared", "packed"]
"""Which day is day 1: made here; opened, if a plant packed it; prepared elsewhere, if none did."""


@dataclass(frozen=True)
class DatedPart:
    """A ready-to-eat part that needs temperature control: its own day counts. ``how`` says which
    day that is: the day it was made here, the day a plant's container was opened, or the day it was
    prepared by whoever sold it. ``days`` is how many days it keeps by its own formula, None for
    what is bought."""

    item: str
    name: str
    how: DayOne
    days: int | None = None


@dataclass(frozen=True)
class EndContext:
    """The finished product as an ending rule sees it."""

    house: House
    formula: JoinedFormula
    product: Product
    not_tcs: str = ""
    parts_to_date: tuple[DatedPart, ...] = field(default=())
    course: Course = field(default_factory=Course)
    fate: Fate = field(default_factory=lambda: Fate(False, True, True))
    aged_s: Fraction = Fraction(0)

    @property
    def tcs(self) -> bool:
        return self.product.tcs and not self.not_tcs


@dataclass(frozen=True)
class Dates:
    """How long it may keep: ``day`` is the last day, day 1 being the day it is ready to eat.

    ``law_day`` is the code's last day or None, ``chef_day`` the chef's figure or None;
    ``law_words`` is what a law without a number of days says. ``house_day`` is the last day by a
    house limit in force, and ``house`` which that is. ``marked_after_s`` is the time after which
    the law asks for the mark, None where it doesn't say; ``day_one`` is what day 1 is the day of,
    ``makers_date`` that the maker's own date ends it if that is sooner. ``moved_days`` is how many
    days it has once it is taken out of the colder of two places, within the others. ``alone`` is
    the last day without what its parts keep, None where no part keeps it shorter.
    ``before_hold``: they are the days of the stock, before it is held by time.
    """

    kind: str
    day: int | None
    law_day: int | None
    chef_day: int | None
    frozen_days: int | None
    dated_parts: tuple[DatedPart, ...]
    words: str
    source: Source | None
    law_words: str = ""
    house: HouseRule | None = None
    house_day: int | None = None
    moved_days: int | None = None
    marked_after_s: Fraction | None = None
    day_one: DayOne = "made"
    makers_date: bool = False
    alone: int | None = None
    before_hold: bool = False

    @property
    def unmarked(self) -> bool:
        """Whether it is gone before the law asks for a mark. What is made with a dated part keeps
        that part's mark, however short it keeps itself."""
        if self.day is None or self.marked_after_s is None or self.dated_parts:
            return False
        return self.day * DAY_S <= self.marked_after_s

    @property
    def parts_to_date(self) -> tuple[str, ...]:
        """The names of the parts whose own day counts."""
        return tuple(part.name for part in self.dated_parts)


@dataclass(frozen=True)
class EndOutcome:
    """An ending rule's answer."""

    limits: tuple[Limit, ...] = ()
    findings: tuple[Finding, ...] = ()
    dates: Dates | None = None


Ending = Callable[[EndContext], EndOutcome]
