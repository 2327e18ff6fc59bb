"""Cooking: the ranked groups, the roast chart, the microwave oven, plant food for hot holding.

Food Code 3-401.11: (A)(1) < (A)(2) < (A)(3). A mixture takes the highest group of anything in it
and only that group's own rows; between rows one steps down to the next listed lower temperature
and its longer hold. Nothing is interpolated.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from generator.computed import Basis
from generator.finding import Finding
from generator.joined import JoinedStep
from generator.measures.temperature import SIGN, Temperature
from generator.measures.words import NARROW, listed, plain
from generator.product import RAW_STATES, Component
from generator.reference.rows import Row
from generator.rules.context import NOTHING, Outcome, StepContext, both, cited, hold_words
from generator.rules.grouping import highest, what_it_is
from generator.rules.lethality import table_for
from generator.rules.limit import Limit, Option, Verdict, figure_of
from generator.rules.microwave import EVERYWHERE, WORDS, cooking_group, standing, stands
from generator.rules.roast import GROUP as ROAST
from generator.rules.roast import roast_chart_fits
from generator.rules.to_order import TO_ORDER
from generator.rules.uncovered import not_covered

_MOST_MENDS = 4
_AT_ONCE = "Break the eggs for this one order, never ahead, and serve it at once."


def _options(context: StepContext, group: str) -> tuple[Option, ...]:
    """The rows a group may use, coldest first; at one temperature the longest hold. Eggs broken to
    order, and nothing else, have a row of their own."""
    held = [
        (i, r)
        for member in context.house.pack.members(group)
        for i, r in context.house.pack.rows_of("cook", member)
        if r.value and r.bound == "min"
    ]
    own = [(i, r) for i, r in held if r.applies == TO_ORDER] if _eggs_to_order(context) else []
    rows = own or [(i, r) for i, r in held if r.applies != TO_ORDER]
    best: dict[Fraction, Option] = {}
    for ident, row in rows:
        assert row.value is not None
        figure = figure_of(row.value, row.printed, "min", context.accuracy)
        hold = row.hold.seconds if row.hold else None
        option = Option(ident, figure, hold, row.clause, group)
        kept = best.get(row.value.celsius)
        if kept is None or (hold or 0) > (kept.hold_s or 0):
            best[row.value.celsius] = option
    return tuple(best[key] for key in sorted(best))


def _eggs_to_order(context: StepContext) -> bool:
    """Whether all that is raw of an animal here are eggs broken to order, and the rows are the code's."""
    raw = context.before.raw_animals
    return bool(raw) and all(c.to_order for c in raw) and "cook" not in context.house.pack.ours


def _group(
    context: StepContext,
) -> tuple[str | None, tuple[Component, ...]] | None:
    """The group raw animal food falls into here, and what puts it there: by microwave all goes by the
    rows for that. None if nothing is raw of an animal."""
    found = highest(context.before, context.house.pack)
    by_microwave = cooking_group(context)
    if found is None or by_microwave is None:
        return found
    return by_microwave, context.before.raw_animals


def law_options(
    context: StepContext,
) -> tuple[str, tuple[Component, ...], tuple[Option, ...]] | None:
    """The group a cooking step falls into, what puts it there, and every row it may use: the roast
    chart's too where that fits. None where the pack holds no row."""
    found = _group(context)
    group, because = found if found is not None else ("plant", ())
    if group is None:
        return None
    group = table_for(context, group)
    options = _options(context, group)
    if found is not None and options and not roast_chart_fits(context):
        options += _options(context, ROAST)
    return (group, because, options) if options else None


def _reached(options: tuple[Option, ...], at: Temperature) -> Option | None:
    """The listed row with the highest temperature not above ``at``."""
    fitting = [o for o in options if o.figure.value <= at]
    return fitting[-1] if fitting else None


def judge(
    options: tuple[Option, ...],
    target: Temperature,
    hold: Fraction | None,
    accuracy_c: Fraction,
    lasts: Fraction | None = None,
) -> tuple[Option | None, bool]:
    """The row a target goes by, and whether it stands clear of the probe's error.

    A target without a ``hold`` (s) is held as long as the row asks, unless the whole step ``lasts``
    (s) shorter than that.

    Returns (row, True) if the row is met even by a probe reading high by its accuracy,
    (row, False) if it is met only by a true reading, (None, False) if it isn't met at all.
    """
    sure = _reached(options, Temperature(target.celsius - accuracy_c, target.unit))
    bare = _reached(options, target)
    most = hold if hold is not None else lasts
    if sure is not None and (most is None or most >= (sure.hold_s or 0)):
        return sure, True
    if bare is not None and (most is None or most >= (bare.hold_s or 0)):
        return bare, False
    return None, False


def in_all(step: JoinedStep) -> str:
    """For a target that states no time: how long the whole step is, as words behind it."""
    if step.step.time is None or (step.target and step.target.hold):
        return ""
    return f" in a step of {step.step.time}"


def _mend(context: StepContext, option: Option) -> str:
    """A target that meets a row on this probe, as a chef types it."""
    return context.as_typed("core", option.figure.read_at(context.unit), option.hold_s)


def cooking(context: StepContext) -> Outcome:
    """The limit of a step that must make raw animal food safe."""
    outcome = _cooking(context)
    if outcome.limits and outcome.limits[0].row_stand_s is not None:
        row = context.house.pack.rows[outcome.limits[0].options[0].row]
        return replace(outcome, findings=outcome.findings + standing(context, row))
    return outcome


def _cooking(context: StepContext) -> Outcome:
    step = context.step
    if "cooks" not in step.effects or not context.due:
        return NOTHING
    found = _group(context)
    if found is None:
        return Outcome(cooked=True)
    group, because = found
    if context.formula.formula.undercooked:
        return NOTHING
    group = table_for(context, group) if group is not None else None
    ranked = _options(context, group) if group is not None else ()
    if group is None or not ranked:
        return not_covered(
            context, "cook", f"The rules held list no row for {_what(context, because)}."
        )
    roast = _options(context, ROAST)
    target = step.target
    if target is None or target.kind != "core" or target.temperature is None:
        mends = tuple(_mend(context, o) for o in reversed(ranked))
        message = (
            f"The step {step.verb.lower()} has no core target; {_what(context, because)} needs one."
        )
        missing = context.finding(
            "target-missing",
            "error",
            message,
            "Write a target that meets a row on this probe.",
            tuple(f"targets: {{{step.id}: {m}}}" for m in mends),
            context.formula.formula.key_place("process") if target is None else None,
        )
        verdict = Verdict("fails", message, mends)
        limit = _limit(context, ranked[-1], ranked, because, group, verdict, None, None)
        return Outcome((limit,), (missing,), cooked=True)
    hold = target.hold.seconds if target.hold else None
    lasts = step.step.time.seconds if step.step.time else None
    row, clear = judge(ranked, target.temperature, hold, context.accuracy.celsius, lasts)
    chart_reason = ""
    options = ranked
    if row is None and roast:
        chart_reason = roast_chart_fits(context)
        if not chart_reason:
            row, clear = judge(roast, target.temperature, hold, context.accuracy.celsius, lasts)
            options = (*ranked, *roast)
    if row is None:
        return _fails(
            context, options if not chart_reason else ranked, because, group, chart_reason
        )
    if clear:
        verdict = Verdict("meets", f"{target.text} meets {_row_words(row)} on this probe.")
        limit = _limit(context, row, options, because, row.group, verdict, target.temperature, hold)
        by_chart = row.group == ROAST or _meets_chart(context, roast, target.temperature, hold)
        return Outcome((limit,), (), True, by_chart)
    mends = (_mend(context, row),)
    words = f"{step.verb}: the target, {target.text}, meets the limit {_row_words(row)} only if the probe is exact."
    finding = _within_probe_error(context, row, words)
    verdict = Verdict("close", words, mends)
    limit = _limit(context, row, options, because, row.group, verdict, target.temperature, hold)
    return Outcome((limit,), (finding,), True, row.group == ROAST)


def _meets_chart(
    context: StepContext, roast: tuple[Option, ...], target: Temperature, hold: Fraction | None
) -> bool:
    """Whether a target that goes by another row meets the roast chart as well: surely, and by the time
    it states itself, for the page asks for no more."""
    if not roast or roast_chart_fits(context):
        return False
    return judge(roast, target, hold or Fraction(0), context.accuracy.celsius)[1]


def _within_probe_error(context: StepContext, option: Option, words: str) -> Finding:
    """The warning of a target that only a true reading meets."""
    help = (
        f"The probe may be off by {context.accuracy}; the page asks for "
        f"{context.degrees(option.figure.read_at(context.unit))}."
    )
    mends = context.mended(_mend(context, option))
    return context.finding("target-within-probe-error", "warning", words, help, mends)


def _fails(
    context: StepContext,
    options: tuple[Option, ...],
    because: tuple[Component, ...],
    group: str,
    chart_reason: str,
) -> Outcome:
    step, target = context.step, context.step.target
    assert target is not None and target.temperature is not None
    own = tuple(o for o in options if o.group != ROAST)
    roast = tuple(o for o in options if o.group == ROAST)
    fitting = tuple(o for o in roast if o.figure.read_at_c <= target.temperature.celsius)
    mends = tuple(_mend(context, o) for o in (*reversed(own), *(fitting[-1:] or roast[:1])))
    lowest = own[0]
    near = _reached(own, target.temperature) or _reached(roast, target.temperature)
    if near is None:
        words = (
            f"The {step.verb.lower()} target, {target.text}, is below the limit for "
            f"{_what(context, because)}: {_row_words(lowest)}."
        )
    else:
        words = (
            f"The {step.verb.lower()} target, {target.text}{in_all(step)}, is held too short for "
            f"{_what(context, because)}: {_row_words(near)}."
        )
    single = len(mends) == 1
    help = f"With your probe (±{context.accuracy}) the target must be one of these."
    if single:
        whose = "house limit" if "cook" in context.house.pack.ours else "code"
        help = (
            f"With your probe (±{context.accuracy}) the target must be "
            f"{context.degrees(lowest.figure.read_at(context.unit))} or hotter. "
            f"The {whose} has no longer time at a lower temperature for it."
        )
    if (
        chart_reason
        and group in context.house.pack.ranking[:-1]
        and target.temperature.celsius < options[0].figure.value.celsius
    ):
        help += f" The roast chart doesn't apply: {chart_reason}."
    finding = context.finding(
        "target-below-limit",
        "error",
        words,
        help.strip(),
        context.mended(*mends[:_MOST_MENDS]),
        source=cited(context.house, context.house.pack.rows[(near or lowest).row]),
    )
    verdict = Verdict("fails", words, mends)
    limit = _limit(context, own[-1], options, because, group, verdict, None, None)
    return Outcome((limit,), (finding,), True)


def _row_words(option: Option) -> str:
    figure = option.figure
    words = both(figure.value, figure.shown_c, figure.shown_f)
    return f"{words}{hold_words(option.hold_s)}"


def _what(context: StepContext, because: tuple[Component, ...]) -> str:
    pack, stuffed = context.house.pack, context.before.stuffed
    return listed(list(dict.fromkeys(what_it_is(c, pack, stuffed) for c in because)))


def _limit(
    context: StepContext,
    option: Option,
    options: tuple[Option, ...],
    because: tuple[Component, ...],
    group: str,
    verdict: Verdict,
    target: Temperature | None,
    hold: Fraction | None,
) -> Limit:
    """The limit as the page shows it: max(target, set-point), the longer hold."""
    row = context.house.pack.rows[option.row]
    read = option.figure.asked(context.unit, target)
    row_hold = option.hold_s
    told = max(hold, row_hold or Fraction(0)) if hold is not None else row_hold
    names = tuple(dict.fromkeys(c.name for c in because))
    words = _what(context, because) + (", by the roast chart" if group == ROAST else "")
    stand = stands(context, row)
    basis = _basis(context, row, option, names, read, target, words)
    step = context.step
    return Limit(
        f"{context.formula.id}/{step.id}/cook", step.id, step.number, step.verb, "cook", "min",
        context.source(row), option.figure, told, row_hold, (), None, read,
        step.target.text if step.target else "", options, names, words,
        verdict, basis, probe=step.step.probe or (EVERYWHERE if stand is not None else ""), if_missed=step.step.if_missed,
        note=WORDS if stand is not None else _AT_ONCE if row.applies == TO_ORDER else
        _note(context, group),
        stand_s=stand, row_stand_s=row.stand.seconds if row.stand else None,
    )  # fmt: skip


def _note(context: StepContext, group: str) -> str:
    """What a group says of itself, and the row in words its rows are bound to."""
    pack = context.house.pack
    held = pack.groups[group]
    bound = pack.rows.get(held.asks_row or "")
    return " ".join(w for w in (held.note, bound.words if bound else "") if w)


def _basis(
    context: StepContext, row: Row, option: Option, names: tuple[str, ...], read: Fraction,
    target: Temperature | None, words: str,
) -> Basis:  # fmt: skip
    figure, other = option.figure, context.unit
    exact = figure.value.in_unit(other)
    inputs: list[tuple[str, str]] = [("In it", f"{listed(list(names))}: {words}")]
    if other != figure.value.unit:
        first = f"{figure.value} is {plain(exact, 2)}{NARROW}{SIGN[other]}"
        inputs.append(
            (f"In {SIGN[other]}", f"{first}; shown {plain(figure.shown(other))}, rounded up")
        )
    inputs.append(
        (
            "Probe",
            f"reads to ±{context.accuracy}, so it must show {context.degrees(figure.read_at(other))}",
        )
    )
    if read > figure.read_at(other):
        inputs.append(("Target", f"the chef asks for {target}, which is more"))
    pack, asked = context.house.pack, context.formula.formula.lethality
    group = pack.groups.get(option.group)
    if asked and group is not None and group.lethality == asked:
        inputs.append(("Table", f"{asked}, by the formula"))
    bound = pack.rows.get(group.asks_row or "") if group is not None else None
    if bound is not None:
        inputs.append((bound.hazard.capitalize(), context.source(bound).words))
    rule = f"{row.food}: {_row_words(option)}"
    if len(_options(context, option.group)) == 1:
        rule += "; no other row may stand in for it"
    return Basis(tuple(inputs), rule, context.source(row).words)


def plant_cooking(context: StepContext) -> Outcome:
    """Plant food cooked to be held hot: 3-401.13."""
    if "cooks" not in context.step.effects or not context.due or not context.later_hot_hold:
        return NOTHING
    if context.before.raw_animals or context.before.cooked:
        return NOTHING
    if any(c.chilled for c in context.before.components):
        return NOTHING  # reheated, which asks for more
    options = _options(context, "plant")
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
            near = _reached(options, core) or options[0]
            why = "below" if core < near.figure.value else "held too short for"
            words = f"{step.verb}: {core} is {why} {_row_words(near)}, plant food for hot holding."
            finding = context.finding(
                "target-below-limit", "error", words, "", context.mended(_mend(context, near))
            )
            return Outcome((), (finding,), True)
        option = met
    close: tuple[Finding, ...] = ()
    if target is not None and not clear:
        said = f"{step.verb}: the target, {target.text}, meets the limit {_row_words(option)} only if the probe is exact."
        close = (_within_probe_error(context, option, said),)
    parts = context.before.components
    names = tuple(dict.fromkeys(c.name for c in parts if c.state in RAW_STATES))
    names = names or tuple(dict.fromkeys(c.name for c in parts))
    words, row = context.house.pack.groups["plant"].name, context.house.pack.rows[option.row]
    told = max(hold or Fraction(0), option.hold_s) if option.hold_s is not None else None
    read = option.figure.asked(context.unit, core)
    limit = Limit(
        f"{context.formula.id}/{step.id}/cook", step.id, step.number, step.verb, "cook", "min",
        context.source(row), option.figure, told, option.hold_s, (), None, read, target.text if target else "",
        options, names, words,
        Verdict("close", close[0].message) if close else
        Verdict("meets", f"{context.step.target.text} meets {_row_words(option)}.")
        if core and context.step.target else Verdict(),
        _basis(context, row, option, names, read, core, words), probe=step.step.probe,
        if_missed=step.step.if_missed,
    )  # fmt: skip
    return Outcome((limit,), close, True)
