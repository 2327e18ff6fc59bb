"""Hot holding at a step, cold holding at the end: Food Code 3-501.16."""

from __future__ import annotations

from dataclasses import replace

from generator.files.finding import Finding, Place
from generator.measures.basis import Basis
from generator.measures.temperature import Temperature
from generator.measures.words import breakable, counted
from generator.reference.row_kinds import Held, HoldRow, ReducedOxygenRow
from generator.resolve.joined import House
from generator.rules.basics.context import (
    NOTHING,
    EndContext,
    EndOutcome,
    Outcome,
    StepContext,
    authorisation_problem,
    both,
    cited,
    source_of,
)
from generator.rules.basics.course import Bounds
from generator.rules.basics.limit import Bound, Figure, KeepingLimit, Verdict, figure_of
from generator.rules.basics.uncovered import never_covered, not_covered
from generator.rules.cold.frozen import stored_frozen
from generator.rules.cold.held_hot_from import not_hot
from generator.rules.cold.left_to_change import carried, shows_cold
from generator.rules.cold.mixed_cold import cooled_by_what_goes_in
from generator.rules.cold.never_chilled import PLANS, never_chilled, warm_by_plan
from generator.rules.cold.packed_fish import stays_in_its_pack
from generator.rules.heat.roast import GROUP as ROAST


def _row(house: House, hazard: Held) -> tuple[str, HoldRow] | None:
    """The general row of a holding hazard: for no group, measured in the food."""
    return house.once(("held", hazard), house.pack, lambda: _general_row(house, hazard))


def _general_row(house: House, hazard: Held) -> tuple[str, HoldRow] | None:
    for ident, row in house.pack.rows_of(HoldRow, hazard):
        if row.group is None and row.measured == "core" and row.value is not None:
            return ident, row
    return None


def held_hot(house: House) -> tuple[str, HoldRow] | None:
    """The general row for holding food hot, or None."""
    return _row(house, "hot_hold")


def hot_at_step(context: StepContext) -> tuple[str, HoldRow] | None:
    """The row for holding the food of a step hot: a roast cooked by the roast chart, whole and
    alone, has one of its own (3-501.16(A)(1)); else the general one, or None."""
    if context.before.whole_roast:
        for ident, row in context.house.pack.rows_of(HoldRow, "hot_hold"):
            if row.group == ROAST and row.value is not None:
                return ident, row
    return held_hot(context.house)


def kept_cold(context: StepContext) -> tuple[KeepingLimit, ...]:
    """Holding cold as a limit of one step; where the pack the food is in is kept colder, as cold
    as that."""
    found = held_cold(context.house)
    if found is None or found[1].value is None:
        return ()
    row: HoldRow | ReducedOxygenRow = found[1]
    value, step, packed = found[1].value, context.step, context.before.air_row
    if packed is not None and packed.at is not None and packed.at < value:
        row, value = packed, packed.at
    figure = figure_of(value, row.printed, "max", context.accuracy)
    limit = _limit(
        context.house,
        row,
        figure,
        "cold_hold",
        context.formula.id,
        step.id,
        step.number,
        step.verb,
        None,
        "",
        Verdict(),
    )
    if step.id == STORE:  # the finished food is held cold under this name
        limit = replace(limit, id=f"{context.formula.id}/{STORE}-{step.number}/cold_hold")
    return (_in_the_chefs_words(context, limit),)


def _in_the_chefs_words(context: StepContext, limit: KeepingLimit) -> KeepingLimit:
    """The limit with where to probe and what to do if it is missed, as its step says them."""
    return replace(limit, probe=context.step.step.probe, if_missed=context.step.step.if_missed)


def held_cold(house: House) -> tuple[str, HoldRow] | None:
    """The general row for holding food cold, or None."""
    return _row(house, "cold_hold")


def bounds_of(house: House, smoked_for: str = "") -> Bounds:
    """The figures for holding cold and hot of the pack in force, and the plans: of food that says
    it is smoked to keep it, that for smoking too."""
    cold, hot = held_cold(house), held_hot(house)
    plans = frozenset(
        e for e, plan in PLANS.items() if not authorisation_problem(house, plan, "none", "")
    )
    if smoked_for == "keeping" and not authorisation_problem(house, "smoke", "none", ""):
        plans |= {"smokes"}
    return Bounds(cold[1].value if cold else None, hot[1].value if hot else None, plans)


def hot_holding(context: StepContext) -> Outcome:
    """The limit of a step that holds food hot."""
    step, target = context.step, context.step.target
    if not _is_held_hot(context):
        return NOTHING
    found = hot_at_step(context)
    if found is None:
        return not_covered(
            context, "hot_hold", "The rules here have no temperature for holding hot."
        )
    _, row = found
    assert row.value is not None
    figure = figure_of(row.value, row.printed, "min", context.accuracy)
    verdict, findings = _hot_target(context, figure)
    limit = _limit(
        context.house,
        row,
        figure,
        "hot_hold",
        context.formula.id,
        step.id,
        step.number,
        step.verb,
        target.coolest if target is not None and verdict.status == "meets" else None,
        target.text if target else "",
        verdict,
    )
    limit = _in_the_chefs_words(context, limit)
    if row.group == ROAST:
        where = "The coolest part of the roast, at the start and every two hours."
        limit = replace(limit, note=_only_by_the_chart(context), probe=limit.probe or where)
    missed = not_hot(context, row, figure, bool(findings)) or _cooled_down(context, row, figure)
    return Outcome((limit,), findings + missed)


def _cooled_down(context: StepContext, row: HoldRow, figure: Figure) -> tuple[Finding, ...]:
    """The error of food that cold food went into behind the last heat, too much to be hot still."""
    cold = held_cold(context.house)
    if cold is None or cold[1].value is None:
        return ()
    return cooled_by_what_goes_in(context, row, figure, cold[1].value)


def _is_held_hot(context: StepContext) -> bool:
    """Whether food that needs it is held hot at a step, by its verb or by what it states."""
    if context.freed or not context.before.tcs:
        return False
    if carried(context) and context.before.hot and not context.cools:
        return True
    by_what_it_states = context.stay.during == "hot" and context.needs_cold
    return by_what_it_states or "holds-hot" in context.step.effects


def _hot_target(context: StepContext, figure: Figure) -> tuple[Verdict, tuple[Finding, ...]]:
    """A hot-holding target held against the limit on this probe."""
    target, least = context.step.target, figure.value
    if target is None or target.coolest is None:
        return Verdict(), ()
    shown = both(least, figure.shown_c, figure.shown_f)
    fix = context.as_typed("at", figure.read_at(context.unit))
    if target.coolest < least:
        words = f"The hot-holding target, {target.text}, is below the limit: {shown}."
        fixed = context.fixed(fix)
        finding = context.finding("target-below-limit", "error", words, "", fixed)
        return Verdict("fails", words, (fix,)), (finding,)
    if target.coolest - context.accuracy < least:
        words = (
            f"{context.step.verb}: the target, {target.text}, meets {shown} only if the probe is "
            "exact."
        )
        fixed = context.fixed(fix)
        finding = context.finding("target-within-probe-error", "warning", words, "", fixed)
        return Verdict("close", words, (fix,)), (finding,)
    return Verdict("meets", f"{target.text} meets {shown}."), ()


def _only_by_the_chart(context: StepContext) -> str:
    """A batch may have been cooked by another row; then this one isn't for it."""
    found = held_hot(context.house)
    words = "Only for a whole roast that met a row of the roast chart."
    if found is None or found[1].value is None:
        return words
    other = figure_of(found[1].value, found[1].printed, "min", context.accuracy)
    return f"{words} Hold other food at {context.degrees(other.read_at(context.unit))} or hotter."


def cold_holding(context: StepContext) -> Outcome:
    """What a step in the cold may not be: air above the cold-holding limit, or a target above it.

    A limit box is at the end of the sheet (:func:`storing`), and at each step before it that has
    the food in a refrigerator or stores it. Elsewhere the kitchen's own figures are judged by it.
    """
    step, product = context.step, context.before
    limits = kept_cold(context) if shows_cold(context) else ()
    found = _row(context.house, "cold_hold")
    if found is None or context.freed or not product.tcs:
        return Outcome(limits)
    _, row = found
    assert row.value is not None
    value, house = row.value, context.house
    figure = house.once(
        "cold figure", row, lambda: figure_of(value, row.printed, "max", context.accuracy)
    )
    findings = [*_air(context, row, figure)]
    if step.cold is not None or "stores" in step.effects:
        findings += _kept_at(context, row, figure)
    return Outcome(limits, tuple(findings))


def _air(context: StepContext, row: HoldRow, figure: Figure) -> list[Finding]:
    """Food can't be held colder than the air it is in."""
    cold = context.step.cold
    if cold is None:
        return []
    assert row.value is not None
    if row.value >= cold.air.warmest + context.accuracy:
        return []
    place = cold.place("air")
    shown = both(row.value, figure.shown_c, figure.shown_f)
    clause = cited(context.house, row)
    asked = context.degrees(figure.read_at(context.unit))
    help = f"Set it to {asked} or colder. Enter its temperature under `air`."
    if row.value < cold.air.warmest:
        words = (
            f"{cold.name} is kept at {cold.air}. Food that needs temperature control must be at "
            f"{shown} or colder."
        )
        meant = cold.air.warmest.swapped()
        fits = Temperature.of(0, "°C") <= meant <= row.value and not cold.air.is_range
        write = (place.fixed(breakable(str(meant))),) if fits else ()
        if write:
            help = (
                f"Did you mean {meant}? If not, set it to {asked} or colder and enter its "
                "temperature."
            )
        return [context.finding("air-above-limit", "error", words, help, write, place, clause)]
    words = (
        f"{cold.name} is kept at {cold.air}. Food in it can't get to {asked}, which the "
        "probe must read."
    )
    return [context.finding("air-above-set-point", "warning", words, help, (), place, clause)]


def _kept_at(context: StepContext, row: HoldRow, figure: Figure) -> list[Finding]:
    """A target, or an `at`, that keeps food above the cold-holding limit."""
    step, target = context.step, context.step.target
    if context.cools or step.effects & {"cooks", "reheats", "holds-hot", "thaws"}:
        return []  # judged by the rules of those steps
    found: list[Finding] = []
    if target is not None and target.warmest is not None:
        place = context.target_place()
        found += _too_warm(context, row, figure, target.warmest, target.text, place, "to ")
    if step.step.at is not None:
        text, place = f"at {step.step.at}", step.step.place("at")
        kind = "to " if target is not None and text == target.text else ""
        found += _too_warm(context, row, figure, step.step.at.warmest, text, place, kind)
    return found


def _too_warm(
    context: StepContext,
    row: HoldRow,
    figure: Figure,
    stated: Temperature,
    text: str,
    place: Place,
    kind: str,
) -> list[Finding]:
    """A temperature that is ``stated`` for holding cold, as ``text``, held against the limit; one
    at which food is held hot isn't meant for that. ``kind`` comes before a figure to write."""
    hot = _row(context.house, "hot_hold")
    assert row.value is not None
    if hot and hot[1].value and hot[1].value <= stated:
        return []
    shown = both(row.value, figure.shown_c, figure.shown_f)
    write = (place.fixed(kind + breakable(context.degrees(figure.read_at(context.unit)))),)
    if row.value < stated:
        words = f"{context.step.verb}: {text} is above the limit for cold holding: {shown}."
        help, clause = "Keep it at the limit or colder.", cited(context.house, row)
        return [context.finding("target-above-limit", "error", words, help, write, place, clause)]
    if row.value < stated + context.accuracy:
        words = f"{context.step.verb}: {text} meets {shown} only if the probe is exact."
        help = f"The probe may be off by {context.accuracy}."
        return [context.finding("target-within-probe-error", "warning", words, help, write, place)]
    return []


def storing(context: EndContext) -> EndOutcome:
    """Cold holding of the finished product, where it needs temperature control; frozen food stays
    frozen."""
    if context.product.frozen or stays_in_its_pack(context.house, context.formula, context.product):
        return stored_frozen(context)
    if not context.tcs:
        return EndOutcome()
    if context.product.by_time and context.formula.formula.keeps is None:
        return EndOutcome()  # served or discarded when its time is over
    if context.product.hot or warm_by_plan(context):
        missing = never_chilled(context)
        if missing is None:
            return EndOutcome()
        return EndOutcome(_kept_in_the_cold(context).limits, (missing,))
    return _kept_in_the_cold(context)


def _kept_in_the_cold(context: EndContext) -> EndOutcome:
    """The limit of the place the finished food is kept in; of both places, where a pack goes by
    two."""
    found = _row(context.house, "cold_hold")
    if found is None:
        why = "The rules here have no temperature for holding it cold."
        return never_covered(context, "cold_hold", "store", "Store", why)
    _, cold = found
    row: HoldRow | ReducedOxygenRow = cold
    packed, value = context.product.air_row, cold.value
    assert value is not None
    if packed is not None and packed.at is not None and packed.at < value:
        row, value = packed, packed.at
    figure = figure_of(value, row.printed, "max", context.house.probe.accuracy)
    limit = _limit(
        context.house,
        row,
        figure,
        "cold_hold",
        context.formula.id,
        "store",
        0,
        "Store",
        None,
        "",
        Verdict(),
    )
    if packed is None or packed.store_at is None or row is not packed:
        return EndOutcome((limit,))
    return EndOutcome((replace(limit, when=UNTIL_MOVED), _moved(context, packed, cold)))


STORE = "store"  # what the end of a sheet is called in the names of its limits
UNTIL_MOVED, ONCE_MOVED = "until it is taken out", "once it is taken out"


def _moved(context: EndContext, packed: ReducedOxygenRow, cold: HoldRow) -> KeepingLimit:
    """Holding cold once the pack is taken out of the colder place: its own row, or the general one
    if colder."""
    assert packed.store_at is not None and cold.value is not None and packed.then_days is not None
    row: HoldRow | ReducedOxygenRow = packed
    value, printed = packed.store_at, packed.store_printed
    if cold.value < value:
        row, value, printed = cold, cold.value, cold.printed
    figure = figure_of(value, printed, "max", context.house.probe.accuracy)
    limit = _limit(
        context.house,
        row,
        figure,
        "cold_hold",
        context.formula.id,
        "moved",
        0,
        "Store, taken out",
        None,
        "",
        Verdict(),
    )
    days = counted(packed.then_days, "day")
    note = f"Out of the colder place it has {days}. The day you take it out counts."
    return replace(limit, when=ONCE_MOVED, note=note)


def _limit(
    house: House,
    row: HoldRow | ReducedOxygenRow,
    figure: Figure,
    hazard: str,
    formula: str,
    step: str,
    number: int,
    verb: str,
    target: Temperature | None,
    target_text: str,
    verdict: Verdict,
) -> KeepingLimit:
    unit = house.kitchen.temperature
    bound: Bound = figure.bound
    read = figure.asked(unit, target)
    source = source_of(house, row)
    basis = Basis(
        (
            ("In it", row.food),
            ("Probe", f"reads to ±{house.probe.accuracy}"),
        ),
        f"{row.food}: {both(figure.value, figure.shown_c, figure.shown_f)} or "
        f"{'hotter' if bound == 'min' else 'colder'}",
        source.words,
    )
    return KeepingLimit(
        id=f"{formula}/{step}/{hazard}",
        step=step,
        number=number,
        verb=verb,
        hazard=hazard,
        bound=bound,
        source=source,
        figure=figure,
        read=read,
        target=target_text,
        group=row.food,
        verdict=verdict,
        basis=basis,
    )
