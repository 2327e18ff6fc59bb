"""What follows a cooling: the food is held cold, and looked at."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from generator.measures.words import duration
from generator.review.cooling_clock import Clock, CoolingRule
from generator.review.courses import SECOND, Course, Level, level, read_at
from generator.review.results import ProbeFound
from generator.rules.basics.context import both
from generator.rules.basics.limit import Stage


def held_cold(
    found: ProbeFound, course: Course, rule: CoolingRule, clock: Clock, reached: int | None
) -> ProbeFound:
    """What follows the last stage is judged as holding cold. Once the clock is known a miss of that
    is one whatever else the readings leave open: past the last deadline it is to be cold."""
    last = rule.limit.stages[-1]
    if found.verdict == "pass" and reached is not None:
        since, due = reached, Fraction(0)
    elif found.verdict == "cannot tell" and clock.early is not None and _counts_alone(last):
        since = _first_at(course, level(last.figure.value), clock.late)
        due = course.at[clock.late] + last.within_s * SECOND
    else:
        return found
    figure = rule.cold or rule.limit.finish or last.figure
    cold = _first_at(course, level(figure.value), since)
    warm = _warm_when_held(course, rule, (since, cold), due)
    if warm is not None:
        reading = course.readings[warm]
        words = both(figure.value, figure.shown_c, figure.shown_f)
        was = "cooled in time" if found.verdict == "pass" else "cooled"
        why = f"It was {was}, but then it read {read_at(reading, rule.zone)}, above {words}."
        return replace(found, verdict="fail", why=why, met_row="", deviation=reading.at)
    return _looked_at(found, course, rule, cold) if found.verdict == "pass" else found


def _counts_alone(last: Stage) -> bool:
    """Whether the last stage is a limit whose time counts from the clock itself."""
    return not (last.advised or last.after_stage)


def _first_at(course: Course, most: Level, since: int) -> int:
    """The first reading at or below a level from an index on; the size of the course for none."""
    return next((i for i in range(since, course.size) if course.heat[i] <= most), course.size)


def _warm_when_held(
    course: Course, rule: CoolingRule, since: tuple[int, int], due: Fraction
) -> int | None:
    """The first reading from ``due`` on that is too warm for food held cold; from the last stage's
    end on (the first of ``since``) above that or the cold figure, from the second on above the cold
    figure."""
    cooled_at, cold_at = since
    stage = rule.limit.stages[-1].figure
    most = level((rule.cold or rule.limit.finish or stage).value)
    end = max(most, level(stage.value))
    for i in range(cooled_at, course.size):
        if course.at[i] >= due and course.heat[i] > (most if i >= cold_at else end):
            return i
    return None


def _looked_at(found: ProbeFound, course: Course, rule: CoolingRule, first: int) -> ProbeFound:
    """Cold food is looked at: a pause too long leaves its holding open."""
    longest = rule.cold_gap_s
    for i in range(first, course.size - 1):
        if longest is not None and course.seconds(i, i + 1) > longest:
            why = (
                f"It was cooled in time. Then there is no reading for "
                f"{duration(course.seconds(i, i + 1))} after "
                f"{read_at(course.readings[i], rule.zone)}; readings count up to "
                f"{duration(longest)} apart."
            )
            return replace(found, verdict="cannot tell", why=why, met_row="")
    return found
