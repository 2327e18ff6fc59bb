"""Cooking plant food to be held hot: Food Code 3-401.13."""

from __future__ import annotations

from fractions import Fraction

from generator.files.finding import Finding
from generator.measures.temperature import Temperature
from generator.reference.row_kinds import CookRow
from generator.rules.basics.context import NOTHING, Outcome, StepContext
from generator.rules.basics.limit import HeatingLimit, Hold, Option, Verdict
from generator.rules.basics.product import RAW_STATES
from generator.rules.heat.cook_rows import (
    assess,
    basis_of,
    fix,
    options_of,
    reached,
    row_words,
    within_probe_error,
)


def plant_cooking(context: StepContext) -> Outcome:
    """Plant food cooked to be held hot: 3-401.13."""
    if not _is_asked(context):
        return NOTHING
    return cooked_by_rows(context, "plant", "plant food for hot holding", _names(context))


def cooked_by_rows(context: StepContext, group: str, food: str, names: tuple[str, ...]) -> Outcome:
    """Food cooked by the rows of one group of the pack: the limit, and what the target makes of
    it; nothing where there are no rows. ``food`` is what a finding calls it, ``names`` are what
    asks for it."""
    options = options_of(context, group)
    if not options:
        return NOTHING
    step, target = context.step, context.step.target
    core = target.coolest if target and target.kind == "core" else None
    option, close = options[-1], None
    if core is not None:
        lasts = step.step.time.shortest if step.step.time else None
        met, clear = assess(options, core, _hold(context), context.accuracy.celsius, lasts)
        if met is None:
            return Outcome((), (_not_met(context, options, core, food),), True)
        option, close = met, None if clear else _close(context, met)
    limit = _limit(context, options, option, core, close, names)
    return Outcome((limit,), (close,) if close is not None else (), True)


def _is_asked(context: StepContext) -> bool:
    """Whether plant food is cooked here to be held hot; what was cooked and chilled is reheated,
    which asks for more."""
    cooks = "cooks" in context.step.effects and context.due and context.later_hot_hold
    before = context.before
    animal = before.raw_animals or before.cooked
    return cooks and not animal and not any(c.chilled for c in before.components)


def _hold(context: StepContext) -> Fraction | None:
    """The time the target states."""
    target = context.step.target
    return target.hold.shortest if target and target.hold else None


def _not_met(
    context: StepContext, options: tuple[Option, ...], core: Temperature, food: str
) -> Finding:
    """The error of a target no row is met by."""
    near = reached(options, core) or options[0]
    why = "below" if core < near.figure.value else "held too short for"
    words = f"{context.step.verb}: {core} is {why} {row_words(near)}, {food}."
    return context.finding(
        "target-below-limit", "error", words, "", context.fixed(fix(context, near))
    )


def _close(context: StepContext, option: Option) -> Finding:
    """The warning of a target that only a true reading meets."""
    target = context.step.target
    assert target is not None
    said = (
        f"{context.step.verb}: the target, {target.text}, meets the limit {row_words(option)} "
        "only if the probe is exact."
    )
    return within_probe_error(context, option, said)


def _names(context: StepContext) -> tuple[str, ...]:
    """What is raw in it; all that is in it if nothing is."""
    parts = context.before.components
    raw = tuple(dict.fromkeys(c.name for c in parts if c.state in RAW_STATES))
    return raw or tuple(dict.fromkeys(c.name for c in parts))


def _limit(
    context: StepContext,
    options: tuple[Option, ...],
    option: Option,
    core: Temperature | None,
    close: Finding | None,
    names: tuple[str, ...],
) -> HeatingLimit:
    step, target = context.step, context.step.target
    pack = context.house.pack
    words, row = pack.groups[option.group].name, pack.row(CookRow, option.row)
    reported: Fraction | None = None
    if option.hold_s is not None:
        reported = max(_hold(context) or Fraction(0), option.hold_s)
    read = option.figure.asked(context.unit, core)
    verdict = Verdict()
    if close is not None:
        verdict = Verdict("close", close.message)
    elif core is not None and target is not None:
        verdict = Verdict("meets", f"{target.text} meets {row_words(option)}.")
    return HeatingLimit(
        **context.names("cook"),
        hazard="cook",
        bound="min",
        source=context.source(row),
        figure=option.figure,
        hold=Hold(reported, option.hold_s) if reported is not None else None,
        read=read,
        target=target.text if target else "",
        options=options,
        because=names,
        group=words,
        verdict=verdict,
        basis=basis_of(context, row, option, names, read, core, words),
        probe=step.step.probe,
        if_missed=step.step.if_missed,
    )
