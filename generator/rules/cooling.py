"""Cooling: the two-stage clock for cooked food, four hours for food made from ambient ingredients."""

from __future__ import annotations

from generator.computed import Basis
from generator.finding import Finding
from generator.measures.words import duration, listed
from generator.reference.rows import Row
from generator.rules.context import NOTHING, Outcome, StepContext, both
from generator.rules.limit import Limit, Stage, Verdict, figure_of


def cooling(context: StepContext) -> Outcome:
    """The limit of a step that cools: Food Code 3-501.14(A) and (B).

    Hot food put into a refrigerator is cooled there, whatever the step is called.
    """
    step, product = context.step, context.before
    if context.formula.formula.not_tcs or not product.tcs:
        return NOTHING
    if not context.cools:
        return NOTHING
    if product.hot:
        kind = "cooked"
    elif product.ready_to_eat:
        kind = "ambient"
    else:
        return NOTHING
    found = context.house.pack.row_for("cool", kind)
    if found is None:
        return NOTHING
    _, row = found
    clock = None
    if row.clock_from is not None:
        clock = figure_of(row.clock_from.value, row.clock_from.printed, "min", context.accuracy)
    stages = tuple(
        Stage(
            figure_of(s.to, s.printed, "max", context.accuracy),
            row.clock_from.value if row.clock_from else None,
            s.within.seconds,
            s.clause,
        )
        for s in row.stages
    )
    verdict, findings = _target(context, stages[-1])
    last, target = stages[-1], step.target
    met = target.temperature if target and verdict.status == "meets" else None
    read = last.figure.asked(context.unit, met)
    limit = Limit(
        f"{context.formula.id}/{step.id}/cool", step.id, step.number, step.verb, "cool", "max",
        context.source(row), last.figure, None, None, stages, clock, read,
        target.text if target else "", (), (), row.food, verdict, _basis(context, row, stages),
        probe=step.step.probe, if_missed=step.step.if_missed,
    )  # fmt: skip
    return Outcome((limit,), findings)


def _target(context: StepContext, last: Stage) -> tuple[Verdict, tuple[Finding, ...]]:
    target = context.step.target
    if target is None or target.temperature is None:
        return Verdict(), ()
    law = last.figure.value
    mend = context.as_typed("to", last.figure.read_at(context.unit))
    shown = both(law, last.figure.shown_c, last.figure.shown_f)
    mended = context.mended(mend)
    if law < target.temperature:
        words = (
            f"The {context.step.verb.lower()} target, {target.text}, is above the limit: {shown}."
        )
        finding = context.finding(
            "target-above-limit", "error", words, "Chill to the limit or below.", mended
        )
        return Verdict("fails", words, (mend,)), (finding,)
    if law < target.temperature + context.accuracy:
        words = f"{context.step.verb}: the target, {target.text}, meets {shown} only if the probe is exact."
        help = f"The probe may be off by {context.accuracy}."
        finding = context.finding("target-within-probe-error", "warning", words, help, mended)
        return Verdict("close", words, (mend,)), (finding,)
    return Verdict("meets", f"{target.text} meets {shown}."), ()


def _basis(context: StepContext, row: Row, stages: tuple[Stage, ...]) -> Basis:
    inputs: list[tuple[str, str]] = [("In it", row.food)]
    if row.clock_from is not None:
        start = figure_of(row.clock_from.value, row.clock_from.printed, "min", context.accuracy)
        inputs.append(
            (
                "Clock",
                f"starts at {both(row.clock_from.value, start.shown_c, start.shown_f)}; "
                f"on this probe at {context.degrees(start.read_at(context.unit))}",
            )
        )
    inputs.append(("Probe", f"reads to ±{context.accuracy}, taken off each figure"))
    steps = [
        f"{both(s.figure.value, s.figure.shown_c, s.figure.shown_f)} within {duration(s.within_s)}"
        for s in stages
    ]
    rule = f"{row.food}: to {listed(steps)}, all counted from the same start"
    return Basis(tuple(inputs), rule, context.source(row).words)
