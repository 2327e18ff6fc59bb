"""Thawing by method: in a refrigerator, in running water, or as part of cooking."""

from __future__ import annotations

from fractions import Fraction

from generator.computed import Basis
from generator.finding import Finding
from generator.measures.words import duration
from generator.reference.rows import Row
from generator.rules.context import NOTHING, Outcome, StepContext, both, cited
from generator.rules.limit import Figure, Limit, figure_of
from generator.rules.uncovered import ASK, not_covered

_COLD = ("refrigerator", "blast-chiller")
HOW = (
    "Say how: `in` a refrigerator; or in running water, `at` its temperature for so long a `time`. "
    "Food cooked from frozen needs no step to thaw it."
)


def thawing(context: StepContext) -> Outcome:
    """The limit of a step that thaws: Food Code 3-501.13(A) and (B).

    The step's facts say how. Cooked from frozen, 3-501.13(C), there is no thawing step, and the
    cooking limit covers it.
    """
    step = context.step
    if "thaws" not in step.effects:
        return NOTHING
    if "cooks" in step.effects:
        return NOTHING
    if step.cold is not None and step.cold.kind in _COLD:
        return _in_refrigerator(context)
    if step.cold is None and step.step.at is not None:
        return _in_water(context)
    return not_covered(context, "thaw", "Nothing allows thawing this way.", f"{HOW} {ASK}")


def _rows(context: StepContext, how: str) -> list[Row]:
    return [r for _, r in context.house.pack.rows_of("thaw") if r.how == how and r.value]


def _in_refrigerator(context: StepContext) -> Outcome:
    rows = _rows(context, "refrigerator")
    if not rows:
        return not_covered(context, "thaw", "The rules held list no temperature for it.")
    return Outcome((_limit(context, rows[0], "thaw"),))


def _in_water(context: StepContext) -> Outcome:
    """Running water: its own temperature, and how warm the thawed parts may be for how long."""
    rows = _rows(context, "running-water")
    water = next((r for r in rows if r.measured == "water"), None)
    kind = "ready-to-eat" if context.before.ready_to_eat else "raw"
    food = next((r for r in rows if r.applies == kind), None)
    if water is None or food is None:
        return not_covered(context, "thaw", "The rules held list no limit for running water.")
    assert water.value is not None and food.value is not None and food.above_for is not None
    findings: list[Finding] = []
    at = context.step.step.at
    assert at is not None
    if water.value < at:
        figure = figure_of(water.value, water.printed, "max", context.accuracy)
        findings.append(
            context.finding(
                "thaw-water-too-warm", "error",
                f"{context.step.verb}: the water, {at}, is above the limit: {_shown(figure)}.",
                "Use colder water, or thaw in a refrigerator.",
                (f"at: {context.degrees(figure.read_at(context.unit))}".replace("\u00a0", " "),),
                context.step.step.place("at"), cited(context.house, water),
            )
        )  # fmt: skip
    most = food.above_for.seconds
    if most:
        findings += _too_long(context, food, most)
    limits = (_limit(context, water, "thaw-water"), _limit(context, food, "thaw"))
    return Outcome(limits, tuple(findings))


def _too_long(context: StepContext, food: Row, most: Fraction) -> list[Finding]:
    """Raw food out of the cold too long, from the thawing until it is cooked or chilled again."""
    step, place = context.step, context.step.step.place("do")
    if step.step.time is None:
        return [
            context.finding(
                "thaw-time-missing", "error", f"{step.verb}: how long is it in the water?",
                f"Write `time`: with the preparation after it, raw food has {duration(most)} at most.",
                place=place, source=cited(context.house, food),
            )
        ]  # fmt: skip
    total = Fraction(0)
    for later in context.formula.steps[step.number - 1 :]:
        if later is not step and (later.cold or later.effects & {"cooks", "cools", "freezes"}):
            break
        total += later.step.time.seconds if later.step.time else 0
    if total <= most:
        return []
    return [
        context.finding(
            "thaw-too-long", "error",
            f"{step.verb}: {duration(total)} in the water and after it, before it is cooked or chilled; "
            f"{duration(most)} is the most.",
            "Thaw smaller pieces, or in a refrigerator.", place=step.step.place("time"),
            source=cited(context.house, food),
        )
    ]  # fmt: skip


def _shown(figure: Figure) -> str:
    return both(figure.value, figure.shown_c, figure.shown_f)


def _limit(context: StepContext, row: Row, ident: str) -> Limit:
    step = context.step
    assert row.value is not None
    figure = figure_of(row.value, row.printed, "max", context.accuracy)
    source = context.source(row)
    rule = f"{row.food}: {_shown(figure)} or colder"
    within, words = None, ""
    if row.above_for is not None and row.above_for.seconds:
        within = row.above_for.seconds
        read = context.degrees(figure.read_at(context.unit))
        words = f"above {read}, in all"
        rule = f"{row.food}: above {_shown(figure)} for {duration(within)} at most, in all"
    basis = Basis(
        (("In it", row.food), ("Probe", f"reads to ±{context.accuracy}")), rule, source.words
    )
    probe = "The water." if row.measured == "water" else step.step.probe
    return Limit(
        f"{context.formula.id}/{step.id}/{ident}", step.id, step.number, step.verb, "thaw", "max", source,
        figure, None, None, (), None, figure.read_at(context.unit), "", (), (), row.food, basis=basis,
        note=row.note, measured=row.measured, within_s=within, within_words=words, probe=probe, if_missed=step.step.if_missed,
    )  # fmt: skip
