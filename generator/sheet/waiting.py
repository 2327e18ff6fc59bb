"""How food waits for its run where a machine makes several, one after another."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from generator.measures.words import duration
from generator.resolve.joined import House
from generator.rules.basics.limit import CoolingLimit
from generator.rules.basics.warmth import needs_cold
from generator.rules.cold.between import most_of
from generator.scaling.loads import Counted, Loads, Unfit, room_for
from generator.sheet.takes import Takes
from generator.sheet.walked import Walk

Waits = Literal["", "cold", "hot", "out"]
"""How food waits for its run: in the cold, hot, out of both; empty where it doesn't matter."""


@dataclass(frozen=True)
class Waiting:
    """How food waits for its run at a step, the seconds it was out of the cold, or off the heat,
    ``before``, and the ``most`` that may be in all; None where nothing bounds it."""

    how: Waits
    before: Fraction = Fraction(0)
    most: Fraction | None = None


def waiting_at(house: House, walk: Walk, index: int) -> Waiting:
    """How food that needs the cold waits for its run: as it came. Frozen is cold.

    What is out of the cold may be so as long as `rules.cold.between` says, the time before it
    counted. What is hot and cooled here must reach its first stage by the limit's own time, however
    many runs there are, unless the step before holds it hot.
    """
    walked = walk.steps[index]
    course, number = walked.came, walked.step.number
    if not needs_cold(walk.formula.along(number), walked.before, number) or course.state == "none":
        return Waiting("")
    if course.state == "between":
        return Waiting("out", course.so_far, most_of(house).most)
    if course.state != "hot":
        return Waiting("cold")
    held = "holds-hot" in _last_before(walk, number)
    first = [_first_stage(limit) for limit in walked.limits if isinstance(limit, CoolingLimit)]
    if held or not first:
        return Waiting("hot")
    return Waiting("hot", course.so_far, min(first))


def _first_stage(limit: CoolingLimit) -> Fraction:
    """The seconds in which cooling food must be through its first stage, or begin to cool."""
    first = limit.stages[0].within_s
    return first if limit.begin_s is None else min(first, limit.begin_s)


def _last_before(walk: Walk, number: int) -> frozenset[str]:
    """What the step does that the food comes from; nothing where it comes from none."""
    before = walk.formula.before(number)
    return frozenset(before[-1].effects) if before else frozenset()


def waits_too_long(
    takes: Takes, loads: Loads, whole: Counted | None, each_s: Fraction, waiting: Waiting
) -> Unfit | None:
    """Why food can't wait for its run: the time of the runs before its own counts, with what it was
    out before."""
    most, before = waiting.most, waiting.before
    longest = each_s * (loads.count - 1)
    if most is None or not longest or before + longest <= most:
        return None
    if waiting.how == "out" and before > most:
        return None  # `rules.cold.between` reports it at the step before
    runs = max(0, math.floor((most - before) / each_s)) + 1
    room = takes.most
    if whole is not None:
        room = Fraction(room_for(whole.each, takes.most, takes.places) or 0)
    place, fix = _PLACES[waiting.how]
    earlier = f", after {duration(before)} of that before" if before else ""
    return Unfit(
        "runs-wait-too-long",
        f"{takes.where}: {loads.count} runs, one after another. The last waits "
        f"{duration(longest)} {place}{earlier}; {duration(most)} is the most.",
        fix,
        less=runs * room if room else None,
    )


_PLACES = {
    "out": (
        "out of the cold",
        "Or keep it cold until its turn: a step `do: store` with `in` before this one.",
    ),
    "hot": (
        "hot before it is chilled",
        "Or hold it hot until its turn: a step `do: hold-hot` before this one. Or chill it in more "
        "places at once.",
    ),
}
"""Where food waits for too long, and what would do."""
