"""Courses of readings at the very edge of a rule of time or temperature: the clock of cooling, a
reheating in between, holding cold after it, the time to reheat. Worked by hand from the Food Code's
figures."""

from __future__ import annotations

import datetime
from dataclasses import replace
from fractions import Fraction

import pytest
from each_row import each_row
from test_review import (
    COOKED,
    FOOD_CODE_COOLING,
    OPTION_2,
    REHEATING,
    START,
    ZONE,
    cook_limit,
    cool_limit,
    f,
    figure,
    found,
    kept_limit,
    log_of,
)

from generator.review.cooling_clock import (
    Clock,
    CoolingRule,
    Reheating,
    clock_of,
    counting,
    reheated,
)
from generator.review.cooling_course import cooled as by_rule
from generator.review.courses import Course, course_of
from generator.review.heating_course import widest_gap
from generator.review.results import ProbeFound
from generator.review.verdicts import Around, judge

Minutes = list[tuple[float, float]]
"""(minutes, °F) in order."""
AGAIN = Around(
    cooked=figure(165, "°F", "min"),
    reheating=Reheating(figure(165, "°F", "min"), Fraction(15), Fraction(7200), Fraction(300)),
)
"""Food Code 3-403.11: 165 °F for 15 s, within two hours."""


def read(course: Minutes) -> Course:
    (series,) = log_of([(Fraction(str(m)) * 60, f(t)) for m, t in course]).series
    return course_of(series.readings)


def rule_of(around: Around = AGAIN) -> CoolingRule:
    return CoolingRule(
        FOOD_CODE_COOLING, ZONE, around.cooked, around.reheating, around.cold, around.cold_gap_s
    )


def cooled(course: Minutes, around: Around = AGAIN) -> ProbeFound:
    """The verdict by the rule alone: whether a core can have such readings is `doubts`'."""
    return by_rule("P0", read(course), rule_of(around))


def minutes(number: float) -> datetime.datetime:
    return START + datetime.timedelta(minutes=number)


# --- the clock (Food Code 3-501.14(A): 135 °F to 70 °F within 2 h, to 41 °F within 6 h)


@each_row(
    ("course", "verdict"),
    [
        # a reading of 135 °F itself is the start: two hours from there it is still at 71 °F
        ([(0, 135), (10, 134), (120, 71), (125, 70), (300, 41)], "fail"),
        # from above 135 °F it may have started as late as 10 min
        ([(0, 136), (10, 134), (121, 71), (130, 70), (300, 41)], "cannot tell"),
        ([(0, 136), (10, 134), (130, 71), (131, 70), (300, 41)], "fail"),
        ([(0, 136), (10, 134), (120, 70), (360, 41)], "pass"),
        ([(0, 136), (10, 134), (120, 70), (360.1, 41)], "cannot tell"),
        ([(0, 136), (10, 134), (120, 70), (370, 42), (371, 41)], "fail"),
        # past a stage in time, and warm again
        (
            [(0, 135), (10, 134), (100, 65), (120, 65), (125, 65), (130, 75), (140, 74), (300, 41)],
            "cannot tell",
        ),
        (
            [(0, 135), (10, 134), (100, 65), (120, 65), (125, 65), (130, 70), (140, 70), (300, 41)],
            "pass",
        ),
        # the last reading has one neighbour, and isn't alone
        ([(0, 135), (10, 134), (100, 65), (120, 71)], "fail"),
    ],
)
def test_the_clock_starts_between_the_readings_on_both_sides_of_its_start(
    course: Minutes, verdict: str
) -> None:
    assert cooled(course).verdict == verdict


@pytest.mark.parametrize(("rise", "started"), [(140.9, 5), (141, 0)])
def test_a_reading_that_rose_by_more_than_half_a_degree_does_not_start_the_clock(
    rise: float, started: int
) -> None:
    """0.5 °C are 0.9 °F: no more than two readings of one temperature may differ by."""
    judged = cooled([(0, 140), (5, rise), (10, 134), (100, 70), (300, 41)])
    assert judged.verdict == "pass" and judged.clock_started == minutes(started)


@each_row(
    ("course", "early", "late", "alone"),
    [
        ([(0, 140), (10, 134), (20, 130)], 0, 1, None),
        ([(0, 136), (5, 135), (10, 134)], 1, 1, None),  # a reading of 135 °F is the start itself
        ([(0, 135), (10, 134)], 0, 0, None),
        ([(0, 140), (5, 140.9), (10, 134)], 1, 2, None),
        ([(0, 150), (5, 140), (6, 141), (10, 134)], 1, 3, None),  # it rose: the one before is sure
        ([(0, 150), (5, 140), (6, 140.9), (10, 134)], 2, 3, None),
        # one reading below between two above: it counts only if no other does
        ([(0, 140), (5, 134), (6, 134.5), (7, 130)], 0, 1, None),
        ([(0, 140), (5, 134), (6, 135), (10, 134), (20, 130)], 1, 2, 1),
        ([(0, 140), (5, 134), (6, 134.1), (10, 136), (20, 130)], 0, 1, None),
        # from the refrigerator: it holds the cooking, to 165 °F exactly, or it begins late
        ([(0, 40), (30, 100), (60, 165), (61, 140), (70, 134)], 3, 4, None),
        ([(0, 41), (60, 165), (61, 165), (70, 134)], 2, 3, None),
        ([(0, 40), (60, 164), (61, 164), (70, 134)], None, 3, None),
        # begun between cold and hot: only a reheating that passes says when it was hot
        ([(0, 100), (60, 165), (61, 165), (70, 134)], None, 0, None),  # how long it took to 165
        ([(0, 100), (5, 99), (60, 165), (61, 165), (70, 134)], 3, 4, None),
        ([(0, 100), (60, 164), (61, 164), (70, 134)], None, 0, None),
        ([(0, 100), (1, 140), (2, 138), (5, 134)], None, 0, None),
        ([(0, 42), (1, 166), (1.1, 166), (5, 134)], None, 0, None),  # 6 s at 165 °F aren't 15
        ([(0, 134), (10, 130)], None, 0, None),
    ],
)
def test_between_which_readings_the_clock_starts(
    course: Minutes, early: int | None, late: int, alone: int | None
) -> None:
    clock = clock_of(read(course), rule_of())
    assert (clock.early, clock.late, clock.alone, clock.runs) == (early, late, alone, True)
    assert bool(clock.why) == (early is None)


@pytest.mark.parametrize(
    "course", [[(0, 140), (10, 135)], [(0, 140)], [(0, 140), (10, 134), (20, 136)]]
)
def test_no_clock_runs_before_the_food_has_begun_to_cool(course: Minutes) -> None:
    """A single reading below the start, with one above it after, may be the probe."""
    clock = clock_of(read(course), rule_of())
    assert not clock.runs and clock.early is None


def test_the_reading_that_stands_alone_may_be_the_start_after_all() -> None:
    assert counting(Clock(4, 5, alone=2)) == Clock(1, 5)
    assert counting(Clock(None, 5, "why", alone=2)) == Clock(None, 5, "why")


@each_row(
    ("course", "begun", "coldest", "first", "passes", "may"),
    [
        (
            [(0, 140), (1, 134), (60, 118), (90, 140), (100, 165), (101, 165), (110, 134)],
            1,
            2,
            4,
            True,
            True,
        ),
        ([(0, 120), (10, 165), (11, 165)], 0, 0, 1, True, True),
        ([(0, 166), (1, 134), (60, 118), (100, 165), (101, 165), (110, 134)], 0, 2, 3, True, True),
        ([(0, 170), (1, 160), (2, 166), (3, 166)], 0, 1, 2, True, True),
        ([(0, 140), (1, 134), (2, 120), (122, 165), (123, 165)], 1, 2, 3, True, True),  # two hours
        ([(0, 140), (1, 134), (2, 120), (122.1, 165), (123, 165)], 1, 2, 3, False, True),
        # at the least from the reading after the coldest to the one before it was there
        (
            [(0, 140), (1, 134), (2, 120), (3, 122), (123, 160), (131, 165), (132, 165)],
            1,
            2,
            5,
            False,
            True,
        ),
        (
            [(0, 140), (1, 134), (2, 120), (3, 122), (123.1, 160), (131, 165), (132, 165)],
            1,
            2,
            5,
            False,
            False,
        ),
        # the last of the coldest, but for a reading 18 °F (10 °C) below both its neighbours
        (
            [(0, 140), (1, 134), (2, 120), (30, 101), (31, 120), (100, 165), (101, 165)],
            1,
            4,
            5,
            True,
            True,
        ),
        (
            [(0, 140), (1, 134), (2, 120), (30, 102), (31, 120), (100, 165), (101, 165)],
            1,
            3,
            5,
            True,
            True,
        ),
        (
            [(0, 140), (1, 134), (2, 120), (30, 90), (31, 95), (100, 165), (101, 165)],
            1,
            3,
            5,
            True,
            True,
        ),
        (
            [(0, 140), (1, 134), (2, 120), (3, 122), (130, 122), (131, 100), (132, 165)],
            1,
            2,
            6,
            False,
            False,
        ),
        ([(0, 40), (1, 100), (10, 165), (11, 165)], 0, 0, 2, True, True),
        ([(0, 140), (1, 100), (2, 165), (3, 165)], 1, 1, 2, True, True),  # none else is there
        ([(0, 120), (10, 165), (10.2, 165)], 0, 0, 1, False, True),  # 12 s
        ([(0, 120), (10, 165), (10.25, 165)], 0, 0, 1, True, True),  # 15 s
    ],
)
def test_a_reheating_is_read_from_the_coldest_reading_before_it(
    course: Minutes, begun: int, coldest: int, first: int, passes: bool, may: bool
) -> None:
    found = reheated(read(course), begun, rule_of())
    assert found is not None
    assert (found.coldest, found.first, found.passes, found.may_pass) == (
        coldest,
        first,
        passes,
        may,
    )
    assert AGAIN.reheating is not None
    open_end = replace(AGAIN, reheating=replace(AGAIN.reheating, within_s=None))
    again = reheated(read(course), begun, rule_of(open_end))
    assert again is not None and again.may_pass, "no time is set"
    assert reheated(read(course), begun, rule_of(Around(cooked=AGAIN.cooked))) is None


def test_one_reading_alone_is_no_reheating_even_where_no_hold_is_asked_for() -> None:
    assert AGAIN.reheating is not None
    at_once = replace(AGAIN, reheating=replace(AGAIN.reheating, hold_s=Fraction(0)))
    for course, passes in (
        ([(0, 120), (10, 165), (11, 164)], False),
        ([(0, 120), (10, 165), (11, 165), (12, 164)], True),
    ):
        found = reheated(read(course), 0, rule_of(at_once))  # type: ignore[arg-type]
        assert found is not None and found.passes == passes
    assert reheated(read([(0, 120), (10, 164)]), 0, rule_of(at_once)) is None


def test_food_never_hot_is_logged_from_the_room_or_nobody_can_report() -> None:
    """Food Code 3-501.14(B): to 41 °F within 4 h; a room is 20 °C, 68 °F, here."""
    limit = cool_limit(None, (figure(41, "°F", "max"), 4))
    for first, verdict in ((68, "pass"), (67.9, "cannot tell"), (40, "cannot tell")):
        assert found([(0, f(first)), (14400, f(41))], limit).verdict == verdict


# --- a reheating in between

SLOW: Minutes = [(0, 140), (1, 134)]
QUICK: Minutes = [(10, 134), (40, 100), (100, 70), (300, 41)]
"""Minutes after the end of a reheating."""


def after(begin: Minutes, again: Minutes) -> Minutes:
    return [*begin, *again, *((again[-1][0] + m, t) for m, t in QUICK)]


@each_row(
    ("again", "verdict"),
    [
        ([(60, 110), (90, 140), (100, 165), (101, 165)], "pass"),
        ([(60, 110), (90, 140), (100, 165), (100.25, 165)], "pass"),  # 15 s
        ([(60, 110), (90, 140), (100, 165), (100.2, 165)], "cannot tell"),  # 12 s for sure
        ([(60, 110), (90, 140), (100, 165), (105, 165)], "pass"),  # looked at every five minutes
        ([(60, 110), (90, 140), (100, 165), (105.1, 165)], "cannot tell"),  # longer unwatched
        (
            [(60, 110), (90, 140), (100, 165), (100.1, 165), (100.3, 164)],
            "cannot tell",
        ),  # it fell before 15 s
        ([(60, 110), (90, 140), (100, 164), (101, 164)], "fail"),
        ([(2, 120), (122, 165), (123, 165)], "pass"),  # two hours from the coldest reading
        ([(2, 120), (122.1, 165), (123, 165)], "cannot tell"),  # it may have left it later
        (
            [(2, 120), (3, 122), (130, 160), (131, 165), (132, 165)],
            "fail",
        ),  # over two hours for sure
        ([(300, 120), (360, 165), (361, 165)], "pass"),  # six hours from the start
        ([(300, 120), (370, 165), (371, 165)], "fail"),
    ],
)
def test_a_reheating_starts_the_clock_anew_only_hot_long_and_early_enough(
    again: Minutes, verdict: str
) -> None:
    judged = cooled(after(SLOW, again))
    assert judged.verdict == verdict, judged.why


def test_food_cooled_in_time_may_be_reheated_and_cooled_again() -> None:
    """Each cooling has a clock of its own: the first passed, however long ago."""
    first: Minutes = [(0, 140), (1, 134), (100, 70), (300, 41), (480, 40), (490, 100)]
    assert cooled(after(first, [(500, 165), (501, 165)])).verdict == "pass"
    late: Minutes = [*first[:3], (370, 42), (480, 40), (490, 100)]
    assert cooled(after(late, [(500, 165), (501, 165)])).verdict == "fail"


def test_a_second_reheating_never_starts_the_clock_anew() -> None:
    once = [*SLOW, (60, 110), (100, 165), (101, 165), (110, 134)]
    twice = after(once, [(170, 110), (200, 165), (201, 165)])
    assert cooled(twice).verdict == "fail"


def test_a_cooling_that_passed_gives_no_second_chance_to_a_later_one() -> None:
    """What passed needs no reheating to be; each failed one after it may be fixed once."""
    passed: Minutes = [
        (0, 140),
        (1, 134),
        (100, 70),
        (300, 41),
        (480, 40),
        (490, 100),
        (500, 165),
        (501, 165),
    ]
    failed: Minutes = [(10, 134), (60, 110), (100, 165), (101, 165)]
    once: Minutes = [*passed, *((501 + m, t) for m, t in failed)]
    assert cooled(after(once[:-2], once[-2:])).verdict == "pass"
    twice: Minutes = [*once, *((602 + m, t) for m, t in failed)]
    assert cooled(after(twice[:-2], twice[-2:])).verdict == "fail"


@pytest.mark.parametrize(("times", "verdict"), [(12, "pass"), (13, "cannot tell")])
def test_food_reheated_more_than_twelve_times_is_no_food(times: int, verdict: str) -> None:
    """Each cooling and each reheating passes; "more than 12" is the rule of ours."""
    course: Minutes = [(0, 140), (1, 134), (100, 70), (300, 41)]
    for _ in range(times):
        end = course[-1][0]
        cold: Minutes = [(end + 180, 40), (end + 190, 100)]  # past the end of the six hours
        course = after([*course, *cold], [(end + 200, 165), (end + 201, 165)])
    judged = cooled(course)
    assert judged.verdict == verdict and ("more than 12 times" in judged.why) == (times > 12)


def test_without_a_rule_of_reheating_the_first_clock_runs_on() -> None:
    course = after(SLOW, [(60, 110), (90, 140), (100, 165), (101, 165)])
    assert cooled(course, Around(cooked=AGAIN.cooked)).verdict == "fail"


def test_a_reheating_in_no_set_time_may_take_as_long_as_it_likes() -> None:
    assert AGAIN.reheating is not None
    any_time = replace(AGAIN, reheating=replace(AGAIN.reheating, within_s=None))
    course = after(SLOW, [(2, 120), (200, 165), (201, 165)])
    assert cooled(course, any_time).verdict == "pass"
    assert cooled(course).verdict != "pass"


# --- held cold afterwards

COLD: Minutes = [(0, 135), (1, 134), (100, 70), (300, 41)]


@each_row(
    ("rest", "cold", "verdict"),
    [
        ([(400, 41), (500, 40)], 41, "pass"),
        ([(360, 41), (400, 41.1)], 41, "fail"),
        ([(330, 38), (360, 38)], 38, "pass"),
        ([(330, 38), (360, 40)], 38, "fail"),  # once it was there it stays there
        ([(330, 40), (360, 38)], 38, "pass"),
        ([(360, 41), (420, 42)], 38, "fail"),
        ([(360, 41), (420, 41)], 38, "pass"),  # not there yet, and no warmer than its last stage
        ([(540, 41)], 41, "pass"),  # four hours, unwatched
        ([(540.1, 41)], 41, "cannot tell"),
    ],
)
def test_cooled_food_is_held_cold_and_looked_at(rest: Minutes, cold: int, verdict: str) -> None:
    around = Around(cold=figure(cold, "°F", "max"), cold_gap_s=Fraction(4 * 3600))
    judged = cooled([*COLD, *rest], around)
    assert judged.verdict == verdict, judged.why
    assert (judged.deviation is not None) == (verdict == "fail")


# --- begun in time (FSIS Appendix B (1999), option 2: within 90 min, then on to 40 °F)


@pytest.mark.parametrize(
    ("begun", "last", "verdict"),
    [(90, 40, "pass"), (90.1, 40, "cannot tell"), (90, 40.1, "cannot tell"), (30, 39, "pass")],
)
def test_chilling_is_begun_within_ninety_minutes_and_ends_at_forty(
    begun: float, last: float, verdict: str
) -> None:
    course = [
        (0, 160),
        (begun - 1, 120),
        (begun, 119),
        (begun + 50, 80),
        (begun + 300, 55),
        (600, last),
    ]
    log = log_of([(Fraction(str(m)) * 60, f(t)) for m, t in course])
    for limit, counts in (
        (OPTION_2, True),
        (replace(OPTION_2, finish=None), begun > 90),
        (replace(OPTION_2, begin_s=None), last > 40),
    ):
        judged = judge(log, limit, Fraction(300), Around(cooked=COOKED))
        assert judged.verdict == (verdict if counts else "pass"), judged.why


# --- heat


def test_food_that_was_cold_and_then_hot_was_never_in_between_for_longer() -> None:
    """Food Code 3-403.11(D): two hours at most from 41 °F; nobody looked meanwhile."""
    for end, verdict in ((120, "pass"), (120.1, "cannot tell")):
        course = [(0, f(40)), (end * 60, f(166)), (end * 60 + 15, f(166))]
        judged = found(course, REHEATING)
        assert judged.verdict == verdict
        reach = judged.probes[0].reach
        assert reach is not None and (reach.least_s, reach.most_s) == (0, Fraction(end * 60))


def test_food_that_was_cold_again_on_the_way_is_timed_at_the_least_from_there() -> None:
    """From 0 s it took 9060 s, from the second time at 41 °F less than 5460 s: nobody can say."""
    course = [
        (0, f(40)),
        (600, f(50)),
        (3600, f(41)),
        (9000, f(164)),
        (9060, f(166)),
        (9075, f(166)),
    ]
    reach = found(course, REHEATING).probes[0].reach
    assert reach is not None
    assert (reach.verdict, reach.least_s, reach.most_s) == ("cannot tell", 0, 9060)


@pytest.mark.parametrize("course", [[165, 150], [150, 165]])
def test_two_readings_of_one_instant_pass_and_fail_only_with_either(course: list[int]) -> None:
    limit = cook_limit(("165", figure(165, "°F", "min"), Fraction(0)))
    assert found([(0, f(heat)) for heat in course], limit).verdict == "cannot tell"
    assert found([(0, f(165)), (0, f(166))], limit).verdict == "pass"
    assert found([(0, f(150)), (0, f(151))], limit).verdict == "fail"


def test_heat_that_came_too_late_is_said_whole() -> None:
    course = [(0, f(40)), (60, f(42)), (7320, f(164)), (7380, f(166)), (7395, f(166))]
    judged = found(course, REHEATING)
    said = judged.why.replace("\u00a0", " ")
    assert judged.verdict == "fail" and "for 15 s, but took longer than 2 h from 41 °F" in said
    assert judged.deviation == START + datetime.timedelta(seconds=60 + 7200)


@pytest.mark.parametrize(("pause", "verdict"), [(300, "fail"), (300.1, "cannot tell")])
def test_between_two_readings_nobody_looked_only_beyond_the_longest_pause(
    pause: float, verdict: str
) -> None:
    limit = cook_limit(("165", figure(165, "°F", "min"), Fraction(0)))
    assert found([(0, f(140)), (pause, f(141)), (pause + 60, f(140))], limit).verdict == verdict


def test_the_longest_pause_is_named() -> None:
    limit = cook_limit(("165", figure(165, "°F", "min"), Fraction(0)))
    course = [(0, f(140)), (300, f(150)), (2100, f(160)), (2400, f(161))]
    judged = found(course, limit)
    assert judged.verdict == "cannot tell"
    assert "There is no reading for 30 min" in judged.why.replace("\u00a0", " ")
    (probe,) = found([(0, f(140))], limit).probes
    assert probe.verdict == "fail"


def test_a_pause_as_long_as_the_longest_allowed_is_no_gap() -> None:
    (series,) = log_of([(0, f(140)), (300, f(150)), (600.001, f(160)), (900, f(161))]).series
    ((first, last),) = series.gaps(Fraction(300))
    assert (first, last) == (minutes(5), minutes(10) + datetime.timedelta(milliseconds=1))


@pytest.mark.parametrize(("missing", "said"), [(1, "on 1 line"), (2, "on 2 lines")])
def test_the_longest_pause_counts_the_lines_without_a_reading(missing: int, said: str) -> None:
    """Those in the pause alone: the instants of the readings on both sides are none of it."""
    log = log_of([(0, f(140)), (600, f(150)), (660, f(151))])
    (series,) = log.series
    inside = [minutes(3 * n) for n in range(1, missing + 1)]
    silent = replace(series, drop_outs=(minutes(0), *inside, minutes(10), minutes(10.5)))
    gap = widest_gap(silent, silent.readings, log)
    assert gap is not None and gap.seconds == 600 and gap.words.endswith(said)


def test_a_miss_names_the_hottest_reading_or_the_one_at_which_it_fell() -> None:
    limit = cook_limit(("150", figure(150, "°F", "min"), Fraction(60)))
    said = found([(0, f(140)), (60, f(149)), (120, f(141))], limit).why.replace("\u00a0", " ")
    assert "never at 150 °F" in said and "hottest reading was 149 °F" in said
    said = found([(0, f(140)), (20, f(150)), (40, f(141))], limit).why.replace("\u00a0", " ")
    assert "at 150 °F" in said and "at one reading only, not for 1 min; then it read 141 °F" in said
    held = [(0, f(140)), (1, f(151)), (31, f(150)), (32, f(149)), (33, f(155)), (34, f(140))]
    judged = found(held, limit)
    said = judged.why.replace("\u00a0", " ")
    assert judged.verdict == "fail" and "for 30 s only, not for 1 min; then it read 149 °F" in said
    assert judged.deviation == START + datetime.timedelta(seconds=32)


@pytest.mark.parametrize(
    ("course", "words"),
    [
        ([(0, 151)], "one reading doesn't show that it stayed there for 1 min"),
        ([(0, 140), (1, 150), (31, 150)], "the readings end at 150 °F"),
        ([(0, 150), (30, 150), (31, 140)], "The log begins at 150 °F"),
    ],
)
def test_what_was_at_its_figure_at_an_end_of_the_log_may_have_been_there_longer(
    course: list[tuple[int, int]], words: str
) -> None:
    """README: a log fails only if the most favourable course fails. A single reading, as a cook
    takes it by hand, was a fail "for 0 s only"."""
    limit = cook_limit(("150", figure(150, "°F", "min"), Fraction(60)))
    judged = found([(s, f(t)) for s, t in course], limit)
    assert judged.verdict == "cannot tell" and words in judged.why.replace("\u00a0", " ")
    assert judged.deviation is None


def test_what_is_cooked_on_its_surface_is_read_on_two_sides() -> None:
    """Food Code 3-401.11(C)(3): 145 °F on both top and bottom."""
    limit = replace(cook_limit(("145", figure(145, "°F", "min"), Fraction(0))), measured="surface")
    side = [(0, f(145))]
    for sides, verdict in ((1, "cannot tell"), (2, "pass"), (3, "pass")):
        assert judge(log_of(*[side] * sides), limit, Fraction(300)).verdict == verdict  # type: ignore[arg-type]
    cold = [(0, f(144))]
    assert judge(log_of(side, cold), limit, Fraction(300)).verdict == "fail"  # type: ignore[arg-type]
    core = replace(limit, measured="core")
    assert judge(log_of(side), core, Fraction(300)).verdict == "pass"  # type: ignore[arg-type]


def test_at_the_door_no_pause_counts() -> None:
    """Every delivery is read once; what is held is looked at in between."""
    day = [(0, f(40)), (86400, f(41))]
    for hazard, verdict in (("receive", "pass"), ("cold_hold", "cannot tell")):
        limit = kept_limit(figure(41, "°F", "max"), hazard)
        judged = found(day, limit)
        assert judged.verdict == verdict and bool(judged.gaps) == (verdict != "pass")
        assert found([(0, f(41.1))], limit).verdict == "fail"
