"""Cooking plant food to be held hot: Food Code 3-401.13."""

from __future__ import annotations

from fractions import Fraction

from generator.files.finding import Finding
from generator.rules.basics.context import NOTHING, Outcome, StepContext
from generator.rules.basics.limit import HeatingLimit, Hold, Verdict
from generator.rules.basics.product import RAW_STATES
from generator.rules.heat.cook_rows import (
    basis_of,
    judge,
    mend,
    options_of,
    reached,
    row_words,
    within_probe_error,
)


def plant_cooking(context: StepContext) -> Outcome:
    """Plant food cooked to be held hot: 3-401.13."""
    if "cooks" not in context.step.effects or not context.due or not context.later_hot_hold:
        return NOTHING
    if context.before.raw_animals or context.before.cooked:
        return NOTHING
    if any(c.chilled for c in context.before.components):
        return NOTHING  # reheated, which asks for more
    options = options_of(context, "plant")
    if not options:
        return NOTHING
    step, target = context.step, context.step.target
    core = target.temperature if target and target.kind == "core" else None
    hold = target.hold.seconds if target and target.hold else None
    option, clear = options[-1], True
    if core is not None:
        lasts = step.step.time.seconds if step.step.time else None
        met, clear = judge(options, core, hold, context.accuracy.celsius, lasts)
        if met is None:
            near = reached(options, core) or options[0]
            why = "below" if core < near.figure.value else "held too short for"
            words = f"{step.verb}: {core} is {why} {row_words(near)}, plant food for hot holding."
            finding = context.finding(
                "target-below-limit", "error", words, "", context.mended(mend(context, near))
            )
            return Outcome((), (finding,), True)
        option = met
    close: tuple[Finding, ...] = ()
    if target is not None and not clear:
        said = (
            f"{step.verb}: the target, {target.text}, meets the limit {row_words(option)} "
            "only if the probe is exact."
        )
        close = (within_probe_error(context, option, said),)
    parts = context.before.components
    names = tuple(dict.fromkeys(c.name for c in parts if c.state in RAW_STATES))
    names = names or tuple(dict.fromkeys(c.name for c in parts))
    words, row = context.house.pack.groups["plant"].name, context.house.pack.rows[option.row]
    told = max(hold or Fraction(0), option.hold_s) if option.hold_s is not None else None
    read = option.figure.asked(context.unit, core)
    limit = HeatingLimit(
        **context.names("cook"),
        hazard="cook",
        bound="min",
        source=context.source(row),
        figure=option.figure,
        hold=Hold(told, option.hold_s) if told is not None else None,
        read=read,
        target=target.text if target else "",
        options=options,
        because=names,
        group=words,
        verdict=Verdict("close", close[0].message)
        if close
        else Verdict("meets", f"{context.step.target.text} meets {row_words(option)}.")
        if core and context.step.target
        else Verdict(),
        basis=basis_of(context, row, option, names, read, core, words),
        probe=step.step.probe,
        if_missed=step.step.if_missed,
    )
    return Outcome((limit,), close, True)
