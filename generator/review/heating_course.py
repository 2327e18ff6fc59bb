"""A course of heat judged by the rows of a limit: at or above one of them for its hold, and in
time.

The time between two readings counts as held only if both are at the figure and the pause isn't too
long; at the most it was held from the reading before to the one after. Food that is at the figure
when the log begins or ends may have been there for any time before or after: one reading there, as
a cook takes it by hand, fails nothing. Where a row is missed, the reason is that of the row nearest
to what was asked.
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from generator.measures.temperature import Temperature
from generator.measures.words import duration
from generator.review.courses import SECOND, Course, Level, level, read_at
from generator.review.readings import Reading, ReadingLog, Series, seconds_between
from generator.review.results import GRAVITY, ProbeFound, ReachFound
from generator.rules.basics.context import both, hold_words
from generator.rules.basics.limit import Figure, HeatingLimit
from generator.rules.heat.roast import GROUP as ROAST


@dataclass(frozen=True)
class Gap:
    """The longest pause between two readings: how long, and who is to be asked about it."""

    seconds: Fraction
    words: str


def widest_gap(series: Series, readings: Sequence[Reading], log: ReadingLog) -> Gap | None:
    """The longest pause of a probe, with its drop-outs named; None for a single reading."""
    if len(readings) < 2:
        return None
    index = max(range(len(readings) - 1), key=lambda i: readings[i + 1].at - readings[i].at)
    before, after = readings[index], readings[index + 1]
    length = seconds_between(before.at, after.at)
    missing = sum(before.at < at < after.at for at in series.drop_outs)
    said = f"after {read_at(before, log.zone)}"
    if missing:
        lines = "line" if missing == 1 else "lines"
        return Gap(
            length,
            f"The probe {series.probe} gave no reading for {duration(length)} {said}, on "
            f"{missing} {lines}",
        )
    return Gap(length, f"There is no reading for {duration(length)} {said}")


@dataclass(frozen=True)
class Span:
    """How long the food was at or above a figure, in seconds: ``sure``, and at the ``most`` in the
    log; ``whole`` is false where the log begins or ends with it, and it may have been longer."""

    sure: Fraction
    most: Fraction
    whole: bool

    def may_last(self, need: Fraction) -> bool:
        """Whether it may have been there for so many seconds: of a whole run less than ``most``."""
        return not self.whole or self.most > need


def spans(course: Course, figure: Level, longest: Fraction) -> list[Span]:
    """The runs of readings at or above a figure, and the pauses in which nobody looked.
    ``longest`` is the longest pause that counts as watched, in seconds."""
    above = [heat >= figure for heat in course.heat]
    at, most_apart = course.at, longest * SECOND
    found: list[Span] = []
    index = 0
    while index < course.size:
        if not above[index]:
            index += 1
            continue
        end, sure, run = index, 0, 0
        while end + 1 < course.size and above[end + 1]:
            step = at[end + 1] - at[end]
            run = run + step if step <= most_apart else 0
            sure, end = max(sure, run), end + 1
        most = course.seconds(max(index - 1, 0), min(end + 1, course.size - 1))
        whole = index > 0 and end + 1 < course.size
        found.append(Span(Fraction(sure, SECOND), most, whole))
        index = end + 1
    for i in range(course.size - 1):
        if at[i + 1] - at[i] > most_apart and not above[i] and not above[i + 1]:
            found.append(Span(Fraction(-1), course.seconds(i, i + 1), True))  # nobody looked
    return found


def heated(
    series: Series, course: Course, log: ReadingLog, limit: HeatingLimit, longest: Fraction
) -> ProbeFound:
    """The verdict of one probe's course on a limit for cooking or reheating. ``longest`` is the
    longest pause that counts as watched, in seconds."""
    asked, found = limit.figure.value.celsius, []
    chart = any(o.group == ROAST for o in limit.options)  # to which the time to get there isn't set
    rows = [(o.row, o.figure, o.hold_s, o.group != ROAST) for o in limit.options]
    for row, figure, hold, in_time in rows or [("", limit.figure, limit.row_hold_s, True)]:
        one = _by_row(series, course, log, (row, figure, hold or Fraction(0)), longest)
        if one.verdict == "pass":
            one = _in_time(one, course, log, figure, limit) if in_time else one
            if one.verdict == "pass" or not chart:
                return one
        elif one.verdict == "cannot tell" and in_time:
            one = replace(one, why=f"{one.why}{_time_open(course, figure, limit)}")
        found.append((-GRAVITY.index(one.verdict), abs(figure.value.celsius - asked), one))
    return min(found, key=lambda f: f[:2])[2]


def _by_row(
    series: Series,
    course: Course,
    log: ReadingLog,
    row: tuple[str, Figure, Fraction],
    longest: Fraction,
) -> ProbeFound:
    """The verdict on one row: its name, its figure, its hold in seconds."""
    name, figure, need = row
    probe, hot = series.probe, spans(course, level(figure.value), longest)
    held = max((s.sure for s in hot), default=Fraction(-1))
    most = most_of(hot)
    words = both(figure.value, figure.shown_c, figure.shown_f) + hold_words(need)
    if held >= need:
        return ProbeFound(probe, "pass", f"It met {words}.", name, held, most)
    if any(s.may_last(need) for s in hot):
        why = _may_have(series, course, log, (figure, need), held, longest)
        return ProbeFound(probe, "cannot tell", why, "", max(held, Fraction(0)), most)
    fell = _fell(course, level(figure.value))
    why = _missed(series, course, log, (figure, need), held, fell)
    return ProbeFound(
        probe, "fail", why, "", max(held, Fraction(0)), most, deviation=course.readings[fell].at
    )


def _missed(
    series: Series,
    course: Course,
    log: ReadingLog,
    row: tuple[Figure, Fraction],
    held: Fraction,
    fell: int,
) -> str:
    """Why a row was missed: never at its figure (``held`` below 0), or not for long enough until it
    ``fell``."""
    figure, need = row
    hot = both(figure.value, figure.shown_c, figure.shown_f)
    if held >= 0:
        stayed = f"for {duration(held)} only" if held else "at one reading only"
        at = read_at(course.readings[fell], log.zone)
        return f"It was at {hot} {stayed}, not{hold_words(need)}; then it read {at}."
    hottest = max(series.readings, key=lambda reading: reading.temperature.celsius)
    asked = " Is it °C?" if maybe_celsius(hottest.temperature, figure.value) else ""
    return (
        f"It was never at {hot}{hold_words(need)}; the hottest reading was "
        f"{read_at(hottest, log.zone)}.{asked}"
    )


def most_of(found: Sequence[Span]) -> Fraction | None:
    """The longest time it may have been there, in seconds; None where nobody knows."""
    if not all(s.whole for s in found):
        return None
    return max((s.most for s in found), default=Fraction(0))


def _may_have(
    series: Series,
    course: Course,
    log: ReadingLog,
    row: tuple[Figure, Fraction],
    held: Fraction,
    longest: Fraction,
) -> str:
    """Why a row may have been met; where it was seen at its figure, for ``held`` seconds or more,
    only its hold is open: by a pause too long, or by where the log begins or ends."""
    figure, need = row
    hot, there = both(figure.value, figure.shown_c, figure.shown_f), level(figure.value)
    gap = widest_gap(series, course.readings, log)
    if gap is not None and gap.seconds > longest:
        if held >= 0:
            return (
                f"It was at {hot}. The readings are too far apart to show whether it stayed "
                f"there{hold_words(need)}. {gap.words}."
            )
        return (
            f"It may have met {hot}{hold_words(need)}; the readings are too far apart to show. "
            f"{gap.words}."
        )
    if course.size == 1:
        return (
            f"It was at {hot}: one reading doesn't show that it stayed there{hold_words(need)}. "
            "Read it again at the end of that time."
        )
    if course.heat[-1] >= there:
        last = read_at(course.readings[-1], log.zone)
        return (
            f"It was at {hot}, and the readings end at {last}. They don't show whether it stayed "
            f"there{hold_words(need)}."
        )
    if course.heat[0] >= there:
        first = read_at(course.readings[0], log.zone)
        return (
            f"The log begins at {first}. It doesn't show whether it was at {hot}{hold_words(need)}."
        )
    return (
        f"It was at {hot}. The readings are too far apart to show whether it stayed "
        f"there{hold_words(need)}."
    )


def maybe_celsius(read: Temperature, figure: Temperature) -> bool:
    """Whether a reading in °F would be at a figure, and no hotter than boiling, if it were °C."""
    if read.unit != "°F":
        return False
    return figure.celsius <= read.in_unit("°F") <= 100


def _time_open(course: Course, figure: Figure, limit: HeatingLimit) -> str:
    """That the time it took to get there is open, too, where it was seen there and the readings
    don't show it to be in time."""
    reach, need = limit.reach, level(figure.value)
    there = next((i for i, heat in enumerate(course.heat) if heat >= need), None)
    if reach is None or there is None:
        return ""
    cold = level(reach.start.value)
    first = next(i for i in range(there + 1) if course.heat[i] > cold)
    if first and course.seconds(first - 1, there) <= reach.within_s:
        return ""
    start = both(reach.start.value, reach.start.shown_c, reach.start.shown_f)
    took = f": up to {duration(course.seconds(first - 1, there))}" if first else ""
    return (
        f" They don't show either that it got there within {duration(reach.within_s)} of "
        f"{start}{took}."
    )


def _in_time(
    met: ProbeFound, course: Course, log: ReadingLog, figure: Figure, limit: HeatingLimit
) -> ProbeFound:
    """A limit that was met, with the time it took to get there: from the first rise out of the cold
    to the first reading at the figure, or at the least from the last rise. A log that begins when
    the food has left the cold can't pass."""
    reach = limit.reach
    if reach is None:
        return met
    cold, need = level(reach.start.value), level(figure.value)
    there = next(i for i, heat in enumerate(course.heat) if heat >= need)
    first = next(i for i in range(there + 1) if course.heat[i] > cold)
    most = course.seconds(first - 1, there) if first else None
    last = max((i + 1 for i in range(there) if course.heat[i] <= cold), default=first)
    least = course.seconds(last, there - 1) if last < there else Fraction(0)
    if most is not None and most <= reach.within_s:
        return replace(met, reach=ReachFound("pass", least, most))
    words, within = f"{met.why[:-1]}, but", duration(reach.within_s)
    start = both(reach.start.value, reach.start.shown_c, reach.start.shown_f)
    if least >= reach.within_s:
        why = (
            f"{words} took longer than {within} from {start} to get there: first at "
            f"{read_at(course.readings[there], log.zone)}."
        )
        late = course.readings[last].at + datetime.timedelta(seconds=float(reach.within_s))
        found = ReachFound("fail", least, most)
        return replace(met, verdict="fail", why=why, met_row="", deviation=late, reach=found)
    found = ReachFound("cannot tell", least, most)
    why = f"{words} the readings can't show whether it got there within {within} of {start}."
    if most is None:
        begins = read_at(course.readings[0], log.zone)
        why = (
            f"{words} the log begins at {begins}, above {start}. It doesn't show whether it got "
            f"there within {within}."
        )
    return replace(met, verdict="cannot tell", why=why, met_row="", reach=found)


def _fell(course: Course, figure: Level) -> int:
    """The first reading below after one at the figure; else the last, where it still wasn't
    there."""
    reached = False
    for index, heat in enumerate(course.heat):
        if reached and heat < figure:
            return index
        reached |= heat >= figure
    return course.size - 1
