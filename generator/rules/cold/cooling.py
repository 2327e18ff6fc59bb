"""Cooling: the clock for cooked food, for food made from ambient ingredients, and law without a
clock."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction

from generator.files.finding import Finding
from generator.measures.about import to_offer
from generator.measures.basis import Basis
from generator.measures.ranges import Span
from generator.measures.temperature import Temperature, TemperatureDifference
from generator.measures.words import breakable, duration, listed, plain
from generator.records.equipment import Cold
from generator.reference.row_kinds import ClockFrom, CoolRow
from generator.rules.basics.context import (
    NOTHING,
    EndContext,
    EndOutcome,
    Outcome,
    StepContext,
    both,
    cited,
    source_of,
)
from generator.rules.basics.limit import (
    MADE,
    Bound,
    CoolingLimit,
    Figure,
    InWords,
    Stage,
    Verdict,
    figure_of,
)
from generator.rules.basics.uncovered import not_covered
from generator.rules.cold.between import most_of
from generator.rules.cold.guidance import chilled_past_it, guided, in_smaller_pieces, reached
from generator.rules.cold.holding import held_cold
from generator.rules.cold.schedules import AMBIENT, cooling_row

_COOKED = "its cooking ends"
"""When the clock of cooked food starts where neither law nor house gives it a temperature."""


def cooling(context: StepContext) -> Outcome:
    """The limit of a step that cools: Food Code 3-501.14(A) and (B), and their like elsewhere.

    Hot food put into a refrigerator is cooled there, whatever the step is called, and so is food
    made of what was as warm as the room. Law that sets no figure gives its words and no figure; the
    target is then held to the row for holding cold. What the food was before it counts into the
    clock.
    """
    product = context.before
    if context.freed or not product.tcs or not context.cools:
        return NOTHING
    if not (product.hot or product.ready_to_eat or product.from_ambient):
        return NOTHING
    found = cooling_row(context)
    if found is None:
        if not product.hot:
            return NOTHING  # never hot: it is held to the row for holding cold, where it is stored
        return not_covered(context, "cool", "The rules here say nothing about cooling it.")
    _, row = found
    return _on_the_clock(context, row) if row.stages else _in_words(context, row)


def _on_the_clock(context: StepContext, row: CoolRow) -> Outcome:
    """Cooling by a row with stages."""
    step, target = context.step, context.step.target
    house = context.house
    stages = house.once("stages", row, lambda: stages_of(row, context.accuracy))
    finish = house.once("finish", row, lambda: _figure(context, row.packed_at, "max"))
    last = finish or stages[-1].figure
    verdict, findings = _target(context, last)
    findings += _where(context)
    findings += _clock(context, stages)
    met = target.warmest if target and verdict.status == "meets" else None
    limit = CoolingLimit(
        **context.names("cool"),
        hazard="cool",
        bound="max",
        source=context.source(row),
        stages=stages,
        clock=house.once("clock", row, lambda: _figure(context, row.clock_from, "min")),
        read=last.asked(context.unit, met),
        target=target.text if target else "",
        group=row.food,
        verdict=verdict,
        basis=house.once("cooling", row, lambda: _basis(context, row, stages, finish)),
        probe=step.step.probe,
        if_missed=step.step.if_missed,
        finish=finish,
        begin_s=row.begins_within.seconds if row.begins_within else None,
        note=_note(context, row, stages),
        since=_COOKED if context.before.hot else MADE,
    )
    return Outcome((limit,), findings)


def _figure(context: StepContext, stated: ClockFrom | None, bound: Bound) -> Figure | None:
    """A temperature of a row on this kitchen's probe; None where the row states none."""
    if stated is None:
        return None
    return figure_of(stated.value, stated.printed, bound, context.accuracy)


def put_away(context: EndContext) -> EndOutcome:
    """The limit of food put together from what was as warm as the room, and put away with no step
    that says so: Food Code 3-501.14(B)."""
    product, house = context.product, context.house
    if not product.from_ambient or not context.tcs or product.by_time or not context.fate.kept:
        return EndOutcome()
    found = house.pack.row_for(CoolRow, AMBIENT)
    if found is None or not found[1].stages:
        return EndOutcome()
    row, accuracy = found[1], house.probe.accuracy
    stages, source = stages_of(row, accuracy), source_of(house, row)
    last = stages[-1].figure
    shown = both(last.value, last.shown_c, last.shown_f)
    basis = Basis(
        (("In it", row.food), ("Probe", f"reads to ±{accuracy}, taken off the figure")),
        f"{row.food}: to {shown} within {duration(stages[-1].within_s)}",
        source.words,
    )
    limit = CoolingLimit(
        id=f"{context.formula.id}/store/cool",
        step="store",
        number=0,
        verb="Store",
        hazard="cool",
        bound="max",
        source=source,
        stages=stages,
        read=last.asked(house.kitchen.temperature, None),
        group=row.food,
        basis=basis,
        since=MADE,
    )
    return EndOutcome((limit,))


def stages_of(row: CoolRow, accuracy: TemperatureDifference) -> tuple[Stage, ...]:
    """The stages of a row on a probe of some accuracy."""
    start = row.clock_from.value if row.clock_from else None
    return tuple(
        Stage(
            figure_of(s.to, s.printed, "max", accuracy),
            start,
            s.within.seconds,
            s.clause,
            s.counts_from == "stage-before",
            s.advised,
        )
        for s in row.stages
    )


_HOT_MACHINES = frozenset({"oven", "fryer", "griddle", "microwave", "hot-holding"})


def _where(context: StepContext) -> tuple[Finding, ...]:
    """A step that cools names a cold place, or says to what it cools; and no heat."""
    step, cold = context.step, held_cold(context.house)
    if "cools" not in step.effects or step.cold is not None:
        return ()
    at, limit = step.step.at, cold[1].value if cold is not None else None
    place = step.step.place("do")
    if step.machine is not None and step.machine.kind in _HOT_MACHINES:
        words, place = f"{step.machine.name} cools nothing", step.step.place("with")
    elif at is not None and limit is not None and limit < at.warmest:
        words, place = f"at {at} it never gets to the limit", step.step.place("at")
    elif step.target is None and at is None:
        words = "where, and to what temperature?"
    else:
        return ()
    return (
        context.finding(
            "chill-where",
            "error",
            f"{step.verb}: {words}.".replace("?.", "?"),
            "Name the refrigerator, chiller or ice bath under `in`, and the target, as in "
            "`target: to 4 °C`.",
            place=place,
            source=cited_limit(context),
        ),
    )


def _clock(context: StepContext, stages: tuple[Stage, ...]) -> tuple[Finding, ...]:
    """What the steps' own times say of the clock: the food waited too long before it is chilled, or
    is said to reach its target too late. A time without a target is asked about: it may say how
    long the food stays there, unless `stays` says that."""
    hard = [s for s in stages if not s.advised and not s.after_stage]
    if not hard:
        return ()
    stood, time, step = _stood(context), context.step.step.time, context.step
    if stood >= hard[0].within_s:
        return (_begun_too_late(context, hard[0], stood),)
    if time is None or "cools" not in step.effects:
        late = _needs_its_time(hard, stood)
        return (_begun_too_late(context, hard[0], stood, _NOT_SAID),) if late else ()
    if stood + time.longest > hard[-1].within_s:
        return (_too_slow(context, hard, stood, time),)
    return _too_little_left(context, hard, stood, time)


def _needs_its_time(hard: Sequence[Stage], stood: Fraction) -> bool:
    """Whether food ``stood`` so long that the chill has to say how long it takes."""
    return len(hard) > 1 and stood > hard[0].within_s * _HALF


def _too_little_left(
    context: StepContext, hard: Sequence[Stage], stood: Fraction, time: Span
) -> tuple[Finding, ...]:
    """The error where the food waited, and a chill that takes its own ``time`` can't be through the
    first stage in what is left of it."""
    target = context.step.target
    if not stood or target is None or target.warmest is None:
        return ()
    if time.longest <= _most_left(context, hard, stood):
        return ()
    takes = f", and takes {time} to get to its target"
    return (_begun_too_late(context, hard[0], stood, takes),)


_NOT_SAID = ", and nothing says how long this takes to get to its target"
_SAY_IT = "Write its `time`, how long it takes to get there. "
_HALF = Fraction(1, 2)
"""The share of its first stage that food may have waited where nothing says how long its chill
takes: a working rule of ours."""
_WATER_FREEZES = Temperature.of(0, "°C")


def share_of_first(stages: Sequence[Stage], end: Temperature, place: Cold | None) -> Fraction:
    """The share of the time a chill takes to ``end`` that its first stage takes at the least: that
    of a body without a depth, which cools in the air of its ``place`` (an ice bath where none is
    named) by the same part of what is left each minute. What is thicker takes longer. Newton's law
    of cooling; 0 where it says nothing.
    """
    first = stages[0]
    air = place.air.coolest if place is not None else _WATER_FREEZES
    start = first.start
    if start is None or not air < end < first.figure.value < start:
        return Fraction(0)
    over = [float(t.celsius - air.celsius) for t in (start, first.figure.value, end)]
    share = math.log(over[0] / over[1]) / math.log(over[0] / over[2])
    return Fraction(math.floor(1000 * share), 1000)


def _stood(context: StepContext) -> Fraction:
    """The seconds on the clock before the step: of food that was hot, or as warm as the room."""
    on_the_clock = context.before.hot or context.before.from_ambient
    return context.course.so_far if on_the_clock else Fraction(0)


def _begun_too_late(
    context: StepContext, first: Stage, stood: Fraction, takes: str = ""
) -> Finding:
    """The error where the food has waited for as long as its first stage may take, or leaves less
    of it than the chill needs by what it says of its time (``takes``)."""
    step = context.step
    shown = both(first.figure.value, first.figure.shown_c, first.figure.shown_f)
    return context.finding(
        "chill-begun-too-late",
        "error",
        f"{step.verb}: it has waited for {duration(stood)} by then{takes}. It must be at {shown} "
        f"within {duration(first.within_s)}.",
        f"{_SAY_IT if takes == _NOT_SAID else ''}Chill it sooner, or hold it hot until then.",
        place=step.step.place("do"),
        source=cited_limit(context),
    )


def _too_slow(context: StepContext, hard: Sequence[Stage], stood: Fraction, time: Span) -> Finding:
    """The time a step takes to cool is too long, after what the food ``stood``: an error, or where
    neither a target nor `stays` says that it is the time to get there, a question."""
    step, target, last = context.step, context.step.target, hard[-1]
    most = last.within_s
    end = both(last.figure.value, last.figure.shown_c, last.figure.shown_f)
    stays = breakable(f"stays: {time.text or str(time)}")
    may_stay = step.step.stays is None and not _needs_its_time(hard, stood)
    if target is None and may_stay:
        return context.finding(
            "chill-time-unclear",
            "warning",
            f"{step.verb}: {time} is longer than the {duration(most)} it may take to reach "
            f"{end}. Is it how long the "
            "food stays there?",
            "Write `stays` for how long it stays there. `time` is how long it takes to get cold.",
            _in_its_place(context, (stays,)),
            context.time_place(),
            cited_limit(context),
        )
    left = to_offer(_most_left(context, hard, stood))
    in_time = (breakable(f"time: {duration(left, days=False)}"),) if left > 0 else ()
    before = f", with the {duration(stood)} it waited before," if stood else ""
    return context.finding(
        "chill-too-slow",
        "error",
        f"{step.verb}: it takes {time}{before} to get {reached(target)}. It must be at "
        f"{end} within {duration(most)}.",
        in_smaller_pieces(may_stay),
        _in_its_place(context, (*in_time, *((stays,) if may_stay else ()))),
        context.time_place(),
        cited_limit(context),
    )


def _most_left(context: StepContext, hard: Sequence[Stage], stood: Fraction) -> Fraction:
    """The most seconds a chill may take to its target after what the food ``stood``, so that no
    stage is missed: what is left of the last stage, and where the food waited, no more than the
    first stage leaves it by `share_of_first`; below 0 where nothing is left."""
    target, left = context.step.target, hard[-1].within_s - stood
    end = target.warmest if target is not None else None
    share = share_of_first(hard, end, context.step.cold) if stood and end is not None else 0
    if share:
        left = min(left, (hard[0].within_s - stood) / share)
    return left


def _in_its_place(context: StepContext, lines: tuple[str, ...]) -> tuple[str, ...]:
    """Lines to write where the step's time is, where that is in the process itself."""
    return lines if context.step.id not in context.formula.formula.times else ()


def cited_limit(context: StepContext) -> str:
    """Document and clause of the row the step cools by."""
    found = cooling_row(context)
    return cited(context.house, found[1]) if found is not None else ""


def _note(context: StepContext, row: CoolRow, stages: tuple[Stage, ...]) -> str:
    """What a schedule that was chosen says of itself."""
    by, reported = context.step.step.schedule, context.house.library.hazards["cool"].action_advised
    words = [
        f"Longer than {duration(s.within_s)} to "
        f"{both(s.figure.value, s.figure.shown_c, s.figure.shown_f)} is not a miss, but it is "
        f"less certain that the food is safe. {reported}"
        for s in stages
        if s.advised
    ]
    if by is not None and row.option == by and row.note:
        words.append(row.note)
    return " ".join(words)


def _in_words(context: StepContext, row: CoolRow) -> Outcome:
    """Cooling under a law that sets no figure: its words, never a figure of ours."""
    step = context.step
    verdict = Verdict()
    findings: tuple[Finding, ...] = ()
    cold = held_cold(context.house)
    if cold is not None:
        _, kept = cold
        assert kept.value is not None
        figure = figure_of(kept.value, kept.printed, "max", context.accuracy)
        verdict, findings = _target(context, figure)
    findings += _where(context)
    findings += chilled_past_it(context, _stood(context), most_of(context.house).most)
    guidance = context.house.pack.row_for(CoolRow, "guidance")
    note = f"Guidance, not law: {guidance[1].words}" if guidance else ""
    source = context.source(row)
    basis = Basis((("In it", row.food),), row.words, source.words)
    limit = InWords(
        **context.names("cool"),
        hazard="cool",
        bound="max",
        source=source,
        target=step.target.text if step.target else "",
        group=row.food,
        verdict=verdict,
        basis=basis,
        note=note,
        words=row.words,
        probe=step.step.probe,
        if_missed=step.step.if_missed,
        guided=guided(context) if context.before.hot else None,
    )
    return Outcome((limit,), findings)


def _target(context: StepContext, last: Figure) -> tuple[Verdict, tuple[Finding, ...]]:
    target = context.step.target
    if target is None or target.warmest is None:
        return Verdict(), ()
    law = last.value
    fix = context.as_typed("to", last.read_at(context.unit))
    shown = both(law, last.shown_c, last.shown_f)
    if law < target.warmest:
        words = (
            f"The {context.step.verb.lower()} target, {target.text}, is above the limit: {shown}."
        )
        finding = context.finding(
            "target-above-limit",
            "error",
            words,
            "Chill to the limit or below.",
            context.fixed(fix),
        )
        return Verdict("fails", words, (fix,)), (finding,)
    if law < target.warmest + context.accuracy:
        words = (
            f"{context.step.verb}: the target, {target.text}, meets {shown} only if the "
            "probe is exact."
        )
        help = f"The probe may be off by {context.accuracy}."
        finding = context.finding(
            "target-within-probe-error", "warning", words, help, context.fixed(fix)
        )
        return Verdict("close", words, (fix,)), (finding,)
    return Verdict("meets", f"{target.text} meets {shown}."), ()


def _basis(
    context: StepContext, row: CoolRow, stages: tuple[Stage, ...], finish: Figure | None
) -> Basis:
    inputs: list[tuple[str, str]] = [("In it", row.food)]
    if row.clock_from is not None:
        start = figure_of(row.clock_from.value, row.clock_from.printed, "min", context.accuracy)
        inputs.append(
            (
                "Clock",
                f"starts at {both(row.clock_from.value, start.shown_c, start.shown_f)}; "
                f"on this probe at {context.degrees(start.read_at(context.unit))}",
            )
        )
    if row.begins_within is not None:
        inputs.append(
            (
                "Begin",
                f"chilling within {duration(row.begins_within.seconds)} of the end of cooking",
            )
        )
    if row.nitrite_least is not None:
        inputs.append(("Cured", f"with at least {plain(row.nitrite_least)} ppm of ingoing nitrite"))
    inputs.append(("Probe", f"reads to ±{context.accuracy}, taken off each figure"))
    steps = [
        f"{both(s.figure.value, s.figure.shown_c, s.figure.shown_f)} within {duration(s.within_s)}"
        f"{' of the stage before' if s.after_stage else ''}"
        f"{' (advised, no limit)' if s.advised else ''}"
        for s in stages
    ]
    rule = f"{row.food}: to {listed(steps)}"
    if not any(s.after_stage for s in stages):
        rule += ", all counted from the same start"
    if finish is not None:
        rule += (
            f"; then on to {both(finish.value, finish.shown_c, finish.shown_f)} before it "
            "is packed or shipped"
        )
    return Basis(tuple(inputs), rule, context.source(row).words)
