"""The temperature of food from step to step, and the time it is between cold and hot: by hand.

Never shorter than it was: the warmest part and the longest time out are those of the food."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Literal

import pytest
from each_row import each_row

from generator.measures.ranges import Span, TemperatureSpan
from generator.measures.temperature import Temperature
from generator.records.process import read_target
from generator.resolve.joined import JoinedStep
from generator.rules.basics.course import (
    Bounds,
    Course,
    During,
    Spell,
    State,
    Stay,
    after,
    incoming,
    stay_of,
    taken_in,
)
from generator.rules.basics.product import Component, Product
from generator.sheet.manual import Manual

MINUTE = Fraction(60)
Comes = Literal["frozen", "cold", "between", "hot"]
BOUNDS = Bounds(Temperature.of(41, "°F"), Temperature.of(135, "°F"))
"""Food Code 3-501.16(A): 135 °F or above, 41 °F or less."""


def part(
    comes: Comes, out: int = 0, *, tcs: bool = True, raw: bool = False, stated: bool = True
) -> Component:
    return Component(
        comes,
        comes,
        Fraction(100),
        "beef" if raw else "none",
        "raw",
        None,
        tcs and not raw,
        (),
        comes=comes,
        comes_stated=stated,
        out_s=out * MINUTE,
    )


@each_row(
    ("parts", "state", "out"),
    [
        ((("cold", 0),), "cold", None),
        ((("frozen", 0),), "frozen", None),
        ((("frozen", 0), ("cold", 0)), "cold", None),
        ((("between", 0),), "between", 0),
        ((("between", 20), ("between", 50), ("cold", 0)), "between", 50),  # the longest
        ((("cold", 0), ("hot", 0)), "hot", None),
        ((("between", 30), ("hot", 0)), "hot", 30),
        ((("hot", 10), ("between", 5)), "hot", 10),
    ],
)
def test_food_comes_in_as_its_warmest_part_and_its_longest_time_out(
    parts: tuple[tuple[Comes, int], ...], state: State, out: int | None
) -> None:
    course = incoming(tuple(part(c, o) for c, o in parts))
    assert course is not None and course.state == state
    spell = course.spell
    assert (spell.seconds if spell is not None else None) == (None if out is None else out * MINUTE)
    assert spell is None or spell.hot == (state == "hot")


def test_only_what_needs_the_cold_counts() -> None:
    assert incoming(()) is None and incoming((part("between", 90, tcs=False),)) is None
    course = incoming((part("cold"), part("between", 90, tcs=False)))
    assert course is not None and (course.state, course.spell) == ("cold", None)


def test_how_warm_it_comes_is_known_only_where_it_is_said_of_every_part() -> None:
    for first, second, known in (
        (True, True, "stated"),
        (True, False, "unknown"),
        (False, True, "unknown"),
    ):
        course = incoming((part("cold", stated=first), part("cold", stated=second)))
        assert course is not None and course.known == known


@each_row(
    ("state", "spell", "comes", "out", "expected", "seconds"),
    [
        ("cold", None, "cold", 0, "cold", None),
        ("cold", None, "between", 40, "between", 40),
        ("between", 30, "between", 40, "between", 40),
        ("between", 50, "between", 40, "between", 50),  # never added, never shortened
        ("between", 50, "cold", 0, "between", 50),  # what is cold lends nothing
        ("frozen", None, "cold", 0, "cold", None),
        ("hot", None, "between", 10, "hot", 10),
    ],
)
def test_food_with_more_in_it_is_as_warm_and_as_long_out_as_the_worst(
    state: State, spell: int | None, comes: Comes, out: int, expected: State, seconds: int | None
) -> None:
    running = Spell(1, spell * MINUTE) if spell is not None else None
    course = taken_in(Course(state, "stated", running), (part(comes, out),), 3)
    assert course.state == expected
    assert (course.spell is None) == (seconds is None)
    assert course.so_far == (seconds or 0) * MINUTE
    if course.spell is not None:
        assert course.spell.began == (1 if spell is not None else 3)


def test_the_first_that_needs_the_cold_begins_the_course_there() -> None:
    course = taken_in(Course(), (part("between", 20),), 4)
    assert course.spell == Spell(4, 20 * MINUTE) and course.state == "between"
    assert taken_in(course, (part("hot", tcs=False),), 5) is course


def test_times_out_are_added_up_for_information() -> None:
    course = Course(
        "between", "stated", Spell(3, 5 * MINUTE), (Spell(1, 7 * MINUTE), Spell(2, 9 * MINUTE))
    )
    assert (course.so_far, course.in_all) == (5 * MINUTE, 21 * MINUTE)
    assert (Course().so_far, Course().in_all) == (0, 0)


@pytest.fixture
def step(clean: Manual) -> JoinedStep:
    """A step that says nothing of time, place or temperature and does nothing."""
    one = clean.sheets["pork-bake"].formula.steps[0]
    bare = one.step.model_copy(update={"time": None, "at": None, "stays_frozen": False})
    return replace(one, step=bare, effects=frozenset(), cold=None, target=None, machine=None)


def came(hot: bool) -> Course:
    return Course("hot" if hot else "cold", "stated")


def timed(step: JoinedStep, minutes: int | None, at: int | None = None) -> JoinedStep:
    time = Span.of(minutes * MINUTE) if minutes is not None else None
    where = TemperatureSpan.of(Temperature.of(at, "°F")) if at is not None else None
    return replace(step, step=step.step.model_copy(update={"time": time, "at": where}))


@pytest.mark.parametrize(
    ("minutes", "at", "hot", "during"),
    [
        (None, None, False, "between"),
        (10, None, False, "between"),
        (10, 41, False, "cold"),
        (10, 42, False, "between"),
        (10, 41, True, "cold"),
        (10, 135, True, "hot"),
        (10, 134, True, "between"),
        (10, 135, False, "between"),  # a hot place warms nothing that was cold
    ],
)
def test_a_stated_temperature_says_cold_or_hot_at_the_codes_own_figures(
    step: JoinedStep, minutes: int | None, at: int | None, hot: bool, during: During
) -> None:
    stay = stay_of(timed(step, minutes, at), came(hot), Product(), BOUNDS)
    assert stay.during == during
    assert stay.seconds == (None if minutes is None else minutes * MINUTE)
    nothing = stay_of(timed(step, minutes, at), came(hot), Product(), Bounds(None, None))
    assert nothing.during == "between"  # a pack without figures calls nothing cold or hot


def test_of_two_stated_temperatures_the_less_safe_counts(step: JoinedStep) -> None:
    """The food's own and the place's: cold by the warmer of them, hot by the colder."""
    for at, target, hot, during in (
        (130, "core 140 °F", True, "between"),
        (140, "core 130 °F", True, "between"),
        (140, "core 140 °F", True, "hot"),
        (40, "core 45 °F", False, "between"),
        (45, "core 40 °F", False, "between"),
        (40, "core 40 °F", False, "cold"),
    ):
        both = replace(timed(step, 10, at), target=read_target(target))
        assert stay_of(both, came(hot), Product(), BOUNDS).during == during


def test_what_is_known_to_get_hot(step: JoinedStep) -> None:
    """Warming says nothing; cooking heats what is raw, and what is cooked only to a core it
    states."""
    raw, done = Product((part("cold", raw=True),)), Product((replace(part("cold"), cooked=True),))
    for effect, food, target, during in (
        ("heats", raw, None, "between"),
        ("heats", done, None, "between"),
        ("cooks", raw, None, "cooking"),
        ("cooks", done, None, "between"),
        ("cooks", done, "core 134 °F", "between"),
        ("cooks", done, "core 135 °F", "cooking"),
        ("reheats", done, None, "cooking"),
    ):
        wanted = read_target(target) if target else None
        heated = replace(timed(step, 10, 300), effects=frozenset({effect}), target=wanted)
        assert stay_of(heated, came(False), food, BOUNDS).during == during, (effect, target)


def test_off_the_heat_for_a_while_a_warm_place_holds_nothing_hot(step: JoinedStep) -> None:
    hot, waited = came(True), replace(came(True), spell=Spell(1, 10 * MINUTE, hot=True))
    assert stay_of(timed(step, 10, 140), hot, Product(), BOUNDS).during == "hot"
    assert stay_of(timed(step, 10, 140), waited, Product(), BOUNDS).during == "between"


OUT = Course("between", "stated", Spell(1, 30 * MINUTE))


@pytest.mark.parametrize(
    ("minutes", "cools", "state", "over"),
    [
        (29, False, "between", 0),  # too short to be cold again: the clock runs on
        (30, False, "cold", 1),
        (29, True, "cold", 1),  # by a limit of its own
        (None, False, "between", 0),  # it may be as short
        (None, True, "cold", 1),
    ],
)
def test_a_stay_in_the_cold_shorter_than_the_time_out_does_not_make_it_cold(
    step: JoinedStep, minutes: int | None, cools: bool, state: State, over: int
) -> None:
    stay = Stay("cold", "stated", None if minutes is None else minutes * MINUTE)
    found = after(OUT, step, stay, True, cools)
    assert (found.state, len(found.over)) == (state, over)
    assert found.so_far == (0 if over else 30 * MINUTE)
    assert found.in_all == 30 * MINUTE


def test_cold_food_is_cold_again_however_short_the_stay(step: JoinedStep) -> None:
    found = after(Course("cold", "stated"), step, Stay("cold", "stated", MINUTE), True, False)
    assert (found.state, found.so_far) == ("cold", 0)


def test_hot_food_put_in_the_cold_is_on_its_clock_until_it_is_cooled(step: JoinedStep) -> None:
    stay = Stay("cold", "stated", 20 * MINUTE)
    hot = Course("hot", "stated")
    assert after(hot, step, stay, True, False).so_far == 20 * MINUTE
    assert after(hot, step, stay, True, True).state == "cold"
    cooling = replace(OUT, spell=Spell(1, 30 * MINUTE, hot=True))
    assert after(cooling, step, stay, True, False).so_far == 50 * MINUTE


def test_time_between_adds_up_and_untimed_steps_are_named(step: JoinedStep) -> None:
    found = after(OUT, step, Stay("between", "stated", 15 * MINUTE), True, False)
    assert (found.state, found.so_far) == ("between", 45 * MINUTE)
    untimed = after(OUT, step, Stay("between", "unknown"), True, False)
    assert untimed.spell is not None and untimed.spell.not_timed == (step.verb,)
    assert untimed.so_far == 30 * MINUTE
    begun = after(Course("cold", "stated"), step, Stay("between", "stated", MINUTE), True, False)
    assert begun.spell == Spell(step.number, MINUTE)
    frozen = after(Course("frozen", "stated"), step, Stay("between", "stated", MINUTE), True, False)
    assert frozen.state == "frozen"
    waits = replace(step, effects=frozenset({"waits"}))
    assert (
        after(
            Course("frozen", "stated"), waits, Stay("between", "stated", MINUTE), True, False
        ).state
        == "between"
    )


def test_heat_ends_a_time_out_and_what_needs_no_cold_has_none(step: JoinedStep) -> None:
    cooked = after(OUT, step, Stay("cooking", "follows from the step", MINUTE), True, False)
    assert (cooked.state, cooked.so_far, cooked.in_all) == ("hot", 0, 30 * MINUTE)
    assert cooked.over[0].ended == step.number
    assert after(OUT, step, Stay("cooking", "stated"), False, False) is OUT
    assert after(OUT, step, Stay("unchanged", "stated"), True, False) is OUT


def test_what_stands_while_somebody_cleans_counts_only_out_of_the_cold(step: JoinedStep) -> None:
    """Cleaning says nothing of where the food is: what was out, or hot, is; what was cold is in
    the cold."""
    cleaning = replace(timed(step, 15), effects=frozenset({"cleans"}))
    untimed = replace(step, effects=frozenset({"cleans"}))
    for course, out in (
        (OUT, 45),
        (Course("hot", "stated"), 15),
        (Course("cold", "stated"), 0),
        (Course("frozen", "stated"), 0),
    ):
        stay = stay_of(cleaning, course, Product(), BOUNDS)
        assert stay.during == ("between" if out else "unchanged")
        assert after(course, cleaning, stay, True, False).so_far == out * MINUTE
        unsaid = stay_of(untimed, course, Product(), BOUNDS)
        assert after(course, untimed, unsaid, True, False) is course
