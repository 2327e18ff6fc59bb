"""Cooling in stages: how likely a body reaches each by its time, and the greatest depth that likely
does."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from generator.heat.case import Case
from generator.heat.quick import fits, quick
from generator.heat.ranges import Range

if TYPE_CHECKING:
    from generator.heat.prediction import Prediction

Verdict = Literal["likely passes", "likely fails", "too close"]

STEP = 5
"""Depths are tried in steps of this many mm: nothing here is known better."""


@dataclass(frozen=True)
class Deadline:
    """A stage: the temperature to reach, °C, and within how many seconds of the clock's start, or
    of the end of the stage before."""

    celsius: float
    seconds: float
    after_stage: bool = False


@dataclass(frozen=True)
class Outcome:
    """A stage with the predicted time, s, from where its own clock starts, and what that means."""

    deadline: Deadline
    start: float
    seconds: Range
    verdict: Verdict


def verdict_of(seconds: Range, within: float) -> Verdict:
    """What a band says of a deadline: passes only by its slow edge, fails only by its fast edge."""
    if seconds.high <= within:
        return "likely passes"
    return "likely fails" if seconds.low > within else "too close"


def outcomes(case: Case, deadlines: tuple[Deadline, ...]) -> tuple[Prediction, tuple[Outcome, ...]]:
    """The prediction of a case that starts when the clock does, and what it says of each stage."""
    from generator.heat.prediction import predict

    found = predict(replace(case, targets=tuple(d.celsius for d in deadlines)))
    return found, judged(case, deadlines, [target.seconds for target in found.targets])


def stages_of(case: Case, deadlines: tuple[Deadline, ...]) -> tuple[Outcome, ...]:
    """What is predicted of each stage alone: in plain floats where the case is of the kind that
    allows it."""
    if not fits(case):
        return outcomes(case, deadlines)[1]
    found = quick(case)
    return judged(case, deadlines, [found.time_to(d.celsius) for d in deadlines])


def judged(
    case: Case, deadlines: tuple[Deadline, ...], times: Sequence[Range]
) -> tuple[Outcome, ...]:
    """What the times of the stages' ends, from where the clock starts, mean of each."""
    results: list[Outcome] = []
    start, before = case.start.likely, Range.exact(0.0)
    for deadline, reached in zip(deadlines, times, strict=True):
        seconds = _less(reached, before) if deadline.after_stage else reached
        verdict = verdict_of(seconds, deadline.seconds)
        results.append(Outcome(deadline, start, seconds, verdict))
        start, before = deadline.celsius, reached
    return tuple(results)


def _less(later: Range, sooner: Range) -> Range:
    """The time between two stages' ends, edge by edge: what makes one late makes the other late."""
    gaps = [
        late - soon if late != soon else 0.0
        for late, soon in (
            (later.low, sooner.low),
            (later.likely, sooner.likely),
            (later.high, sooner.high),
        )
    ]
    return Range(min(gaps[0], gaps[1]), gaps[1], max(gaps[1], gaps[2]))


def greatest_depth(
    at_depth: Callable[[float], Case], deadlines: tuple[Deadline, ...], most: float
) -> float | None:
    """The greatest depth, m, at which every stage likely passes, in steps of 5 mm; None if not even
    10 mm does. ``most`` is as deep as it can be."""

    def passes(depth: int) -> bool:
        found = stages_of(at_depth(depth * STEP / 1000), deadlines)
        return all(one.verdict == "likely passes" for one in found)

    low, high = 2, max(3, int(most * 1000) // STEP)
    if not passes(low):
        return None
    if passes(high):
        return high * STEP / 1000
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if passes(middle) else (low, middle)
    return low * STEP / 1000
