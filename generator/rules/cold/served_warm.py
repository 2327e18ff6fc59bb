"""Hot food that is off the heat for long and then is served: nothing holds it until then."""

from __future__ import annotations

from generator.measures.words import duration
from generator.reference.row_kinds import TimeControlRow
from generator.rules.basics.context import NOTHING, Outcome, StepContext, cited
from generator.rules.cold.between import most_of


def served_warm(context: StepContext) -> Outcome:
    """A warning at the step that serves food which was off the heat for as long as is noted:
    nothing holds it hot, and no written procedure by time. Longer than the most is an error at
    the step where it waits; served from for a time that is stated, it is on display."""
    step, spell = context.step, context.course.spell
    if "serves" not in step.effects or step.step.time is not None or not context.needs_cold:
        return NOTHING
    limit = most_of(context.house)
    if spell is None or not spell.hot or not limit.noted <= spell.seconds <= limit.most:
        return NOTHING
    rows = context.house.pack.rows_of(TimeControlRow)
    finding = context.finding(
        "served-off-the-heat",
        "warning",
        f"{step.verb}: it was off the heat for {duration(spell.seconds)}. Nothing holds it hot, or "
        "by time.",
        "Hold it hot until it is served: `do: hold-hot`. Or make the wait a step `do: "
        "hold-by-time` with `time` and the written `procedure`.",
        place=step.step.place("do"),
        source=cited(context.house, rows[0][1]) if rows else "",
    )
    return Outcome((), (finding,))
