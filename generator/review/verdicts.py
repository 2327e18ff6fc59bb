"""Readings against a critical limit: pass, fail, or cannot tell.

A probe sees the food at instants; what it did between them is only known to lie between two
readings. A verdict is *pass* if the least favourable course through the readings passes, *fail* if
the most favourable one fails, and *cannot say* otherwise. Figures are compared exactly, whatever
scale they were read in.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TypeGuard, assert_never

from generator.measures.temperature import Temperature
from generator.measures.words import duration
from generator.review.bursts import moved_to_the_edge
from generator.review.cooling_clock import CoolingRule, Reheating, start_of
from generator.review.cooling_course import cooled, to_the_end
from generator.review.courses import MINUTE, SECOND, Course, Level, course_of, level, read_at
from generator.review.doubts import Doubt, doubts, drawn_out, kept_in_the_wrong_scale
from generator.review.freezing_course import kept_frozen
from generator.review.heating_course import heated, maybe_celsius, widest_gap
from generator.review.jumps import Jumps, jumped, jumps, out_at_the_end, out_at_the_start
from generator.review.readings import Reading, ReadingLog, Series
from generator.review.results import GRAVITY, Judged, ProbeFound, Word
from generator.rules.basics.context import both
from generator.rules.basics.limit import (
    Bound,
    CoolingLimit,
    Figure,
    HeatingLimit,
    KeepingLimit,
    Limit,
    Probed,
    most_time,
)

TIMED = frozenset({"cook", "reheat", "cool", "parasites"})
JUDGED = TIMED | {"hot_hold", "cold_hold", "thaw", "receive"}
"""Hazards that readings of time and temperature can prove."""


def provable(limit: Limit) -> TypeGuard[Probed]:
    """Whether a log of readings can prove a limit: none of a most time, which readings don't
    begin and end; of freezing, only what has a time of its own, and not how long it takes until it
    is solid."""
    if limit.hazard not in JUDGED or not isinstance(limit, Probed) or most_time(limit) is not None:
        return False
    if limit.hazard != "parasites":
        return True
    return isinstance(limit, KeepingLimit) and limit.stored is None and bool(limit.row_hold_s)


def watched(limit: Probed) -> bool:
    """Whether the time between two readings matters: not where each stage has its deadline, nor at
    the door, where every delivery is read once."""
    return not isinstance(limit, CoolingLimit) and limit.hazard != "receive"


@dataclass(frozen=True)
class Around:
    """What is around a limit when a log is judged by it: the figure the food was ``cooked`` to
    before it is cooled, the ``reheating`` that starts a cooling clock anew, the figure it is then
    held ``cold`` at, with the longest pause in seconds; what water boils at here, and what no
    reading of the food may pass (None: food that may be hotter)."""

    cooked: Figure | None = None
    reheating: Reheating | None = None
    cold: Figure | None = None
    cold_gap_s: Fraction | None = None
    boiling: Temperature | None = None
    no_hotter: Temperature | None = None


NOTHING_AROUND = Around()


def judge(
    log: ReadingLog, limit: Probed, longest_gap_s: Fraction, around: Around = NOTHING_AROUND
) -> Judged:
    """The verdict of a log on one limit of a hazard in JUDGED."""
    probes = tuple(
        _doubtful(_either(s, log, limit, longest_gap_s, around), s, log, limit, around)
        for s in log.series
    )
    gaps = tuple(
        (s.probe, a, b)
        for s in log.series
        for a, b in s.gaps(longest_gap_s)
        if limit.hazard != "receive"
    )
    if log.clock_change:
        probes = tuple(_doubted(p, limit, log) for p in probes)
    verdict = _gravest([p.verdict for p in probes])
    first = next(p for p in probes if p.verdict == verdict)
    why = first.why if len(probes) == 1 or verdict == "pass" else f"{first.probe}: {first.why}"
    if verdict == "pass" and limit.measured == "surface" and len(probes) < _SIDES:
        verdict = "cannot tell"
        why = (
            f"{why} But both sides must read it, and the log names one. Name each side as a "
            f"probe: top and bottom."
        )
    return Judged(limit, verdict, why, probes, gaps, longest_gap_s)


_SIDES = 2
"""What is cooked on its surface is read on the top and on the bottom: two names in the log."""


def _gravest(verdicts: Sequence[Word]) -> Word:
    return min(verdicts, key=GRAVITY.index)


def _doubted(found: ProbeFound, limit: Probed, log: ReadingLog) -> ProbeFound:
    """Stamps without a zone across a change of the clocks: lengths of time may be an hour off."""
    if found.verdict == "fail" and limit.hazard not in TIMED:
        return found
    why = (
        log.clock_words or "The clocks changed during the log, and its times don't say their zone."
    )
    return _open(found, why)


_OF_A_CORE = frozenset({"cook", "reheat", "cool", "hot_hold", "cold_hold"})
"""Hazards whose logs follow one food: at the door every reading is of another, thawing is read on
the surface or in the water."""


def _doubtful(
    found: ProbeFound, series: Series, log: ReadingLog, limit: Probed, around: Around
) -> ProbeFound:
    """A reading that no core can have is named, and leaves the verdict open."""
    if not series.readings:
        return found
    course = course_of(series.lowest if series.clash is None else series.highest)
    words = []
    if isinstance(limit, KeepingLimit) and limit.bound == "max":
        wrong = kept_in_the_wrong_scale(course, log.unit, log.zone, _frozen_first(limit))
        words = [wrong.words] if wrong is not None else []
    if limit.measured == "core" and limit.hazard in _OF_A_CORE:
        found_doubts = _of_a_core(course, log, limit, around)
        words += [d.words for d in found_doubts]
        before = course.part(0, _sure(found_doubts))
        if isinstance(limit, CoolingLimit) and before.size:
            return _after_a_fail(found, before, log, limit, around, words)
    return _open(found, " ".join(words)) if words else found


def _sure(found: Sequence[Doubt]) -> int:
    """How many readings come before the first in doubt; 0 where none is."""
    return found[0].index if found else 0


def _of_a_core(course: Course, log: ReadingLog, limit: Probed, around: Around) -> list[Doubt]:
    """What is to be doubted of the course of one core."""
    cooling, cold = isinstance(limit, CoolingLimit), limit.hazard == "cold_hold"
    most = level(around.no_hotter) if around.no_hotter is not None else None
    return doubts(course, log.unit, log.zone, cooling, cold, around.boiling, most)


def _after_a_fail(
    found: ProbeFound,
    before: Course,
    log: ReadingLog,
    limit: CoolingLimit,
    around: Around,
    words: list[str],
) -> ProbeFound:
    """A cooling with readings in doubt, for which ``words`` are said: open, unless it had failed
    before the first of them, with its clock seen: what comes after can't put that right."""
    failed = _cooled(found.probe, before, log, limit, around)
    if failed.verdict != "fail" or failed.clock_started is None:
        return _open(found, " ".join(words))
    failed = found if found.verdict == "fail" else failed
    return replace(failed, notes=(*failed.notes, *words))


def _frozen_first(limit: KeepingLimit) -> bool:
    """Whether the food may well be frozen when it is read: while it thaws, or by its limit."""
    return limit.hazard == "thaw" or limit.figure.value.celsius <= 0


def _either(
    series: Series, log: ReadingLog, limit: Probed, longest: Fraction, around: Around
) -> ProbeFound:
    """The verdict with the colder and with the warmer of two readings that disagree. Where it is
    the same, a pass is told of the course that speaks against it, a fail of the one that speaks for
    the food: even that one fails."""
    one = _judge(series, series.lowest, log, limit, longest, around)
    if series.clash is None and len(series.lowest) == len(series.readings):
        return one
    other = _judge(series, series.highest, log, limit, longest, around)
    if one.verdict == other.verdict:
        hot_is_well = limit.figure.bound == "min"
        return other if (one.verdict == "fail") == hot_is_well else one
    why = "Two readings of the same time disagree, and the verdict depends on them."
    if series.clash is not None:
        a, b = (read_at(r, log.zone) for r in series.clash)
        why = (
            f"It read {a} and {b}: two readings of the same time disagree, and the verdict "
            f"depends on them."
        )
    return ProbeFound(series.probe, "cannot tell", why)


def _judge(
    series: Series,
    readings: Sequence[Reading],
    log: ReadingLog,
    limit: Probed,
    longest: Fraction,
    around: Around,
) -> ProbeFound:
    probe = series.probe
    if not readings:
        return ProbeFound(probe, "cannot tell", "The probe gave no reading.")
    match limit:
        case CoolingLimit():
            course = course_of(readings)
            return _one_batch(_cooled(probe, course, log, limit, around), course, log, limit)
        case HeatingLimit():
            return _heated(series, course_of(readings), log, limit, longest)
        case KeepingLimit() if limit.hazard == "parasites":
            return kept_frozen(series, course_of(readings), log, limit, longest)
        case KeepingLimit():
            return _kept(series, course_of(readings), log, limit, longest)
        case _:
            assert_never(limit)


# --- cooled, heated


_LONG_COLD = 60 * MINUTE
"""So long without a reading between cold food and hot, and it may be other food."""


def _one_batch(
    found: ProbeFound, course: Course, log: ReadingLog, limit: CoolingLimit
) -> ProbeFound:
    """What doesn't pass and begins anew, hot, after it was cold, with no course of heating between
    them: more than one batch may be in the log."""
    if found.verdict == "pass" or limit.clock is None:
        return found
    cold, hot = level(limit.figure.value), level(limit.clock.value)
    for i in range(1, course.size):
        long = course.at[i] - course.at[i - 1] >= _LONG_COLD
        if course.heat[i - 1] <= cold and course.heat[i] >= hot and long:
            why = (
                f"{found.why} More than one batch? It was cold, and the next reading is "
                f"{read_at(course.readings[i], log.zone)}: split the file there, one batch each."
            )
            return replace(found, why=why)
    return found


def _cooled(
    probe: str, course: Course, log: ReadingLog, limit: CoolingLimit, around: Around
) -> ProbeFound:
    """A cooling course; a reheating that is a jump no core makes leaves it open, and what had
    failed before it stays a fail."""
    rule = CoolingRule(
        limit, log.zone, around.cooked, around.reheating, around.cold, around.cold_gap_s
    )
    found = to_the_end(cooled(probe, course, rule), course, rule)
    moved = moved_to_the_edge(found, course, log.zone)
    if moved:
        return _open(found, moved)
    start = start_of(rule)
    if around.reheating is None or start is None:
        return found
    end = drawn_out(course, start) or course.size
    jump = jumps(course, level(around.reheating.figure.value), log.zone, end, cooling=True)
    if jump is None:
        return found
    before = cooled(probe, course.part(0, min(jump.suspect)), rule)
    if before.verdict == "fail":  # a jump shows nothing: it is no reheating
        if found.verdict == "fail":
            return found
        return replace(before, notes=(jump.words,))
    return _open(found, jump.words)


def _heated(
    series: Series, course: Course, log: ReadingLog, limit: HeatingLimit, longest: Fraction
) -> ProbeFound:
    """A course of heat; a pass is only if it does so without the jumps no core makes."""
    found = heated(series, course, log, limit, longest)
    if found.verdict != "pass" or limit.measured != "core":
        return found
    figures = [o.figure for o in limit.options] or [limit.figure]
    floor = min(level(figure.value) for figure in figures)
    jump = jumps(course, floor, log.zone, course.size)
    if jump is None:
        return found
    rest = _without(course, jump)
    if rest.size:
        again = heated(series, rest, log, limit, longest)
        if again.verdict == "pass":
            note = f"{jump.words} Without the doubtful readings it passes."
            return replace(again, notes=(*again.notes, note))
    return _open(found, jump.words)


def _without(course: Course, jump: Jumps) -> Course:
    kept = [i for i in range(course.size) if i not in jump.suspect]
    return Course(
        [course.readings[i] for i in kept],
        [course.at[i] for i in kept],
        [course.heat[i] for i in kept],
    )


def _open(found: ProbeFound, why: str) -> ProbeFound:
    """A verdict left open by readings in doubt, and why; nothing is said of how long it held."""
    return replace(
        found,
        verdict="cannot tell",
        why=why,
        met_row="",
        deviation=None,
        held_s=None,
        held_most_s=None,
        reach=None,
        doubted=True,
    )


# --- kept: never beyond a figure


_HELD = frozenset({"hot_hold", "cold_hold"})


def _kept(
    series: Series, course: Course, log: ReadingLog, limit: KeepingLimit, longest: Fraction
) -> ProbeFound:
    """Food held, received or thawed; where the probe was out of food that is held, the log closes
    there or the verdict stays open."""
    found = _each(series, course, log, limit, longest)
    if limit.hazard not in _HELD or limit.measured != "core":
        return found
    if found.verdict == "fail":
        failed = _out_of_the_food(found, series, course, log, limit, longest)
        asked = _air_or_food(failed, course, level(limit.figure.value), limit.bound)
        return replace(failed, why=f"{failed.why}{asked}")
    return _not_by_a_jump(found, course, log, limit)


_SHORT = 60 * MINUTE
"""A rise of cold food that is over within this may be the air's: a working rule of this manual."""


def _air_or_food(found: ProbeFound, course: Course, figure: Level, bound: Bound) -> str:
    """What is asked of cold food that fails by one short rise from which it came back; else ""."""
    if found.verdict != "fail" or bound != "max":
        return ""
    warm = [i for i, heat in enumerate(course.heat) if heat > figure]
    first, last = warm[0], warm[-1]
    if not 0 < first <= last < course.size - 1 or last - first + 1 != len(warm):
        return ""
    length = course.at[last + 1] - course.at[first - 1]
    if length > _SHORT:
        return ""
    minutes = duration(Fraction(length, SECOND))
    return (
        f" It was back within {minutes}: did the probe read the air (a defrost, an open door), or "
        "the food? Only the food's own temperature counts."
    )


def _not_by_a_jump(
    found: ProbeFound, course: Course, log: ReadingLog, limit: KeepingLimit
) -> ProbeFound:
    """A pass of food held hot stays one only without a jump no core makes."""
    why = jumped(course, log.zone) if found.verdict == "pass" and limit.bound == "min" else ""
    return _open(found, why) if why else found


def _out_of_the_food(
    found: ProbeFound,
    series: Series,
    course: Course,
    log: ReadingLog,
    limit: KeepingLimit,
    longest: Fraction,
) -> ProbeFound:
    """What failed, judged without the readings at either end that may be a probe's outside the
    food."""
    hot, figure = limit.bound == "min", level(limit.figure.value)
    out = out_at_the_end(course, figure, hot)
    begins = out_at_the_start(course, figure, hot)
    if out is None and begins is None:
        return found
    first = begins.index + 1 if begins is not None else 0
    end = out.index if out is not None else course.size
    if first >= end:
        return found
    part = course.part(first, end)
    inner = _not_by_a_jump(_each(series, part, log, limit, longest), part, log, limit)
    if inner.verdict == "fail":
        return inner
    reported_of = []
    if begins is not None:
        reported_of.append(
            f"Up to {read_at(course.readings[first - 1], log.zone)} the probe may not have been in "
            f"the food. Start the log when it is."
        )
    if out is not None and not out.closes:
        reported_of.append(
            f"From {read_at(course.readings[end - 1], log.zone)} it went to "
            f"{read_at(course.readings[end], log.zone)} at once. Was the probe taken out, or was "
            f"it the food?"
        )
    if inner.verdict == "cannot tell":
        reported_of.append(inner.why)
    if reported_of:
        return _open(inner, " ".join(reported_of))
    note = (
        f"The probe was taken out after {read_at(course.readings[end - 1], log.zone)}. The log is "
        f"judged up to there."
    )
    return replace(inner, notes=(*inner.notes, note))


def _each(
    series: Series, course: Course, log: ReadingLog, limit: KeepingLimit, longest: Fraction
) -> ProbeFound:
    value, probe = limit.figure.value, series.probe
    words = both(value, limit.figure.shown_c, limit.figure.shown_f)
    low = limit.bound == "min"
    for reading in course.readings:
        beyond = reading.temperature < value if low else value < reading.temperature
        if beyond:
            side = "below" if low else "above"
            why = f"It read {read_at(reading, log.zone)}, {side} {words}."
            if low and maybe_celsius(reading.temperature, value):
                why += " Is it °C?"
            return ProbeFound(probe, "fail", why, deviation=reading.at)
    gap = widest_gap(series, course.readings, log) if watched(limit) else None
    if gap is not None and gap.seconds > longest:
        why = f"{gap.words}; readings count up to {duration(longest)} apart."
        return ProbeFound(probe, "cannot tell", why)
    return ProbeFound(probe, "pass", f"Every reading kept to {words}.", limit.group)
