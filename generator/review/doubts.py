"""Readings that no core can have, and the end of a log at which the probe was drawn out.

How fast a core can change is a working rule of this manual, not law: it only ever takes a verdict
back to "cannot say", or shortens a log; nothing passes by it.
"""

from __future__ import annotations

import zoneinfo
from collections.abc import Sequence
from dataclasses import dataclass

from generator.measures.temperature import Degree, Temperature
from generator.review.courses import DEGREE, MINUTE, NOISE, Course, Level, read_at

JUMP = 10 * DEGREE
"""Away from both neighbours by more than this, and back: the probe, not the food."""
MOST_IN_A_JUMP = 3
JUMP_WITHIN = 30 * MINUTE
FROZEN_WITHIN = 12 * 60 * MINUTE
STEP, STEP_WITHIN = 15 * DEGREE, 10 * MINUTE
"""A fall by more than this in one pause, out of a course that hardly fell before it."""
LEVEL_WITHIN, LEVELS_BY = 60 * MINUTE, 10
FAR = 45 * DEGREE
"""Through most of the danger zone in one pause."""
SLOWER_BEFORE = 4
BURST = 2
"""A last reading, fallen more than a jump, and this many times as fast as the course before it."""
DRAWN_BY, DRAWN_WITHIN, DRAWN_LASTS = 10 * DEGREE, 10 * MINUTE, 60 * MINUTE
"""A probe drawn out warms by so much in that time; what comes after it lasts no longer than
this."""
WARM_AIR = 45 * DEGREE
AT_ONCE = 10 * DEGREE
"""Per minute: no air, but hot water or a hand; no core either."""
FRIDGE_F = (28 * DEGREE, 45 * DEGREE)
"""What refrigerators read in °F. In °C no refrigerator, and hardly a room, is so warm."""
SAME_F = 4 * DEGREE
"""A reading of a refrigerator and the next, in °F, are no further apart than 4 °F."""
SAME_C = 2 * DEGREE
_SEEN_TWICE = 2


@dataclass(frozen=True)
class Doubt:
    """A reading that no core can have: its index, and why it is doubted, as a sentence."""

    index: int
    words: str


def doubts(
    course: Course,
    unit: Degree,
    zone: zoneinfo.ZoneInfo,
    cooling: bool,
    cold: bool,
    boiling: Temperature | None,
    boiling_level: Level | None,
) -> list[Doubt]:
    """What is to be doubted of a core's course, one of a kind, the first first.

    ``boiling`` is what water boils at here, ``boiling_level`` the level a reading may not pass;
    None for food that may be hotter. ``cooling`` and ``cold`` say what the log is of.
    """
    found = [
        _too_hot(course, zone, boiling, boiling_level),
        _jump(course, zone, cold),
        _step(course, zone) if cooling else None,
        _burst(course, zone) if cooling else None,
        _frozen(course, unit, zone) if cooling else None,
        _switched(course, zone) if cooling and unit == "°C" else None,
        _switched_in_the_heat(course, zone) if not cooling and unit == "°C" else None,
    ]
    return sorted((d for d in found if d is not None), key=lambda d: d.index)


def _too_hot(
    course: Course, zone: zoneinfo.ZoneInfo, boiling: Temperature | None, most: Level | None
) -> Doubt | None:
    if boiling is None or most is None:
        return None
    index = next((i for i, heat in enumerate(course.heat) if heat > most), None)
    if index is None:
        return None
    reading = course.readings[index]
    words = (
        f"It read {read_at(reading, zone)}: no core is hotter than boiling water, {boiling} here."
    )
    if reading.temperature.unit == "°C":
        words += f" Is it {'°F'}?"
    return Doubt(index, words)


def _jump(course: Course, zone: zoneinfo.ZoneInfo, cold: bool) -> Doubt | None:
    """A run of up to three readings away from those on both sides, by more than JUMP each.

    What is kept ``cold`` is looked at every few hours: within so many it doesn't freeze hard and
    come back.
    """
    heat, at = course.heat, course.at
    for i in range(1, course.size - 1):
        away = heat[i] - heat[i - 1]
        if -JUMP <= away <= JUMP:
            continue
        for last in range(i, min(i + MOST_IN_A_JUMP, course.size - 1)):
            run, sides = heat[i : last + 1], (heat[i - 1], heat[last + 1])
            by = min(run) - max(sides) if away > 0 else min(sides) - max(run)
            within = FROZEN_WITHIN if cold and away < 0 else JUMP_WITHIN
            if by > JUMP and at[last + 1] - at[i - 1] <= within:
                before, after = course.readings[i - 1], course.readings[last + 1]
                words = (
                    f"It read {read_at(course.readings[i], zone)} between {read_at(before, zone)} "
                    f"and {read_at(after, zone)}: "
                    "no core jumps and comes back. Was the probe in the food?"
                )
                return Doubt(i, words)
    return None


def _step(course: Course, zone: zoneinfo.ZoneInfo) -> Doubt | None:
    """A fall at once, out of a course that hardly fell, and that stays down."""
    heat, at = course.heat, course.at
    for i in range(2, course.size):
        fall, pause = heat[i - 1] - heat[i], at[i] - at[i - 1]
        if fall <= STEP or (pause > STEP_WITHIN and not _level_at_once(course, i)):
            continue
        before, pause_before = heat[i - 2] - heat[i - 1], at[i - 1] - at[i - 2]
        within = JUMP_WITHIN if pause <= STEP_WITHIN else LEVEL_WITHIN
        if pause_before <= within and before * pause * SLOWER_BEFORE < fall * pause_before:
            words = (
                f"It fell from {read_at(course.readings[i - 1], zone)} to "
                f"{read_at(course.readings[i], zone)} at once: "
                "no core does. Did the probe fall out, or was its scale changed?"
            )
            return Doubt(i, words)
    return None


def _level_at_once(course: Course, i: int) -> bool:
    """Whether a fall within an hour ends all at once, as a core never does: the next pause brings
    less than a tenth of it; less than a fourth, where the fall was through most of the danger zone
    and the course before it is known from half an hour."""
    heat, at = course.heat, course.at
    if at[i] - at[i - 1] > LEVEL_WITHIN or i + 1 >= course.size:
        return False
    fall, pause = heat[i - 1] - heat[i], at[i] - at[i - 1]
    after, pause_after = apart(heat[i + 1], heat[i]), at[i + 1] - at[i]
    close = at[i - 1] - at[i - 2] <= JUMP_WITHIN
    if not close and pause_after > LEVEL_WITHIN:
        return False
    by = SLOWER_BEFORE if fall > FAR and close else LEVELS_BY
    return after * pause * by < fall * pause_after


def _burst(course: Course, zone: zoneinfo.ZoneInfo) -> Doubt | None:
    """A last reading that nothing after it bears out, fallen much faster than the course before."""
    if course.size <= _SEEN_TWICE:
        return None
    heat, at = course.heat, course.at
    fall, pause = heat[-2] - heat[-1], at[-1] - at[-2]
    before, pause_before = heat[-3] - heat[-2], at[-2] - at[-3]
    if fall <= JUMP or fall * pause_before <= BURST * before * pause:
        return None
    words = (
        f"The last reading, {read_at(course.readings[-1], zone)}, fell faster than the food did "
        f"before it, and no other reading confirms it. Read once more before the log ends."
    )
    return Doubt(course.size - 1, words)


def kept_in_the_wrong_scale(
    course: Course, unit: Degree, zone: zoneinfo.ZoneInfo, frozen: bool
) -> Doubt | None:
    """Readings of what is kept cold that are of the other scale.

    In °F they are those of a room in °C: too cold for a refrigerator, too warm for a freezer; or
    they fell at once to what their figure is in °C. Not asked of food that may be ``frozen``. In °C
    they are those of a refrigerator in °F, from the first on, or at once from what that figure is
    in °C: warmer than a room.
    """
    no_food = _colder_than_food(course, zone)
    if no_food is not None or unit == "°C":
        return no_food or _fahrenheit_of_a_refrigerator(course, zone)
    if frozen or not course.size:
        return None
    changed = _celsius_of_a_refrigerator(course, zone)
    if changed is not None:
        return changed
    one_f = 5 * DEGREE
    figures = [five_f(heat) for heat in course.heat]
    cold = [f for f in figures if 0 < f <= 28 * one_f]
    if len(cold) * 2 <= course.size or max(cold) <= 5 * one_f:
        return None
    index = figures.index(max(cold))
    words = (
        f"It read {read_at(course.readings[index], zone)}, and most readings are like it: too cold "
        f"for a refrigerator. Is it °C?"
    )
    return Doubt(index, words)


COLDEST = Temperature.of(-60, "°C")
"""Colder than this no kitchen keeps food: what a log's figures are held to."""


def _colder_than_food(course: Course, zone: zoneinfo.ZoneInfo) -> Doubt | None:
    """A reading that no food has, as 3.0 typed as -300."""
    for index, reading in enumerate(course.readings):
        if reading.temperature < COLDEST:
            words = f"It read {read_at(reading, zone)}: no food is kept so cold. Check the figure."
            return Doubt(index, words)
    return None


def _fahrenheit_of_a_refrigerator(course: Course, zone: zoneinfo.ZoneInfo) -> Doubt | None:
    heat, low, high = course.heat, *FRIDGE_F
    there = [low <= one <= high for one in heat]
    first = next((i for i, is_there in enumerate(there) if is_there), None)
    if first is None:
        return None
    if first == 0 and sum(there) * 2 > course.size:
        words = (
            f"It read {read_at(course.readings[0], zone)}, and most readings are like it: warmer "
        )
        "than a room. "
        return Doubt(0, f"{words}Is it {'°F'}?")
    run = _a_run_in_fahrenheit(course, there, first)
    return _in_fahrenheit(course, first, zone) if run else None


def _a_run_in_fahrenheit(course: Course, there: Sequence[bool], first: int) -> bool:
    """Whether a run of readings is, at its beginning and at its end, the °F of those beside it."""
    heat = course.heat
    after = next((i for i in range(first, course.size) if not there[i]), None)
    beside = [(first, first - 1)] if after is None else [(first, first - 1), (after - 1, after)]
    return bool(first) and all(_its_fahrenheit(heat[i], heat[j]) for i, j in beside)


def _its_fahrenheit(one: Level, other: Level) -> bool:
    """Whether a level is, in °C, about the figure that another is in °F."""
    return apart(5 * one - five_f(other), 0) <= 5 * SAME_F


def _celsius_of_a_refrigerator(course: Course, zone: zoneinfo.ZoneInfo) -> Doubt | None:
    """A fall at once, in °F, from a refrigerator to what that figure is in °C."""
    heat, at = course.heat, course.at
    for i in range(1, course.size):
        before, now = five_f(heat[i - 1]), five_f(heat[i])
        if not before > 28 * 5 * DEGREE > now or at[i] - at[i - 1] > LEVEL_WITHIN:
            continue
        if apart(now, 5 * heat[i - 1]) <= 5 * SAME_C:
            words = (
                f"It fell from {read_at(course.readings[i - 1], zone)} to "
                f"{read_at(course.readings[i], zone)} at once: that is its figure in °C."
            )
            return Doubt(i, words)
    return None


def _frozen(course: Course, unit: Degree, zone: zoneinfo.ZoneInfo) -> Doubt | None:
    """A food that was chilled, in °F, to what neither a refrigerator nor a freezer makes of it."""
    index = min(range(course.size), key=lambda i: course.heat[i])
    figure = five_f(course.heat[index])
    if unit != "°F" or not 0 < figure <= 28 * 5 * DEGREE:
        return None
    words = (
        f"It read {read_at(course.readings[index], zone)} at the coldest: chilled food isn't "
        "frozen. Is it °C?"
    )
    return Doubt(index, words)


def _switched(course: Course, zone: zoneinfo.ZoneInfo) -> Doubt | None:
    """A rise at once, in °C, to the °F of the reading before: the scale was changed, not the
    food."""
    heat, at = course.heat, course.at
    for i in range(1, course.size):
        rise = heat[i] - heat[i - 1]
        if rise <= JUMP or at[i] - at[i - 1] > STEP_WITHIN:
            continue
        cooled = 0
        if i > 1 and heat[i - 2] > heat[i - 1]:  # it went on cooling meanwhile
            cooled = (
                2 * (heat[i - 2] - heat[i - 1]) * (at[i] - at[i - 1]) // (at[i - 1] - at[i - 2])
            )
        off = 5 * heat[i] - five_f(heat[i - 1])
        if -10 * NOISE - 9 * cooled <= off <= 10 * NOISE:
            return _in_fahrenheit(course, i, zone)
    return None


def _switched_in_the_heat(course: Course, zone: zoneinfo.ZoneInfo) -> Doubt | None:
    """A rise at once, in °C, to the °F of what the food was coming to, and that goes on as slowly
    as before.

    Food on the heat warms meanwhile: it is looked for between the reading before and twice as far
    on as its course was leading.
    """
    heat, at = course.heat, course.at
    for i in range(2, course.size):
        rise, pause = heat[i] - heat[i - 1], at[i] - at[i - 1]
        before, pause_before = apart(heat[i - 1], heat[i - 2]), at[i - 1] - at[i - 2]
        if rise <= STEP or pause > STEP_WITHIN or pause_before > JUMP_WITHIN:
            continue
        if rise * pause_before <= SLOWER_BEFORE * before * pause:
            continue  # it was rising like that already
        moved = before * pause // pause_before + NOISE
        low, high = heat[i - 1] - moved, heat[i - 1] + 2 * moved
        if not five_f(low) <= 5 * heat[i] <= five_f(high):
            continue
        if i + 1 < course.size:
            after, pause_after = apart(heat[i + 1], heat[i]), at[i + 1] - at[i]
            if after * pause_before > SLOWER_BEFORE * (before + NOISE) * pause_after:
                continue  # and goes on so: it is the food
        return _in_fahrenheit(course, i, zone)
    return None


def _in_fahrenheit(course: Course, i: int, zone: zoneinfo.ZoneInfo) -> Doubt:
    before, reading = course.readings[i - 1], course.readings[i]
    words = f"It rose from {read_at(before, zone)} to {read_at(reading, zone)} at once: "
    return Doubt(i, f"{words}that is its figure in °F.")


def five_f(heat: Level) -> Level:
    """Five times the °F of a level, which stays whole."""
    return 9 * heat + 160 * DEGREE


def apart(one: Level, other: Level) -> Level:
    return one - other if one > other else other - one


def drawn_out(course: Course, start: Level) -> int | None:
    """Where the probe was drawn out: the index of the first reading that isn't the food's, or None.

    That is a rise at the very end, from below ``start``, that a core can't make: by DRAWN_BY within
    DRAWN_WITHIN, up to the air of a warm room, or faster than AT_ONCE; from there on no reading
    comes back, and the log ends within DRAWN_LASTS.
    """
    heat, at = course.heat, course.at
    lowest_after: Level | None = None
    found = None
    for i in range(course.size - 1, 0, -1):
        if at[-1] - at[i - 1] > DRAWN_LASTS:
            break
        lowest_after = heat[i] if lowest_after is None else min(lowest_after, heat[i])
        if heat[i - 1] < start and lowest_after > heat[i - 1] and _too_fast(course, i):
            found = i
    return found


def _too_fast(course: Course, first: int) -> bool:
    heat, at = course.heat, course.at
    base, begun = heat[first - 1], at[first - 1]
    if (heat[first] - base) * MINUTE > AT_ONCE * (at[first] - begun) and heat[first] - base > JUMP:
        return True
    tail = range(first, course.size)
    if heat[first] - base <= NOISE or max(heat[i] for i in tail) > WARM_AIR:
        return False
    return any(heat[i] - base >= DRAWN_BY and at[i] - begun <= DRAWN_WITHIN for i in tail)
