"""Reheating food that was cooked and cooled, for holding it hot: the general rows, a microwave
oven, what a plant packed, the rest of a roast. Food Code 3-403.11(A) to (E)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from generator.files.finding import Finding
from generator.measures.basis import Basis
from generator.measures.temperature import Temperature
from generator.measures.words import breakable, duration, listed
from generator.records.effects import HEATS, HELD
from generator.reference.row_kinds import CookRow, ReheatRow
from generator.resolve.joined import House
from generator.rules.basics.context import NOTHING, Outcome, StepContext, both, hold_words
from generator.rules.basics.limit import (
    HeatingLimit,
    Hold,
    Option,
    Reach,
    Source,
    Verdict,
    figure_of,
)
from generator.rules.basics.product import Component
from generator.rules.basics.uncovered import not_covered
from generator.rules.heat.cook_rows import assess, in_all
from generator.rules.heat.microwave import EVERYWHERE, WORDS, reheating_rows, standing, stands
from generator.rules.heat.roast import GROUP as ROAST
from generator.rules.heat.roast import not_again, roast_again
from generator.rules.heat.served_at_once import cooking_problem, reheated_to_order, to_be_served

PACKED = "commercially-packed"
"""The row for what a plant packed."""
_MOST_FIXES = 4
_MIDDLE = "The middle of the thickest part."
_BACK = "Not at {reading} yet? Back into the oven. The time starts again at {reading}."


def strictest_in_general(house: House) -> tuple[Temperature, ReheatRow, Fraction | None] | None:
    """The hottest figure of a row for reheating that is for any food, its row, and the seconds it
    may take by the shortest row; None without one."""
    rows = [row for _, row in house.pack.rows_of(ReheatRow)]
    general = [
        (row.value, row)
        for row in rows
        if row.value is not None and row.bound == "min" and row.applies is None
    ]
    times = [r.within.seconds for r in rows if r.bound == "max" and r.within]
    if not general:
        return None
    return (*max(general, key=lambda one: one[0].celsius), min(times, default=None))


def reheat_rows(context: StepContext) -> list[tuple[str, ReheatRow]]:
    """The rows one of which the food must meet here, the roast chart's aside.

    What a plant packed goes before the microwave oven: 3-403.11(B) gives way to (C).
    """
    rows = [
        (i, r) for i, r in context.house.pack.rows_of(ReheatRow) if r.value and r.bound == "min"
    ]
    packed = [(i, r) for i, r in rows if r.applies == PACKED]
    if packed and _as_packed(context):
        return packed
    return reheating_rows(context) or [(i, r) for i, r in rows if _is_general(r)]


def _is_general(row: ReheatRow) -> bool:
    """Whether a row is for any food: held so long, not stood, not of one kind."""
    return bool(row.hold) and row.stand is None and row.applies is None


def _as_packed(context: StepContext) -> bool:
    """Whether all that needs the cold in it is ready to eat as a plant packed it, and nothing in it
    was cooked here."""
    product = context.before
    needing = [c for c in product.components if c.tcs and not c.raw_animal]
    heated = product.cooked or any(c.heated for c in product.components)
    return bool(needing) and all(c.packed for c in needing) and not heated


def _of_roast(context: StepContext) -> tuple[str, ReheatRow] | None:
    """The row that lends the roast chart to reheating, where the food is a roast it is for."""
    lent = [(i, r) for i, r in context.house.pack.rows_of(ReheatRow) if r.rows_of is not None]
    return lent[0] if lent and roast_again(context) else None


def reheat_options(context: StepContext) -> tuple[tuple[Option, ...], tuple[Option, ...]]:
    """The general rows, and those of the roast chart where they count, each coldest first: any will
    do."""
    lent = _of_roast(context)
    chart = context.house.pack.cook_rows(lent[1].rows_of or "") if lent is not None else []
    return _options(context, reheat_rows(context), ""), _options(context, chart, ROAST)


def _options(
    context: StepContext, rows: Sequence[tuple[str, CookRow | ReheatRow]], group: str
) -> tuple[Option, ...]:
    found = [
        Option(
            ident,
            figure_of(row.value, row.printed, "min", context.accuracy),
            row.hold.seconds if row.hold else None,
            row.clause,
            group,
        )
        for ident, row in rows
        if row.value
    ]
    return tuple(sorted(found, key=lambda o: o.figure.value.celsius))


def _reach(context: StepContext, option: Option) -> Reach | None:
    """How soon cold food must be at its limit: Food Code 3-403.11(D); None where the pack sets no
    time.

    (D) speaks of (A) to (C), not of a roast by the roast chart. The clock starts on the strict
    side: a probe that may read high has the food leave the cold earlier.
    """
    if option.group == ROAST:
        return None
    for _, row in context.house.pack.rows_of(ReheatRow):
        if row.bound == "max" and row.within is not None and row.clock_from is not None:
            clock = row.clock_from
            start = figure_of(clock.value, clock.printed, "max", context.accuracy)
            return Reach(start, row.within.seconds, context.source(row))
    return None


@dataclass(frozen=True)
class _Met:
    """The row a target goes by, its verdict, and the warning if only a true reading meets it."""

    option: Option
    verdict: Verdict
    findings: tuple[Finding, ...] = ()


def reheating(context: StepContext) -> Outcome:
    """Cooked and cooled food reheated: Food Code 3-403.11, and its like elsewhere.

    Food that was cooked and cooled, here or in a formula made ahead, and food bought ready to eat,
    that comes in cold and is heated to be held hot or served, is reheated there, whatever the step
    is called.
    """
    reheats = "reheats" in context.step.effects
    if not (reheats or _heated_again(context)) or context.formula.formula.not_tcs:
        return NOTHING
    at_once = reheated_to_order(context)
    if at_once is not None:
        return Outcome((at_once,), reheated=True)
    options, chart = reheat_options(context)
    if not options:
        return not_covered(context, "reheat", "The pack has no reheating row.")
    core = _core(context)
    met = _Met(options[-1], Verdict("none", ""))
    if core is not None:
        judged = _judged(context, options, chart, core)
        if judged is None:
            return _fails(context, (*chart, *options), core.celsius)
        met = judged
    reach = _reach(context, met.option)
    limit = _limit(
        context,
        met.option,
        (*options, *chart),
        _held(context, met.option),
        met.option.figure.asked(context.unit, core),
        tuple(dict.fromkeys(c.through or c.name for c in _cold(context))),
        met.verdict,
        [*_reasons(context, met.option), *_time_words(reach)],
    )
    stood = standing(context, _row(context, met.option))
    findings = (*met.findings, *stood, *_too_slow(context, reach))
    return Outcome((limit,), findings, reheated=_counts(context, core))


def _cold(context: StepContext) -> tuple[Component, ...]:
    return tuple(c for c in context.before.components if c.chilled)


_ENDS_THE_HEAT = HELD | {"serves", "displays"}
"""What ends a run of heating, beside the cold."""


def _heated_again(context: StepContext) -> bool:
    """Whether a step that doesn't say so reheats what came in cold: it cooks it to be held hot, or
    is the last to heat it before it is held hot, served, or passed on hot."""
    if not _cold(context):
        return False
    if _cooked_for_holding(context):
        return True
    if context.before.raw_animals and not context.later_hot_hold:
        return False  # it is cooked, with what is raw in it
    return context.warms and not context.chilled_later and _heats_last(context)


def _cooked_for_holding(context: StepContext) -> bool:
    return "cooks" in context.step.effects and context.due and context.later_hot_hold


def _heats_last(context: StepContext) -> bool:
    """Whether no later step heats the food before it is held, served, or in the cold; what is
    warmed so that it ferments is no food reheated, unless it is held hot after all."""
    for step in context.formula.after(context.step.number):
        if step.effects & HEATS or ("ferments" in step.effects and not context.later_hot_hold):
            return False
        if step.effects & _ENDS_THE_HEAT or step.cold is not None:
            return True
    return True


def reheat_target(context: StepContext) -> str | None:
    """The target, as a chef types it, that a step which isn't called reheating has to meet because
    its food came cold; None where it has not."""
    if context.formula.formula.not_tcs or not _heated_again(context):
        return None
    if reheated_to_order(context) is not None:
        return None
    options = reheat_options(context)[0]
    return _fix(context, options[-1]) if options else None


def _counts(context: StepContext, core: Temperature | None) -> bool:
    """Whether the food is reheated by the step: it states the food's temperature, or a limit says
    that it gets hot. Warming by itself says nothing."""
    if core is not None:
        return True
    says = bool(context.step.effects & {"cooks", "reheats"})
    return says and (context.step.target is None or _heats_last(context))


def _core(context: StepContext) -> Temperature | None:
    """The target's temperature; of a step that isn't called reheating, that of the food alone."""
    target = context.step.target
    if target is None:
        return None
    if "reheats" not in context.step.effects and target.kind not in ("core", "to"):
        return None
    return target.coolest


def _held(context: StepContext, option: Option) -> Fraction | None:
    """How long it is held: as long as the target says, the row's time at least."""
    target = context.step.target
    if target is None or not target.hold:
        return option.hold_s
    return max(target.hold.shortest, option.hold_s or Fraction(0))


def _judged(
    context: StepContext,
    options: tuple[Option, ...],
    chart: tuple[Option, ...],
    core: Temperature,
) -> _Met | None:
    """The row the target meets, one of the roast chart where no other does; None if it meets
    none."""
    step, target = context.step, context.step.target
    assert target is not None
    held = target.hold.shortest if target.hold else None
    # A target without a time is held at least as long as the page says.
    lasts = step.step.time.shortest if step.step.time else None
    row, clear = assess(options, core, held, context.accuracy.celsius, lasts)
    if row is None and chart:
        row, clear = assess(chart, core, held, context.accuracy.celsius, lasts)
    if row is None:
        return None
    if clear:
        return _Met(row, Verdict("meets", f"{target.text} meets {_words(row)}."))
    message = (
        f"{step.verb}: the target, {target.text}, meets the limit "
        f"{_words(row)} only if the probe is exact."
    )
    help = (
        f"The probe may be off by {context.accuracy}. The page requires "
        f"{context.degrees(row.figure.read_at(context.unit))}."
    )
    help = f"{help} {context.hotter(_fix(context, row))}".strip()
    lines = context.fixed(_fix(context, row))
    found = context.finding("target-within-probe-error", "warning", message, help, lines)
    return _Met(row, Verdict("close", ""), (found,))


def _time_words(reach: Reach | None) -> tuple[tuple[str, str], ...]:
    """How soon it must be there, and who says so."""
    if reach is None:
        return ()
    start = both(reach.start.value, reach.start.shown_c, reach.start.shown_f)
    words = f"{duration(reach.within_s)} at most from {start}: {reach.source.words}"
    return (("Time", words),)


def _too_slow(context: StepContext, reach: Reach | None) -> tuple[Finding, ...]:
    """Reported where the step itself says that it takes longer than the code lets it."""
    step, time = context.step, context.step.step.time
    if reach is None or time is None or time.longest <= reach.within_s:
        return ()
    if "reheats" not in step.effects and not _cooked_for_holding(context):
        return ()  # it is cooked on for longer than it takes to get hot
    return (
        context.finding(
            "reheat-too-slow",
            "error",
            f"{step.verb}: {time} is too long. It must be there within {duration(reach.within_s)}.",
            "Reheat less food at once, or hotter. For holding it hot afterwards, add a step `do: "
            "hold-hot`.",
            (breakable(f"time: {duration(reach.within_s)}"),),
            step.step.place("time"),
            reach.source.words,
        ),
    )


def _reasons(context: StepContext, option: Option) -> list[tuple[str, str]]:
    _, food, _ = _reported(context, option)
    inputs = [("In it", food), ("Probe", f"reads to ±{context.accuracy}")]
    if to_be_served(context, ReheatRow, "reheat") is not None:
        inputs.insert(1, ("To order", f"{cooking_problem(context)}, so it counts as held hot"))
    loose = _loose(context)
    if loose:
        inputs.insert(1, ("Bought", f"{loose}: not stated to be packed by a plant: the strictest"))
    return inputs


def _loose(context: StepContext) -> str:
    """What was bought ready to eat and isn't stated to be packed by a plant, where the pack
    asks."""
    if context.house.pack.row_for(ReheatRow, PACKED) is None:
        return ""
    parts = context.before.components
    return listed(sorted({c.name for c in parts if c.chilled and not c.through and not c.packed}))


def _row(context: StepContext, option: Option) -> CookRow | ReheatRow:
    """The row of a way to reheat: of reheating, or of the roast chart."""
    pack = context.house.pack
    if option.group == ROAST:
        return pack.row(CookRow, option.row)
    return pack.row(ReheatRow, option.row)


def _reported(context: StepContext, option: Option) -> tuple[Source, str, CookRow | ReheatRow]:
    """The source of a row, what food it speaks of, and the row: for one of the roast chart, those
    of the paragraph that lends it."""
    row = _row(context, option)
    lent = _of_roast(context) if option.group == ROAST else None
    if lent is None:
        return context.source(row), row.food, row
    return context.source(lent[1]), lent[1].food, row


def _limit(
    context: StepContext,
    option: Option,
    options: tuple[Option, ...],
    reported: Fraction | None,
    read: Fraction,
    because: tuple[str, ...],
    verdict: Verdict,
    inputs: list[tuple[str, str]],
) -> HeatingLimit:
    step = context.step
    source, food, row = _reported(context, option)
    chart = f", {option.clause}" if option.group == ROAST else ""
    basis = Basis(tuple(inputs), f"{food}: {_words(option)}{chart}", source.words)
    stand = stands(context, row)
    where, missed = EVERYWHERE if stand is not None else "", ""
    if option.group == ROAST:  # not stirred, and no time to be there
        where, missed = _MIDDLE, _BACK
    return HeatingLimit(
        **context.names("reheat"),
        hazard="reheat",
        bound="min",
        source=source,
        figure=option.figure,
        hold=Hold(reported, option.hold_s) if reported is not None else None,
        read=read,
        target=step.target.text if step.target else "",
        options=options,
        because=because,
        group=food,
        verdict=verdict,
        basis=basis,
        reach=_reach(context, option),
        stand=stand,
        note=WORDS if stand is not None else "",
        probe=step.step.probe or where,
        if_missed=step.step.if_missed or missed,
    )


def _words(option: Option) -> str:
    figure = option.figure
    return f"{both(figure.value, figure.shown_c, figure.shown_f)}{hold_words(option.hold_s)}"


def _fix(context: StepContext, option: Option) -> str:
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
    source, food, row = _reported(context, option)
    fixes = tuple(_fix(context, o) for o in reversed(options))[:_MOST_FIXES]
    help = f"With your probe (±{context.accuracy}) the target must be {one}."
    loose = _loose(context)
    if reason := not_again(context):
        help += f" The roast chart doesn't apply: {reason}."
    if loose:
        help += (
            f" {loose}: bought ready to eat, and not stated to be packed by a plant "
            "(`commercially_packed`)."
        )
    help = f"{help} {context.hotter(*fixes)}".strip()
    found = context.finding(
        "target-below-limit",
        "error",
        words,
        help,
        context.fixed(*fixes),
        source=f"{source.document}, {source.clause}",
    )
    limit = _limit(
        context,
        option,
        options,
        option.hold_s,
        option.figure.read_at(context.unit),
        (),
        Verdict("fails", words, fixes),
        [("In it", food)],
    )
    return Outcome((limit,), (found, *standing(context, row)), reheated=True)
