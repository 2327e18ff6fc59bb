"""What a batch's record says of how long poisonous food boiled: less than makes it safe."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Protocol

from generator.files.finding import Finding
from generator.intake.standards import RECORD
from generator.measures.words import duration, with_verb
from generator.resolve.joined import House, JoinedStep
from generator.resolve.made import History, JoinedBatch
from generator.rules.basics.product import Component
from generator.rules.store.natural_poisons import boiled_for, in_boiling
from generator.sheet.walk import Walk

_SHORT = (
    "Hold the batch. Was the time misread? Record it again with --corrects. Was it so? Boil it "
    "again for that long, or throw it away, and write it under `deviations` of the step."
)


class Timed(Protocol):
    """A kitchen whose records are looked at."""

    @property
    def house(self) -> House: ...
    @property
    def walks(self) -> Mapping[str, Walk]: ...
    @property
    def history(self) -> History: ...


def short_boils(kitchen: Timed) -> Iterator[Finding]:
    """A warning for each food of a record that no step boiled for as long as makes it safe, by the
    times that were written; a step for which the record says what was done is answered."""
    for batch in kitchen.history.batches.values():
        walk = kitchen.walks.get(batch.record.formula)
        same = walk is not None and walk.formula.formula.revision == batch.record.revision
        if walk is not None and same and batch.record.times:
            for part in walk.end.components:
                yield from _of_a_food(kitchen.house, walk, batch, part)


def _of_a_food(house: House, walk: Walk, batch: JoinedBatch, part: Component) -> Iterator[Finding]:
    least = boiled_for(house, part) if part.boiled != "through" else None
    steps = [s for s in walk.formula.since_taken({part.part}) if in_boiling(s)]
    step = _written_last(steps, batch)
    if least is None or not step:
        return
    longest = max((_time_of(s, batch) for s in steps), default=Fraction(0))
    if longest >= least:
        return
    yield Finding(
        "record-boil-short",
        "warning",
        f"DANGER. {with_verb(part.name, 'is')} boiled for {duration(longest)} at {step}. "
        f"{duration(least)} is the least that is safe.",
        batch.record.place("times", step),
        _SHORT,
        about=frozenset({f"{RECORD}{batch.id}"}),
    )


def _written_last(steps: list[JoinedStep], batch: JoinedBatch) -> str:
    """The last of some steps whose time the record has; empty where there is none, or the record
    says what was done at one of them."""
    written = [s.id for s in steps if s.id in batch.record.times]
    answered = {one.step for one in batch.record.deviations}
    return written[-1] if written and not answered & set(written) else ""


def _time_of(step: JoinedStep, batch: JoinedBatch) -> Fraction:
    """How long a step took by the record; where it doesn't say, as long as the formula asks."""
    written = batch.record.times.get(step.id)
    if written is not None:
        return written.seconds
    return step.step.time.shortest if step.step.time is not None else Fraction(0)
