"""Jumps no core makes, by hand: a probe in steam, in the oven, in another place, drawn out.

Whatever rests on them alone is no pass; and a log closes early only where no food could have
changed like that.
"""

from __future__ import annotations

import datetime
import math
import random
import time
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import pytest
from each_row import each_row
from test_review import FOOD_CODE_COOLING, START, ZONE, c, f, log_of
from test_whole_courses import AROUND, COLD_HOLD
from test_whole_logs import HOT_HOLD, INSTANT, of

from generator.measures.temperature import Degree, Temperature
from generator.review.courses import Course, course_of, level
from generator.review.jumps import out_at_the_end, out_at_the_start
from generator.review.readings import Reading, ReadingLog, Series
from generator.review.results import Judged
from generator.review.verdicts import judge
from generator.rules.basics.limit import KeepingLimit, Probed

Minutes = Sequence[tuple[float, float]]
"""(minutes, degrees) in order."""


def rows(course: Minutes, unit: Degree = "°C") -> list[tuple[float, Temperature]]:
    made = c if unit == "°C" else f
    return [(m * 60, made(t)) for m, t in course]


def cook(course: Minutes, unit: Degree = "°C") -> Judged:
    return of(rows(course, unit), limit=INSTANT)


def held(course: Minutes, limit: KeepingLimit, unit: Degree = "°C") -> Judged:
    log = replace(log_of(rows(course, unit)), unit=unit)  # type: ignore[arg-type]
    return judge(log, limit, Fraction(4 * 3600), AROUND)


def steady(value: float, begin: int, end: int, step: int = 1) -> Minutes:
    return [(m, value + m % 2 / 10) for m in range(begin, end, step)]


SLOW = [(m, 5 + m) for m in range(58)]
"""A roast, 1 °C a minute, up to 62 °C."""


# --- a cook


@each_row(
    "course",
    [
        # the last reading, the last three, ten, and back in the food after ten
        [*SLOW, (58, 99)],
        [*SLOW, (58, 99), (59, 99), (60, 99)],
        [*SLOW, *steady(99, 58, 70)],
        [*SLOW, *steady(99, 58, 70), (70, 63), (71, 63.5), (72, 64)],
        # in steam the probe itself takes a few minutes
        [*SLOW, (58, 85), (59, 95), (60, 98.5), (61, 99)],
        [*SLOW, (58, 70), (59, 88), (60, 96), (61, 99)],
        # not to boiling, but to what the limit asks
        [*SLOW, (58, 80), (59, 80.2)],
        # the first readings
        [(0, 99), (1, 60), (2, 61), (3, 62)],
        [*steady(99, 0, 20), (20, 60), (21, 61), (22, 62)],
        [(0, 99), (1, 99), (2, 8), (3, 8), (30, 30), (60, 55)],
        # every five, ten and fifteen minutes
        [*((5 * m, 30 + 2 * m) for m in range(16)), (80, 98), (85, 99)],
        [*((10 * m, 30 + 4 * m) for m in range(9)), (90, 99), (100, 99)],
        [*((15 * m, 6 * m) for m in range(10)), (150, 99), (165, 99), (180, 99)],
        # raw food, and the probe never in it
        [(0, 5), (1, 5), (2, 6), (3, 99), (4, 99), (5, 99)],
        [(0, 5), (10, 6), (20, 99), (30, 99), (40, 99)],
        [(0, 62), (1, 99)],
        # moved to a colder place
        [*SLOW, *((m, m + 5) for m in range(58, 75)), (75, 58), (76, 58), (77, 58.5)],
    ],
)
def test_a_pass_never_rests_on_a_jump(course: Minutes) -> None:
    judged = cook(course)
    assert judged.verdict == "cannot tell"
    assert "at once: no core does" in judged.why or "jumps and comes back" in judged.why
    assert "(line" in judged.why and judged.deviation is None
    in_f = [(m, t * 1.8 + 32) for m, t in course]
    assert cook(in_f, "°F").verdict == "cannot tell"


@each_row(
    "course",
    [
        [*SLOW, *((m, m + 5) for m in range(58, 75))],
        # by hand: once, twice, at the end twice in a minute
        [(0, 76)],
        [(0, 5), (40, 76)],
        [(0, 4), (3, 76)],
        [(0, 4), (2, 76)],  # a small portion in a microwave
        [(0, 5), (1, 6), (2, 40), (3, 74), (4, 76)],
        [(0, 5), (40, 74), (41, 74.5)],
        [(0, 5), (20, 30), (40, 60), (50, 75), (51, 75)],
        # a thin piece in the fryer, a burger
        [(0, 4), (1, 25), (2, 52), (3, 70), (4, 80)],
        [(0, 4), (2, 20), (4, 45), (6, 66), (8, 76)],
        # drawn out at the end
        [*SLOW, *((m, m + 5) for m in range(58, 75)), (75, 50), (76, 38), (77, 30), (78, 26)],
        [*SLOW, *((m, m + 5) for m in range(58, 75)), (75, 58)],
        # and read in the air of a kitchen from then on, by a small probe
        [*SLOW, *((m, m + 5) for m in range(58, 75)), (75, 22), (76, 22), (77, 22)],
        # soup that is brought to the boil, read every five minutes
        [(0, 20), (5, 34), (10, 49), (15, 63), (20, 78), (25, 92), (30, 98)],
        # what was put in steam afterwards had passed before
        [*SLOW, *((m, m + 5) for m in range(58, 75)), (75, 99), (76, 99)],
    ],
)
def test_what_food_can_do_passes(course: Minutes) -> None:
    assert cook(course).verdict == "pass", cook(course).why


@each_row(
    ("course", "verdict"),
    [
        ([(0, 70), (1, 70.1), (2, 74.5), (3, 70.2), (4, 70.4)], "cannot tell"),
        ([(0, 72), (10, 74.1), (30, 72)], "cannot tell"),
        ([(0, 72), (10, 74.1), (30.1, 72)], "pass"),  # too far apart to contradict it
        ([(0, 72), (10, 74), (30, 72)], "pass"),  # a peak
        ([(0, 71), (10, 74.1), (20, 72.1)], "pass"),
        (
            [(0, 70), (1, 72), (2, 74), (3, 50), (4, 30)],
            "pass",
        ),  # drawn out as soon as it was there
        ([(0, 70), (1, 74.5), (2, 70), (3, 72), (4, 74), (5, 75)], "pass"),  # and then it was
        ([(0, 74)], "pass"),  # by hand
        ([(0, 70), (1, 74.5)], "pass"),
    ],
)
def test_one_reading_against_two_that_agree_shows_nothing(course: Minutes, verdict: str) -> None:
    judged = cook(course)
    assert judged.verdict == verdict, judged.why
    if verdict != "pass":
        assert "one reading against both shows nothing" in judged.why


def test_one_reading_is_no_course_of_cooling() -> None:
    for one in (60, 57.3, 40, 4):
        assert of(rows([(0, one)])).verdict == "cannot tell"
    for two in ([(0, 60), (100, 20)], [(0, 60), (300, 4)], [(100, 20), (300, 4)]):
        assert of(rows(two)).verdict == "cannot tell"  # type: ignore[arg-type]
    assert of(rows([(0, 60), (100, 20), (300, 4)])).verdict == "pass"  # by hand: one at each end


def test_a_jump_after_a_failed_cooling_leaves_it_failed() -> None:
    """80 to 59 °C, still 35 °C two hours on; then three minutes at 90 °C, which no core makes."""
    slow = [(m, 80 - m * 1.05) for m in range(21)]
    slow += [(m, round(59 - (m - 20) * 0.185, 1)) for m in range(21, 151)]
    hot = [(151, 62.5), (152, 90), (153, 90), (154, 90), (155, 90), (156, 62.5)]
    rest = [(m, round(max(35 - (m - 157) * 0.3, 3.5), 1)) for m in range(157, 400)]
    found = judge(log_of(rows([*slow, *hot, *rest])), FOOD_CODE_COOLING, Fraction(0), AROUND)
    assert found.verdict == "fail" and found.deviation is not None
    assert "at once" in " ".join(found.probes[0].notes)


def test_a_short_rise_of_cold_food_fails_and_asks_for_the_food() -> None:
    rise = [*steady(3.5, 0, 60, 5), (60, 5.5), (65, 7.5), (70, 5.5), *steady(3.5, 75, 300, 5)]
    found = held(rise, COLD_HOLD)
    assert found.verdict == "fail" and "or the food?" in found.why
    long = [*steady(3.5, 0, 60, 5), *steady(7.5, 60, 200, 5), *steady(3.5, 200, 300, 5)]
    assert "or the food?" not in held(long, COLD_HOLD).why


@pytest.mark.parametrize(
    ("course", "verdict"),
    [
        ([(0, 3), (180, 38), (360, 3)], "cannot tell"),
        ([(0, 3), (180, 38), (200, 37.5), (360, 3)], "cannot tell"),
        ([(0, 3), (180, 45), (360, 3)], "fail"),  # 45 °F would be 7 °C
    ],
)
def test_a_reading_of_a_refrigerator_in_fahrenheit_between_others_is_asked_about(
    course: Minutes, verdict: str
) -> None:
    found = held(course, COLD_HOLD)
    assert found.verdict == verdict
    assert verdict == "fail" or "°F" in found.why


def test_what_passes_without_the_jump_says_what_is_doubted() -> None:
    course = [*SLOW, *((m, m + 5) for m in range(58, 75)), (75, 99), (76, 99)]
    (note,) = cook(course).probes[0].notes
    assert (
        "rose from 79" in note.replace("\u00a0", " ")
        and "Without the doubtful readings it passes" in note
    )


@pytest.mark.parametrize("heats", [(20, 40, 60, 80), (60, 80, 95), (4, 99), (64, 20)])
@pytest.mark.parametrize("limit", [INSTANT, HOT_HOLD, FOOD_CODE_COOLING, COLD_HOLD])
def test_a_wire_that_jumps_all_day_is_judged_in_little_time(
    heats: tuple[int, ...], limit: Probed
) -> None:
    rng = random.Random(1)
    kinds = [c(n) for n in heats]
    readings = tuple(
        Reading(START + datetime.timedelta(seconds=10 * i), rng.choice(kinds), i + 2)
        for i in range(30_000)
    )
    log = ReadingLog("log.csv", "°C", (Series("A", readings),), (), False, ZONE)
    started = time.process_time()
    assert judge(log, limit, Fraction(4 * 3600), AROUND).verdict in ("cannot tell", "fail")
    assert time.process_time() - started < 1.5


def test_the_probe_that_jumped_is_named_among_two() -> None:
    log = log_of(rows([(0, 5), (40, 76)]), rows([*SLOW, (58, 99)]))  # type: ignore[arg-type]
    judged = judge(log, INSTANT, Fraction(300), AROUND)
    assert judged.verdict == "cannot tell" and judged.why.startswith("P1: It rose")


def test_what_never_was_hot_enough_fails_with_or_without_a_jump() -> None:
    assert cook([*SLOW, (58, 73), (59, 73)]).verdict == "fail"


# --- a reheating in a cooling


MISSED: Minutes = [(0, 60), (30, 50), (60, 42), (90, 36), (125, 30), (126, 30)]
AGAIN: Minutes = [(200, 50), (230, 30), (260, 20), (330, 12), (400, 8), (480, 4), (490, 3.9)]


def test_steam_is_no_reheating() -> None:
    jump = [*((m, 30) for m in range(127, 140)), *steady(99, 140, 170)]
    judged = of(rows([*MISSED, *jump, *AGAIN]))
    assert judged.verdict != "pass", judged.why
    rise = [(m, 30 + 2 * (m - 126)) for m in range(127, 152)]
    assert of(rows([*MISSED, *rise, (165, 70), *AGAIN])).verdict == "pass"


# --- held hot


WARM = steady(64, 0, 120)


@pytest.mark.parametrize(
    "tail",
    [
        [(120, 48), (121, 38), (122, 32), (123, 28), (124, 26)],
        [(120, 60), (121, 45), (122, 36), (123, 30), (124, 25)],
        [(120, 24)],
        [(121, 45), (123, 30), (128, 22), (150, 21)],
    ],
)
def test_a_probe_drawn_out_of_hot_food_closes_the_log(tail: Minutes) -> None:
    judged = held([*WARM, *tail], HOT_HOLD)
    assert judged.verdict == "pass", judged.why
    assert any("taken out after 6" in note for note in judged.probes[0].notes)
    in_f = [(m, t * 1.8 + 32) for m, t in [*WARM, *tail]]
    assert held(in_f, HOT_HOLD, "°F").verdict == "pass"


def test_a_probe_taken_out_of_steam_closes_nothing() -> None:
    judged = held([*steady(97, 0, 120), (120, 40), (121, 31), (122, 31)], HOT_HOLD)
    assert judged.verdict == "cannot tell", judged.why


def test_a_scale_changed_in_a_column_of_fahrenheit_is_no_probe_drawn_out() -> None:
    """64 °C is 147 °F, and a room has 64 °F."""
    in_f = [(m, t * 1.8 + 32) for m, t in WARM]
    judged = held([*in_f, (120, 64), (121, 64.1)], HOT_HOLD, "°F")
    assert judged.verdict == "cannot tell"


@each_row(
    ("tail", "verdict"),
    [
        # the food itself, slowly or in thin pieces
        ([(120 + m, 64 - m / 2) for m in range(60)], "fail"),
        ([(120 + m, 20 + 44 * 0.96**m) for m in range(40)], "fail"),
        # it was below before it was drawn out
        ([(120, 58), (125, 57), (130, 56.5), (135, 56), (140, 55), (141, 40), (142, 28)], "fail"),
        # it came back: nothing was drawn out at the end
        ([(130, 60), (140, 56), (150, 57.5)], "fail"),
        # half of the log, an hour and more
        ([(120, 40), *steady(25, 121, 240)], "cannot tell"),
        ([(125, 46), *((m, 45) for m in range(130, 400, 5))], "fail"),
        # it may be the one or the other
        ([(125, 46)], "cannot tell"),
        ([(150, 24)], "cannot tell"),
    ],
)
def test_a_fall_that_food_can_make_is_no_probe_drawn_out(tail: Minutes, verdict: str) -> None:
    judged = held([*WARM, *tail], HOT_HOLD)
    assert judged.verdict == verdict, judged.why
    if verdict == "cannot tell":
        assert "Was the probe taken out" in judged.why


@pytest.mark.parametrize(
    ("head", "verdict"),
    [
        ([(-2, 22), (-1, 45)], "cannot tell"),
        ([(-1, 22)], "cannot tell"),
        ([(-40 + m, 22 + m) for m in range(40)], "fail"),
        ([(m, 22) for m in range(-90, 0)], "cannot tell"),
    ],
)
def test_a_log_that_begins_outside_hot_food(head: Minutes, verdict: str) -> None:
    course = [(m + 100, t) for m, t in [*head, *WARM]]
    judged = held(course, HOT_HOLD)
    assert judged.verdict == verdict, judged.why
    if verdict == "cannot tell":
        assert "Start the log" in judged.why


@each_row(
    "course",
    [
        [(0, 80), (60, 62), (120, 61)],  # it cools to what it is held at
        [(0, 80), (10, 74), (20, 69.5), (30, 66), (60, 62)],
        [(0, 62), (60, 80), (120, 79)],  # the holding was set hotter
        [(0, 62), (30, 66), (60, 70), (90, 73)],
        [(0, 64), (120, 80), (240, 64)],  # read by hand
    ],
)
def test_hot_food_that_nears_its_holding_is_not_doubted(course: Minutes) -> None:
    assert held(course, HOT_HOLD).verdict == "pass", held(course, HOT_HOLD).why


@pytest.mark.parametrize(
    ("course", "verdict"),
    [
        ([(0, 64), (30, 75), (60, 63)], "cannot tell"),
        ([(0, 64), (60, 74.1), (120, 64)], "cannot tell"),
        ([(0, 64), (60, 74), (120, 64)], "pass"),
        ([(0, 64), (60.1, 75), (120, 64)], "pass"),
    ],
)
def test_one_reading_above_the_rest_of_hot_food(course: Minutes, verdict: str) -> None:
    assert held(course, HOT_HOLD).verdict == verdict


def test_hot_food_that_was_in_steam_first_is_doubted() -> None:
    steam = [*steady(98, 0, 240, 15), (240, 58), (255, 60), (270, 62)]
    judged = held(steam, HOT_HOLD)
    assert judged.verdict == "cannot tell" and "fell from" in judged.why


def test_hot_food_that_reads_of_steam_at_once_is_doubted() -> None:
    judged = held([*WARM, *steady(98, 120, 180)], HOT_HOLD)
    assert judged.verdict == "cannot tell" and "at once" in judged.why
    assert held([*WARM, *((120 + m, 64 + m) for m in range(20))], HOT_HOLD).verdict == "pass"


# --- held cold


@each_row(
    ("tail", "verdict"),
    [
        ([(120, 16), (121, 20), (122, 21)], "pass"),
        ([(125, 15), (130, 19)], "cannot tell"),
        ([(120 + m, 4 + m / 4) for m in range(60)], "fail"),
        ([(120, 16), *steady(20, 121, 240)], "cannot tell"),
        ([(121, 7), (122, 8)], "fail"),
        # from 4.1 °C: 30 °C - 25.9 °C e^(-t/5 min) are 15.8 °C after 3 min
        ([(122, 15.9)], "pass"),
        ([(122, 15.7)], "cannot tell"),
    ],
)
def test_a_probe_drawn_out_of_cold_food(tail: Minutes, verdict: str) -> None:
    judged = held([*steady(4, 0, 120), *tail], COLD_HOLD)
    assert judged.verdict == verdict, judged.why


def test_a_refrigerator_at_38_in_a_column_of_celsius_is_asked_about() -> None:
    for course in (steady(38, 0, 600, 30), [(0, 38.0)], [(0, 4.0), (30, 39.2), (60, 39.0)]):
        judged = held(course, COLD_HOLD)
        assert judged.verdict == "cannot tell" and "°F" in judged.why, judged.why
        at_the_door: Probed = replace(COLD_HOLD, hazard="receive")
        assert held(course, at_the_door).verdict == "cannot tell"  # type: ignore[arg-type]
        air: Probed = replace(COLD_HOLD, measured="air")
        assert held(course, air).verdict == "cannot tell"  # type: ignore[arg-type]
    assert held([(0, 4), (60, 15), (120, 22), (180, 30)], COLD_HOLD).verdict == "fail"


def test_a_delivery_in_degrees_celsius_in_a_column_of_fahrenheit_is_asked_about() -> None:
    door: Probed = replace(COLD_HOLD, hazard="receive")
    assert held([(0, 12), (30, 9)], door, "°F").verdict == "cannot tell"  # type: ignore[arg-type]
    thawing: Probed = replace(COLD_HOLD, hazard="thaw")
    assert held([(0, 12), (30, 20)], thawing, "°F").verdict == "pass"  # type: ignore[arg-type]


def test_degrees_celsius_in_a_column_of_fahrenheit_are_asked_about() -> None:
    judged = cook([(0, 5), (4, 40), (8, 76)], "°F")
    assert judged.verdict == "fail" and judged.why.endswith("Is it °C?")
    judged = held([(0, 64), (60, 63)], HOT_HOLD, "°F")
    assert judged.verdict == "fail" and judged.why.endswith("Is it °C?")
    for reported in (cook([(0, 5), (4, 70)], "°F"), cook([(0, 40), (4, 140)], "°F")):
        assert reported.verdict == "fail" and "°C?" not in reported.why


# --- the edges


def course(rows_: Minutes) -> Course:
    (series,) = log_of(rows(rows_)).series  # type: ignore[arg-type]
    return course_of(series.readings)


@each_row(
    ("tail", "found"),
    [
        # from 64 °C: 15 °C + 49 °C e^(-t/5 min) are 55.11, 47.84, 33.02 and 21.63 °C
        ([(31, 53.9)], True),
        ([(31, 54.1)], None),  # by less than 10 °C
        ([(32, 47.8)], True),
        ([(32, 47.9)], False),
        ([(35, 33)], True),
        ([(35, 33.1)], False),
        ([(33, 45), (40, 21.6)], True),
        ([(33, 45), (40, 21.7)], False),
        ([(33, 45), (40.1, 15)], False),
        ([(30.5, 59.1), (31, 30)], None),  # the first pause shows too little
        ([(40, 49)], False),  # 15 °C within ten minutes
        ([(40, 49.1)], None),
        ([(60, 49), (75, 48)], None),  # not level at once
        ([(60, 49), (75, 48.7)], False),
    ],
)
def test_where_the_log_of_hot_food_ends(tail: Minutes, found: bool | None) -> None:
    out = out_at_the_end(course([*((m, 64.0) for m in range(31)), *tail]), level(c(60)), True)
    assert (out.closes if out is not None else None) == found
    assert out is None or out.index == 31


def test_one_reading_in_four_at_the_most_comes_after_a_closed_log() -> None:
    for before, closes in ((9, True), (8, False)):
        log = [
            *((m, 64.0) for m in range(before)),
            (before, 40),
            (before + 1, 25),
            (before + 2, 24),
        ]
        out = out_at_the_end(course(log), level(c(60)), True)
        assert out is not None and out.closes == closes
    assert out_at_the_start(course([(0, 64), (1, 64)]), level(c(60)), True) is None


@pytest.mark.parametrize(("lasts", "verdict"), [(8, "pass"), (13, "cannot tell")])
def test_a_core_cools_for_some_minutes_as_fast_as_its_edge(lasts: int, verdict: str) -> None:
    """It loses 0.7 % a minute of what it is warmer than its chiller (3 °C): from 54.2 to 18.1 °C,
    135 to 70 °F, in 157 min in place of 120. For some minutes it loses 2.3 times as much, then 0.62
    times as much; better chilled from 92 min on it is in time, which rests on those minutes. In 8 min it falls
    from 38.6 by 4.3 °C only, which is less than the 5 °C of a moved probe."""
    above, slow = 54.3, []
    for minute in range(240):
        slow.append((minute, round(3 + above, 2)))
        burst = 60 <= minute < 60 + lasts
        share = 2.3 * 0.007 if burst else 0.62 * 0.007 if 60 <= minute < 92 else 0.007
        above *= math.exp(-share if minute < 92 else -0.023)
    judged = of(rows(slow))
    assert judged.verdict == verdict
    assert ("Was the probe moved to the edge?" in judged.why) == (verdict == "cannot tell")
