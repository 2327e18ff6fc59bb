"""A formula walked to its end: each step with the product before and after it, its limits, what
follows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from typing import Any, TypeVar

from generator.files.finding import Finding
from generator.measures.basis import Basis
from generator.measures.rounding import total
from generator.resolve.joined import House, JoinedFormula, JoinedStep
from generator.rules.basics.context import Dates
from generator.rules.basics.course import Course, Stay
from generator.rules.basics.house_rule import Spoken
from generator.rules.basics.limit import Limit
from generator.rules.basics.product import Product, changed
from generator.rules.cures.salting import Salting
from generator.scaling.batch import Figures
from generator.sheet.weighing import WeighedLine

_T = TypeVar("_T")
_ONE = Fraction(1)


@dataclass(frozen=True)
class Leftover:
    """What stays behind at step ``number`` and isn't the product, and what becomes of it; of a
    pickle, the ``cover`` grams there were, and how many the meat took up."""

    name: str
    then: str
    product: Product
    number: int
    cover: Fraction | None = None
    taken_up: Fraction | None = None

    @property
    def words(self) -> str:
        """Its name as people read it."""
        return self.name.replace("-", " ")

    def behind(self, product: Product) -> Product:
        """It, as warm as the ``product`` the step gives, and as that was treated."""
        by_part = {(c.part, c.item): c for c in product.components}
        parts = tuple(
            changed(by_part.get((c.part, c.item), c), grams=c.grams, held=c.held)
            for c in self.product.components
        )
        return changed(product, components=parts, mass=self.product.mass)


@dataclass(frozen=True)
class WalkedStep:
    """A step with the product before and after it, and its limits; what it is for the food's
    temperature, the course of that as the food ``came`` to it and once it is done; what stays
    behind."""

    step: JoinedStep
    before: Product
    after: Product
    limits: tuple[Limit, ...]
    stay: Stay
    came: Course
    course: Course
    left: tuple[Leftover, ...] = ()

    @property
    def drains(self) -> tuple[Leftover, ...]:
        """What stays behind and isn't used again here."""
        return tuple(one for one in self.left if one.then != "used-again")

    @property
    def grows(self) -> Fraction:
        """The most there is at the step of each gram that comes to it: at the high end of what the
        food gains there, with what stays behind of it; 1 where it gains nothing."""
        found, before = self.step.yields, self.before.mass
        if found is None or found.high <= 1 or not before:
            return _ONE
        behind = total(one.product.mass for one in self.left)
        return max(Fraction(1), (behind + (before - behind) * found.high) / before)


@dataclass(frozen=True)
class Walk:
    """A formula walked to its end. ``house_limits`` are the places of those that speak of it;
    ``aged_s`` is how long its steps keep it once it is ready to eat, as far as they say,
    ``stood_s`` how long it was between cold and hot before it was heated up again; ``least`` and
    ``most`` are the figures where every yield that varies is at its low, and at its high, end;
    ``filled_at`` is the number of the step whose filling counts, 0 for none, ``filling`` how the
    weight of a fill or portion by volume was found; ``wet_s`` is how long it stood moist and
    warm."""

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
    least: Figures | None = None
    most: Figures | None = None
    filled_at: int = 0
    filling: Basis = field(default_factory=Basis)
    wet_s: Fraction = Fraction(0)

    @cached_property
    def kept(self) -> dict[tuple[str, int], tuple[object, Any]]:
        """What was worked out of the walk alone, by whoever did: every batch asks for the same."""
        return {}

    def once(
        self, what: str, number: int, worked_out: Callable[[], _T], house: House | None = None
    ) -> _T:
        """What is ``worked_out`` of the walk, and of the ``house`` where that is asked too: once
        for all batches. ``what`` names it, with the ``number`` of a step or a line."""
        held = self.kept.get((what, number))
        if held is None or held[0] is not house:
            held = self.kept[what, number] = (house, worked_out())
        found: _T = held[1]
        return found

    @property
    def undercooked(self) -> bool:
        """Served raw or undercooked on a guest's request, by the formula's own word."""
        return bool(self.formula.formula.undercooked)

    @property
    def limits(self) -> tuple[Limit, ...]:
        """All limits, in the order of the work."""
        return tuple(limit for step in self.steps for limit in step.limits) + self.store
