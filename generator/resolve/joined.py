"""Records joined by id: what the walk goes through."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Hashable, Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property
from typing import Any, TypeVar

from generator.measures.units import Units
from generator.records.equipment import Cold, Machine, Scale, Thermometer, Vessel
from generator.records.formula import Formula, Line, Size
from generator.records.ingredient import Ingredient
from generator.records.kitchen import Kitchen
from generator.records.process import Process, Step, Target
from generator.records.station import Station
from generator.records.yields import StepYield
from generator.reference.library import Library
from generator.reference.packs import Pack
from generator.reference.rows import AllergenList

_T = TypeVar("_T")


@dataclass(frozen=True)
class ConfirmedFact:
    """A fact that is so though the ingredient's name or foodstuff says otherwise, in words: "needs
    no time and temperature control", with its reason and its document."""

    item: str
    name: str
    key: str
    words: str
    reason: str
    document: str

    @property
    def sentence(self) -> str:
        """All of it as a sentence that prints: "Cured loin: needs no … . Reason. Document: …"."""
        return (
            f"{self.name}: {self.words}. {self.reason.rstrip('.')}. On file: "
            f"{self.document.rstrip('.')}."
        )


def confirmed_facts(item: str, facts: Ingredient) -> tuple[ConfirmedFact, ...]:
    """The confirmed facts of one ingredient, as they print."""
    found: list[ConfirmedFact] = []
    for key, held in facts.confirmed.items():
        stated = getattr(facts, key)
        if key == "tcs":
            words = (
                "needs no time and temperature control"
                if not stated
                else "needs time and temperature control"
            )
        elif key == "allergens":
            words = f"declares {', '.join(str(a) for a in stated) or 'no allergen'}"
        elif key == "parasites":
            words = (
                f"freed of parasites as {stated.freed_by.replace('-', ' ')}"
                if stated
                else "not freed of parasites"
            )
        else:
            words = f"{key} is {stated or 'not stated'}"
        found.append(ConfirmedFact(item, facts.name, key, words, held.reason, held.document))
    return tuple(found)


def confirmed_in(
    formula: JoinedFormula, formulas: Mapping[str, JoinedFormula]
) -> tuple[ConfirmedFact, ...]:
    """The confirmed facts of everything in a formula, made-ahead formulas included, once each."""
    found: list[ConfirmedFact] = []
    for line in formula.lines:
        if line.ingredient is not None:
            found.extend(confirmed_facts(line.item, line.ingredient))
        elif line.formula is not None and line.formula in formulas:
            found.extend(confirmed_in(formulas[line.formula], formulas))
    return tuple(dict.fromkeys(found))


@dataclass(frozen=True)
class JoinedLine:
    """A line with its ingredient, or the id of the made-ahead formula it means; ``may_be`` are the
    lines that may be in its place."""

    part: str
    item: str
    line: Line
    name: str
    ingredient: Ingredient | None = None
    formula: str | None = None
    may_be: tuple[JoinedLine, ...] = ()


@dataclass(frozen=True)
class Comes:
    """What comes to a step from the earlier step ``number``: what that gave, by its ``name`` where
    it has one; ``left`` says that it stayed behind there."""

    number: int
    name: str = ""
    left: bool = False


@dataclass(frozen=True)
class JoinedStep:
    """A step with its machine, its place, what it does to the food, and the formula's target.

    ``comes`` are the streams it takes from earlier steps, ``yields`` what it makes of their weight,
    None where it loses and gains nothing; ``waiting`` says that it is none of the formula's, but
    food that waits while other food is worked on."""

    number: int
    id: str
    step: Step
    verb: str
    effects: frozenset[str]
    parts: tuple[str, ...]
    machine: Machine | None = None
    cold: Cold | None = None
    vessel: Vessel | None = None
    target: Target | None = None
    comes: tuple[Comes, ...] = ()
    yields: StepYield | None = None
    waiting: bool = False


@dataclass(frozen=True)
class Way:
    """What the food of one step went through before it, and goes through behind it. The step takes
    in the parts of the streams that join there, too."""

    before: tuple[JoinedStep, ...]
    step: JoinedStep
    after: tuple[JoinedStep, ...]


@dataclass(frozen=True)
class JoinedFormula:
    """A formula with everything it names; ``uses`` holds the ids it depends on, ``used_in`` those
    of the formulas it goes into; ``kept_as`` has the names of its by-products, by the output's.
    ``ways`` are those of its streams, by the number of a step; None
    where its steps are one after the other."""

    id: str
    formula: Formula
    station: Station
    process: Process
    lines: tuple[JoinedLine, ...]
    steps: tuple[JoinedStep, ...]
    base: frozenset[tuple[str, str]]
    sizes: tuple[Size, ...]
    vessel: Vessel | None
    uses: frozenset[str]
    file: str
    used_in: frozenset[str] = frozenset()
    ways: Mapping[int, Way] | None = None
    kept_as: Mapping[str, str] = field(default_factory=dict)

    @property
    def sub_formulas(self) -> tuple[str, ...]:
        """The ids of the made-ahead formulas it draws on, once each."""
        return tuple(dict.fromkeys(line.formula for line in self.lines if line.formula))

    def step(self, number: int) -> JoinedStep:
        """The step of a number."""
        if self.ways is not None:
            return self.ways[number].step
        return self.steps[number - 1]

    def after(self, number: int) -> tuple[JoinedStep, ...]:
        """What the food of a step goes through behind it: the steps, and where it waits for others
        in between. Behind none (0) there are all of them."""
        if self.ways is None or number not in self.ways:
            return self.steps[number:]
        return self.ways[number].after

    def before(self, number: int) -> tuple[JoinedStep, ...]:
        """What the food of a step went through before it."""
        return self.steps[: number - 1] if self.ways is None else self.ways[number].before

    def upto(self, number: int) -> tuple[JoinedStep, ...]:
        """The same, and the step itself."""
        return (*self.before(number), self.step(number))

    def since_taken(self, parts: AbstractSet[str]) -> tuple[JoinedStep, ...]:
        """What food goes through from the step on that takes the first of some parts in: all steps
        where none names them."""
        return self.since(self.taken_at(parts))

    def taken_at(self, parts: AbstractSet[str]) -> int:
        """The number of the step that takes the first of some parts in; 1 where none names them."""
        return min((s.number for s in self.steps if parts & set(s.parts)), default=1)

    def since(self, number: int) -> tuple[JoinedStep, ...]:
        """A step, and what its food goes through behind it."""
        return (self.step(number), *self.after(number))

    def along(self, number: int) -> JoinedFormula:
        """The formula as the food of a step sees it: with what that goes through alone."""
        if self.ways is None:
            return self
        return replace(self, steps=(*self.upto(number), *self.after(number)))


@dataclass(frozen=True)
class House:
    """What all formulas of a kitchen share.

    ``doubted`` holds the scales with a slip of their own, by id, and how many grams each may be
    sure to for all that is known: what is too little for the others is not reported on its
    account.
    """

    kitchen: Kitchen
    units: Units
    library: Library
    pack: Pack
    probe: Thermometer
    scales: tuple[tuple[str, Scale], ...]
    doubted: Mapping[str, Fraction]
    stations: dict[str, Station]
    as_of: datetime.date
    allergens: AllergenList
    additives: Pack | None = None

    @cached_property
    def kept(self) -> dict[Any, Any]:
        """What was worked out of the house alone, by whoever did: every step asks for the same."""
        return {}

    def once(self, what: Hashable, record: object, worked_out: Callable[[], _T]) -> _T:
        """What is ``worked_out`` of the house and one of its records alone: once for all formulas.

        ``what`` names it. The record is kept beside it, so that no other can come to its place.
        """
        key = (what, id(record))
        held: tuple[object, _T] | None = self.kept.get(key)
        if held is None:
            held = self.kept[key] = (record, worked_out())
        return held[1]
