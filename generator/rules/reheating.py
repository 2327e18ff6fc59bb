"""Reheating food that was cooked and cooled, for holding it hot."""

from __future__ import annotations

from fractions import Fraction

from generator.computed import Basis
from generator.finding import Finding
from generator.measures.words import duration
from generator.rules.context import NOTHING, Outcome, StepContext, both, hold_words
from generator.rules.cooking import in_all, judge
from generator.rules.limit import Limit, Option, Reach, Status, Verdict, figure_of
from generator.rules.uncovered import not_covered


def _options(context: StepContext) -> tuple[Option, ...]:
    """The timed rows for reheating, coldest first: any of them will do."""
    found = [
        Option(ident, figure_of(row.value, row.printed, "min", context.accuracy), row.hold.seconds, row.clause, "")
        for ident, row in context.house.pack.rows_of("reheat")
        if row.value and row.hold and row.stand is None and row.bound == "min"
    ]  # fmt: skip
    return tuple(sorted(found, key=lambda o: o.figure.value.celsius))


def _reach(context: StepContext) -> Reach | None:
    """How soon cold food must be at its limit: Food Code 3-403.11(D); None where the pack sets no time.

    The clock starts on the strict side: a probe that may read high has the food leave the cold earlier.
    """
    for _, row in context.house.pack.rows_of("reheat"):
        if row.bound == "max" and row.within is not None and row.clock_from is not None:
            clock = row.clock_from
            start = figure_of(clock.value, clock.printed, "max", context.accuracy)
            return Reach(start, row.within.seconds, context.source(row))
    return None


def _words(option: Option) -> str:
    figure = option.figure
    return f"{both(figure.value, figure.shown_c, figure.shown_f)}{hold_words(option.hold_s)}"


def reheating(context: StepContext) -> Outcome:
    """Cooked and cooled food reheated: Food Code 3-403.11(A), and its like elsewhere.

    A made-ahead food that comes in cold and is heated to be held hot is reheated there, whatever the
    step is called.
    """
    step = context.step
    cold = tuple(c for c in context.before.components if c.chilled)
    again = "cooks" in step.effects and context.due and context.later_hot_hold and bool(cold)
    if not ("reheats" in step.effects or again) or context.formula.formula.not_tcs:
        return NOTHING
    options = _options(context)
    if not options:
        return not_covered(context, "reheat", "The pack holds no reheating row.")
    target = step.target
    core = target.temperature if target else None
    if again and target is not None and target.kind != "core":
        core = None
    held = target.hold.seconds if target and target.hold else None
    option = options[-1]
    status: Status = "none"
    words = ""
    findings: tuple[Finding, ...] = ()
    if core is not None and target is not None:
        # A target without a time is held at least as long as the page says.
        lasts = step.step.time.seconds if step.step.time else None
        row, clear = judge(options, core, held, context.accuracy.celsius, lasts)
        if row is None:
            return _fails(context, options, core.celsius)
        option, status = row, "meets" if clear else "close"
        words = f"{target.text} meets {_words(option)}." if clear else ""
        if not clear:
            set_point = option.figure.read_at(context.unit)
            message = f"{step.verb}: the target, {target.text}, meets the limit {_words(option)} only if the probe is exact."
            help = f"The probe may be off by {context.accuracy}; the page asks for {context.degrees(set_point)}."
            lines = context.mended(_mend(context, option))
            found = context.finding("target-within-probe-error", "warning", message, help, lines)
            findings = (found,)
    row_hold = option.hold_s or Fraction(0)
    pack_row = context.house.pack.rows[option.row]
    source = context.source(pack_row)
    reach = _reach(context)
    inputs = [("In it", pack_row.food), ("Probe", f"reads to ±{context.accuracy}")]
    if reach is not None:
        start = both(reach.start.value, reach.start.shown_c, reach.start.shown_f)
        words_of_time = f"{duration(reach.within_s)} at most from {start}: {reach.source.words}"
        inputs.append(("Time", words_of_time))
    basis = Basis(
        tuple(inputs),
        f"{pack_row.food}: {_words(option)}",
        source.words,
    )
    limit = Limit(
        f"{context.formula.id}/{step.id}/reheat", step.id, step.number, step.verb, "reheat", "min", source,
        option.figure, max(held or row_hold, row_hold), row_hold, (), None,
        option.figure.asked(context.unit, core), target.text if target else "", options,
        tuple(dict.fromkeys(c.through for c in cold)), pack_row.food, Verdict(status, words), basis,
        reach=reach, probe=step.step.probe, if_missed=step.step.if_missed,
    )  # fmt: skip
    return Outcome((limit,), findings)


def _mend(context: StepContext, option: Option) -> str:
    return context.as_typed("core", option.figure.read_at(context.unit), option.hold_s)


def _fails(context: StepContext, options: tuple[Option, ...], core: Fraction) -> Outcome:
    step, target = context.step, context.step.target
    assert target is not None
    near = [o for o in options if o.figure.value.celsius <= core]
    option = near[-1] if near else options[0]
    why = "held too short for the limit" if near else "below the limit"
    for_all = in_all(step) if near else ""
    words = f"The {step.verb.lower()} target, {target.text}{for_all}, is {why}: {_words(option)}."
    one = "at least this" if len(options) == 1 else "one of these"
    source = context.source(context.house.pack.rows[option.row])
    found = context.finding(
        "target-below-limit", "error", words,
        f"With your probe (±{context.accuracy}) the target must be {one}.",
        context.mended(*(_mend(context, o) for o in reversed(options))),
        source=f"{source.document}, {source.clause}",
    )  # fmt: skip
    pack_row = context.house.pack.rows[option.row]
    verdict = Verdict("fails", words, tuple(_mend(context, o) for o in reversed(options)))
    basis = Basis((("In it", pack_row.food),), f"{pack_row.food}: {_words(option)}", source.words)
    limit = Limit(
        f"{context.formula.id}/{step.id}/reheat", step.id, step.number, step.verb, "reheat", "min", source,
        option.figure, option.hold_s, option.hold_s, (), None, option.figure.read_at(context.unit),
        target.text, options, (), pack_row.food, verdict, basis, reach=_reach(context),
        probe=step.step.probe, if_missed=step.step.if_missed,
    )  # fmt: skip
    return Outcome((limit,), (found,))
