"""Fish frozen against parasites: kept at or below a figure, without a break, for its time.

Food Code 3-402.11(A). The time counts only while every reading is at or below the figure and no
pause is longer than what counts as watched; whatever is warmer starts it anew.
"""

from __future__ import annotations

from fractions import Fraction

from generator.measures.words import duration
from generator.review.courses import Course, level, read_at
from generator.review.heating_course import spans, widest_gap
from generator.review.readings import ReadingLog, Series
from generator.review.results import ProbeFound
from generator.rules.basics.context import both, hold_words
from generator.rules.basics.limit import KeepingLimit

NOT_SHOWN = "That the fish was frozen solid when the time began, the readings can't show."


def kept_frozen(
    series: Series, course: Course, log: ReadingLog, limit: KeepingLimit, longest: Fraction
) -> ProbeFound:
    """The verdict of one probe's course on a freezing limit with a hold. ``longest`` is the
    longest pause that counts as watched, in seconds."""
    figure, need = level(limit.figure.value), limit.row_hold_s or Fraction(0)
    colder = Course(course.readings, course.at, [-heat for heat in course.heat])
    cold = spans(colder, -figure, longest)
    held = max((s.sure for s in cold), default=Fraction(-1))
    cold_words = f"{both(limit.figure.value, limit.figure.shown_c, limit.figure.shown_f)} or colder"
    words = f"{cold_words}{hold_words(need)}"
    if held >= need:
        why = f"It was at {words}, without a break."
        return ProbeFound(series.probe, "pass", why, limit.group, held, notes=(NOT_SHOWN,))
    held = max(held, Fraction(0))
    if any(s.most >= need for s in cold):
        why = f"It may have been at {words}; the readings are too far apart to show."
        gap = widest_gap(series, course.readings, log)
        if gap is not None and gap.seconds > longest:
            why += f" {gap.words}; readings count up to {duration(longest)} apart."
        return ProbeFound(series.probe, "cannot tell", why, held_s=held)
    return _broken(series, course, log, limit, held)


def _broken(
    series: Series,
    course: Course,
    log: ReadingLog,
    limit: KeepingLimit,
    held: Fraction,
) -> ProbeFound:
    """A time that isn't over: it was broken, or never begun; or the log ends before it is over,
    and the fish may be frozen on."""
    figure = level(limit.figure.value)
    words = f"{both(limit.figure.value, limit.figure.shown_c, limit.figure.shown_f)} or colder"
    only = f"for {duration(held)} only, of {duration(limit.row_hold_s or Fraction(0))}"
    first = next((i for i, heat in enumerate(course.heat) if heat <= figure), None)
    if first is None:
        coldest = min(range(course.size), key=lambda i: course.heat[i])
        reading = course.readings[coldest]
        why = f"It was never at {words}; the coldest reading was {read_at(reading, log.zone)}."
        return ProbeFound(series.probe, "fail", why, deviation=reading.at)
    warm = next((i for i in range(first, course.size) if course.heat[i] > figure), None)
    if warm is not None:
        reading = course.readings[warm]
        why = f"It was at {words} {only} without a break: it read {read_at(reading, log.zone)}."
        return ProbeFound(series.probe, "fail", why, held_s=held, deviation=reading.at)
    why = (
        f"It was at {words} {only}; then the readings end, at "
        f"{read_at(course.readings[-1], log.zone)}. Freeze it longer and read on."
    )
    return ProbeFound(series.probe, "cannot tell", why, held_s=held)
