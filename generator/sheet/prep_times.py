"""When each step of a run of batches starts, counted back from the hour it must be ready."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from generator.resolve.joined import JoinedStep
from generator.sheet.sheet import Batch
from generator.sheet.walked import Walk

SERVICE = frozenset({"holds-hot", "holds-by-time", "displays"})
"""What is done with food while it is served."""


@dataclass(frozen=True)
class TimedStep:
    """A step that starts so many seconds before the food is ready, and takes ``seconds``: those of
    all loads of its machine one after another; None where no time is known, which counts as no time
    at all and is said. ``by_loads`` says that several loads of a machine are in it."""

    step: JoinedStep
    before_s: Fraction
    seconds: Fraction | None
    by_loads: bool = False

    def start(self, ready: datetime.datetime) -> datetime.datetime:
        """When it starts, on the minute, for food that is ready at an hour."""
        return back_from(ready, self.before_s)


@dataclass(frozen=True)
class PrepTimes:
    """The steps of a run in the order of the work."""

    steps: tuple[TimedStep, ...]

    @property
    def whole_s(self) -> Fraction:
        """How long all of it takes, in seconds, as far as times are known."""
        return max((one.before_s for one in self.steps), default=Fraction(0))

    @property
    def day_one_s(self) -> Fraction:
        """How many seconds before it is ready day 1 may begin: as the first step that cooks it
        starts; where none does, as the work starts. Cooking again doesn't begin the days anew."""
        cooks = next((one for one in self.steps if "cooks" in one.step.effects), None)
        return cooks.before_s if cooks is not None else self.whole_s

    def frozen_before_ready(self) -> tuple[tuple[Fraction, Fraction], ...]:
        """The steps in a freezer: how many seconds before it is ready each begins and ends. Not
        timed, it counts as none; in loads, each load is in there for less than all of them take."""
        return tuple(
            (one.before_s, one.before_s - one.seconds)
            for one in self.steps
            if one.seconds and not one.by_loads and _in_a_freezer(one.step)
        )

    @property
    def untimed(self) -> tuple[JoinedStep, ...]:
        """The steps whose time isn't known."""
        return tuple(one.step for one in self.steps if one.seconds is None)

    def taken_in_s(self, part: str) -> Fraction:
        """How many seconds before it is ready a part goes in."""
        return next((s.before_s for s in self.steps if part in s.step.parts), self.whole_s)


def _in_a_freezer(step: JoinedStep) -> bool:
    return step.cold is not None and step.cold.kind == "freezer"


def back_from(ready: datetime.datetime, seconds: Fraction) -> datetime.datetime:
    """An hour so many seconds before another, on the whole minute, never later."""
    minutes = -(-seconds // 60)
    return ready - datetime.timedelta(minutes=int(minutes))


def times_of(walk: Walk, batches: Sequence[tuple[Batch, int]]) -> PrepTimes:
    """The times of so many of each batch made in one run.

    Each step ends where the first step that takes what it gives starts; streams go beside each
    other. What is held for service at the end is ready as that begins: all loads are held at once.
    A machine's loads follow one another, of all batches; work without one is counted once. Of a
    range the longest time counts.
    """
    starts: dict[int, Fraction] = {}
    needed: dict[int, Fraction] = {}
    found: list[TimedStep] = []
    in_loads = _in_loads(batches)
    for walked in reversed(walk.steps):
        step = walked.step
        seconds, by_loads = _seconds(step, in_loads)
        start = needed.get(step.number, Fraction(0))
        if not start and step.effects & SERVICE:
            seconds, by_loads = _seconds(step, {})
        else:
            start += seconds or 0
        starts[step.number] = start
        for come in step.comes:
            needed[come.number] = max(needed.get(come.number, Fraction(0)), starts[step.number])
        found.append(TimedStep(step, starts[step.number], seconds, by_loads))
    return PrepTimes(tuple(reversed(found)))


def _in_loads(batches: Sequence[tuple[Batch, int]]) -> dict[str, Fraction]:
    """How long each step's machine is busy with all loads of all batches, by the step's id."""
    found: dict[str, Fraction] = {}
    for batch, count in batches:
        for run in batch.step_loads:
            if run.in_all_s is not None:
                found[run.step] = found.get(run.step, Fraction(0)) + run.in_all_s * count
    return found


def _seconds(step: JoinedStep, in_loads: dict[str, Fraction]) -> tuple[Fraction | None, bool]:
    """How long a step takes, its waiting and standing with it; whether that is by loads."""
    said = step.step.time
    more = [t.longest for t in (step.step.stays, step.step.standing_time) if t is not None]
    if said is None and not more:
        return None, False
    own = in_loads.get(step.id)
    by_loads = own is not None and said is not None
    base = said.longest if said is not None else Fraction(0)
    whole = own if by_loads and own is not None else base
    return whole + sum(more, Fraction(0)), by_loads and whole > base
