"""Records joined by id: what the walk goes through."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from generator.measures.units import Units
from generator.records.equipment import Cold, Machine, Scale, Thermometer, Vessel
from generator.records.formula import Formula, Line, Size
from generator.records.ingredient import Ingredient
from generator.records.kitchen import Kitchen
from generator.records.process import Process, Step, Target
from generator.records.station import Station
from generator.reference.library import Library
from generator.reference.packs import Pack
from generator.reference.rows import AllergenList


@dataclass(frozen=True)
class JoinedLine:
    """A line with its ingredient, or the id of the made-ahead formula it stands for."""

    part: str
    item: str
    line: Line
    name: str
    ingredient: Ingredient | None = None
    formula: str | None = None


@dataclass(frozen=True)
class JoinedStep:
    """A step with its machine, its place, what it does to the food, and the formula's target."""

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


@dataclass(frozen=True)
class JoinedFormula:
    """A formula with everything it names; ``uses`` holds the ids it depends on, ``used_in`` those of the
    formulas it goes into."""

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

    @property
    def sub_formulas(self) -> tuple[str, ...]:
        """The ids of the made-ahead formulas it draws on, once each."""
        return tuple(dict.fromkeys(line.formula for line in self.lines if line.formula))


@dataclass(frozen=True)
class House:
    """What all formulas of a kitchen share."""

    kitchen: Kitchen
    units: Units
    library: Library
    pack: Pack
    probe: Thermometer
    scales: tuple[tuple[str, Scale], ...]
    stations: dict[str, Station]
    as_of: datetime.date
    allergens: AllergenList
    additives: Pack | None = None
