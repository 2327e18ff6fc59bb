"""A stream of food on its way through the steps: with others where they meet, and waiting for
them."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from fractions import Fraction

from generator.files.finding import Finding
from generator.resolve.joined import JoinedFormula, JoinedStep, Way
from generator.rules.basics.course import Course, met
from generator.rules.basics.product import Product


@dataclass(frozen=True)
class Stream:
    """Food under way: the product, where it is between cold and hot, and for how many seconds it
    was ``aged`` ready to eat, ``stood`` between cold and hot before it was heated up again, ``wet``
    and warm."""

    product: Product = field(default_factory=Product)
    course: Course = field(default_factory=Course)
    aged: Fraction = Fraction(0)
    stood: Fraction = Fraction(0)
    wet: Fraction = Fraction(0)

    def join(self, other: Stream, number: int) -> Stream:
        """Both at once, from step ``number`` on: as old as the older of them in every way."""
        return Stream(
            self.product.join(other.product),
            met(self.course, other.course, number),
            max(self.aged, other.aged),
            max(self.stood, other.stood),
            max(self.wet, other.wet),
        )


def waiting_at(
    formula: JoinedFormula,
    passed: tuple[JoinedStep, ...],
    wait: JoinedStep,
    rest: tuple[JoinedStep, ...],
) -> JoinedFormula:
    """The formula as food sees it while it waits behind a step: after the waits it ``passed``, with
    the ``rest`` of its way before it."""
    assert formula.ways is not None
    way = formula.ways[wait.number]
    own = Way((*way.before, way.step, *passed), wait, rest)
    return replace(
        formula, steps=(*own.before, wait, *rest), ways={**formula.ways, wait.number: own}
    )


def opened(formula: str, step: JoinedStep, streams: tuple[Stream, ...]) -> tuple[Finding, ...]:
    """An error where food that was packed without air meets other food: its days count from its
    packing, and the other's don't."""
    if len(streams) < 2 or not any(s.product.air_days is not None for s in streams):
        return ()
    found = Finding(
        "packed-then-joined",
        "error",
        f"{step.verb}: food that was packed without air is opened and put to other food.",
        step.step.place("work_on" if step.step.work_on else "add"),
        "Pack it last. Or make what is packed a formula of its own, and use that here.",
        about=frozenset({formula}),
    )
    return (found,)


def of_a_wait(finding: Finding, until: JoinedStep) -> Finding:
    """What is said of food that waits: where to look is the steps in between."""
    help = (
        f"It waits until step {until.number}, {until.verb.lower()}, takes it. Put it into the cold "
        "first (`in`), work on it later, or write the `time` of the steps in between."
    )
    return replace(finding, help=help, write=())
