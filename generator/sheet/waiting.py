"""How food waits for its run where a machine makes several, one after another."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from generator.measures.kilos import kilos
from generator.measures.words import counted, duration
from generator.records.effects import HEATS
from generator.resolve.joined import House
from generator.resolve.ways import stays_put, waited_for, work_of
from generator.rules.basics.limit import CoolingLimit
from generator.rules.basics.warmth import needs_cold
from generator.rules.cold.between import most_of
from generator.rules.cold.cooling import share_of_first
from generator.scaling.loads import Counted, Loads, Unfit, room_for
from generator.sheet.takes import Takes
from generator.sheet.walked import Walk, WalkedStep

Waits = Literal["", "cold", "hot", "warm", "out"]
"""How food waits for its run: in the cold, hot, off the heat since it was hot, out of the cold;
empty where it doesn't matter."""


@dataclass(frozen=True)
class Waiting:
    """How food waits for its run at a step, the seconds it was out of the cold, or off the heat,
    ``before``, and the ``most`` that may be in all; None where nothing bounds it. ``own`` is the
    share of its own run's time that counts too: what a chill needs for its first stage."""

    how: Waits
    before: Fraction = Fraction(0)
    most: Fraction | None = None
    own: Fraction = Fraction(0)


def waiting_at(house: House, walk: Walk, index: int) -> Waiting:
    """How food that needs the cold waits for its run: as it came. Frozen is cold.

    What is out of the cold may be so as long as `rules.cold.between` says, the time before it
    counted. What is hot and cooled here must reach its first stage by the limit's own time, however
    many runs there are, unless the step before holds it hot. What was hot and is off the heat
    since, and isn't cooled here, is between: nobody can keep it hot.
    """
    return walk.once("waiting", index, lambda: _waiting(house, walk, index), house)


def _waiting(house: House, walk: Walk, index: int) -> Waiting:
    walked = walk.steps[index]
    course, number = walked.came, walked.step.number
    if not needs_cold(walk.formula.along(number), walked.before, number) or course.state == "none":
        return Waiting("")
    raw = course.state == "hot" and bool(walked.before.raw_animals)
    if course.state == "between" or raw:  # seared or warmed, raw food isn't held hot
        return Waiting("out", course.so_far, most_of(house).most)
    if course.state != "hot":
        return Waiting("cold")
    return _hot_still(house, walk, walked)


def _hot_still(house: House, walk: Walk, walked: WalkedStep) -> Waiting:
    """How food that was hot, and wasn't cold since, waits for its run."""
    course, number = walked.came, walked.step.number
    held = "holds-hot" in _last_before(walk, number)
    first = [_first_stage(limit) for limit in walked.limits if isinstance(limit, CoolingLimit)]
    if not held and not first and course.spell is not None:
        return Waiting("warm", course.so_far, most_of(house).most)
    if held or not first:
        return Waiting("hot")
    return Waiting("hot", course.so_far, min(first), _own_share(walked))


def _own_share(walked: WalkedStep) -> Fraction:
    """The share of a run's time that its first stage takes at the least; 0 where it is the chilling
    that must begin in time, or where no target says what the run's time is for."""
    step, cooled = walked.step, [x for x in walked.limits if isinstance(x, CoolingLimit)]
    if step.target is None or step.target.warmest is None or "cools" not in step.effects:
        return Fraction(0)
    if any(x.begin_s is not None for x in cooled):
        return Fraction(0)
    return max(share_of_first(x.stages, step.target.warmest, step.cold) for x in cooled)


def _first_stage(limit: CoolingLimit) -> Fraction:
    """The seconds in which cooling food must be through its first stage, or begin to cool."""
    first = limit.stages[0].within_s
    return first if limit.begin_s is None else min(first, limit.begin_s)


def _last_before(walk: Walk, number: int) -> frozenset[str]:
    """What the step does that the food comes from; nothing where it comes from none."""
    before = walk.formula.before(number)
    return frozenset(before[-1].effects) if before else frozenset()


@dataclass(frozen=True)
class Meeting:
    """A stream that waits in the kitchen until a step at ``where`` takes it: its ``name``, the
    ``seconds`` it waits by the times of the ``steps`` in between and was out before, each of them
    done once, and the ``most`` that may be in all; ``how`` it waits."""

    name: str
    where: str
    how: Waits
    seconds: Fraction
    most: Fraction
    steps: tuple[int, ...]


def meetings(house: House, walk: Walk) -> Iterator[Meeting]:
    """The streams that wait for others outside the cold and the heat, and need the cold."""
    if walk.formula.ways is None:
        return  # one step after the other: nothing waits
    by_number = {one.step.number: one for one in walk.steps}
    joined = {number: one.step for number, one in by_number.items()}
    for walked in walk.steps:
        for come in walked.step.comes:
            steps = waited_for(joined, come.number, walked.step.number)
            last = by_number[come.number]
            if steps and _is_out(walk, last, walked.step.number):
                yield _meeting(house, walk, walked, last, come.name, steps)


def _is_out(walk: Walk, last: WalkedStep, taken: int) -> bool:
    """Whether what a step gives waits outside the cold and the heat, and needs the cold until the
    step of the number ``taken``."""
    out = last.course.state in ("between", "hot") and not stays_put(last.step)
    return out and needs_cold(walk.formula.along(taken), last.after, taken)


def _meeting(
    house: House,
    walk: Walk,
    walked: WalkedStep,
    last: WalkedStep,
    name: str,
    steps: tuple[int, ...],
) -> Meeting:
    """What a stream waits for from the step ``last`` to the one that takes it."""
    timed = sum((work_of(walk.formula.step(n)) for n in steps), last.course.so_far)
    hot = last.course.state == "hot" and not last.after.raw_animals
    how: Waits = "hot" if hot else "out"
    most = [most_of(house).most, *_first_stages(walk, walked.step.number, how)]
    where = f"Step {walked.step.number}, {walked.step.verb.lower()}"
    return Meeting(name.replace("-", " ") or "food", where, how, timed, min(most), steps)


def _first_stages(walk: Walk, number: int, how: Waits) -> list[Fraction]:
    """The first stages in which food that is hot still must cool from a step on."""
    if how != "hot":
        return []
    onward = {number, *(step.number for step in walk.formula.after(number))}
    limits = [lm for one in walk.steps if one.step.number in onward for lm in one.limits]
    return [_first_stage(limit) for limit in limits if isinstance(limit, CoolingLimit)]


def meets_too_late(meeting: Meeting, runs: Mapping[int, Fraction]) -> Unfit | None:
    """Why a stream can't wait for food that goes through a machine in several runs: ``runs`` are
    the seconds that those behind the first of them take, by the step's number."""
    more = sum((runs.get(number, Fraction(0)) for number in meeting.steps), Fraction(0))
    if not more or meeting.seconds + more <= meeting.most:
        return None
    place, fix = _PLACES[meeting.how]
    return Unfit(
        "runs-wait-too-long",
        f"{meeting.where}: the {meeting.name} waits {duration(meeting.seconds + more)} {place} "
        f"for food that is done in several runs; {duration(meeting.most)} is the most.",
        fix.replace("before this one", "before it waits"),
    )


_TIMED = HEATS | {"waits", "cools", "freezes"}
_FOR_LONG = frozenset({"stores", "displays"})


def needs_its_time(effects: frozenset[str]) -> bool:
    """Whether a step must say its time where it goes in several runs: what heats, chills or stands,
    as what ferments does, but not what is stored."""
    return bool(effects & _TIMED) and not effects & _FOR_LONG


_HOLDS = frozenset({"holds-hot", "stores", "displays"})
"""All of the food stays there at once: it doesn't go through in runs."""
_FOR_LATER = frozenset({"stores", "freezes"})


def all_at_once(walk: Walk, number: int) -> bool:
    """Whether all food of a batch is at a step at once: where it is held, stored or displayed, but
    not once it was stored or frozen, since what is in store is taken out as it is needed."""
    if not walk.formula.step(number).effects & _HOLDS:
        return False
    return not any(step.effects & _FOR_LATER for step in walk.formula.before(number))


def holds_too_little(takes: Takes, loads: Loads, whole: Counted | None) -> Unfit | None:
    """Why food doesn't fit where all of it is at once: there are no runs of that."""
    if loads.count == 1:
        return None
    room = _a_run(takes, whole)
    held = kilos(takes.most) if takes.most is not None else ""
    if takes.places is not None and (whole is None or room == takes.places):
        held = counted(takes.places_in_all, "place")
    return Unfit(
        "load-above-maximum",
        f"{takes.where}: all of the food is there at once, {loads.count} times what fits: {held}.",
        "Or name a larger place, or check `capacity` and `places`.",
        less=room,
    )


def run_not_timed(
    takes: Takes, loads: Loads, whole: Counted | None, waiting: Waiting, effects: frozenset[str]
) -> Unfit | None:
    """Nobody knows how long the last load waits, where what it may is bounded; of work by hand
    the time needn't be said."""
    if loads.count == 1 or waiting.most is None or not needs_its_time(effects):
        return None
    place, fix = _PLACES[waiting.how]
    return Unfit(
        "runs-wait-too-long",
        f"{takes.where}: {loads.count} runs, one after another, and no `time`. You don't know "
        f"how long the last one waits {place}; {duration(waiting.most)} is the most.",
        f"Write how long one run takes, as its `time`. {fix}",
        less=_a_run(takes, whole),
    )


def _a_run(takes: Takes, whole: Counted | None) -> Fraction | None:
    """How much goes in at once: in whole fills or pieces, else in grams; None where any does."""
    if whole is None:
        return takes.most
    return Fraction(room_for(whole.each, takes.most, takes.places) or 0) or None


def waits_too_long(
    takes: Takes, loads: Loads, whole: Counted | None, each_s: Fraction, waiting: Waiting
) -> Unfit | None:
    """Why food can't wait for its run: the time of the runs before its own counts, with what it was
    out before."""
    most, before = waiting.most, waiting.before
    if most is None or loads.count == 1:
        return None
    longest, own = each_s * (loads.count - 1), own_stage(waiting, each_s)
    if not longest or before + longest + own <= most:
        return None
    if waiting.how in ("out", "warm") and before > most:
        return None  # `rules.cold.between` reports it at the step before
    runs = max(0, math.floor((most - before - own) / each_s)) + 1
    room = _a_run(takes, whole)
    place, fix = _PLACES[waiting.how]
    earlier = f", after {duration(before)} of that before" if before else ""
    return Unfit(
        "runs-wait-too-long",
        f"{takes.where}: {loads.count} runs, one after another. The last waits "
        f"{duration(longest)} {place}{earlier}; {duration(most)} is the most{_with(own)}.",
        fix,
        less=runs * room if room else None,
    )


def own_stage(waiting: Waiting, each_s: Fraction) -> Fraction:
    """The seconds of its own run that the last load needs for its first stage, in whole minutes."""
    if not waiting.own:
        return Fraction(0)
    return Fraction(each_s * waiting.own // 60 * 60)


def _with(own: Fraction) -> str:
    """How long its own run takes for the first stage, in words, where that counts."""
    return f", and its own run takes {duration(own)} of that at the least" if own else ""


_PLACES = {
    "out": (
        "out of the cold",
        "Or keep it cold until its turn: a step `do: store` with `in` before this one.",
    ),
    "warm": (
        "between hot and cold",
        "Or use more places at once. Or keep it cold until its turn: a step `do: chill` before "
        "this one.",
    ),
    "hot": (
        "hot before it is chilled",
        "Or hold it hot until its turn: a step `do: hold-hot` before this one. Or chill it in more "
        "places at once.",
    ),
}
"""Where food waits for too long, and what would do."""
