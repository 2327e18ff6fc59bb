"""Reheating for hot holding, and thawing under refrigeration."""

from __future__ import annotations

from generator.computed import Basis
from generator.finding import Finding
from generator.rules.context import NOTHING, Outcome, StepContext, both, hold_words
from generator.rules.limit import Limit, Option, Status, Verdict, figure_of
from generator.rules.packing import not_covered


def reheating(context: StepContext) -> Outcome:
    """Cooked and cooled food reheated: Food Code 3-403.11(A).

    A made-ahead food that comes in cold and is heated to be held hot is reheated there, whatever the
    step is called.
    """
    step = context.step
    cold = tuple(c for c in context.before.components if c.chilled)
    again = "cooks" in step.effects and context.due and context.later_hot_hold and bool(cold)
    if not ("reheats" in step.effects or again) or context.formula.formula.not_tcs:
        return NOTHING
    rows = [
        (i, r)
        for i, r in context.house.pack.rows_of("reheat")
        if r.value and r.hold and r.stand is None and r.bound == "min"
    ]
    if not rows:
        return not_covered(context, "reheat", "The pack holds no reheating row.")
    ident, row = rows[0]
    assert row.value is not None and row.hold is not None
    figure = figure_of(row.value, row.printed, "min", context.accuracy)
    option = Option(ident, figure, row.hold.seconds, row.clause, "")
    set_point = figure.read_at(context.unit)
    target = step.target
    core = target.temperature if target else None
    if again and target is not None and target.kind != "core":
        core = None
    held = target.hold.seconds if target and target.hold else None
    shown = f"{both(row.value, figure.shown_c, figure.shown_f)}{hold_words(row.hold.seconds)}"
    mend = context.as_typed("core", set_point, row.hold.seconds)
    where = f"{context.house.pack.facts.document}, {row.clause}"
    status: Status = "meets" if core else "none"
    findings: tuple[Finding, ...] = ()
    if core is not None and target is not None:
        why = ""
        if core < row.value:
            why = "below the limit"
        elif held is not None and held < row.hold.seconds:
            why = "held too short for the limit"
        if why:
            words = f"The {step.verb.lower()} target, {target.text}, is {why}: {shown}."
            help = f"With your probe (±{context.accuracy}) the target must be at least this."
            lines = context.mended(mend)
            found = context.finding("target-below-limit", "error", words, help, lines, source=where)
            return Outcome((), (found,))
        if core - context.accuracy < row.value:
            status = "close"
            words = f"{step.verb}: the target, {target.text}, meets the limit {shown} only if the probe is exact."
            help = f"The probe may be off by {context.accuracy}; the page asks for {context.degrees(set_point)}."
            lines = context.mended(mend)
            findings = (
                context.finding("target-within-probe-error", "warning", words, help, lines),
            )
    read = figure.asked(context.unit, core)
    source = context.source(row)
    basis = Basis(
        (("In it", row.food), ("Probe", f"reads to ±{context.accuracy}")),
        f"{row.food}: {shown}",
        source.words,
    )
    limit = Limit(
        f"{context.formula.id}/{step.id}/reheat", step.id, step.number, step.verb, "reheat", "min", source,
        figure, max(held or row.hold.seconds, row.hold.seconds), row.hold.seconds, (), None, read,
        target.text if target else "", (option,), tuple(dict.fromkeys(c.through for c in cold)), row.food,
        Verdict(status, f"{target.text} meets {shown}." if target and status == "meets" else ""), basis, probe=step.step.probe,
        if_missed=step.step.if_missed,
    )  # fmt: skip
    return Outcome((limit,), findings)


def thawing(context: StepContext) -> Outcome:
    """Thawing in a refrigerator; other methods hold no limit here yet and say so."""
    step = context.step
    if "thaws" not in step.effects:
        return NOTHING
    rows = [
        (i, r) for i, r in context.house.pack.rows_of("thaw") if r.how == "refrigerator" and r.value
    ]
    if not rows or step.cold is None:
        return not_covered(
            context, "thaw", "Thawing is worked out only in a refrigerator (`in`) so far."
        )
    _, row = rows[0]
    assert row.value is not None
    figure = figure_of(row.value, row.printed, "max", context.accuracy)
    source = context.source(row)
    basis = Basis(
        (("In it", row.food), ("Probe", f"reads to ±{context.accuracy}")),
        f"{row.food}: {both(row.value, figure.shown_c, figure.shown_f)} or colder",
        source.words,
    )
    limit = Limit(
        f"{context.formula.id}/{step.id}/thaw", step.id, step.number, step.verb, "thaw", "max", source,
        figure, None, None, (), None, figure.read_at(context.unit), "", (), (), row.food, Verdict(), basis,
        probe=step.step.probe, if_missed=step.step.if_missed,
    )  # fmt: skip
    return Outcome((limit,))
