"""Jumps that no core makes: a probe put in steam, left in the oven, moved, drawn out.

How fast a core can change is a working rule of this manual, not law. A jump takes a pass that rests
on it back to "cannot say"; it closes a log only where no food at all could have changed like that.
"""

from __future__ import annotations

import itertools
import math
import zoneinfo
from collections.abc import Sequence
from dataclasses import dataclass

from generator.review.courses import DEGREE, MINUTE, NOISE, Course, Level, read_at
from generator.review.doubts import (
    AT_ONCE,
    DRAWN_BY,
    DRAWN_LASTS,
    DRAWN_WITHIN,
    JUMP,
    JUMP_WITHIN,
    LEVEL_WITHIN,
    LEVELS_BY,
    SLOWER_BEFORE,
    STEP,
    STEP_WITHIN,
    WARM_AIR,
    apart,
    five_f,
)

BLIP = 2 * DEGREE
"""One reading this much above two that agree is against them."""
STEAM = 90 * DEGREE
"""Nothing is held as hot as this; steam is, on a mountain, too."""
_AT_LEAST = 5 * DEGREE
"""A probe drawn out falls by so much in the first pause."""
PROBE = 5 * MINUTE
"""What is drawn out and nears the air with a time constant of no more than this is a probe: food
would have to be thinner than 5 mm."""
_COOL_ROOM, _HOT_ROOM = 15 * DEGREE, 30 * DEGREE
"""The air it nears is taken so that food is the least likely to be excused."""
_WARM_ROOM = 35 * DEGREE
"""What a probe drawn out comes to at the most; a fall that ends above it was to other food."""
_SAME = 2 * DEGREE
BEFORE = 3
"""The course before a jump is taken over so many times its length: the probe may have begun to
change in the pause before."""
_SHARE = 4
"""What comes after a probe is drawn out is no more than one reading in so many."""


@dataclass(frozen=True)
class Jumps:
    """Readings that may not be the food's, by their indexes, and what is said of the first jump."""

    suspect: frozenset[int]
    words: str


# --- heated


@dataclass(frozen=True)
class _Span:
    """A course up to, not with, ``end``: at each reading the coldest and the hottest before it, and
    the hottest from it on."""

    course: Course
    end: int
    coldest: Sequence[Level]
    hottest: Sequence[Level]
    later: Sequence[Level]


def _span(course: Course, end: int) -> _Span:
    heat = course.heat[:end]
    coldest, hottest = itertools.accumulate(heat, min), itertools.accumulate(heat, max)
    later = list(itertools.accumulate(reversed(heat), max))[::-1]
    first = heat[:1]
    return _Span(course, end, [*first, *coldest], [*first, *hottest], later)


def jumps(
    course: Course, floor: Level, zone: zoneinfo.ZoneInfo, end: int, cooling: bool = False
) -> Jumps | None:
    """The jumps of a course that is heated to ``floor`` or more, up to, not with, ``end``.

    A jump up counts where the food is first at the floor by it, or within STEP_WITHIN of it; the
    readings from there to the next fall at once are suspect. After a fall at once to food that is
    still warm, or that then warms, all readings before it are: the probe was moved. So is one
    reading above two that agree. Of a ``cooling`` course only the rises count.
    """
    span, suspect = _span(course, end), set[int]()
    words, moved, risen = "", 0, 0  # suspect up to ``moved``; from a rise up to ``risen``
    for i in range(1, end):
        kind = ""
        if i >= risen and _rises_at_once(span, i) and _brings_to(course, floor, i, end):
            risen = _fallen(course, i, end)
            suspect |= set(range(i, risen))
            kind = "rose"
        elif not cooling and _moved(span, i) and span.hottest[i] >= floor:
            moved, kind = i, "fell"
        elif not cooling and course.heat[i] >= floor and _blip(course, i, end):
            suspect.add(i)
            kind = "alone"
        if kind and not words:
            words = _alone(course, i, zone) if kind == "alone" else _said(course, i, kind, zone)
    return Jumps(frozenset(suspect | set(range(moved))), words) if words else None


def jumped(course: Course, zone: zoneinfo.ZoneInfo) -> str:
    """What is said of the first jump, up or down, of food held hot; "" if there is none."""
    span = _span(course, course.size)
    for i in range(1, course.size):
        if _rises_at_once(span, i, held=True):
            return _said(course, i, "rose", zone)
        if _moved(span, i, held=True):
            return _said(course, i, "fell", zone)
        if _above_both(course, i):
            return _alone(course, i, zone)
    return ""


def _said(course: Course, i: int, verb: str, zone: zoneinfo.ZoneInfo) -> str:
    before, after = course.readings[i - 1], course.readings[i]
    return (
        f"It {verb} from {read_at(before, zone)} to {read_at(after, zone)} at once: no core does. "
        "Was the probe in the food?"
    )


def _alone(course: Course, i: int, zone: zoneinfo.ZoneInfo) -> str:
    before, one, after = (read_at(course.readings[j], zone) for j in (i - 1, i, i + 1))
    return f"It read {one} between {before} and {after}: one reading against both shows nothing."


def _above_both(course: Course, i: int) -> bool:
    """Whether one reading of food held hot is above both its neighbours by more than JUMP, an hour
    from each at the most."""
    heat, at = course.heat, course.at
    if i + 1 >= course.size or max(at[i] - at[i - 1], at[i + 1] - at[i]) > LEVEL_WITHIN:
        return False
    return heat[i] - max(heat[i - 1], heat[i + 1]) > JUMP


def _blip(course: Course, i: int, end: int) -> bool:
    """Whether one reading is above both its neighbours, which agree with each other."""
    heat, at = course.heat, course.at
    if i + 1 >= end or at[i + 1] - at[i - 1] > JUMP_WITHIN:
        return False
    above = heat[i] - max(heat[i - 1], heat[i + 1])
    return above > BLIP and apart(heat[i - 1], heat[i + 1]) <= 2 * NOISE


def _rises_at_once(within: _Span, i: int, held: bool = False) -> bool:
    """A rise by more than STEP in one pause, SLOWER_BEFORE times as fast as the course before it.

    Food that is warm already goes on as it began: there the rise is also faster than AT_ONCE, or is
    half as fast in the next pause, or the log ends with it. Cold food starts to heat slowly, so
    there it must be within two minutes (one, where nothing is known from before), or level at once
    (within STEP_WITHIN, where nothing is known). Food that is ``held`` hot is hardly heated.
    """
    course, end = within.course, within.end
    heat, at = course.heat, course.at
    rise, pause = heat[i] - heat[i - 1], at[i] - at[i - 1]
    if rise <= STEP or pause > LEVEL_WITHIN:
        return False
    before, span = _course_before(course, i, pause)
    if SLOWER_BEFORE * before * pause >= rise * span and span:
        return False
    if held:
        return _held_jumps(course, i, end)
    fast = rise * MINUTE > AT_ONCE * pause
    warm = heat[i - 1] > WARM_AIR or heat[i - 1] - within.coldest[i] > JUMP
    if warm and span:
        return fast or _slows(course, i, end)
    if fast and pause <= (2 * MINUTE if span else MINUTE):
        return _slows(course, i, end)
    return (pause <= STEP_WITHIN or span > 0) and _level_after(course, i, end)


def _held_jumps(course: Course, i: int, end: int) -> bool:
    """Whether food held hot rose as no holding warms it: within ten minutes, within half an hour
    and then level, and back, or to STEAM."""
    heat, pause = course.heat, course.at[i] - course.at[i - 1]
    back = i + 1 < end and heat[i] - heat[i + 1] > STEP
    if back or heat[i] >= STEAM or (pause <= STEP_WITHIN and _slows(course, i, end)):
        return True
    return pause <= JUMP_WITHIN and _level_after(course, i, end)


def _course_before(course: Course, i: int, pause: int) -> tuple[Level, int]:
    """How far it rose before a pause, over BEFORE times as long at least, and over how long; falls
    count as no rise."""
    first = i - 1
    while first > 0 and course.at[i - 1] - course.at[first] < BEFORE * pause:
        first -= 1
    rise = course.heat[i - 1] - course.heat[first]
    return max(rise, 0), course.at[i - 1] - course.at[first]


def _slows(course: Course, i: int, end: int) -> bool:
    """Whether a rise is half as fast in the next pause, or is the last one."""
    if i + 1 >= end:
        return True
    heat, at = course.heat, course.at
    rise, pause = heat[i] - heat[i - 1], at[i] - at[i - 1]
    return 2 * (heat[i + 1] - heat[i]) * pause <= rise * (at[i + 1] - at[i])


def _level_after(course: Course, i: int, end: int) -> bool:
    """Whether a rise ends all at once: over half its time afterwards it brings less than a
    tenth."""
    heat, at = course.heat, course.at
    rise, pause = heat[i] - heat[i - 1], at[i] - at[i - 1]
    after = next((j for j in range(i + 1, end) if 2 * (at[j] - at[i]) >= pause), None)
    if after is None:
        return False
    return apart(heat[after], heat[i]) * pause * LEVELS_BY < rise * (at[after] - at[i])


def _brings_to(course: Course, floor: Level, i: int, end: int) -> bool:
    """Whether a reading at the floor comes with a rise, or within STEP_WITHIN of it."""
    for j in range(i, end):
        if j > i and course.at[j] - course.at[i - 1] > STEP_WITHIN:
            return False
        if course.heat[j] >= floor:
            return True
    return False


def _fallen(course: Course, i: int, end: int) -> int:
    """The first reading after ``i`` that fell at once, or the end."""
    return next((j for j in range(i + 1, end) if _falls(course, j)), end)


def _falls(course: Course, i: int) -> bool:
    fall, pause = course.heat[i - 1] - course.heat[i], course.at[i] - course.at[i - 1]
    return fall > STEP and pause <= STEP_WITHIN


def _moved(span: _Span, i: int, held: bool = False) -> bool:
    """A fall at once that isn't a probe drawn out: it stays where it is warm, or warms again. Over
    more than STEP_WITHIN it stops at a tenth. Food that is ``held`` cools to its holding in an
    hour."""
    heat, at, end = span.course.heat, span.course.at, span.end
    fall, pause = heat[i - 1] - heat[i], at[i] - at[i - 1]
    within = JUMP_WITHIN if held else LEVEL_WITHIN
    if fall <= STEP or pause > within or i + 1 >= end:
        return False
    by = SLOWER_BEFORE if pause <= STEP_WITHIN else LEVELS_BY
    if (heat[i] - heat[i + 1]) * pause * by >= fall * (at[i + 1] - at[i]):
        return False
    return heat[i] > _WARM_ROOM or span.later[i + 1] > heat[i] + _AT_LEAST


# --- held


@dataclass(frozen=True)
class Out:
    """A probe that was out of food held hot or cold: the index of the first reading, at the end,
    that isn't the food's. ``closes`` where no food could change like that and little comes after
    it: the log ends there. Else nobody can say."""

    index: int
    closes: bool


def out_at_the_end(course: Course, figure: Level, hot: bool) -> Out | None:
    """Where food held at ``figure`` left it at once, at the end of the log, as only a probe drawn
    out does; None where the food itself may have.

    The first pause shows it: the change is SLOWER_BEFORE times as fast as the course before. After
    readings as hot as STEAM nothing is closed: the probe wasn't in the food before either. It
    surely is the probe if it nears a room's air as fast as PROBE. It may be by STEP (hot) or
    DRAWN_BY (cold) within DRAWN_WITHIN, or within an hour where it is level at once.
    """
    heat, at = _toward(course, hot), course.at
    least = figure if hot else -figure
    k = course.size
    while k > 0 and heat[k - 1] < least:
        k -= 1
    if not 1 < k < course.size:
        return None
    fall, pause = heat[k - 1] - heat[k], at[k] - at[k - 1]
    turned = Course(course.readings, at, heat)
    before, span = _fall_before(turned, k, pause)
    if fall < _AT_LEAST or SLOWER_BEFORE * before * pause >= fall * span:
        return None
    short = at[-1] - at[k - 1] <= DRAWN_LASTS and _SHARE * (course.size - k) <= course.size
    if _surely_out(course, k, hot):
        steam = hot and heat[k - 1] >= STEAM
        return Out(k, short and not steam and not _same_figure(course, k))
    may = _may_be_out(turned, k, STEP if hot else DRAWN_BY)
    return Out(k, False) if may and short else None


def out_at_the_start(course: Course, figure: Level, hot: bool) -> Out | None:
    """The same at the start of a log: the probe wasn't in the food yet. ``index`` is the last such
    reading. It never closes a log: what the food was before nobody knows."""
    last = course.at[-1]
    at = [last - one for one in reversed(course.at)]
    back = Course(course.readings[::-1], at, course.heat[::-1])
    out = out_at_the_end(back, figure, hot)
    if out is None:
        return None
    return Out(course.size - 1 - out.index, False)


def _toward(course: Course, hot: bool) -> list[Level]:
    return list(course.heat) if hot else [-heat for heat in course.heat]


def _fall_before(course: Course, k: int, pause: int) -> tuple[Level, int]:
    first = k - 1
    while first > 0 and course.at[k - 1] - course.at[first] < BEFORE * pause:
        first -= 1
    fall = course.heat[first] - course.heat[k - 1]
    return max(fall, 0), course.at[k - 1] - course.at[first]


def _same_figure(course: Course, k: int) -> bool:
    """Whether a reading is, in °F, the figure that the one before was in °C: in a column of °F the
    scale may have been changed."""
    return apart(five_f(course.heat[k]), 5 * course.heat[k - 1]) <= 5 * _SAME


def _surely_out(course: Course, k: int, hot: bool) -> bool:
    """Whether it nears the air of a room faster than PROBE allows any food to, within
    DRAWN_WITHIN: exponentially, as whatever is small does."""
    heat, at = course.heat, course.at
    air = _COOL_ROOM if hot else _HOT_ROOM
    for j in range(k, course.size):
        passed = at[j] - at[k - 1]
        if passed > DRAWN_WITHIN:
            return False
        left = float(heat[k - 1] - air) * math.exp(-passed / PROBE)
        near = float(heat[j] - air)
        if apart(heat[j], heat[k - 1]) >= DRAWN_BY and (near <= left if hot else near >= left):
            return True
    return False


def _may_be_out(turned: Course, k: int, by: Level) -> bool:
    heat, at = turned.heat, turned.at
    soon = (j for j in range(k, turned.size) if at[j] - at[k - 1] <= DRAWN_WITHIN)
    if any(heat[k - 1] - heat[j] >= by for j in soon):
        return True
    fall, pause = heat[k - 1] - heat[k], at[k] - at[k - 1]
    if fall < by or pause > LEVEL_WITHIN:
        return False
    if k + 1 >= turned.size:
        return True
    after = apart(heat[k + 1], heat[k])
    return after * pause * LEVELS_BY < fall * (at[k + 1] - at[k])
