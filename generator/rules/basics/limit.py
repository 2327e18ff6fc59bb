"""A critical limit as the sheet carries it, and the figures on it: rule by rule, never in words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from typing import Literal, TypeAlias

from generator.measures.basis import Basis
from generator.measures.between import Between
from generator.measures.rounding import Side, to_side
from generator.measures.temperature import Degree, Temperature, TemperatureDifference
from generator.measures.words import NARROW, listed, plain
from generator.rules.basics.house_rule import HouseRule

Bound = Literal["min", "max"]
Measured = Literal["core", "air", "water", "surface"]
"""Where a temperature is read."""
MADE = "it is made"
"""When a cooling clock without a starting temperature starts, for food that was never hot."""
STRICT_SIDE: dict[Bound, Side] = {"min": "up", "max": "down"}


@dataclass(frozen=True)
class Source:
    """Where a limit is: document, edition, clause, and the copies it was read in; ``standing``
    is law or an authority's guidance."""

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
        return self.shown_c if unit == "°C" else self.shown_f

    def read_at(self, unit: Degree) -> Fraction:
        return self.read_at_c if unit == "°C" else self.read_at_f

    def asked(self, unit: Degree, target: Temperature | None) -> Fraction:
        """What the page asks for: ``read_at``, or the chef's ``target`` where that is stricter,
        whole degrees on the strict side."""
        reading = self.read_at(unit)
        if target is None:
            return reading
        stricter = max if self.bound == "min" else min
        return stricter(reading, to_side(target.in_unit(unit), STRICT_SIDE[self.bound]))


@lru_cache(4096)
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

    return Figure(value, bound, shown("°C"), shown("°F"), read_at("°C"), read_at("°F"))


@dataclass(frozen=True)
class Stage:
    """One stage of cooling: reach ``figure`` within so many seconds of the clock's start, or, where
    ``after_stage`` is true, of the end of the stage before. What is only ``advised`` is no
    limit."""

    figure: Figure
    start: Temperature | None
    within_s: Fraction
    clause: str
    after_stage: bool = False
    advised: bool = False


@dataclass(frozen=True)
class Reach:
    """The most time a food may take from above ``start`` to its limit, with the clause that says
    so."""

    start: Figure
    within_s: Fraction
    source: Source


@dataclass(frozen=True)
class Option:
    """One row that would do: what the probe must read, and for how many seconds (0: any
    reading)."""

    row: str
    figure: Figure
    hold_s: Fraction | None
    clause: str
    group: str


@dataclass(frozen=True)
class Acidity:
    """A pH by law, and what the meter must read: each at most so much, or, where ``below`` it,
    less.

    ``law`` is None where the food is dry enough to need no control at any pH.
    """

    law: Fraction | None
    law_below: bool
    read: Fraction
    read_below: bool

    def law_words(self) -> str:
        """The law's own figure: "pH 4.6 or less", "pH below 4.2"."""
        if self.law is None:
            return "no pH is required at this water activity"
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
    fixes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Hold:
    """How long a temperature is held, in seconds: ``asked_s`` is what the page says
    the cook, the row's time or the chef's longer one (0: any one reading); ``row_s`` is the row's,
    None where only the chef asks for a time."""

    asked_s: Fraction
    row_s: Fraction | None


@dataclass(frozen=True)
class Standing:
    """How long food then stands covered, in seconds: as the page says, and as the row
    asks."""

    asked_s: Fraction
    row_s: Fraction


@dataclass(frozen=True)
class Lasts:
    """The most time something may last, in seconds, and the ``words`` that say what is timed;
    meanwhile the food is ``never_above`` a figure, where the law says so."""

    most_s: Fraction
    words: str
    never_above: Figure | None = None


@dataclass(frozen=True, kw_only=True)
class LimitHead:
    """What every critical limit has, whatever it holds.

    ``number`` is the step's, 0 for what isn't asked at a step. ``because`` are the components that
    put the food into its ``group``. Where a limit of the kitchen's own is in force, ``house`` says
    which, and ``law`` is the code's own limit at this place; everything else is the house limit's.
    """

    id: str
    step: str
    number: int
    verb: str
    hazard: str
    bound: Bound
    source: Source
    because: tuple[str, ...] = ()
    group: str = ""
    verdict: Verdict = field(default_factory=Verdict)
    basis: Basis = field(default_factory=Basis)
    note: str = ""
    probe: str = ""
    if_missed: str = ""
    house: HouseRule | None = None
    law: Law | None = None


@dataclass(frozen=True, kw_only=True)
class _Reading(LimitHead):
    """A temperature that is read: ``figure`` as enacted; ``read`` is the largest figure on the
    page, in the kitchen's unit, the greater of set-point and target; ``measured`` says where the
    probe is."""

    figure: Figure
    read: Fraction
    target: str = ""
    measured: Measured = "core"
    hold: Hold | None = None

    @property
    def hold_s(self) -> Fraction | None:
        """The hold on the page, in seconds: 0 for any one reading, None where none is
        asked."""
        return self.hold.asked_s if self.hold is not None else None

    @property
    def row_hold_s(self) -> Fraction | None:
        """The hold the row asks for, in seconds: 0 for any one reading, None where it asks for
        none."""
        return self.hold.row_s if self.hold is not None else None


@dataclass(frozen=True, kw_only=True)
class HeatingLimit(_Reading):
    """Food brought to a temperature by heat: cooked or reheated.

    ``options`` are all rows one of which it must meet, ``reach`` how soon it must be there, where
    the law says so; ``stand`` how long it then stands covered.
    """

    options: tuple[Option, ...] = ()
    reach: Reach | None = None
    stand: Standing | None = None


@dataclass(frozen=True, kw_only=True)
class KeepingLimit(_Reading):
    """A temperature never passed: food held, received, thawed, sealed, frozen or out of the cold by
    time.

    ``stored`` is the figure it is kept at for its hold once it has been at ``figure``, where that
    is another. ``lasts`` is the most time it may be so. ``when`` is said behind the figure where
    one box isn't in force all the time.
    """

    stored: Figure | None = None
    lasts: Lasts | None = None
    when: str = ""


@dataclass(frozen=True, kw_only=True)
class CoolingLimit(LimitHead):
    """Food cooled in stages, of which there is at least one, each with its figure and its time.

    The clock starts at ``clock``, or, for food without a starting temperature, ``since``. Cooling
    may have to begin within ``begin_s`` seconds of the end of cooking, and to go on to ``finish``
    before the food is packed, in no set time. ``read`` is what the page asks for at the end, in the
    kitchen's unit. ``beside_law``: it is a time of guidance, beside law that sets none.
    """

    stages: tuple[Stage, ...]
    read: Fraction
    clock: Figure | None = None
    begin_s: Fraction | None = None
    finish: Figure | None = None
    since: str = MADE
    target: str = ""
    beside_law: bool = False

    @property
    def figure(self) -> Figure:
        """The figure at which cooling is over: the one before packing, else the last stage's."""
        return self.finish or self.stages[-1].figure

    @property
    def measured(self) -> Measured:
        """Always the core: food is cold when its middle is."""
        return "core"


@dataclass(frozen=True, kw_only=True)
class DoseLimit(LimitHead):
    """A dose by law, in ppm of ``substance``: ``ppm`` as dosed, ``most_ppm`` by law, None for what
    has only a least; ``least_ppm`` where one is asked for.

    ``meat_share`` are the grams its ppm are taken on, ``final_ppm`` is the dose on all meat, later
    steps' too, ``weighed_least_ppm`` what a weighing may bring it down to.
    """

    substance: str
    ppm: Fraction
    most_ppm: Fraction | None
    least_ppm: Fraction | None
    meat_share: Fraction
    final_ppm: Fraction
    weighed_least_ppm: Fraction | None

    @property
    def law_ppm(self) -> Fraction:
        """The law's own figure in ppm: the most, or of an accelerator the least."""
        found = self.most_ppm if self.most_ppm is not None else self.least_ppm
        assert found is not None, "a dose has a most or a least"
        return found


@dataclass(frozen=True, kw_only=True)
class ShareLimit(LimitHead):
    """A bound on what food sold under a name is made of: ``percent`` by the row, of what ``of``
    says in words; ``found`` is what this food comes to, in percent, from … to …"""

    percent: Fraction
    of: str
    found: Between

    @property
    def words(self) -> str:
        """What it comes to, without the sign: 28.1, or 27.3 to 30.6, on its side of the bound."""
        return self.found.words_beside(self.percent, 1)


@dataclass(frozen=True, kw_only=True)
class AcidityLimit(LimitHead):
    """A pH the meter must read."""

    ph: Acidity


@dataclass(frozen=True, kw_only=True)
class TimeLimit(LimitHead):
    """A most time alone, whatever the temperature."""

    lasts: Lasts


@dataclass(frozen=True, kw_only=True)
class InWords(LimitHead):
    """A rule that sets no figure at all: its ``words`` are never shown as one. ``guided`` is the
    time that guidance gives beside such law of cooling, for readings and predictions to be held
    against; it is no limit."""

    words: str
    target: str = ""
    guided: CoolingLimit | None = None


@dataclass(frozen=True, kw_only=True)
class NotCovered(LimitHead):
    """No row is held for this, and ``why``: then there is no figure at all."""

    why: str


Probed: TypeAlias = HeatingLimit | KeepingLimit | CoolingLimit
"""The limits a probe proves."""
Law: TypeAlias = Probed | InWords
"""The limits of the code in whose place one of the kitchen's own may be."""
Limit: TypeAlias = Law | DoseLimit | ShareLimit | AcidityLimit | TimeLimit | NotCovered
"""One critical limit at one step. Its class is its kind: who shows it asks which by ``match``, with
a case for each and ``assert_never`` at the end, so that the type checker names a kind that is left
out."""


def held_against(limits: Iterable[Limit]) -> list[Limit]:
    """What readings and predictions are held against: the limits, and in the place of law of
    cooling in words the time that guidance gives beside it, which is named as guidance."""
    return [(lm.guided or lm) if isinstance(lm, InWords) else lm for lm in limits]


def of_guidance(limit: Limit) -> bool:
    """Whether it is a time of guidance beside law that sets none."""
    return isinstance(limit, CoolingLimit) and limit.beside_law


def most_time(limit: Limit) -> Lasts | None:
    """The most time a limit lets something last; None where it sets none. A stage of cooling has
    its own."""
    return limit.lasts if isinstance(limit, KeepingLimit | TimeLimit) else None
