"""Time as the control: out of temperature control for so long, then served or discarded."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from generator.files.finding import Finding, Place
from generator.measures.about import to_offer
from generator.measures.basis import Basis
from generator.measures.words import breakable, duration
from generator.records.effects import WAITS
from generator.reference.packs import Pack
from generator.reference.row_kinds import TimeControlRow, WordsRow
from generator.resolve.joined import JoinedFormula, JoinedStep
from generator.rules.basics.context import (
    NOTHING,
    EndContext,
    EndOutcome,
    Outcome,
    StepContext,
    both,
    cited,
)
from generator.rules.basics.fate import put_by_before_hold
from generator.rules.basics.limit import Bound, KeepingLimit, Lasts, figure_of
from generator.rules.basics.product import Component
from generator.rules.basics.uncovered import not_covered
from generator.rules.cold.plants import CUTS, needs_as_it_comes

WRITTEN = "written-procedure"
"""A row that holds only with a written procedure, and never for raw eggs for the frail."""
_AGAIN = frozenset({"cools", "freezes", "holds-hot", "reheats", "holds-by-time"}) | WAITS
"""What food that was held by time may not go through any more."""
_COLD = frozenset({"cools", "freezes", "thaws"})
CUT_OR_OPENED = "cut-or-opened"
"""A row for food that needs no control until it is cut or opened; its time counts from then."""


def _row(context: StepContext) -> TimeControlRow | None:
    """The row for hot or for cold food; the longest that the step's facts meet.

    A row with a temperature the food may never pass (`stay_max`) needs that stated as `at`. The row
    for food cut or opened here counts where it holds (:func:`_cut_or_opened`); rows for another
    kind of food (`applies`) are not chosen.
    """
    special = context.house.pack.row_for(TimeControlRow, CUT_OR_OPENED)
    if special is not None:
        row = special[1]
        if _cut_or_opened(context, row) and not _over(context, row):
            return row
    rows = [row for _, row in context.house.pack.rows_of(TimeControlRow)]
    fitting = [row for row in rows if row.within is not None and _fits(context, row)]
    return max(fitting, key=lambda r: r.within.seconds if r.within else 0, default=None)


def _fits(context: StepContext, row: TimeControlRow) -> bool:
    """Whether a row is for food as hot or cold as this, in a place as warm as this."""
    hot, at = context.before.hot, context.step.step.at
    if row.applies is not None or (row.start_min if hot else row.start_max) is None:
        return False
    if row.stay_max is None:
        return True
    return not hot and at is not None and at.warmest <= row.stay_max.value


def _cut_or_opened(context: StepContext, row: TimeControlRow, warm: bool = False) -> bool:
    """Whether all that needs control here needs it only since it was cut or opened, and the step
    keeps to ``row``: never chilled since, and never warmer than it says (``warm``: however warm it
    is there). Its time is :func:`_over`'s to say.

    Georgia 511-6-1-.04(6)(i)2(ii), the text of Food Code 3-501.19(B) since 2017.
    """
    step, before = context.step, context.before
    needing = [c for c in before.components if c.tcs]
    if before.hot or before.cooked or not before.ready_to_eat or not needing:
        return False
    if not _keeps_to(step, row, warm):
        return False
    if any(s.cold or s.effects & _COLD for s in context.formula.before(step.number)):
        return False
    pack = context.house.pack
    return all(_needs_it_only_since(c, context.formula, pack) for c in needing)


def _keeps_to(step: JoinedStep, row: TimeControlRow, warm: bool) -> bool:
    """Whether a step states a temperature no warmer than the row's (``warm``: any), and a time no
    longer."""
    at, time = step.step.at, step.step.time
    if at is None or row.stay_max is None or (row.stay_max.value < at.warmest and not warm):
        return False
    return time is not None and row.within is not None and time.longest <= row.within.seconds


def _over(context: StepContext, row: TimeControlRow) -> bool:
    """Whether the step's time is over ``row``'s once it is counted from the cutting or the opening;
    or may be, since a step between them doesn't say how long it takes."""
    time = context.step.step.time
    assert time is not None and row.within is not None
    since, untimed = _since(context)
    return untimed is not None or since + time.longest > row.within.seconds


def _counted_from_cutting(context: StepContext) -> list[Finding]:
    """Reported where only the time before the step keeps food cut or opened here from starting
    warmer."""
    found, time = context.house.pack.row_for(TimeControlRow, CUT_OR_OPENED), context.step.step.time
    if found is None or time is None or not _cut_or_opened(context, found[1]):
        return []
    row, (since, untimed) = found[1], _since(context)
    if untimed is not None:
        return [_untimed(context, row, untimed)]
    if not _over(context, row):
        return []
    assert row.within is not None and row.start_max is not None
    left = to_offer(row.within.seconds - since)
    start = figure_of(row.start_max.value, row.start_max.printed, "max", context.accuracy)
    return [
        context.finding(
            "time-control-since-cut",
            "warning",
            f"{context.step.verb}: with the {duration(since)} since it was cut or opened, "
            f"{time} is longer than the {duration(row.within.seconds)} it may "
            "be out from "
            f"{both(start.value, start.shown_c, start.shown_f)}.",
            "Hold it for less time, or chill it first. As written, it must start as cold as "
            "other food.",
            (breakable(f"time: {duration(left)}"),) if left > 0 else (),
            context.step.step.place("time"),
            f"{context.source(row).document}, {row.clause}",
        )
    ]


def _untimed(context: StepContext, row: TimeControlRow, step: JoinedStep) -> Finding:
    """Reported where a step since the cutting or the opening doesn't say how long it takes."""
    assert row.start_max is not None
    start = figure_of(row.start_max.value, row.start_max.printed, "max", context.accuracy)
    return context.finding(
        "time-control-since-cut",
        "warning",
        f"{step.verb}: how long? Time counts from cutting or opening. It decides if "
        f"{context.step.verb} may start at {both(start.value, start.shown_c, start.shown_f)}.",
        "Write its `time`. Without it, the food must start as cold as other food.",
        place=step.step.place("do"),
        source=f"{context.source(row).document}, {row.clause}",
    )


def _too_warm(context: StepContext) -> list[Finding]:
    """Reported where only the place's own temperature keeps food cut or opened here from starting
    warmer."""
    found, at = context.house.pack.row_for(TimeControlRow, CUT_OR_OPENED), context.step.step.at
    if found is None or at is None or found[1].stay_max is None:
        return []
    row, stay = found[1], found[1].stay_max
    assert stay is not None
    if at.warmest <= stay.value or not _cut_or_opened(context, row, warm=True):
        return []
    figure = figure_of(stay.value, stay.printed, "max", context.accuracy)
    return [
        context.finding(
            "time-control-too-warm",
            "warning",
            f"{context.step.verb}: {at} is above the "
            f"{both(figure.value, figure.shown_c, figure.shown_f)} allowed for food cut or "
            "opened here.",
            "Find a cooler place. As written, it must start as cold as other food.",
            (breakable(f"at: {context.degrees(figure.read_at(context.unit))}"),),
            context.step.step.place("at"),
            f"{context.source(row).document}, {row.clause}",
        )
    ]


def _needs_it_only_since(part: Component, formula: JoinedFormula, pack: Pack) -> bool:
    """Whether an ingredient needs control only since it was cut here, or its can or jar opened
    here."""
    line = next((ln for ln in formula.lines if (ln.part, ln.item) == (part.part, part.item)), None)
    facts = line.ingredient if line is not None else None
    if facts is None or part.through:
        return False  # made ahead: nobody knows since when
    if facts.sealed:
        return facts.state == "ready-to-eat"
    grown = bool(part.plant) and not needs_as_it_comes(part.plant, pack)
    return (
        grown and not facts.tcs and pack.row_for(WordsRow, f"{part.plant}-cut", "tcs") is not None
    )


def _since(context: StepContext) -> tuple[Fraction, JoinedStep | None]:
    """The seconds the steps before this one take, by their `time`, from the first cutting or
    opening; and the first of them that states none."""
    steps = _steps_since(context)
    total = sum((s.step.time.longest for s in steps if s.step.time is not None), Fraction(0))
    return total, next((s for s in steps if s.step.time is None), None)


def _steps_since(context: StepContext) -> list[JoinedStep]:
    """The steps before this one, from the first that cuts or opens what needs the cold, or takes it
    in cut or to be opened."""
    needing = [c for c in context.before.components if c.tcs]
    cut_when_taken = _cut_when_taken(context.formula)
    steps = list(context.formula.before(context.step.number))
    inside: set[str] = set()
    for index, step in enumerate(steps):
        inside |= set(step.parts)
        here = [c for c in needing if c.part in inside]
        cut_before = any((c.part, c.item) in cut_when_taken for c in here)
        if cut_before or (here and step.effects & CUTS):
            return steps[index:]
    return []


def _cut_when_taken(formula: JoinedFormula) -> set[tuple[str, str]]:
    """The part and item of each line that is cut, or whose can or jar is opened, as it is taken
    in."""
    return {
        (ln.part, ln.item)
        for ln in formula.lines
        if ln.line.prepare or (ln.ingredient is not None and ln.ingredient.sealed)
    }


def time_control(context: StepContext) -> Outcome:
    """The limit of a step that holds food by time alone: Food Code 3-501.19(B) and (C)."""
    step = context.step
    if "holds-by-time" not in step.effects or context.freed:
        return NOTHING
    if not context.before.tcs:
        return NOTHING
    row = _row(context)
    if row is None or row.within is None:
        return not_covered(
            context, "time_control", "The rules here let no time replace temperature for it."
        )
    findings = (
        *_counted_from_cutting(context),
        *_too_warm(context),
        *_no_procedure(context, row),
        *_too_long(context, row, row.within.seconds),
        *_too_long_in_all(context, row, row.within.seconds),
        *_raw_eggs(context, row),
    )
    return Outcome((_limit(context, row),), findings)


def _wrong(
    context: StepContext,
    row: TimeControlRow,
    code: str,
    message: str,
    help: str,
    at: Place | None = None,
) -> Finding:
    """An error by a row, at the step's verb unless it says where."""
    spot = at or context.step.step.place("do")
    where = f"{context.source(row).document}, {row.clause}"
    return context.finding(code, "error", message, help, place=spot, source=where)


def _no_procedure(context: StepContext, row: TimeControlRow) -> Iterator[Finding]:
    """A row that holds by a written procedure, and none is named."""
    if row.how == WRITTEN and not context.step.step.procedure:
        yield _wrong(
            context,
            row,
            "time-control-unwritten",
            f"{context.step.verb}: time may replace temperature only with a written procedure.",
            "Write it. Keep it in the house. Name it under `procedure`.",
        )


def _too_long(context: StepContext, row: TimeControlRow, most: Fraction) -> Iterator[Finding]:
    """A step that states no time, or a longer one than the row's."""
    step, time, code = context.step, context.step.step.time, "time-control-time"
    if time is None:
        help = f"Write `time`, {duration(most)} at most."
        yield _wrong(context, row, code, f"{step.verb}: for how long?", help)
    elif time.longest > most:
        words = f"{step.verb}: {time} is longer than the {duration(most)} the rule allows."
        help = f"After {duration(most)}, throw it away."
        yield _wrong(context, row, code, words, help, step.step.place("time"))


def _too_long_in_all(
    context: StepContext, row: TimeControlRow, most: Fraction
) -> Iterator[Finding]:
    """A time that is too long only with what the food was out before the step."""
    step, time, before = context.step, context.step.step.time, context.course.so_far
    if not before or _counts_from_cutting(row) or time is None:
        return
    if not time.longest <= most < before + time.longest:
        return
    left = to_offer(most - before)
    yield _wrong(
        context,
        row,
        "time-control-time",
        f"{step.verb}: with the {duration(before)} it was out of the cold or the heat before, "
        f"that is {duration(before + time.longest)}. The rule allows {duration(most)}.",
        f"Hold it for {duration(left)} at most, or bring it straight from the cold or the heat."
        if left > 0
        else "Bring it straight from the cold or the heat.",
        context.time_place(),
    )


def _raw_eggs(context: StepContext, row: TimeControlRow) -> Iterator[Finding]:
    """Raw eggs by a written procedure, for the frail."""
    if row.how != WRITTEN or context.house.kitchen.serves != "highly-susceptible":
        return
    if any(c.species == "egg" for c in context.before.raw_animals):
        yield _wrong(
            context,
            row,
            "time-control-raw-eggs",
            f"{context.step.verb}: never hold raw eggs by time where a highly susceptible "
            "population is served.",
            "Hold them cold.",
        )


def _counts_from_cutting(row: TimeControlRow) -> bool:
    """Whether a row's time is counted by :func:`_since` already."""
    return row.applies == CUT_OR_OPENED


def after_time(context: StepContext) -> Outcome:
    """Food held by time once, here or in a formula made ahead, is served or discarded; it may be
    cooked for that (3-501.19(B)(3)), and is never kept, held or held by time again."""
    step = context.step
    held = context.before.by_time and not context.freed
    if not held or not (step.effects & _AGAIN or step.cold is not None):
        return NOTHING
    rows = context.house.pack.rows_of(TimeControlRow)
    again = "held" if step.effects & {"holds-hot", "holds-by-time"} else "kept"
    finding = context.finding(
        "time-control-then-kept",
        "error",
        f"{step.verb}: serve food held by time or throw it away. It is never {again} again.",
        "Delete the step, or hold the food by temperature.",
        place=step.step.place("do"),
        source=f"{context.source(rows[0][1]).document}, {rows[0][1].clause}" if rows else "",
    )
    return Outcome((), (finding,))


def kept_after_time(context: EndContext) -> EndOutcome:
    """Food held by time at the end of a formula that keeps some of it."""
    formula = context.formula.formula
    if not context.product.by_time or formula.keeps is None or formula.not_tcs:
        return EndOutcome()
    held = next((s.number for s in context.formula.steps if "holds-by-time" in s.effects), 1)
    if any(s.effects & _AGAIN or s.cold for s in context.formula.after(held)):
        return EndOutcome()  # said at that step
    if put_by_before_hold(context.formula):
        return EndOutcome()  # what `keeps` says is of the stock before the hold, and says so
    rows = context.house.pack.rows_of(TimeControlRow)
    finding = Finding(
        "time-control-then-kept",
        "error",
        f"{formula.name}: serve food held by time or throw it away. Never keep it.",
        formula.key_place("keeps"),
        "Delete `keeps`, or hold the food by temperature. Is the stock kept before it is held? "
        "Write the step that chills it, before the hold.",
        source=cited(context.house, rows[0][1]) if rows else "",
        about=frozenset({context.formula.id}),
    )
    return EndOutcome((), (finding,))


def _limit(context: StepContext, row: TimeControlRow) -> KeepingLimit:
    step = context.step
    assert row.within is not None
    start = row.start_min if context.before.hot else row.start_max
    assert start is not None
    bound: Bound = "min" if context.before.hot else "max"
    figure = figure_of(start.value, start.printed, bound, context.accuracy)
    source = context.source(row)
    side = "hotter" if bound == "min" else "colder"
    words = f"{both(figure.value, figure.shown_c, figure.shown_f)} or {side}"
    rule = f"{row.food}: starts at {words}, {duration(row.within.seconds)} at most"
    stay, then = None, "then serve it or throw it away"
    if row.stay_max is not None:
        stay = figure_of(row.stay_max.value, row.stay_max.printed, "max", context.accuracy)
        rule += f", never above {both(stay.value, stay.shown_c, stay.shown_f)}"
    inputs = [
        ("In it", row.food),
        ("Probe", f"reads to ±{context.accuracy}"),
        ("Procedure", step.step.procedure or "none named"),
    ]
    if row.applies == CUT_OR_OPENED:
        then = "from cutting or opening it"
        if since := _since(context)[0]:
            inputs.insert(1, ("Before this step", f"{duration(since)} since it was cut or opened"))
    basis = Basis(tuple(inputs), rule, source.words)
    return KeepingLimit(
        **context.names("time_control"),
        hazard="time_control",
        bound=bound,
        source=source,
        figure=figure,
        read=figure.read_at(context.unit),
        group=row.food,
        basis=basis,
        note=row.note,
        lasts=Lasts(row.within.seconds, then, stay),
        probe=step.step.probe,
        if_missed=step.step.if_missed,
    )
