"""Thawing by method: in a refrigerator, in running water, by microwave, or as part of cooking."""

from __future__ import annotations

from fractions import Fraction

from generator.files.finding import Finding
from generator.measures.basis import Basis
from generator.measures.ranges import TemperatureSpan
from generator.measures.words import breakable, duration, listed
from generator.reference.row_kinds import ThawRow
from generator.resolve.joined import JoinedStep
from generator.rules.basics.context import NOTHING, Outcome, StepContext, both, cited
from generator.rules.basics.limit import Figure, KeepingLimit, Lasts, figure_of
from generator.rules.basics.no_figure import in_words
from generator.rules.basics.said import which_is_meant
from generator.rules.basics.uncovered import ASK, not_covered
from generator.rules.heat.microwave import MICROWAVE, in_microwave
from generator.rules.heat.served_at_once import thawed_to_order

_COLD = ("refrigerator", "blast-chiller")


def thawing(context: StepContext) -> Outcome:
    """The limit of a step that thaws: Food Code 3-501.13(A) to (D).

    Frozen food that waits where it isn't frozen thaws there, whatever the step is called: the walk
    adds that to what the step does. What needs no cold, as bread and butter stated to be so, may
    thaw where it is. The step's facts say how. By microwave and as part of cooking, (C), the law
    sets no figure of its own; the cooking limit is beside its words.
    """
    step = context.step
    if "thaws" not in step.effects or not context.needs_cold:
        return NOTHING
    at_once = thawed_to_order(context) if not _has_a_way(context) else None
    if at_once is not None:
        return Outcome((at_once,))
    if "cooks" in step.effects:
        return _while_it_cooks(context)
    if in_microwave(step):
        return _by_microwave(context)
    if step.cold is not None and step.cold.kind in _COLD:
        return _in_refrigerator(context)
    said = "thaws" in context.formula.step(step.number).effects
    if said and step.cold is None and step.step.at is not None:
        return _in_water(context)
    return _no_way(context, said)


def _no_way(context: StepContext, said: bool) -> Outcome:
    """Thawed in a way no rule allows; ``said`` that the step's own verb thaws."""
    why = "No rule allows thawing this way."
    if not said:
        why = (
            f"Frozen food thaws here. {why} Does it stay frozen? Write `do: slack` with "
            "`stays_frozen: yes`."
        )
    which = which_is_meant(context)
    return not_covered(context, "thaw", why, f"{which}{_how(context)}{_no_cold(context)} {ASK}")


def _has_a_way(context: StepContext) -> bool:
    """Whether the step thaws in a way that has a limit, to whomever the food goes: in a
    refrigerator, in running water, or on the heat as raw animal food."""
    step, raw = context.step, bool(context.before.raw_animals)
    cold = step.cold is not None and step.cold.kind in _COLD
    return cold or raw or in_running_water(step)


def in_running_water(step: JoinedStep) -> bool:
    """Whether a step states running water and nothing else: no machine, no cold place, a
    temperature."""
    return step.cold is None and step.machine is None and step.step.at is not None


def _how(context: StepContext) -> str:
    """The ways of thawing the rules held know, as a chef states them."""
    ways = ["`in` a refrigerator"]
    if _rows(context, "running-water"):
        ways.append("in running water, with its temperature `at` and the `time`")
    if _reported(context, MICROWAVE):
        ways.append("`with` a microwave oven, with the cooking straight after it")
    words = f"Say how: {'; '.join(ways)}. Food cooked from frozen needs no step to thaw it"
    return (
        f"{words}: its cooking step has `does: thaws`."
        if _reported(context, "cooking")
        else f"{words}."
    )


def _no_cold(context: StepContext) -> str:
    """What to state of food that may thaw in the room, where nothing in it is raw food of an
    animal."""
    if context.before.raw_animals or context.before.cooked:
        return ""
    names = listed(list(dict.fromkeys(c.name for c in context.before.components if c.tcs)))
    return f" Does {names} need no cold, as bread does? State it of the ingredient: `tcs: no`."


def _rows(context: StepContext, how: str) -> list[ThawRow]:
    return [r for _, r in context.house.pack.rows_of(ThawRow) if r.how == how and r.value]


def _reported(context: StepContext, how: str) -> ThawRow | None:
    """The row of a way of thawing for which the law has words and no figure."""
    rows = (r for _, r in context.house.pack.rows_of(ThawRow) if r.how == how and r.words)
    return next(rows, None)


def _while_it_cooks(context: StepContext) -> Outcome:
    """Cooked from frozen: raw animal food, cooked to its limit and not undercooked on request."""
    row, product = _reported(context, "cooking"), context.before
    if row is None or not (product.tcs or product.raw_animals):
        return NOTHING
    help = "Thaw it first: `do: thaw`, `in` a refrigerator or in running water."
    if not product.raw_animals:
        why = "The rules here let only raw animal food thaw while it cooks. There is none in it."
        return not_covered(context, "thaw", why, help)
    if context.formula.formula.undercooked:
        why = (
            "Only food cooked to its limit may thaw while it cooks. This is undercooked on request."
        )
        return not_covered(context, "thaw", why, help)
    return Outcome((in_words(context, row, "thaw"),))


def _by_microwave(context: StepContext) -> Outcome:
    """Thawed by microwave: the very next step cooks it, and on other equipment."""
    row = _reported(context, MICROWAVE)
    if row is None:
        return not_covered(
            context, "thaw", "No rule allows thawing this way.", f"{_how(context)} {ASK}"
        )
    step = context.step
    after = context.formula.after(step.number)[:1]
    if after and "cooks" in after[0].effects:
        if not in_microwave(after[0]):
            return Outcome((in_words(context, row, "thaw"),))
        wrong = f"the next step, {after[0].verb.lower()}, is in a microwave oven again"
        help = (
            "Cook it on other equipment. Or cook it there from frozen, with `does: thaws` at its "
            "cooking step."
        )
    else:
        wrong = (
            f"the next step, {after[0].verb.lower()}, doesn't cook it"
            if after
            else "no step cooks it"
        )
        help = "Put its cooking step straight after this one, or thaw it in a refrigerator."
    found = context.finding(
        "thaw-not-cooked-at-once",
        "error",
        f"{step.verb}: food thawed by microwave must be cooked at once, but {wrong}.",
        help,
        place=step.step.place("do"),
        source=cited(context.house, row),
    )
    return Outcome((in_words(context, row, "thaw"),), (found,))


def _in_refrigerator(context: StepContext) -> Outcome:
    rows = _rows(context, "refrigerator")
    if not rows:
        return not_covered(context, "thaw", "The rules here have no temperature for it.")
    return Outcome((below(context, rows[0], "thaw"),))


def _in_water(context: StepContext) -> Outcome:
    """Running water: its own temperature, and how warm the thawed parts may be for how long."""
    rows = _rows(context, "running-water")
    water = next((r for r in rows if r.measured == "water"), None)
    kind = "ready-to-eat" if context.before.ready_to_eat else "raw"
    food = next((r for r in rows if r.applies == kind), None)
    if water is None or food is None:
        return not_covered(context, "thaw", "The rules here have no limit for running water.")
    assert food.value is not None and food.above_for is not None
    at = context.step.step.at
    assert at is not None
    findings = _water_too_warm(context, water, at)
    most = food.above_for.seconds
    if most:
        findings += _too_long(context, food, most)
    elif food.value < at.warmest:
        findings += _never_so_long(context, food)
    limits = (below(context, water, "thaw-water"), below(context, food, "thaw"))
    return Outcome(limits, tuple(findings))


def _water_too_warm(context: StepContext, water: ThawRow, at: TemperatureSpan) -> list[Finding]:
    """An error where the water is stated as warmer than its row."""
    assert water.value is not None
    if at.warmest <= water.value:
        return []
    figure = figure_of(water.value, water.printed, "max", context.accuracy)
    return [
        context.finding(
            "thaw-water-too-warm",
            "error",
            f"{context.step.verb}: the water, {at}, is above the limit: {_shown(figure)}.",
            "Use colder water, or thaw in a refrigerator.",
            (breakable(f"at: {context.degrees(figure.read_at(context.unit))}"),),
            context.step.step.place("at"),
            cited(context.house, water),
        )
    ]


def _never_so_long(context: StepContext, food: ThawRow) -> list[Finding]:
    """Ready-to-eat food that may not get warmer than ``food`` says, in warmer water for longer than
    anything may be prepared in: a working rule of ours, for the code gives it no time."""
    step, rule = context.step, context.house.library.preparation
    time = step.step.time
    if time is not None and time.longest <= rule.most.seconds:
        return []
    assert food.value is not None
    figure = figure_of(food.value, food.printed, "max", context.accuracy)
    how_long = str(time) if time is not None else "for a time that isn't stated"
    return [
        context.finding(
            "thaw-too-long",
            "error",
            f"{step.verb}: {how_long} in water of {step.step.at}. No part of ready-to-eat food "
            f"may get above {_shown(figure)}.",
            f"Thaw it in a refrigerator. Or write `time`, {duration(rule.most.seconds)} at most. "
            "That is our working rule.",
            place=step.step.place("time" if time is not None else "do"),
            source=cited(context.house, food),
        )
    ]


def _too_long(context: StepContext, food: ThawRow, most: Fraction) -> list[Finding]:
    """Raw food out of the cold too long, from the thawing until it is cooked or chilled again."""
    step, place = context.step, context.step.step.place("do")
    if step.step.time is None:
        return [
            context.finding(
                "thaw-time-missing",
                "error",
                f"{step.verb}: how long is it in the water?",
                f"Write `time`. Raw food has {duration(most)} at most, with the preparation "
                "after it.",
                place=place,
                source=cited(context.house, food),
            )
        ]
    total = Fraction(0)
    for later in context.formula.since(step.number):
        if later.number != step.number and (
            later.cold or later.effects & {"cooks", "cools", "freezes"}
        ):
            break
        total += later.step.time.longest if later.step.time else 0
    if total <= most:
        return []
    return [
        context.finding(
            "thaw-too-long",
            "error",
            f"{step.verb}: {duration(total)} in the water and after it, before it is cooked or "
            f"chilled. {duration(most)} is the most.",
            "Thaw smaller pieces, or in a refrigerator.",
            place=step.step.place("time"),
            source=cited(context.house, food),
        )
    ]


def _shown(figure: Figure) -> str:
    return both(figure.value, figure.shown_c, figure.shown_f)


def below(context: StepContext, row: ThawRow, ident: str) -> KeepingLimit:
    """A limit of thawing with a figure the food, or its water, may not pass."""
    step = context.step
    assert row.value is not None
    figure = figure_of(row.value, row.printed, "max", context.accuracy)
    source = context.source(row)
    rule = f"{row.food}: {_shown(figure)} or colder"
    lasts: Lasts | None = None
    if row.above_for is not None and row.above_for.seconds:
        within = row.above_for.seconds
        read = context.degrees(figure.read_at(context.unit))
        lasts = Lasts(within, f"above {read}, in all")
        rule = f"{row.food}: above {_shown(figure)} for {duration(within)} at most, in all"
    basis = Basis(
        (("In it", row.food), ("Probe", f"reads to ±{context.accuracy}")), rule, source.words
    )
    probe = "The water." if row.measured == "water" else step.step.probe
    return KeepingLimit(
        **context.names(ident),
        hazard="thaw",
        bound="max",
        source=source,
        figure=figure,
        read=figure.read_at(context.unit),
        group=row.food,
        basis=basis,
        note=row.note,
        measured=row.measured,
        lasts=lasts,
        probe=probe,
        if_missed=step.step.if_missed,
    )
