"""When the clock of a cooling course starts, by its readings, and the reheating that starts it
anew.

`cooling_course` holds the whole rule.
"""

from __future__ import annotations

import zoneinfo
from dataclasses import dataclass, replace
from fractions import Fraction

from generator.review.courses import DEGREE, NOISE, Course, Level, level, read_at
from generator.review.doubts import JUMP
from generator.rules.basics.limit import MADE, CoolingLimit, Figure
from generator.rules.store.shelf import ARRIVES

AMBIENT = 20 * DEGREE
"""Food that was never hot is logged from its making if its first reading is of a room: a working
rule of this manual, not law."""
WARMEST_ROOM = 35 * DEGREE
"""A first reading above it is of no room: the food was warm, and nobody knows since when. A working
rule, too."""


@dataclass(frozen=True)
class Reheating:
    """What a reheating has to come to before the clock starts anew: figure, hold, and the most time
    it may take (None: not set), with the pause through which it still counts as watched, in
    seconds."""

    figure: Figure
    hold_s: Fraction
    within_s: Fraction | None
    longest_gap_s: Fraction


@dataclass(frozen=True)
class CoolingRule:
    """A cooling limit, and what is before and after it: the figure the food was ``cooked`` to,
    the ``reheating`` that starts the clock anew, the figure it is held ``cold`` at (None: the last
    stage's) and the longest pause meanwhile."""

    limit: CoolingLimit
    zone: zoneinfo.ZoneInfo
    cooked: Figure | None = None
    reheating: Reheating | None = None
    cold: Figure | None = None
    cold_gap_s: Fraction | None = None


@dataclass(frozen=True)
class Clock:
    """When the clock starts: ``early`` and ``late`` are indexes of readings; ``early`` is None
    where nobody can say. ``why`` says so. ``runs`` is false while the food hasn't begun to
    cool."""

    early: int | None
    late: int
    why: str = ""
    runs: bool = True
    alone: int | None = None


def start_of(rule: CoolingRule) -> Level | None:
    """The level at which the clock starts; None where the food was never hot, or nobody knows."""
    if rule.limit.clock is not None:
        return level(rule.limit.clock.value)
    if rule.limit.since in (MADE, ARRIVES):
        return AMBIENT
    return level(rule.cooked.value) if rule.cooked is not None else None


def clock_of(course: Course, rule: CoolingRule) -> Clock:
    start, heat = start_of(rule), course.heat
    first = read_at(course.readings[0], rule.zone)
    if start is None:
        return Clock(
            None,
            0,
            "The readings don't show when its cooking ended, so not when the clock began.",
        )
    if rule.limit.clock is None and rule.limit.since == ARRIVES:
        return Clock(0, 0)  # its log begins at the door, however cold it came
    if rule.limit.clock is None and rule.limit.since == MADE:
        return _made(heat[0], start, first)
    hot = (
        i for i, h in enumerate(heat) if h >= start and not course.apart_from_both(i, start, True)
    )
    begun = next(hot, None)
    late_words = (
        f"The log begins at {first}, below the start of the clock. It doesn't show when it began."
    )
    if begun is None:
        return Clock(None, 0, late_words)
    falls = [i for i in range(begun + 1, course.size) if heat[i] < start][:2]
    if not falls:
        return Clock(
            None,
            0,
            "The readings end before the food has begun to cool below the start.",
            runs=False,
        )
    alone = falls[0] if course.apart_from_both(falls[0], start, False) else None
    fall = falls[0] if alone is None else _firm_fall(course, falls[0], start)
    if fall is None:
        return Clock(
            None,
            0,
            "The readings end before the food has begun to cool below the start.",
            runs=False,
        )
    early = fall - 1
    if early > begun and heat[early] > heat[early - 1] + NOISE:
        early -= 1  # one reading that rose: the one before it is sure
    late = fall - 1 if heat[fall - 1] == start else fall
    if begun == 0:
        return Clock(early, late, alone=alone)
    return _begun_below(course, rule, Clock(early, late, alone=alone), begun, late_words)


def _made(heat: Level, start: Level, first: str) -> Clock:
    """The clock of food that was never hot: from its making, if its first reading is of a room."""
    if start <= heat <= WARMEST_ROOM:
        return Clock(0, 0)
    how = "when it was cold already" if heat < start else "warmer than a room"
    return Clock(None, 0, f"The log begins at {first}, {how}. It doesn't show when it was made.")


def _firm_fall(course: Course, first: int, start: Level) -> int | None:
    below = (i for i in range(first, course.size) if course.heat[i] < start)
    return next((i for i in below if not course.apart_from_both(i, start, False)), None)


def _begun_below(course: Course, rule: CoolingRule, clock: Clock, begun: int, words: str) -> Clock:
    """The clock of a log that begins below its start: it holds the cooking, or a reheating that
    passes; or it begins late, and runs from its first reading on."""
    cold = level((rule.cold or rule.limit.stages[-1].figure).value)
    raw = course.heat[0] <= cold
    if (
        raw
        and rule.cooked is not None
        and max(course.heat[: clock.late]) >= level(rule.cooked.value)
    ):
        return clock
    again = reheated(course, 0, rule)
    known = raw or (again is not None and again.coldest > 0)
    if known and again is not None and again.passes and again.first <= clock.late:
        return clock
    return replace(clock, early=None, why=words) if raw else Clock(None, 0, words)


# --- reheated


@dataclass(frozen=True)
class Reheated:
    """A reheating: the last of the coldest readings before it, the first at its figure, and whether
    it passes: its hold for sure (``held``), and its time at the most (``in_time``). ``may_pass``
    takes its time at the least."""

    coldest: int
    first: int
    held: bool
    in_time: bool
    may_pass: bool

    @property
    def passes(self) -> bool:
        return self.held and self.in_time


def reheated(course: Course, after: int, rule: CoolingRule) -> Reheated | None:
    """The first reheating from a reading on, or None: whatever reads at its figure may be one."""
    asked = rule.reheating
    if asked is None:
        return None
    heat, need = course.heat, level(asked.figure.value)
    first = next(
        (i for i in range(after + 1, course.size) if heat[i] >= need and heat[i - 1] < need), None
    )
    if first is None:
        return None
    last = first
    while (
        last + 1 < course.size
        and heat[last + 1] >= need
        and course.seconds(last, last + 1) <= asked.longest_gap_s
    ):
        last += 1
    coldest = _coldest(course, after, first)
    in_time = asked.within_s is None or course.seconds(coldest, first) <= asked.within_s
    begun = min(coldest + 1, first - 1)
    may = asked.within_s is None or course.seconds(begun, first - 1) <= asked.within_s
    held = course.seconds(first, last) >= asked.hold_s
    alone = course.apart_from_both(first, need, True)
    return Reheated(coldest, first, held and not alone, in_time, may)


def counting(clock: Clock) -> Clock:
    """The clock as it runs if the reading that is alone counts."""
    assert clock.alone is not None
    return replace(clock, early=clock.alone - 1 if clock.early is not None else None, alone=None)


def _coldest(course: Course, after: int, first: int) -> int:
    """The last of the coldest readings before ``first``, but for one that its neighbours
    contradict."""
    heat = course.heat

    def alone(i: int) -> bool:
        return 0 < i < course.size - 1 and min(heat[i - 1], heat[i + 1]) - heat[i] > JUMP

    sound = [i for i in range(after, first) if not alone(i)] or [after]
    lowest = min(heat[i] for i in sound)
    return max(i for i in sound if heat[i] == lowest)
