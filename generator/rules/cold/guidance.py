"""Cooling by guidance: the time an authority or a trade advises where the law cools cooked food in
words alone. It warns and never refuses; past our working rule for preparation it is an error."""

from __future__ import annotations

from fractions import Fraction

from generator.files.finding import Finding
from generator.measures.about import to_offer
from generator.measures.basis import Basis
from generator.measures.ranges import Span
from generator.measures.words import breakable, duration
from generator.records.process import Target
from generator.reference.row_kinds import CoolRow
from generator.resolve.joined import House
from generator.rules.basics.context import StepContext, cited
from generator.rules.basics.limit import CoolingLimit, Stage, figure_of
from generator.rules.cold.holding import held_cold, held_hot
from generator.rules.cold.schedules import COOKED

_GUIDANCE = "guidance"


def guidance_row(house: House) -> CoolRow | None:
    """The row of guidance on how soon cooked food is cold; None where the law sets the clock
    itself, or no guidance with a time is held."""
    law, found = house.pack.row_for(CoolRow, COOKED), house.pack.row_for(CoolRow, _GUIDANCE)
    if found is None or found[1].within is None or (law is not None and law[1].stages):
        return None
    return found[1]


def advised_s(house: House) -> Fraction | None:
    """The seconds guidance gives cooked food to get cold; None where none does."""
    row = guidance_row(house)
    return row.within.seconds if row is not None and row.within is not None else None


def guided(context: StepContext) -> CoolingLimit | None:
    """Guidance's time as readings can show it: from the figure for holding hot to that for holding
    cold. Guidance names neither; both are the law's here. None where one of them is missing."""
    house, row, advised = context.house, guidance_row(context.house), advised_s(context.house)
    hot, cold = held_hot(house), held_cold(house)
    if row is None or advised is None or hot is None or cold is None:
        return None
    start, end = hot[1], cold[1]
    if start.value is None or end.value is None:
        return None
    figure = figure_of(end.value, end.printed, "max", context.accuracy)
    stage = Stage(figure, start.value, advised, row.clause)
    source = context.source(row)
    words = (
        f"Guidance, not law: {row.words} It names no temperature. Its time is counted from the "
        "figure for holding hot to that for holding cold."
    )
    basis = Basis((("In it", row.food),), words, source.words)
    return CoolingLimit(
        **context.names("cool"),
        hazard="cool",
        bound="max",
        source=source,
        stages=(stage,),
        clock=figure_of(start.value, start.printed, "min", context.accuracy),
        read=figure.read_at(context.unit),
        target=context.step.target.text if context.step.target else "",
        group=row.food,
        basis=basis,
        note=words,
        since="its cooking ends",
        beside_law=True,
        probe=context.step.step.probe,
        if_missed=context.step.step.if_missed,
    )


def waited_past_it(context: StepContext, before: Fraction, total: Fraction) -> tuple[Finding, ...]:
    """The warning at the step by whose end hot food that is kept has cooled for longer than
    guidance advises: ``before`` the step it had not, in ``total`` seconds it has."""
    row, most = guidance_row(context.house), advised_s(context.house)
    kept = context.chilled_later or context.fate.kept
    if row is None or most is None or not kept or not before <= most < total:
        return ()
    found = context.finding(
        "chill-past-guidance",
        "warning",
        f"{context.step.verb}: it cools for {duration(total)} by then. Guidance: {row.words}",
        f"Chill it within {duration(most)} of cooking. Smaller pieces, shallow pans or ice help.",
        place=context.time_place(),
        source=cited(context.house, row),
    )
    return (found,)


def chilled_past_it(context: StepContext, stood: Fraction, most: Fraction) -> tuple[Finding, ...]:
    """What a step that chills says of its own time, after what the food ``stood``: a question where
    no target says that it is the time to get cold; an error past ``most``, the seconds our working
    rule allows between cold and hot; else a warning past the time guidance advises."""
    row, advised = guidance_row(context.house), advised_s(context.house)
    own, step = _own_time(context), context.step
    if row is None or advised is None or own is None or stood + own.longest <= advised:
        return ()
    if step.target is None and step.step.stays is None:
        placed = step.cold is not None or step.step.at is not None
        return (_unclear(context, row, advised, _text(own)),) if placed else ()
    if stood + own.longest > most:
        ours = f" {duration(most)} is the most by our working rule."
        return (_too_slow(context, row, stood, own, "chill-too-slow", ours),)
    if stood > advised:
        return ()  # said where it waited
    return (_too_slow(context, row, stood, own, "chill-past-guidance", ""),)


def _own_time(context: StepContext) -> Span | None:
    """How long a step says it takes to get the food cold; None where it doesn't."""
    return context.step.step.time if "cools" in context.step.effects else None


def _text(time: Span) -> str:
    return time.text or str(time)


def _too_slow(
    context: StepContext, row: CoolRow, stood: Fraction, own: Span, code: str, ours: str
) -> Finding:
    """A chill that takes longer than guidance advises; an error if it is past ours too."""
    step = context.step
    assert row.within is not None
    before = f", with the {duration(stood)} it waited before," if stood else ""
    return context.finding(
        code,
        "error" if ours else "warning",
        f"{step.verb}: it takes {own}{before} to get {reached(step.target)}.{ours} "
        f"Guidance: {row.words}",
        in_smaller_pieces(step.step.stays is None),
        _instead(context, row.within.seconds - stood, _text(own)),
        context.time_place(),
        cited(context.house, row),
    )


def reached(target: Target | None) -> str:
    """What a chill is to reach, behind "to get"."""
    return "cold" if target is None else f"to {target.degrees}"


def in_smaller_pieces(may_stay: bool) -> str:
    """What helps a chill that takes too long, and what its time is where the food may be meant to
    stay there so long."""
    stays = " Does it stay there for this time? Write it as `stays`." if may_stay else ""
    return f"Chill it in smaller pieces, or on ice.{stays}"


def _unclear(context: StepContext, row: CoolRow, advised: Fraction, time: str) -> Finding:
    return context.finding(
        "chill-time-unclear",
        "warning",
        f"{context.step.verb}: {time} is longer than the {duration(advised)} guidance gives it to "
        "get cold. Is it how long the food stays there?",
        "Write `stays` for how long it stays there. `time` is how long it takes to get cold.",
        _instead(context, Fraction(0), time),
        context.time_place(),
        cited(context.house, row),
    )


def _instead(context: StepContext, left: Fraction, time: str) -> tuple[str, ...]:
    """The lines to write where the step's time is in the process: the time that is ``left``, and
    that it stays there so long."""
    if context.step.id in context.formula.formula.times:
        return ()
    left = to_offer(left)
    lines = [f"time: {duration(left, days=False)}"] if left > 0 else []
    if context.step.step.stays is None:
        lines.append(f"stays: {time}")
    return tuple(breakable(line) for line in lines)
