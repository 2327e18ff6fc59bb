"""What a step makes of the weight that comes to it: by tests, else as stated; and what is to be
said of the tests."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from fractions import Fraction

from generator.files.finding import Finding, Place
from generator.measures.words import NARROW, counted, date, plain, with_verb
from generator.records.formula import Formula
from generator.records.ingredient import Ingredient
from generator.records.process import Step
from generator.records.yields import (
    StepYield,
    TrimTest,
    YieldTest,
    gained,
    lost,
    measured,
    outliers,
)
from generator.resolve.joined import JoinedStep
from generator.resolve.names import Names

_PORTION_OFF = Fraction(1, 10)
"""A portion served is what the formula says, give or take so much: a ladle is no scale."""


def yield_of(formula: Formula, step: Step, step_id: str) -> StepYield | None:
    """What a step makes of its weight; None where it neither loses nor gains."""
    tests = formula.yield_tests.get(step_id)
    if tests:
        return measured([test.share for test in tests])
    if step.loses is not None:
        return lost(step.loses)
    return gained(step.gains) if step.gains is not None else None


def check_yields(names: Names, as_of: datetime.date) -> None:
    """The yield tests of formulas and the trim tests of ingredients: days, weights, how well they
    agree."""
    for ident, formula in names.standards.formulas.items():
        for step_id, tests in formula.yield_tests.items():
            place = formula.key_place("yield_tests", step_id)
            if not tests:
                _none(names, place, ident)
                continue
            shares = [test.share for test in tests]
            names.findings += _of_tests(tests, shares, "after", as_of, ident, place)
            names.findings += _of_portions(formula, tests, ident)
    for item, facts in names.standards.ingredients.items():
        tests_of = facts.trim_tests
        if facts.trim is not None and facts.states("trim_tests"):
            names.error(
                "said-twice",
                facts.key_place("trim"),
                f"{with_verb(facts.name, 'has')} both `trim` and `trim_tests`.",
                "Keep one of the two.",
                item,
            )
        if tests_of:
            shares = [test.share for test in tests_of]
            place = facts.key_place("trim_tests")
            names.findings += _of_tests(tests_of, shares, "trimmed", as_of, item, place)
            names.findings += _trimmed_to_more(facts, item)


def _none(names: Names, place: Place, ident: str) -> None:
    names.error(
        "list-empty",
        place,
        "No yield test is listed here.",
        "Write each with `date`, `before` and `after`, or delete the key.",
        ident,
    )


def _of_tests(
    tests: Sequence[YieldTest | TrimTest],
    shares: Sequence[Fraction],
    key: str,
    as_of: datetime.date,
    about: str,
    place: Place,
) -> Iterator[Finding]:
    """A test of a day to come, one test alone, one far from the others."""
    whose = frozenset({about})
    for test in tests:
        if test.date > as_of:
            yield Finding(
                "yield-test-day",
                "error",
                f"This test is of {date(test.date)}. Today is {date(as_of)}.",
                test.place("date"),
                "Write the day it was weighed.",
                about=whose,
            )
    if len(tests) == 1:
        yield Finding(
            "yield-test-alone",
            "warning",
            "One test alone says nothing of how much the yield varies.",
            place,
            "Weigh it again on another day. Write both.",
            about=whose,
        )
    for number in outliers(shares):
        yield Finding(
            "yield-test-outlier",
            "warning",
            f"{plain(shares[number] * 100, 1)}{NARROW}% is far from the other tests.",
            tests[number].place(key),
            "Was it weighed right? If so, keep it. If not, delete the test.",
            about=whose,
        )


def _of_portions(formula: Formula, tests: Sequence[YieldTest], ident: str) -> Iterator[Finding]:
    """Portions served that weigh something else than the formula's portion."""
    portion = formula.makes.portion if formula.makes is not None else None
    for test in tests:
        if test.portions == 0:
            yield Finding(
                "yield-test-portions",
                "error",
                "This test served no portion.",
                test.place("portions"),
                "Write how many, or delete the key.",
                about=frozenset({ident}),
            )
        elif test.portions and portion is not None:
            each = test.after.value / test.portions
            if abs(each - portion.value) > _PORTION_OFF * portion.value:
                yield Finding(
                    "yield-test-portions",
                    "warning",
                    f"{counted(test.portions, 'portion')} of {test.after.text}: "
                    f"{plain(each, 0)} g each. "
                    f"The formula's portion is {portion.text}.",
                    test.place("portions"),
                    "Check the portion under `makes`, or how it is served.",
                    about=frozenset({ident}),
                )


def _trimmed_to_more(facts: Ingredient, item: str) -> Iterator[Finding]:
    for test in facts.trim_tests:
        if test.trimmed.value > test.raw.value:
            yield Finding(
                "yield-test-gains",
                "error",
                f"{test.trimmed.text} is more than the {test.raw.text} it was trimmed from.",
                test.place("trimmed"),
                "Weigh it again, or change the two.",
                about=frozenset({item}),
            )


def check_direction(names: Names, ident: str, formula: Formula, joined: JoinedStep) -> None:
    """A test that gains where the step loses, or loses where it gains; a step that does both; a
    test of a step that has no food in it."""
    step, step_id = joined.step, joined.id
    if "cleans" in joined.effects and step_id in formula.yield_tests:
        names.error(
            "cleaning-with-food",
            formula.key_place("yield_tests", step_id),
            "A cleaning step can't have `yield_tests`: no food is in it.",
            "Write them at the step that cooks or cuts the food.",
            ident,
        )
    if step.loses is not None and step.gains is not None:
        names.error(
            "gains-and-loses",
            step.key_place("gains"),
            f"The step `{step_id}` loses and gains at once.",
            "Write the one that is left over, or two steps.",
            formula.whose_steps(ident),
        )
        return
    for test in formula.yield_tests.get(step_id, ()):
        more = test.after.value > test.before.value
        less = test.after.value < test.before.value
        said = "loses" if step.loses is not None and more else ""
        said = "gains" if step.gains is not None and less else said
        if said:
            names.error(
                "yield-test-gains",
                test.place("after"),
                f"The step `{step_id}` {said}. In this test {test.before.text} became "
                f"{test.after.text}.",
                f"Change the two weights, or take `{said}` out of the step.",
                ident,
            )
