"""How food waits for its run where a machine makes several, one after another."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Literal

from generator.measures.words import duration
from generator.resolve.joined import House
from generator.rules.basics.course import Course, taken_in
from generator.rules.basics.warmth import needs_cold
from generator.rules.cold.between import most_of
from generator.scaling.loads import Counted, Loads, Unfit, room_for
from generator.sheet.takes import Takes
from generator.sheet.walked import Walk

Waits = Literal["", "cold", "hot", "out"]
"""How food waits for its run: in the cold, hot, out of both; empty where it doesn't matter."""


def waiting_at(walk: Walk, index: int) -> tuple[Waits, Fraction]:
    """How food waits for its run at a step, and the seconds it was out before."""
    course = _comes_by(walk, index)
    return _waits(walk, index, course), course.so_far


def _comes_by(walk: Walk, index: int) -> Course:
    """How warm the food is when it comes to a step, with what the step takes in."""
    walked = walk.steps[index]
    before = walk.steps[index - 1].course if index else Course()
    new = tuple(c for c in walked.before.components if c.part in walked.step.parts)
    return taken_in(before, new, walked.step.number)


def _waits(walk: Walk, index: int, course: Course) -> Waits:
    """How food that needs the cold waits for its run: as it came. Frozen is cold."""
    if not needs_cold(walk.formula, walk.steps[index].before, index) or course.state == "none":
        return ""
    if course.state == "between":
        return "out"
    return "hot" if course.state == "hot" else "cold"


def waits_too_long(
    house: House,
    takes: Takes,
    loads: Loads,
    whole: Counted | None,
    each_s: Fraction,
    before: Fraction,
) -> Unfit | None:
    """Why food that is out of the cold when it comes to a machine can't wait there for its run: the
    time of the runs before its own counts, and the seconds it was out ``before``. The most is that
    of `rules.cold.between`."""
    most = most_of(house).most
    longest = each_s * (loads.count - 1)
    if before + longest <= most:
        return None
    runs = max(0, math.floor((most - before) / each_s)) + 1
    room = takes.most
    if whole is not None:
        room = Fraction(room_for(whole.each, takes.most, takes.places) or 0)
    earlier = f", after {duration(before)} out of it before" if before else ""
    return Unfit(
        "runs-wait-too-long",
        f"{takes.where}: {loads.count} runs, one after another. The last waits "
        f"{duration(longest)} out of the cold{earlier}; {duration(most)} is the most.",
        "Or keep it cold until its turn: a step `do: store` with `in` before this one.",
        less=runs * room if room else None,
    )
