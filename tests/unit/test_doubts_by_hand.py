"""Readings no core can have, at the very edge of each working rule: how far, how fast, how often.
By hand."""

from __future__ import annotations

from fractions import Fraction

import pytest
from each_row import each_row
from test_review import ZONE, c, f, log_of

from generator.measures.temperature import Degree, Temperature
from generator.review.courses import Course, course_of, level
from generator.review.doubts import doubts, drawn_out, kept_in_the_wrong_scale

Minutes = list[tuple[float, float]]
"""(minutes, degrees) in order."""


def read(course: Minutes, unit: Degree = "°C") -> Course:
    of = c if unit == "°C" else f
    (series,) = log_of([(Fraction(str(m)) * 60, of(t)) for m, t in course]).series
    return course_of(series.readings)


def doubted(
    course: Minutes, unit: Degree = "°C", *, cooling: bool = False, cold: bool = False
) -> list[int]:
    return [d.index for d in doubts(read(course, unit), unit, ZONE, cooling, cold, None, None)]


@each_row(
    ("course", "found"),
    [
        # away from both sides by more than 10 °C
        ([(0, 60), (5, 49.9), (10, 60)], [1]),
        ([(0, 60), (5, 70.1), (10, 60)], [1]),
        ([(0, 60), (5, 50), (10, 60)], []),
        ([(0, 60), (5, 70), (10, 60)], []),
        ([(0, 60), (5, 49), (10, 59)], []),
        ([(0, 60), (5, 71), (10, 61)], []),
        ([(0, 60), (5, 45), (10, 45)], []),
        ([(0, 60), (5, 45), (10, 44)], []),
        ([(0, 60), (5, 75), (10, 76)], []),
        ([(0, 60), (5, 45)], []),
        # three readings at the most, and half an hour
        ([(0, 60), (5, 45), (6, 45), (7, 45), (10, 60)], [1]),
        ([(0, 60), (5, 45), (6, 45), (7, 45), (8, 45), (10, 60)], []),
        ([(0, 60), (15, 45), (30, 60)], [1]),
        ([(0, 60), (15, 45), (30.1, 60)], []),
        # the spike is named, not the steady rise that leads to it
        ([(0, 8), (10, 20), (20, 35), (30, 50), (40, 60), (41, 75), (42, 61), (50, 62)], [5]),
        ([(0, 60), (5, 60), (10, 45), (15, 60), (20, 60)], [2]),
    ],
)
def test_no_core_jumps_and_comes_back(course: Minutes, found: list[int]) -> None:
    assert doubted(course) == found


@each_row(
    ("course", "found"),
    [
        # 4 °C, colder by more than 10 °C, and back within twelve hours
        ([(0, 4), (60, -6.1), (120, 4)], [1]),
        ([(0, 4), (60, -6), (120, 4)], []),
        ([(0, 4), (360, -6.1), (720, 4)], [1]),
        ([(0, 4), (360, -6.1), (720.1, 4)], []),
        ([(0, 4), (60, -6.1), (120, -6.1)], []),  # and stays there: a freezer
        ([(0, 4), (60, 15), (120, 4)], []),  # a door that was open
    ],
)
def test_what_is_kept_cold_does_not_freeze_hard_and_come_back(
    course: Minutes, found: list[int]
) -> None:
    assert doubted(course, cold=True) == found
    assert doubted(course) == []


@each_row(
    ("course", "found"),
    [
        # by more than 15 °C within ten minutes
        ([(0, 70), (10, 69), (20, 53.9), (30, 53)], [2]),
        ([(0, 70), (10, 69), (20, 54), (30, 53)], []),
        ([(0, 70), (10, 69), (20.1, 53), (30, 50)], []),
        # over ten minutes, up to an hour: only where it is level at once, at a tenth of that fall
        ([(0, 72), (15, 68), (30, 40), (45, 37.3)], [2]),
        ([(0, 72), (15, 68), (30, 40), (45, 37.2)], []),
        ([(0, 60), (15, 59), (75, 4), (90, 4)], [2]),
        ([(0, 60), (15, 59), (75.1, 4), (90, 4)], []),
        # from more than 45 °C above it, level at a fourth
        ([(0, 70), (15, 68), (30, 22), (45, 11)], [2]),
        ([(0, 70), (15, 68), (30, 22), (45, 10)], []),
        ([(0, 70), (15, 67), (30, 22), (45, 15)], []),
        # and at a tenth where the pause before it is up to an hour
        ([(0, 72), (60, 71), (90, 20), (120, 15)], [2]),
        ([(0, 72), (60, 71), (90, 20), (120, 14)], []),
        ([(0, 72), (60.1, 71), (90, 20), (120, 19)], []),
        ([(0, 60), (15, 46), (30, 3), (45, 3)], []),  # not four times as fast as before
        # more than four times as fast as before: 16 °C after 3.9 °C and after 4 °C
        ([(0, 70), (10, 66.1), (20, 50.1), (30, 49)], [2]),
        ([(0, 70), (10, 66), (20, 50), (30, 49)], []),
        # and the pause before it no longer than half an hour
        ([(0, 70), (30, 69), (40, 53), (50, 52)], [2]),
        ([(0, 70), (30.1, 69), (40, 53), (50, 52)], []),
        ([(0, 70), (5, 50), (10, 49)], []),  # nothing is before it
        # the last reading: by more than 10 °C, more than twice as fast
        ([(0, 70), (10, 65), (20, 54.9)], [2]),
        ([(0, 70), (10, 65), (20, 55)], []),
        ([(0, 70), (10, 64.5), (20, 53.5)], []),
        ([(0, 70), (10, 65), (20, 54), (30, 53)], []),  # borne out
        ([(0, 70), (10, 50)], []),
    ],
)
def test_no_core_falls_at_once(course: Minutes, found: list[int]) -> None:
    assert doubted(course, cooling=True) == found
    assert doubted(course) == []


@each_row(
    ("course", "found"),
    [
        ([(0, 20), (5, 68), (10, 68)], [1]),  # 20 °C are 68 °F
        ([(0, 20), (5, 69), (10, 69)], [1]),
        ([(0, 20), (5, 69.1), (10, 69)], []),
        ([(0, 20), (5, 67), (10, 67)], [1]),
        ([(0, 20), (5, 66.9), (10, 67)], []),
        ([(0, 20), (10, 68), (30, 68)], [1]),
        ([(0, 20), (10.1, 68), (12, 68)], []),
        # it cooled by 3.1 °C in the pause before: 20.4 to 14.2 °C, less 1 °C, are 56.6 °F and more
        ([(0, 23.5), (10, 20.4), (20, 64), (30, 60.6)], [2]),
        ([(0, 23.5), (10, 20.4), (20, 56.6), (30, 55)], [2]),
        ([(0, 23.5), (10, 20.4), (20, 56.4), (30, 55)], []),
    ],
)
def test_a_scale_changed_halfway_is_seen_in_degrees_celsius(
    course: Minutes, found: list[int]
) -> None:
    assert doubted(course, cooling=True) == found
    in_f = doubted(course, "°F", cooling=True)
    assert in_f == [1 if len(course) == 4 else 0], "of 20 °F: frozen, and no change of scale"


@each_row(
    ("course", "found"),
    [
        # 24 °C rising by 1 °C a minute comes to 25 °C, which is 77 °F; then 26 °C, 78.8 °F
        ([(0, 23), (1, 24), (2, 77), (3, 78.8)], [2]),
        ([(0, 23), (1, 24), (2, 77)], [2]),
        # a pause of five minutes: 29 °C is 84.2 °F, and up to 35 °C (95 °F) it may be the same
        ([(0, 23), (1, 24), (6, 84.2), (7, 86)], [2]),
        ([(0, 23), (1, 24), (6, 95), (7, 97)], [2]),
        # the figure of no food it could be: 45 °C would be 113 °F
        ([(0, 23), (1, 24), (2, 45), (3, 46)], []),
        # as fast before as then, or as fast ever after: hot fat
        ([(0, 5), (1, 24), (2, 77), (3, 80)], []),
        ([(0, 23), (1, 24), (2, 77), (3, 92)], []),
        # over longer than ten minutes nobody knows
        ([(0, 23), (1, 24), (12, 95), (13, 96)], []),
        ([(0, 24), (1, 77)], []),
        # an hour into a slow cook, 0.2 °C a minute: 24.2 °C is 75.56 °F, 24.4 °C is 75.92 °F
        ([*((m, 12 + m / 5) for m in range(61)), (61, 75.56), (62, 75.92)], [61]),
    ],
)
def test_a_scale_changed_while_food_heats_is_seen(course: Minutes, found: list[int]) -> None:
    """The figures in °F are 9/5 of those in °C and 32 more."""
    assert doubted(course) == found
    assert doubted(course, "°F") == []


@each_row(
    ("course", "found"),
    [
        ([(0, 20), (5, 22), (10, 21)], [1]),  # a room in °C
        ([(0, 28), (5, 27)], [0]),
        ([(0, 28.1), (5, 29)], []),
        ([(0, 5), (5, 4)], []),
        ([(0, 5.1), (5, 4)], [0]),  # a freezer in °F
        ([(0, 20), (5, 30)], []),
        ([(0, 20), (5, 30), (10, 21)], [2]),  # most of them
        ([(0, -1), (5, 0)], []),
    ],
)
def test_a_refrigerator_read_in_the_wrong_scale(course: Minutes, found: list[int]) -> None:
    doubt = kept_in_the_wrong_scale(read(course, "°F"), "°F", ZONE, False)
    assert ([doubt.index] if doubt is not None else []) == found
    assert kept_in_the_wrong_scale(read(course, "°F"), "°F", ZONE, True) is None


@each_row(
    ("course", "found"),
    [
        # 28 to 45 °F are what a refrigerator reads
        ([(0, 38), (60, 38), (120, 39)], 0),
        ([(0, 28), (60, 45)], 0),
        ([(0, 27.9)], None),
        ([(0, 45.1)], None),
        ([(0, 38), (60, 50), (120, 51)], None),  # most of them aren't
        ([(0, 20), (60, 38), (120, 38)], None),  # a room, and then the sun: it failed
        # 4 °C is 39.2 °F, and 4 °F more or less
        ([(0, 4), (60, 39.2), (120, 39)], 1),
        ([(0, 4), (60, 43.2)], 1),
        ([(0, 4), (60, 43.3)], None),
        ([(0, 4), (60, 35.2)], 1),
        ([(0, 4), (60, 35.1)], None),
        ([(0, 4), (60, 39), (120, 20)], None),  # and comes back
        ([(0, 4), (60, 15), (120, 25), (180, 30)], None),  # it failed slowly
    ],
)
def test_a_refrigerator_in_degrees_fahrenheit_in_a_column_of_celsius(
    course: Minutes, found: int | None
) -> None:
    doubt = kept_in_the_wrong_scale(read(course), "°C", ZONE, False)
    assert (doubt.index if doubt is not None else None) == found
    assert doubt is None or "°F" in doubt.words


@each_row(
    ("course", "found"),
    [
        # 40 °F are 4.4 °C
        ([(0, 40), (60, 4.4), (120, 4)], 1),
        ([(0, 40), (60, 2.5)], 1),
        ([(0, 40), (60, 2.4)], None),
        ([(0, 40), (60, 6.5), (120, 38), (180, 38)], None),
        ([(0, 40), (60.1, 4.4), (120, 38), (180, 38)], None),  # an hour: it was frozen
        ([(0, 28), (60, -2), (120, -2)], None),
    ],
)
def test_a_scale_changed_to_celsius_in_a_column_of_fahrenheit(
    course: Minutes, found: int | None
) -> None:
    doubt = kept_in_the_wrong_scale(read(course, "°F"), "°F", ZONE, False)
    assert (doubt.index if doubt is not None else None) == found
    assert kept_in_the_wrong_scale(read(course, "°F"), "°F", ZONE, True) is None


@pytest.mark.parametrize(("last", "found"), [(28, [3]), (28.1, []), (0.1, [3]), (0, [])])
def test_chilled_food_is_not_frozen(last: float, found: list[int]) -> None:
    course = [(0, 100), (300, 60), (600, 35), (1200, last)]
    assert doubted(course, "°F", cooling=True) == found
    assert doubted(course, "°F") == []


def test_no_core_is_hotter_than_boiling_water() -> None:
    water = Temperature.of(100, "°C")
    for heat, found in ((103, []), (103.1, [1])):
        course = read([(0, 95), (5, heat)])
        said = doubts(course, "°C", ZONE, False, False, water, level(c(103)))
        assert [d.index for d in said] == found
        assert all("Is it °F?" in d.words for d in said)


@each_row(
    ("end", "found"),
    [
        # by 10 °C within ten minutes
        ([(125, 15)], 3),
        ([(125, 14.9)], None),
        ([(130, 15)], 3),
        ([(130.1, 15)], None),
        ([(125, 10), (130, 15)], 3),
        # to no more than the air of a warm room, 45 °C, or by more than 10 °C a minute
        ([(130, 45)], 3),
        ([(130, 45.1)], None),
        ([(125, 55)], None),
        ([(125, 55.1)], 3),
        ([(120.5, 15)], 3),
        ([(121, 60)], 3),
        ([(125, 15), (130, 4)], None),  # it comes back
        # what comes after lasts an hour at the most
        ([(125, 20), (180, 21)], 3),
        ([(125, 20), (180.1, 21)], None),
    ],
)
def test_a_probe_drawn_out_ends_the_log_where_no_core_could_rise(
    end: Minutes, found: int | None
) -> None:
    assert drawn_out(read([(0, 60), (60, 20), (120, 5), *end]), level(c(57))) == found


def test_hot_food_is_never_taken_for_a_probe_drawn_out() -> None:
    for before, found in ((56.9, 1), (57, None)):
        assert drawn_out(read([(0, before), (1, 75)]), level(c(57))) == found
