"""A formula walked to its end: each step with the product before and after it, its limits, what
follows."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from generator.files.finding import Finding
from generator.measures.basis import Basis
from generator.resolve.joined import JoinedFormula, JoinedStep
from generator.rules.basics.context import Dates
from generator.rules.basics.course import Course, Stay
from generator.rules.basics.house_rule import Spoken
from generator.rules.basics.limit import Limit
from generator.rules.basics.product import Product
from generator.rules.cures.salting import Salting
from generator.scaling.batch import Figures
from generator.sheet.weighing import WeighedLine


@dataclass(frozen=True)
class WalkedStep:
    """A step with the product before and after it, and its limits; what it is for the food's
    temperature, and the course of that once it is done."""

    step: JoinedStep
    before: Product
    after: Product
    limits: tuple[Limit, ...]
    stay: Stay
    course: Course


@dataclass(frozen=True)
class Walk:
    """A formula walked to its end. ``house_limits`` are the places of those that speak of it;
    ``aged_s`` is how long its steps keep it once it is ready to eat, as far as they say,
    ``stood_s`` how long it was between cold and hot before it was heated up again, ``filling`` how
    the weight of a fill or portion by volume was found."""

    formula: JoinedFormula
    lines: tuple[WeighedLine, ...]
    steps: tuple[WalkedStep, ...]
    end: Product
    store: tuple[Limit, ...]
    dates: Dates | None
    figures: Figures
    tcs: bool
    findings: tuple[Finding, ...]
    house_limits: Spoken = frozenset()
    salting: Salting | None = None
    course: Course = field(default_factory=Course)
    aged_s: Fraction = Fraction(0)
    stood_s: Fraction = Fraction(0)
    filling: Basis = field(default_factory=Basis)

    @property
    def undercooked(self) -> bool:
        """Served raw or undercooked on a guest's request, by the formula's own word."""
        return bool(self.formula.formula.undercooked)

    @property
    def limits(self) -> tuple[Limit, ...]:
        """All limits, in the order of the work."""
        return tuple(limit for step in self.steps for limit in step.limits) + self.store
