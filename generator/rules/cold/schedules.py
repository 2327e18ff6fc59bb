"""Which of an authority's cooling schedules counts: the first, or the one a step names under
`schedule`."""

from __future__ import annotations

from fractions import Fraction

from generator.measures.words import duration, listed, plain
from generator.reference.row_kinds import CoolRow
from generator.rules.basics.context import NOTHING, Outcome, StepContext, cited
from generator.rules.cures.cured import least_ingoing

COOKED, AMBIENT = "cooked", "ambient"


def cooling_row(context: StepContext) -> tuple[str, CoolRow] | None:
    """The row a step cools by, with its id: for hot food the schedule it names if its food may go
    by it, else the pack's first; for food never hot that of ambient food. None where there is
    none."""
    pack = context.house.pack
    if not context.before.hot:
        return pack.row_for(CoolRow, AMBIENT)
    named = _schedules(context).get(context.step.step.schedule or "")
    if named is not None and not _unfit(context, named[1]):
        return named
    return pack.row_for(CoolRow, COOKED)


def _schedules(context: StepContext) -> dict[str, tuple[str, CoolRow]]:
    rows = context.house.pack.rows_of(CoolRow)
    return {r.option: (i, r) for i, r in rows if r.option and r.applies == COOKED}


def _unfit(context: StepContext, row: CoolRow) -> str:
    """Why the food may not go by a schedule; empty if it may."""
    waits = _between(context)
    if row.begins_within is not None and waits > row.begins_within.seconds:
        most = duration(row.begins_within.seconds)
        return (
            f"chilling must start within {most} after cooking, and the steps between take "
            f"{duration(waits)}"
        )
    if row.nitrite_least is None:
        return ""
    dose = least_ingoing(context)
    if dose >= row.nitrite_least:
        return ""
    found = (
        f"has {plain(dose, 1)} ppm in the least cured meat of it"
        if dose
        else "isn't cured, or not all of it"
    )
    return (
        f"it is for food cured with at least {plain(row.nitrite_least)} ppm of ingoing "
        f"nitrite, and this {found}"
    )


def _between(context: StepContext) -> Fraction:
    """The seconds the steps between the last heating and this one take, by their `time`."""
    steps = context.formula.before(context.step.number)
    heated = max((s.number for s in steps if "cooks" in s.effects), default=0)
    times = [s.step.time for s in steps if s.number > heated]
    since = sum((t.longest for t in times if t is not None), Fraction(0))
    spell = context.course.spell  # of streams that meet, the one that was off the heat longest
    return max(since, spell.seconds) if spell is not None and spell.hot else since


def schedules(context: StepContext) -> Outcome:
    """The error of a step that names a schedule the pack doesn't hold, or that its food may not go
    by."""
    named = context.step.step.schedule
    if named is None or context.freed or not context.before.tcs:
        return NOTHING
    place = context.step.step.place("schedule")
    held = _schedules(context)
    if not context.cools or not context.before.hot:
        finding = context.finding(
            "schedule-not-for-this",
            "error",
            f"{context.step.verb}: `schedule` is for cooling hot food. This step cools none.",
            "Delete `schedule`, or write it on the step that cools.",
            place=place,
        )
        return Outcome((), (finding,))
    if named not in held:
        words = f"{context.house.pack.facts.document} has no cooling schedule `{named}`."
        help = "It has only one. Delete `schedule`."
        if held:
            help = f"It has {listed(list(held))}. Where none is named, the first counts."
        finding = context.finding(
            "schedule-unknown", "error", f"{context.step.verb}: {words}", help, place=place
        )
        return Outcome((), (finding,))
    row = held[named][1]
    why = _unfit(context, row)
    if not why:
        return NOTHING
    finding = context.finding(
        "schedule-not-for-this",
        "error",
        f"{context.step.verb}: `{named}` can't be used: {why}.",
        "Name another schedule. Or delete `schedule` and cool by the first.",
        place=place,
        source=cited(context.house, row),
    )
    return Outcome((), (finding,))
