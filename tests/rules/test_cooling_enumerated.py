"""Cooling logs against every course of food that their readings allow, tried one by one.

Between two readings food goes from the one to the other without turning back; when it passes each
figure on the way is tried at the beginning, in the middle and at the end of the pause. The law is
applied to each course here, by code that shares nothing with the product (Food Code 3-501.14(A):
from 135 °F to 70 °F within 2 h and to 41 °F within 6 h; 3-501.16(A)(2): at 41 °F or colder from
then on), and food that was at a figure and is warmer again is neither lawful nor a miss of it.
"""

from __future__ import annotations

import itertools
import random
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction

import pytest
from test_courses_by_hand import cooled
from test_review import figure

from generator.review.results import ProbeFound
from generator.review.verdicts import Around

HOT, STAGES = 135, ((70, 120), (41, 360))
SOON = Fraction(1, 1000)
"""So many minutes after a reading."""
Log = list[tuple[int, int]]
"""Minutes and °F; none of them one of the law's figures."""
Course = list[tuple[Fraction, int]]
"""The moments from which food is on another side of one of the law's figures, with a °F there."""
AROUND = Around(cold=figure(41, "°F", "max"))


def courses(log: Log) -> Iterator[Course]:
    """Every course that the readings allow."""
    pauses = [list(_between(*pair)) for pair in itertools.pairwise(log)]
    for way in itertools.product(*pauses):
        yield [(Fraction(log[0][0]), log[0][1]), *itertools.chain(*way)]


def _between(one: tuple[int, int], other: tuple[int, int]) -> Iterator[Course]:
    """The ways from one reading to the next: the moment at which it passes each figure."""
    (begin, start), (end, last) = one, other
    low, high = sorted((start, last))
    passed = [f for f in (41, 70, HOT) if low < f < high]
    passed = passed if last > start else passed[::-1]
    moments = (begin + SOON, Fraction(begin + end, 2), end - SOON)
    for at in itertools.combinations_with_replacement(moments, len(passed)):
        beyond = [f + 1 if last > start else f - 1 for f in passed]
        yield [*zip(at, beyond, strict=True), (Fraction(end), last)]


def by_law(course: Course, end: int) -> str:
    """What the law says of one course of food, which was read up to a minute."""
    leaves = next((i for i in range(1, len(course)) if course[i][1] < HOT <= course[i - 1][1]), 0)
    late = course[0][1] < HOT  # nobody knows when it began to cool, but for the latest moment
    if not leaves and not late:
        return "open"
    start, rest = course[leaves][0], course[leaves:]
    verdicts = []
    for most, minutes in STAGES:
        due = start + minutes
        at_due = [heat for at, heat in rest if at <= due][-1]
        there = next((i for i, (_, heat) in enumerate(rest) if heat <= most), None)
        again = there is not None and any(heat > most for _, heat in rest[there:])
        after = [heat for at, heat in rest if at > due] if most == STAGES[-1][0] else []
        if end >= due and (at_due > most or any(heat > most for heat in after)):
            verdicts.append("fail")
        else:
            verdicts.append("open" if there is None or again or at_due > most else "pass")
    return min([*verdicts, "open" if late else "pass"], key=("fail", "open", "pass").index)


def by_every_course(log: Log) -> str:
    """Pass or fail if every course is one; else nobody can tell."""
    found = {by_law(course, log[-1][0]) for course in courses(log)}
    return found.pop() if len(found) == 1 else "open"


def some_log(rng: random.Random) -> Log:
    """A log of food that mostly cools, and now and then is warm again."""
    at, heat = 0, rng.choice([180, 150, 150, 150, 120])
    log = [(at, heat)]
    for _ in range(rng.randrange(2, 7)):
        pause = rng.choice([10, 30, 60, 90, 119, 121, 180, 240])
        colder = [h for h in (136, 120, 90, 71, 68, 55, 42, 39, 34) if h <= heat]
        warmer = [h for h in (39, 44, 60, 75, 90, 120, 134) if h > heat]
        heat = rng.choice(warmer if warmer and rng.random() < 0.2 else colder)
        at += max(pause, 30) if heat > log[-1][1] else pause  # sooner: a probe that is drawn out
        log.append((at, heat))
    return log


def compared(seeds: range) -> Counter[str]:
    seen: Counter[str] = Counter()
    for seed in seeds:
        log = some_log(random.Random(seed))
        expected, judged = by_every_course(log), judged_of(log)
        got = judged.verdict.replace("cannot tell", "open")
        where = f"{seed}: {log}: {expected}, but {got}: {judged.why}"
        steady = log[0][1] >= HOT and all(a[1] >= b[1] for a, b in itertools.pairwise(log))
        assert got == expected if steady else got in (expected, "open"), where
        seen[f"{expected}, {got}"] += 1
    return seen


def judged_of(log: Log) -> ProbeFound:
    return cooled([(float(at), float(heat)) for at, heat in log], AROUND)


def test_random_cooling_logs_are_judged_as_every_course_of_theirs() -> None:
    seen = compared(range(500))
    print(dict(seen))
    assert min(seen["pass, pass"], seen["fail, fail"], seen["open, open"]) > 20


@pytest.mark.slow
def test_many_more_cooling_logs_are_judged_as_every_course_of_theirs() -> None:
    assert sum(compared(range(500, 20_500)).values()) == 20_000
