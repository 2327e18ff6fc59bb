"""A cooling that a core can't make: faster for some minutes than before, though colder, then slow.

What a core is warmer than its chiller falls about exponentially: each minute takes the same share
of it. Better chilling takes a larger share from then on; a probe moved from the middle to the edge
falls to another course for a few minutes, and goes on slowly there. How much faster and slower is a
working rule of this manual, not law: a pass that rests on such minutes is taken back to "cannot
say".
"""

from __future__ import annotations

import math
import zoneinfo
from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from dataclasses import dataclass

from generator.review.courses import DEGREE, MINUTE, SECOND, Course, Level, level, read_at
from generator.review.results import ProbeFound

LENGTHS = (5 * MINUTE, 10 * MINUTE, 15 * MINUTE, 20 * MINUTE)
"""How long a probe takes to come to where it was moved: what lasts longer is another chiller."""
LEAST, AT_ONCE = 5 * DEGREE, 20 * DEGREE
FASTER, SLOWER = 2, 3
"""The share it loses each minute is so many times that before, and that after."""
KNOWN, KNOWN_AT_MOST = 15 * MINUTE, 60 * MINUTE
"""The course before and after is taken over so long."""
NO_FOOD = MINUTE
"""What nears its chiller with a time constant of less than this is no food: a slice thinner than
8 mm in ice water would take as long."""
COLDEST = 3 * DEGREE
"""A chiller is taken to be no warmer than this, and a degree colder than the coldest reading."""


@dataclass(frozen=True)
class _Due:
    """A stage that was met: its end, when it was reached, and when it had to be."""

    end: Level
    reached: int
    deadline: int


def moved_to_the_edge(found: ProbeFound, course: Course, zone: zoneinfo.ZoneInfo) -> str:
    """What is said of the first such minutes on which a pass rests; "" where there are none."""
    if found.verdict != "pass" or found.clock_started is None:
        return ""
    start = next(i for i, r in enumerate(course.readings) if r.at >= found.clock_started)
    dues = list(_dues(found, course.at[start]))
    chiller = min(min(course.heat) - DEGREE, COLDEST)
    for first in range(start, course.size - 1):
        if any(due.reached > course.at[first] for due in dues):
            if _at_once(course, first, chiller):
                return _said(course, first, first + 1, "at once", zone)
            last = _burst(course, start, first, chiller, dues)
            if last is not None:
                how = "faster than before, though it was colder, and then slowly"
                return _said(course, first, last, how, zone)
    return ""


def _said(course: Course, first: int, last: int, how: str, zone: zoneinfo.ZoneInfo) -> str:
    one, other = read_at(course.readings[first], zone), read_at(course.readings[last], zone)
    return (
        f"It fell from {one} to {other} {how}: no core does. Was the probe moved to the edge? If "
        f"you stirred the food or put it on ice, write that down."
    )


def _at_once(course: Course, first: int, chiller: Level) -> bool:
    """Whether it falls to the next reading faster than any food, whatever was read before."""
    fall = course.heat[first] - course.heat[first + 1]
    return fall >= AT_ONCE and _share(course, first, first + 1, chiller) * NO_FOOD > 1


def _dues(found: ProbeFound, begun: int) -> Iterator[_Due]:
    before = begun
    for one in found.stages:
        base = before if one.stage.after_stage else begun
        if one.most_s is None:
            continue
        before = base + math.ceil(one.most_s * SECOND)
        yield _Due(level(one.stage.figure.value), before, base + int(one.stage.within_s * SECOND))


def _burst(course: Course, start: int, first: int, chiller: Level, dues: list[_Due]) -> int | None:
    """The end of a burst that begins at ``first``, and without which a stage would be late."""
    for length in LENGTHS:
        last = bisect_right(course.at, course.at[first] + length) - 1
        if last <= first or course.heat[first] - course.heat[last] < LEAST:
            continue
        span = max(length, KNOWN)
        early = bisect_right(course.at, course.at[first] - span) - 1
        late = min(bisect_left(course.at, course.at[last] + span), course.size - 1)
        if early < start or not _near(course, early, first) or not _near(course, last, late):
            continue
        before = _share(course, early, first, chiller)
        now, after = _share(course, first, last, chiller), _share(course, last, late, chiller)
        if before <= 0 or now < FASTER * before or now < SLOWER * after:
            continue
        if any(_late(course, first, before, chiller, due) for due in dues):
            return last
    return None


def _near(course: Course, first: int, last: int) -> bool:
    """Whether a course is known between two readings, neither too short nor too far apart."""
    return 0 < course.at[last] - course.at[first] <= KNOWN_AT_MOST


def _share(course: Course, first: int, last: int, chiller: Level) -> float:
    """The share of what it is warmer than the chiller that it lost, each microsecond."""
    warm, cold = course.heat[first] - chiller, course.heat[last] - chiller
    return math.log(float(warm) / float(cold)) / (course.at[last] - course.at[first])


def _late(course: Course, first: int, share: float, chiller: Level, due: _Due) -> bool:
    """Whether a stage would be late had it gone on as before."""
    if due.reached <= course.at[first] or due.end <= chiller:
        return False
    takes = math.log(float(course.heat[first] - chiller) / float(due.end - chiller)) / share
    return course.at[first] + takes > due.deadline
