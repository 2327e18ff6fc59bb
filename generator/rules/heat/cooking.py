"""Cooking: the ranked groups, the roast chart, the microwave oven, plant food for hot holding.

Food Code 3-401.11: (A)(1) < (A)(2) < (A)(3). A mixture takes the highest group of anything in it
and only that group's own rows; between rows one steps down to the next listed lower temperature
and its longer hold. Nothing is interpolated.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from generator.measures.temperature import Temperature
from generator.measures.words import listed
from generator.records.process import Target
from generator.reference.row_kinds import CookRow, WordsRow
from generator.rules.basics.context import NOTHING, Outcome, StepContext, cited
from generator.rules.basics.grouping import highest, what_it_is
from generator.rules.basics.limit import HeatingLimit, Hold, Option, Verdict
from generator.rules.basics.product import Component
from generator.rules.basics.raw_juice import lay_in, only_juice, spent_names
from generator.rules.basics.uncovered import not_covered
from generator.rules.heat.cook_rows import (
    assess,
    basis_of,
    fix,
    in_all,
    options_of,
    reached,
    row_words,
    within_probe_error,
)
from generator.rules.heat.lethality import table_for
from generator.rules.heat.microwave import EVERYWHERE, WORDS, cooking_group, standing, stands
from generator.rules.heat.roast import GROUP as ROAST
from generator.rules.heat.roast import roast_chart_fits
from generator.rules.heat.steak import on_its_surface, why_its_core
from generator.rules.heat.to_order import TO_ORDER
from generator.rules.heat.two_goes import in_two_goes

_MOST_FIXES = 4
_AT_ONCE = "Break the eggs for this one order, never ahead. Serve it at once."


def _group(
    context: StepContext,
) -> tuple[str | None, tuple[Component, ...]] | None:
    """The group raw animal food falls into here, and what puts it there: by microwave all goes by
    the rows for that. None if nothing is raw of an animal."""
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
    options = options_of(context, group)
    if found is not None and options and not roast_chart_fits(context):
        options += options_of(context, ROAST)
    return (group, because, options) if options else None


def cooking(context: StepContext) -> Outcome:
    """The limit of a step that must make raw animal food safe."""
    outcome = _cooking(context)
    for limit in outcome.limits:
        if isinstance(limit, HeatingLimit) and limit.stand is not None:
            row = context.house.pack.row(CookRow, limit.options[0].row)
            return replace(outcome, findings=outcome.findings + standing(context, row))
    return outcome


@dataclass(frozen=True)
class _Asked:
    """What is asked of the raw food at a step: its group, what puts it there, the rows of that
    group, and those of the roast chart with the reason why that doesn't apply, "" if it does."""

    group: str
    because: tuple[Component, ...]
    ranked: tuple[Option, ...]
    roast: tuple[Option, ...]
    no_chart: str

    @property
    def with_chart(self) -> tuple[Option, ...]:
        return (*self.ranked, *self.roast)


def _cooking(context: StepContext) -> Outcome:
    step = context.step
    if "cooks" not in step.effects or not context.due:
        return NOTHING
    found = _group(context)
    if found is None:
        return Outcome(cooked=True)
    if context.formula.formula.undercooked:
        return NOTHING
    steak = on_its_surface(context)
    if steak is not None:
        return steak
    asked = _asked(context, *found)
    if asked is None:
        what = _what(context, found[1])
        return not_covered(context, "cook", f"The rules here have no row for {what}.")
    target = step.target
    if target is None or target.kind != "core" or target.coolest is None:
        return _no_target(context, asked)
    return _by_target(context, asked, target, target.coolest)


def _asked(
    context: StepContext, group: str | None, because: tuple[Component, ...]
) -> _Asked | None:
    """What is asked of a group; None where the pack holds no row for it."""
    group = table_for(context, group) if group is not None else None
    ranked = options_of(context, group) if group is not None else ()
    if group is None or not ranked:
        return None
    roast = options_of(context, ROAST)
    return _Asked(group, because, ranked, roast, roast_chart_fits(context) if roast else "")


def _no_target(context: StepContext, asked: _Asked) -> Outcome:
    """The error where a step that has to make raw food safe states no core temperature."""
    step = context.step
    fixes = tuple(fix(context, o) for o in reversed(asked.ranked))
    message = (
        f"The step {step.verb.lower()} has no core target; it needs one for "
        f"{_what(context, asked.because)}.{why_its_core(context)}"
    )
    if juice := only_juice(context.before.components):
        message = (
            f"The step {step.verb.lower()} has no core target; {spent_names(context.formula)} "
            f"needs one as for {_what(context, asked.because)}: {lay_in(juice)}."
        )
    lines, place = context.targets_with(context.within_reach(fixes))
    way, hotter = _or_in_part(context), context.hotter(*fixes)
    missing = context.finding(
        "target-missing",
        "error",
        message,
        f"{way} {'write' if way else 'Write'} a target that meets a row on this probe. "
        f"{hotter}".strip(),
        lines,
        place if step.target is None else None,
    )
    verdict = Verdict("fails", message, fixes)
    lowest = asked.ranked[-1]
    limit = _limit(context, lowest, asked.ranked, asked.because, asked.group, verdict, None, None)
    return Outcome((limit,), (missing,), cooked=True)


def _or_in_part(context: StepContext) -> str:
    """What to write where a later step cooks it through, and this one may only begin."""
    later = context.formula.after(context.step.number)
    way = in_two_goes(context) if context.before.raw_animals else ""
    if not way or not any("cooks" in s.effects for s in later):
        return ""
    return f"Scalded here, or cooked in part, and cooked through later? {way} Else"


def _by_target(context: StepContext, asked: _Asked, target: Target, core: Temperature) -> Outcome:
    """The limit of a step with a core target: the row it meets, surely or only on an exact probe;
    the roast chart's where no row of the group's own is met."""
    hold = target.hold.shortest if target.hold else None
    lasts = context.step.step.time.shortest if context.step.step.time else None
    off = context.accuracy.celsius
    options, because = asked.ranked, asked.because
    row, clear = assess(options, core, hold, off, lasts)
    if row is None and asked.roast and not asked.no_chart:
        row, clear = assess(asked.roast, core, hold, off, lasts)
        options = asked.with_chart
    if row is None:
        return _fails(context, options, because, asked.group, asked.no_chart)
    if clear:
        by_chart = row.group == ROAST or _meets_chart(context, asked, core, hold)
        options = asked.with_chart if by_chart else options
        verdict = Verdict("meets", f"{target.text} meets {row_words(row)} on this probe.")
        limit = _limit(context, row, options, because, row.group, verdict, core, hold)
        return Outcome((limit,), (), True, by_chart)
    words = (
        f"{context.step.verb}: the target, {target.text}, meets the limit {row_words(row)} only if "
        "the probe is exact."
    )
    finding = within_probe_error(context, row, words)
    verdict = Verdict("close", words, (fix(context, row),))
    limit = _limit(context, row, options, because, row.group, verdict, core, hold)
    return Outcome((limit,), (finding,), True, row.group == ROAST)


def _meets_chart(
    context: StepContext, asked: _Asked, target: Temperature, hold: Fraction | None
) -> bool:
    """Whether a target that goes by another row meets the roast chart as well: surely, and by the
    time it states itself, for the page asks for no more."""
    if not asked.roast or asked.no_chart:
        return False
    return assess(asked.roast, target, hold or Fraction(0), context.accuracy.celsius)[1]


def _fails(
    context: StepContext,
    options: tuple[Option, ...],
    because: tuple[Component, ...],
    group: str,
    chart_reason: str,
) -> Outcome:
    """The error where no row is met: too cool for any, or held too short for the nearest."""
    step, target = context.step, context.step.target
    assert target is not None and target.coolest is not None
    own = tuple(o for o in options if o.group != ROAST)
    roast = tuple(o for o in options if o.group == ROAST)
    fixes = _targets_that_meet(context, own, roast, target.coolest)
    lowest = own[0]
    near = reached(own, target.coolest) or reached(roast, target.coolest)
    if near is None:
        words = (
            f"The {step.verb.lower()} target, {target.text}, is below the limit for "
            f"{_what(context, because)}: {row_words(lowest)}."
        )
    else:
        words = (
            f"The {step.verb.lower()} target, {target.text}{in_all(step)}, is held too short for "
            f"{_what(context, because)}: {row_words(near)}."
        )
    help = _what_would_do(context, lowest, len(fixes) == 1)
    below = target.coolest.celsius < options[0].figure.value.celsius
    if chart_reason and group in context.house.pack.ranking[:-1] and below:
        help += f" The roast chart doesn't apply: {chart_reason}."
    help += f" {context.hotter(*fixes[:_MOST_FIXES])}"
    finding = context.finding(
        "target-below-limit",
        "error",
        words,
        help.strip(),
        context.fixed(*fixes[:_MOST_FIXES]),
        source=cited(context.house, context.house.pack.rows[(near or lowest).row]),
    )
    verdict = Verdict("fails", words, fixes)
    limit = _limit(context, own[-1], options, because, group, verdict, None, None)
    return Outcome((limit,), (finding,), True)


def _targets_that_meet(
    context: StepContext,
    own: tuple[Option, ...],
    roast: tuple[Option, ...],
    target: Temperature,
) -> tuple[str, ...]:
    """Targets to write in its place: one for each row of the group's own, and the last of the roast
    chart's that the target is hot enough for, else its first."""
    fitting = tuple(o for o in roast if o.figure.read_at_c <= target.celsius)
    return tuple(fix(context, o) for o in (*reversed(own), *(fitting[-1:] or roast[:1])))


def _what_would_do(context: StepContext, lowest: Option, single: bool) -> str:
    """What a target must be on this probe; ``single``: only one row would do."""
    if not single:
        return f"With your probe (±{context.accuracy}) the target must be one of these."
    whose = "house limit" if "cook" in context.house.pack.ours else "code"
    return (
        f"With your probe (±{context.accuracy}) the target must be "
        f"{context.degrees(lowest.figure.read_at(context.unit))} or hotter. "
        f"The {whose} has no lower temperature with a longer time for it."
    )


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
) -> HeatingLimit:
    """The limit as the page shows it: max(target, set-point), the longer hold."""
    row = context.house.pack.row(CookRow, option.row)
    read = option.figure.asked(context.unit, target)
    row_hold = option.hold_s
    reported = max(hold, row_hold or Fraction(0)) if hold is not None else row_hold
    names = tuple(dict.fromkeys(c.name for c in because))
    words = _what(context, because) + (", by the roast chart" if group == ROAST else "")
    stand = stands(context, row)
    basis = basis_of(context, row, option, names, read, target, words)
    step = context.step
    return HeatingLimit(
        **context.names("cook"),
        hazard="cook",
        bound="min",
        source=context.source(row),
        figure=option.figure,
        hold=Hold(reported, row_hold) if reported is not None else None,
        read=read,
        target=step.target.text if step.target else "",
        options=options,
        because=names,
        group=words,
        verdict=verdict,
        basis=basis,
        probe=step.step.probe or (EVERYWHERE if stand is not None else ""),
        if_missed=step.step.if_missed,
        note=WORDS
        if stand is not None
        else _AT_ONCE
        if row.applies == TO_ORDER
        else _note(context, group),
        stand=stand,
    )


def _note(context: StepContext, group: str) -> str:
    """What a group says of itself, and the row in words its rows are bound to."""
    pack = context.house.pack
    held = pack.groups[group]
    bound = pack.rows.get(held.asks_row or "")
    return " ".join(w for w in (held.note, bound.words if isinstance(bound, WordsRow) else "") if w)
