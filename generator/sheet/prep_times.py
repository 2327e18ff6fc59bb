"""When each step of a run of batches starts, counted back from the hour it must be ready."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from generator.records.equipment import Cold
from generator.resolve.joined import House, JoinedStep
from generator.scaling.loads import queued
from generator.sheet.sheet import Batch
from generator.sheet.step_loads import StepLoads
from generator.sheet.waiting import own_stage, waiting_at
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
    A machine's loads follow one another, of all batches; work without one is counted once. In a
    cold place whole batches lie together, as many as it holds. Of a range the longest time counts.
    """
    starts: dict[int, Fraction] = {}
    needed: dict[int, Fraction] = {}
    found: list[TimedStep] = []
    in_loads = _in_loads(walk, batches)
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


def _in_loads(walk: Walk, batches: Sequence[tuple[Batch, int]]) -> dict[str, Fraction]:
    """How long each step's machine is busy with all loads of all batches, by the step's id."""
    return {
        step: sum((one.each_s * n for one, n in runs if one.each_s is not None), Fraction(0))
        for step, runs in _runs(walk, batches).items()
        if all(one.each_s is not None for one, _ in runs)
    }


def _runs(
    walk: Walk, batches: Sequence[tuple[Batch, int]]
) -> dict[str, list[tuple[StepLoads, int]]]:
    """The loads of each step's machine, with how many follow one another, by the step's id."""
    cold = {one.step.id: one.step.cold for one in walk.steps}
    found: dict[str, list[tuple[StepLoads, int]]] = {}
    for batch, count in batches:
        for one in batch.step_loads:
            together = _together(one, cold.get(one.step))
            runs = one.loads.count * count if together == 1 else math.ceil(count / together)
            found.setdefault(one.step, []).append((one, runs))
    return {step: _all_in_one(runs, cold.get(step)) for step, runs in found.items()}


def loads_of_machines(
    walk: Walk, batches: Sequence[tuple[Batch, int]]
) -> Iterator[tuple[str, int]]:
    """Each step's machine by its name, with how many of its loads follow one another."""
    for runs in _runs(walk, batches).values():
        yield runs[0][0].name, sum(many for _, many in runs)


def _together(one: StepLoads, cold: Cold | None) -> float:
    """How many whole batches lie in a machine together: in a cold place as many as it holds."""
    if cold is None or one.loads.count > 1 or cold.places is not None:
        return 1
    if cold.capacity is None:
        return math.inf
    return max(1, math.floor(cold.capacity.value / one.loads.grams))


def _all_in_one(
    runs: list[tuple[StepLoads, int]], cold: Cold | None
) -> list[tuple[StepLoads, int]]:
    """One run alone where nothing bounds a cold place, whatever the sizes of the batches."""
    if cold is None or any(_together(one, cold) != math.inf for one, _ in runs):
        return runs
    return [(max(runs, key=lambda run: run[0].each_s or 0)[0], 1)]


@dataclass(frozen=True)
class TooLong:
    """A step at which so ``many`` runs of several batches follow one another in a cold place, of
    that ``name``: the last waits ``wait_s`` seconds, and ``most_s`` is the most."""

    step: JoinedStep
    name: str
    many: int
    wait_s: Fraction
    most_s: Fraction


def waits_of(house: House, walk: Walk, batches: Sequence[tuple[Batch, int]]) -> Iterator[TooLong]:
    """The steps at which a batch waits for its turn in a cold place for longer than it may, what
    its own run needs for the first stage counted. Batches come there as fast as the slowest machine
    before gives them."""
    slowest = Fraction(0)
    runs = _runs(walk, batches)
    for index, walked in enumerate(walk.steps):
        mine = runs.get(walked.step.id, [])
        many, each = sum(n for _, n in mine), max((o.each_s or 0 for o, _ in mine), default=0)
        if many < 2:
            continue
        wait, waiting = queued(many, slowest, 1, Fraction(each)), waiting_at(house, walk, index)
        if walked.step.cold is not None and wait and waiting.most is not None:
            most = waiting.most - waiting.before - own_stage(waiting, Fraction(each))
            if wait > most:
                yield TooLong(walked.step, mine[0][0].name, many, wait, max(most, Fraction(0)))
        slowest = max(slowest, Fraction(each))


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
