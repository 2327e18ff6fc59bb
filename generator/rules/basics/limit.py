"""A critical limit as the sheet carries it, and the figures on it: rule by rule, never in words."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from generator.measures.basis import Basis
from generator.measures.rounding import Side, to_side
from generator.measures.temperature import Degree, Temperature, TemperatureDifference
from generator.measures.words import NARROW, listed, plain
from generator.rules.basics.house_rule import HouseRule

Bound = Literal["min", "max"]
MADE = "it is made"
"""When a cooling clock without a starting temperature starts, for food that was never hot."""
STRICT_SIDE: dict[Bound, Side] = {"min": "up", "max": "down"}


@dataclass(frozen=True)
class Source:
    """Where a limit stands: document, edition, clause, and the copies it was read in; ``standing``
    tells law from an authority's guidance."""

    document: str
    edition: str
    clause: str
    read_in: tuple[str, ...]
    checked_on: str = ""
    standing: str = "law"

    @property
    def words(self) -> str:
        """Document, clause and the first two copies it was read in."""
        read = f"; read in {listed(self.read_in[:2])}" if self.read_in else ""
        return f"{self.document}, {self.clause}{read}"


@dataclass(frozen=True)
class Figure:
    """One temperature of a limit: as enacted, shown in both scales, and what the probe must read.

    ``shown`` leaves the unit of record untouched and rounds the other to the strict side;
    ``read_at`` is the limit with the probe's accuracy on top, whole degrees on the strict side.
    """

    value: Temperature
    bound: Bound
    shown_c: Fraction
    shown_f: Fraction
    read_at_c: Fraction
    read_at_f: Fraction

    def shown(self, unit: Degree) -> Fraction:
        return self.shown_c if unit == "degC" else self.shown_f

    def read_at(self, unit: Degree) -> Fraction:
        return self.read_at_c if unit == "degC" else self.read_at_f

    def asked(self, unit: Degree, target: Temperature | None) -> Fraction:
        """What the page asks for: ``read_at``, or the chef's ``target`` where that is stricter,
        whole degrees on the strict side."""
        reading = self.read_at(unit)
        if target is None:
            return reading
        stricter = max if self.bound == "min" else min
        return stricter(reading, to_side(target.in_unit(unit), STRICT_SIDE[self.bound]))


def figure_of(
    value: Temperature,
    printed: Temperature | None,
    bound: Bound,
    accuracy: TemperatureDifference,
) -> Figure:
    """The figures of a limit.

    ``value`` is in the unit of record; ``printed`` what the source prints in the other unit, or
    None; ``accuracy`` the probe's, plus or minus.
    """
    side = STRICT_SIDE[bound]

    def shown(unit: Degree) -> Fraction:
        exact = value.in_unit(unit)
        if unit == value.unit:
            return exact
        rounded = to_side(exact, side)
        if printed is None or printed.unit != unit:
            return rounded
        choose = max if bound == "min" else min
        return choose(rounded, printed.in_unit(unit))

    def read_at(unit: Degree) -> Fraction:
        exact, off = value.in_unit(unit), accuracy.in_unit(unit)
        return to_side(exact + off if bound == "min" else exact - off, side)

    return Figure(value, bound, shown("degC"), shown("degF"), read_at("degC"), read_at("degF"))


@dataclass(frozen=True)
class Stage:
    """One stage of cooling: reach ``figure`` within so many seconds of the clock's start, or, where
    ``after_stage`` is true, of the end of the stage before. What is only ``advised`` is no limit."""

    figure: Figure
    start: Temperature | None
    within_s: Fraction
    clause: str
    after_stage: bool = False
    advised: bool = False


@dataclass(frozen=True)
class Reach:
    """The most time a food may take from above ``start`` to its limit, with the clause that says so."""

    start: Figure
    within_s: Fraction
    source: Source


@dataclass(frozen=True)
class Option:
    """One row that would do: what the probe must read, and for how many seconds (0: any reading)."""

    row: str
    figure: Figure
    hold_s: Fraction | None
    clause: str
    group: str


@dataclass(frozen=True)
class Acidity:
    """A pH by law, and what the meter must read: each at most so much, or, where ``below`` it, less.

    ``law`` is None where the food is dry enough to need no control at any pH.
    """

    law: Fraction | None
    law_below: bool
    read: Fraction
    read_below: bool

    def law_words(self) -> str:
        """The law's own figure: "pH 4.6 or less", "pH below 4.2"."""
        if self.law is None:
            return "no pH is asked for at this water activity"
        return _ph(self.law, self.law_below)

    def read_words(self) -> str:
        """What the meter must read."""
        return _ph(self.read, self.read_below)


def _ph(value: Fraction, below: bool) -> str:
    return f"pH below{NARROW}{plain(value)}" if below else f"pH{NARROW}{plain(value)} or less"


Status = Literal["meets", "close", "fails", "none"]


@dataclass(frozen=True)
class Verdict:
    """What the limit says of the chef's target: ``close`` lies between limit and set-point."""

    status: Status = "none"
    words: str = ""
    mends: tuple[str, ...] = ()


@dataclass(frozen=True)
class Limit:
    """One critical limit at one step.

    ``hold_s`` is what the page tells the cook: the row's hold or the chef's longer one; None where
    the row sets no hold, 0 for an instant. ``read`` is the largest figure on the page, in the
    kitchen's unit: the greater of set-point and target. ``covered`` is false where the pack holds
    no row: then there is no figure at all. An additive has ``ppm`` as dosed, ``most_ppm`` by law,
    ``least_ppm`` where one is asked for, ``final_ppm`` on all meat, later steps' too,
    ``weighed_least_ppm`` what a weighing may bring it down to, ``meat_share`` the grams its ppm are
    taken on, ``substance`` what is dosed; its ``figure`` is None, and so is that
    of acidity, which has a ``ph``. ``words`` are a rule that sets no figure at all; they are never shown as one.
    ``within_s`` is the most time it may last, said in full by ``within_words``;
    ``stay`` is what the food may never pass meanwhile, where the law says so; ``stored`` the figure it
    is kept at for its hold once it has been at ``figure``, where that is another.
    ``when`` is said behind its figure where one box isn't in force all the time.
    ``measured`` says where the probe is: core, air or water. ``reach`` is how soon the food must
    be there, where the law says so. ``stand_s`` is how long it then stands covered, as the page tells
    the cook, ``row_stand_s`` what the row asks for. Cooling may have to begin within ``begin_s`` of the end of cooking,
    and to go on to ``finish`` before the food is packed, in no set time. Where a limit of the kitchen's own is in force, ``house`` says
    which, and ``law`` is the code's own limit at this place; everything else is the house limit's.
    ``since`` is when a cooling clock without a starting temperature starts.
    """

    id: str
    step: str
    number: int
    verb: str
    hazard: str
    bound: Bound
    source: Source
    figure: Figure | None = None
    hold_s: Fraction | None = None
    row_hold_s: Fraction | None = None
    stages: tuple[Stage, ...] = ()
    clock: Figure | None = None
    read: Fraction | None = None
    target: str = ""
    options: tuple[Option, ...] = ()
    because: tuple[str, ...] = ()
    group: str = ""
    verdict: Verdict = field(default_factory=Verdict)
    basis: Basis = field(default_factory=Basis)
    ppm: Fraction | None = None
    most_ppm: Fraction | None = None
    least_ppm: Fraction | None = None
    meat_share: Fraction | None = None
    final_ppm: Fraction | None = None
    weighed_least_ppm: Fraction | None = None
    substance: str = ""
    ph: Acidity | None = None
    covered: bool = True
    note: str = ""
    words: str = ""
    within_s: Fraction | None = None
    within_words: str = ""
    measured: str = "core"
    reach: Reach | None = None
    stand_s: Fraction | None = None
    row_stand_s: Fraction | None = None
    begin_s: Fraction | None = None
    finish: Figure | None = None
    when: str = ""
    stay: Figure | None = None
    stored: Figure | None = None
    probe: str = ""
    if_missed: str = ""
    house: HouseRule | None = None
    law: Limit | None = None
    since: str = MADE

    @property
    def is_dose(self) -> bool:
        """Whether it holds a dose in ppm, and not a reading."""
        return self.ppm is not None
