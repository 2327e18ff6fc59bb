"""Reheating for hot holding, and thawing under refrigeration."""

from __future__ import annotations

from generator.computed import Basis
from generator.measures.rounding import to_side
from generator.measures.words import listed
from generator.rules.context import NOTHING, Outcome, StepContext, both, hold_words
from generator.rules.limit import Limit, Option, Verdict, figure_of
from generator.rules.packing import not_covered


def reheating(context: StepContext) -> Outcome:
    """Cooked and cooled food reheated: Food Code 3-403.11(A)."""
    step = context.step
    if "reheats" not in step.effects or context.formula.formula.not_tcs:
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
    shown = f"{both(row.value, figure.shown_c, figure.shown_f)}{hold_words(row.hold.seconds)}"
    if core is not None and core < row.value and target is not None:
        words = f"The {step.verb.lower()} target, {target.text}, is below the limit: {shown}."
        mend = f"core {context.degrees(set_point)} for 15 s".replace("\u00a0", " ")
        return Outcome(
            (), (context.finding("target-below-limit", "error", words, "", (f"target: {mend}",)),)
        )
    read = max(set_point, to_side(core.in_unit(context.unit), "up")) if core else set_point
    source = context.source(row)
    basis = Basis(
        (("In it", row.food), ("Probe", f"reads to ±{context.accuracy}")),
        f"{row.food}: {shown}",
        f"{source.document}, {source.clause}; read in {listed(source.read_in[:2])}",
    )
    limit = Limit(
        f"{context.formula.id}/{step.id}/reheat", step.id, step.number, step.verb, "reheat", "min", source,
        figure, row.hold.seconds, row.hold.seconds, (), None, read, target.text if target else "", (option,),
        (), row.food, Verdict("meets" if core else "none"), basis, probe=step.step.probe,
        if_missed=step.step.if_missed,
    )  # fmt: skip
    return Outcome((limit,))


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
        f"{source.document}, {source.clause}; read in {listed(source.read_in[:2])}",
    )
    limit = Limit(
        f"{context.formula.id}/{step.id}/thaw", step.id, step.number, step.verb, "thaw", "max", source,
        figure, None, None, (), None, figure.read_at(context.unit), "", (), (), row.food, Verdict(), basis,
        probe=step.step.probe, if_missed=step.step.if_missed,
    )  # fmt: skip
    return Outcome((limit,))
