"""What a rule is told, and what it answers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction

from generator.finding import Finding, Place, Severity
from generator.joined import House, JoinedFormula, JoinedStep
from generator.measures.temperature import SIGN, Degree, Temperature, TemperatureDifference
from generator.measures.words import NARROW, duration, plain
from generator.product import Product
from generator.reference.rows import Row
from generator.rules.limit import Limit, Source


@dataclass(frozen=True)
class Outcome:
    """A rule's answer: limits, findings, and what it learned for the next state."""

    limits: tuple[Limit, ...] = ()
    findings: tuple[Finding, ...] = ()
    cooked: bool = False
    roast_chart: bool = False


NOTHING = Outcome()


@dataclass(frozen=True)
class StepContext:
    """One step as a rule sees it. ``due`` says that raw food must be safe by the end of it,
    ``cools`` that it brings the food to cold: by its verb, or hot food put into the cold last."""

    house: House
    formula: JoinedFormula
    step: JoinedStep
    before: Product
    due: bool = False
    later_hot_hold: bool = False
    cools: bool = False

    @property
    def unit(self) -> Degree:
        return self.house.kitchen.temperature

    @property
    def accuracy(self) -> TemperatureDifference:
        return self.house.probe.accuracy

    def target_place(self) -> Place:
        """Where the target stands: in the formula, else in the process."""
        formula = self.formula.formula
        if self.step.id in formula.targets:
            place = formula.place("targets")
            target = formula.targets[self.step.id]
            start = place.text.find(target.text)
            if start >= 0:
                return Place(place.file, place.line, start + 1, place.text, len(target.text))
            return _find_below(place, self.step.id)
        return self.step.step.place("target") if self.step.target else self.step.step.place("do")

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

    def mended(self, mend: str) -> tuple[str, ...]:
        """The quoted line with the target replaced."""
        place, target = self.target_place(), self.step.target
        if target is not None and target.text and target.text in place.text:
            return (place.text.replace(target.text, mend).strip(),)
        return (f"target: {mend}",)

    def source(self, row: Row, clause: str = "") -> Source:
        """The source of a row in the pack in force."""
        return source_of(self.house, row, clause)

    def degrees(self, value: Fraction) -> str:
        """A figure in the kitchen's unit, as people read it."""
        return f"{plain(value)}{NARROW}{SIGN[self.unit]}"


def _find_below(place: Place, step: str) -> Place:
    """Targets may stand on lines below their key; then the key's line is quoted."""
    return place if place.text else Place(place.file, place.line, place.column, step)


def source_of(house: House, row: Row, clause: str = "") -> Source:
    """Document, edition and clause of a row, and the titles of the copies it was read in."""
    facts = house.pack.facts
    copies = tuple(house.library.source_title(key) for key in row.read_in)
    return Source(facts.document, facts.edition, clause or row.clause, copies, facts.checked_on)


def both(value: Temperature, shown_c: Fraction, shown_f: Fraction) -> str:
    """A limit in its unit of record with the other in brackets: 165 °F (74 °C)."""
    first = f"{plain(value.in_unit(value.unit))}{NARROW}{SIGN[value.unit]}"
    if value.unit == "degF":
        return f"{first} ({plain(shown_c)}{NARROW}°C)"
    return f"{first} ({plain(shown_f)}{NARROW}°F)"


def hold_words(seconds: Fraction | None) -> str:
    """A hold as words straight behind a temperature: " for 17 s", ", any one reading", or nothing."""
    if seconds is None:
        return ""
    return f" for {duration(seconds)}" if seconds else ", any one reading"


Rule = Callable[[StepContext], Outcome]


@dataclass(frozen=True)
class EndContext:
    """The finished product as an ending rule sees it."""

    house: House
    formula: JoinedFormula
    product: Product
    last_step: JoinedStep
    not_tcs: str = ""
    parts_to_date: tuple[str, ...] = field(default=())

    @property
    def tcs(self) -> bool:
        return self.product.tcs and not self.not_tcs


@dataclass(frozen=True)
class Dates:
    """How long it may keep: ``day`` is the last day, day 1 being the day it is ready to eat.

    ``law_day`` is the code's last day or None, ``chef_day`` the chef's figure or None.
    """

    kind: str
    day: int | None
    law_day: int | None
    chef_day: int | None
    frozen_days: int | None
    parts_to_date: tuple[str, ...]
    words: str
    source: Source | None


@dataclass(frozen=True)
class EndOutcome:
    """An ending rule's answer."""

    limits: tuple[Limit, ...] = ()
    findings: tuple[Finding, ...] = ()
    dates: Dates | None = None


Ending = Callable[[EndContext], EndOutcome]
