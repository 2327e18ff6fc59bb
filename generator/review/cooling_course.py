"""A cooling course judged whole: its clock, its stages, a reheating in between, holding cold after
it.

The rule:

- **The clock** starts, at the earliest, at the last reading at or above its start before the first
  fall below it, at the latest at the first reading at or below it. It starts anew only after a
  reheating that itself passes (its figure, its hold, its time), once, and not past the last stage's
  deadline. A log that begins below the start can't pass: nobody can say when the clock began.
- **A stage ends** at the first reading at or below its end from which none is above it up to the
  stage's deadline, and which the readings around it bear out.
- **Cooling food doesn't warm**: at the end of a stage and above it again, by more than a probe's
  noise and without a reheating that passes, nobody can say what the food was.
- **After the last stage** the food is held cold: no reading above that figure, no pause too long.
  The last stage needs no other reading to bear it out, for what comes after it is judged so.
- A probe **drawn out** at the very end closes the log there (`review.doubts.drawn_out`).
- **One reading** against both its neighbours neither starts nor ends a stage; where the verdict
  hangs on it, nobody can say.

A verdict is *pass* if the least favourable course through the readings passes, *fail* if the most
favourable one fails, *cannot say* otherwise.
"""

from __future__ import annotations

import datetime
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from generator.measures.words import duration
from generator.review.cold_after import held_cold
from generator.review.cooling_clock import (
    Clock,
    CoolingRule,
    Reheated,
    clock_of,
    counting,
    reheated,
    start_of,
)
from generator.review.courses import NOISE, SECOND, Course, Level, level, read_at
from generator.review.doubts import JUMP, drawn_out
from generator.review.results import GRAVITY, ProbeFound, StageFound, Word
from generator.rules.basics.context import both, hold_words
from generator.rules.basics.limit import Stage


def cooled(probe: str, course: Course, rule: CoolingRule) -> ProbeFound:
    """The verdict on one probe's course: a course of one reading or more, by the rule above."""
    start = start_of(rule)
    end = drawn_out(course, start) if start is not None else None
    if end is None:
        return _judged(probe, course, rule, 1)
    found = _judged(probe, course.part(0, end), rule, 1)
    note = (
        f"The probe was taken out after {read_at(course.readings[end - 1], rule.zone)}. The log is "
        f"judged up to there."
    )
    return replace(found, notes=(*found.notes, note))


MOST_REHEATINGS = 12
"""More of them in one log are no food's."""


def _judged(
    probe: str, course: Course, rule: CoolingRule, reheatings: int, seen: int = 0
) -> ProbeFound:
    """A course whose clock may start anew so many times; ``seen`` are the reheatings before it."""
    if seen > MOST_REHEATINGS:
        why = (
            f"It was at the reheating figure, and colder again, more than {MOST_REHEATINGS} "
            f"times. Food doesn't do that. Was the probe in it?"
        )
        return ProbeFound(probe, "cannot tell", why)
    clock = clock_of(course, rule)
    if not clock.runs:
        return ProbeFound(probe, "cannot tell", clock.why)
    found = _from(probe, course, rule, clock)
    if clock.alone is not None:
        found = _alone(found, _from(probe, course, rule, counting(clock)), course, clock, rule)
    again = reheated(course, clock.late, rule)
    if again is None:
        return _warmed_too_little(found, course, rule, clock)
    return _anew(found, course, rule, clock, again, reheatings, seen)


def _alone(
    found: ProbeFound, other: ProbeFound, course: Course, clock: Clock, rule: CoolingRule
) -> ProbeFound:
    """The verdict where one reading against its neighbours may have started the clock."""
    if found.verdict == other.verdict:
        return found
    assert clock.alone is not None
    why = (
        f"The reading {read_at(course.readings[clock.alone], rule.zone)} disagrees with those on "
        f"both sides, and the verdict depends on it."
    )
    return replace(found, verdict="cannot tell", why=why, met_row="", deviation=None)


# --- reheated


def _anew(
    found: ProbeFound,
    course: Course,
    rule: CoolingRule,
    clock: Clock,
    again: Reheated,
    left: int,
    seen: int,
) -> ProbeFound:
    """The verdict of a course that reads a reheating: a new one, if it passes and comes in time."""
    probe = found.probe
    note = (
        f"Reheated at {read_at(course.readings[again.first], rule.zone)}: the clock starts again "
        f"after it."
    )
    before = _from(probe, course.part(0, again.coldest + 1), rule, clock)
    spent = 0 if before.verdict == "pass" else 1
    after = _judged(probe, course.part(again.first), rule, max(left - spent, 0), seen + 1)
    after = replace(after, notes=(note, *after.notes))
    if before.verdict == "pass" and again.passes:
        return min((before, after), key=lambda f: GRAVITY.index(f.verdict))
    last = max(s.within_s for s in rule.limit.stages)
    early = clock.early if clock.alone is None else counting(clock).early
    in_time = early is not None and course.seconds(early, again.first) <= last
    if again.passes and in_time and left:
        return _corrected(before, after, course, rule, again)
    too_late = course.seconds(clock.late, again.first) > last or not left or not again.may_pass
    same = found.verdict == "pass" or after.verdict == found.verdict
    if too_late or same or (again.passes and early is not None):
        return _not_corrected(found, course, rule, clock, again, left)
    why = (
        f"It read {read_at(course.readings[again.first], rule.zone)}. The readings can't show "
        f"whether that was a reheating that starts the clock again."
    )
    if before.verdict == "fail":
        why = f"Its cooling failed: {before.why} {why}"
    return replace(found, verdict="cannot tell", why=why, met_row="", deviation=None)


def _corrected(
    before: ProbeFound, after: ProbeFound, course: Course, rule: CoolingRule, again: Reheated
) -> ProbeFound:
    """A cooling that began anew after a reheating that passes: what failed before it is the
    deviation, and the reheating is the corrective action."""
    assert rule.reheating is not None
    at = read_at(course.readings[again.first], rule.zone)
    hold = hold_words(rule.reheating.hold_s)
    first = "failed first" if before.verdict == "fail" else "wasn't shown to be in time first"
    did = f"Its cooling {first}: {before.why} It was reheated once{hold}, to {at}, in time."
    met = f"{did} After that: {after.why}"
    deviations = [d for d in (before.deviation, after.deviation) if d is not None]
    return replace(after, why=met, deviation=min(deviations, default=None), corrected=did)


def _not_corrected(
    found: ProbeFound,
    course: Course,
    rule: CoolingRule,
    clock: Clock,
    again: Reheated,
    left: int,
) -> ProbeFound:
    """A cooling that failed, with what was wrong with the reheating after it."""
    if found.verdict != "fail":
        return found
    assert rule.reheating is not None
    last = max(s.within_s for s in rule.limit.stages)
    wrong = []
    if not left:
        wrong.append("it may be reheated once only")
    if course.seconds(clock.late, again.first) > last:
        wrong.append(f"that was more than {duration(last)} after the clock began")
    if not again.in_time and rule.reheating.within_s is not None:
        wrong.append(
            f"the readings don't show that it took {duration(rule.reheating.within_s)} or less"
        )
        if not again.may_pass:
            wrong[-1] = f"it took longer than {duration(rule.reheating.within_s)}"
    if not again.held:
        wrong.append(
            f"the readings don't show that it was there{hold_words(rule.reheating.hold_s)}"
        )
    if not wrong:
        return found
    at = read_at(course.readings[again.first], rule.zone)
    return replace(found, why=f"{found.why} It was reheated, to {at}, but {'; '.join(wrong)}.")


def _warmed_too_little(
    found: ProbeFound, course: Course, rule: CoolingRule, clock: Clock
) -> ProbeFound:
    """A cooling that failed, and was warmed again to less than the reheating figure."""
    failed = any(stage.verdict == "fail" for stage in found.stages)
    if found.verdict != "fail" or rule.reheating is None or not failed:
        return found
    heat = course.heat
    best: int | None = None
    most: Level = JUMP
    lowest = heat[clock.late]
    for i in range(clock.late + 1, course.size):
        if heat[i] - lowest > most:
            best, most = i, heat[i] - lowest
        lowest = min(lowest, heat[i])
    if best is None:
        return found
    figure = rule.reheating.figure
    asked = both(figure.value, figure.shown_c, figure.shown_f)
    at = read_at(course.readings[best], rule.zone)
    return replace(found, why=f"{found.why} It was warmed again to {at} only, not to {asked}.")


# --- the stages


@dataclass(frozen=True)
class _Ended:
    """A stage and the reading that ended it, by its index; None if none did."""

    found: StageFound
    reached: int | None


def _from(probe: str, course: Course, rule: CoolingRule, clock: Clock) -> ProbeFound:
    """The stages from a clock on, then holding cold."""
    if clock.late >= course.size:
        return ProbeFound(probe, "cannot tell", "The readings end before it has cooled.")
    ended: list[_Ended] = []
    for number, stage in enumerate(rule.limit.stages, 1):
        early, late = clock.early, clock.late
        if stage.after_stage and ended:
            there = ended[-1].reached
            if there is None:
                nobody = StageFound(stage, "cannot tell", Fraction(0), None)
                ended.append(_Ended(nobody, None))
                continue
            early, late = (there - 1 if there else None), there
        held = number == len(rule.limit.stages)
        ended.append(_stage(course, stage, early, late, held))
    stages = tuple(e.found for e in ended)
    verdict = min((s.verdict for s in stages), key=GRAVITY.index)
    begun = course.readings[clock.early] if clock.early is not None else None
    deviation = None
    failed = next((s for s in stages if s.verdict == "fail"), None)
    if failed is not None:
        since = begun or course.readings[clock.late]
        deviation = since.at + datetime.timedelta(seconds=float(failed.stage.within_s))
    why = _words(stages, verdict, clock, course, rule)
    row = rule.limit.group if verdict == "pass" else ""
    found = ProbeFound(
        probe,
        verdict,
        why,
        row,
        clock_started=begun.at if begun else None,
        stages=stages,
        deviation=deviation,
    )
    return _stayed(held_cold(found, course, rule, clock, ended[-1].reached), course, rule, clock)


def _stage(course: Course, stage: Stage, early: int | None, late: int, held: bool) -> _Ended:
    """One stage whose clock starts between two readings; after the last the food is ``held``."""
    end, at = level(stage.figure.value), course.at
    last = bisect_right(at, at[late] + stage.within_s * SECOND) - 1  # the last up to its deadline
    reached, borne_out = _ended(course, end, late, last)
    most = course.seconds(early, reached) if early is not None and reached is not None else None
    still = course.size - 1 if reached is None else reached - 1
    least = course.seconds(late, still) if still >= late else Fraction(0)
    if (borne_out or held) and most is not None and most <= stage.within_s:
        return _Ended(StageFound(stage, "pass", least, most), reached)
    late_for_sure = not stage.advised and _late(course, stage, early, late)
    return _Ended(
        StageFound(stage, "fail" if late_for_sure else "cannot tell", least, most), reached
    )


def _late(course: Course, stage: Stage, early: int | None, late: int) -> bool:
    """Whether a stage is surely late: above its end by every reading, from when its time may have
    been over to when it surely was."""
    end, heat, at = level(stage.figure.value), course.heat, course.at
    within = stage.within_s * SECOND
    deadline = at[late] + within
    last = bisect_right(at, deadline) - 1
    begun = at[early] + within if early is not None else at[late]
    since = max(bisect_right(at, begun) - 1, late)
    warm = min(heat[since : last + 1]) > end and not _cold_on_both_sides(course, last, end)
    return warm and (at[last] == deadline or (last + 1 < course.size and heat[last + 1] > end))


def _ended(course: Course, end: Level, late: int, last: int) -> tuple[int | None, bool]:
    """The reading that ended a stage, and whether those around it bear it out: of the run at or
    below ``end`` that lasts to the deadline the first from which the food doesn't rise, else the
    first one after the deadline."""
    heat = course.heat
    if heat[last] > end:
        return next((i for i in range(last + 1, course.size) if heat[i] <= end), None), True
    first = last
    while first > late and heat[first - 1] <= end:
        first -= 1
    after = range(first, last + 1)
    sound = (i for i in after if i + 1 == course.size or heat[i + 1] <= heat[i] + NOISE)
    return next(sound, last), first < last or last + 1 == course.size or heat[last + 1] <= end


def _cold_on_both_sides(course: Course, index: int, end: Level) -> bool:
    sides = [course.heat[i] for i in (index - 1, index + 1) if 0 <= i < course.size]
    return len(sides) > 1 and all(side <= end for side in sides)


def _stayed(found: ProbeFound, course: Course, rule: CoolingRule, clock: Clock) -> ProbeFound:
    """Food that was at the end of a stage and warmed above it again isn't cooled by that stage's
    time, though it may be met later, and the last, too: nobody can say what it was."""
    if found.verdict != "pass":
        return found
    for stage in rule.limit.stages:
        warm = _warm_again(course, level(stage.figure.value), clock.late)
        if warm is not None:
            why = _warm_again_words(stage, course, warm, rule)
            return replace(found, verdict="cannot tell", why=why, met_row="")
    return found


def _warm_again(course: Course, end: Level, first: int) -> int | None:
    """The first reading above a stage's ``end`` after one that was at it, warmer than the coldest
    since by more than NOISE; None if it stayed there."""
    coldest: Level | None = None
    for i in range(first, course.size):
        heat = course.heat[i]
        if coldest is not None and heat > max(end, coldest + NOISE):
            return i
        if heat <= end:
            coldest = heat if coldest is None else min(coldest, heat)
    return None


def _warm_again_words(stage: Stage, course: Course, warm: int, rule: CoolingRule) -> str:
    words = both(stage.figure.value, stage.figure.shown_c, stage.figure.shown_f)
    return (
        f"It was at {words} in time, but then it read {read_at(course.readings[warm], rule.zone)} "
        "again, without a reheating that passes. Cooling food doesn't warm: was it out of the "
        "cold, or the probe out of the food?"
    )


def _words(
    stages: Sequence[StageFound], verdict: Word, clock: Clock, course: Course, rule: CoolingRule
) -> str:
    deciding = next(s for s in stages if s.verdict == verdict)
    figure = deciding.stage.figure
    words = both(figure.value, figure.shown_c, figure.shown_f)
    within = duration(deciding.stage.within_s)
    if verdict == "fail":
        return f"It took longer than {within} to {words}{_still(deciding, clock, course, rule)}."
    if verdict == "pass":
        last = stages[-1]
        assert last.most_s is not None
        return f"It reached every stage in time: the last within {duration(last.most_s)}."
    if clock.early is None:
        return clock.why
    if (
        deciding.stage.advised
        and deciding.least_s is not None
        and deciding.least_s >= deciding.stage.within_s
    ):
        return (
            f"It took longer than {within} to {words}. That is no miss, but it is less certain "
            f"that the food is safe."
        )
    if deciding.most_s is None:
        last_reading = read_at(course.readings[-1], rule.zone)
        return (
            f"The readings end at {last_reading}, before it reached {words}, and before "
            f"{within} were over."
        )
    return _about_in_time(deciding, clock, course, rule)


def _about_in_time(found: StageFound, clock: Clock, course: Course, rule: CoolingRule) -> str:
    """Why nobody can say of a stage that was reached whether it was in time."""
    figure, stage = found.stage.figure, found.stage
    warm = _warm_again(course, level(figure.value), clock.late)
    if warm is not None and found.most_s is not None and found.most_s <= stage.within_s:
        return _warm_again_words(stage, course, warm, rule)
    return (
        f"It reached {both(figure.value, figure.shown_c, figure.shown_f)} about when the "
        f"{duration(stage.within_s)} were over; the readings are too far apart to show."
    )


def _still(found: StageFound, clock: Clock, course: Course, rule: CoolingRule) -> str:
    """The reading that shows a stage missed: the first above its end once its time was over."""
    end, start = level(found.stage.figure.value), course.at[clock.late]
    over = start + found.stage.within_s * SECOND
    for i in range(clock.late, course.size):
        if course.at[i] >= over and course.heat[i] > end:
            return f": still {read_at(course.readings[i], rule.zone)}"
    return ""


# --- begun in time, and on to a figure in no set time


def to_the_end(found: ProbeFound, course: Course, rule: CoolingRule) -> ProbeFound:
    """Cooling that must begin within a time of cooking and go on to a figure in no set time.
    Neither fails by readings of the food: they don't show when it went into the cold, and it may be
    read on."""
    limit = rule.limit
    start = start_of(rule)
    if limit.clock is None or start is None or (limit.begin_s is None and limit.finish is None):
        return found
    after = max((i + 1 for i, heat in enumerate(course.heat) if heat >= start), default=0)
    begun = _begun(course, rule, after)
    found = replace(found, begun_s=begun)
    if found.verdict != "pass":
        return found
    end, why = limit.finish, ""
    if end is not None and not any(heat <= level(end.value) for heat in course.heat[after:]):
        words = both(end.value, end.shown_c, end.shown_f)
        why = (
            f"{found.why} The readings end before it reached {words}. It must reach that before "
            f"it is packed."
        )
    elif limit.begin_s is not None and begun is None:
        why = (
            f"{found.why} But the log begins below the cooking temperature. It doesn't show "
            f"whether chilling began within {duration(limit.begin_s)} of the end of cooking."
        )
    elif limit.begin_s is not None and begun is not None and begun > limit.begin_s:
        why = (
            f"{found.why} But it took up to {duration(begun)} from the cooking temperature to the "
            f"start of the clock. The readings can't show whether chilling began within "
            f"{duration(limit.begin_s)}."
        )
    return replace(found, verdict="cannot tell", why=why, met_row="") if why else found


def _begun(course: Course, rule: CoolingRule, after: int) -> Fraction | None:
    """Seconds from the last reading at the cooking temperature to the first below the clock's
    start."""
    if rule.limit.begin_s is None or rule.cooked is None or after >= course.size:
        return None
    cooked = level(rule.cooked.value)
    hot = [i for i in range(after) if course.heat[i] >= cooked]
    return course.seconds(hot[-1], after) if hot else None
