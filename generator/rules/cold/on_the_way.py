"""Cold food carried to another place: what keeps it cold on the way."""

from __future__ import annotations

from generator.rules.basics.context import Outcome, StepContext
from generator.rules.cold.between_words import held_in, it_is
from generator.rules.cold.left_to_change import carried


def on_the_way(context: StepContext, timed: Outcome) -> Outcome:
    """What is ``timed`` of a step between cold and hot; for cold food that is carried, a question
    in place of its notes: the way is no preparation, so for however short a time the limit for
    holding it cold is in force there (Food Code 3-501.16(A)(2))."""
    if context.before.hot or not carried(context) or any(f.is_error for f in timed.findings):
        return timed
    step = context.step
    found = context.finding(
        "carried-warm",
        "warning",
        f"{step.verb}: {it_is(context)} carried for {step.step.time}, and nothing here keeps it "
        "cold.",
        "On the way it is held cold, as in the kitchen. Write the cold box under `in`, a piece of "
        "equipment (`kind: refrigerator`). Or make it a step `do: hold-by-time`, with `time` and "
        "the written `procedure`.",
        place=context.time_place(),
        source=held_in(context.house),
    )
    return Outcome(timed.limits, (found,))
