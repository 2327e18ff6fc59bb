"""How long food stays where it was chilled, at a step where nothing is cold."""

from __future__ import annotations

from generator.rules.basics.context import NOTHING, Outcome, StepContext
from generator.rules.cold.between_words import held_in

_COLD = frozenset({"cold", "cooling", "frozen", "thawing"})


def stays_warm(context: StepContext) -> Outcome:
    """The error of food that needs the cold or the heat and `stays` so long where it is neither
    chilled nor cold: no rule counts that time, which is `time` there."""
    step, stays = context.step, context.step.step.stays
    cold = step.cold is not None or "cools" in step.effects or context.stay.during in _COLD
    if stays is None or cold or not context.needs_cold:
        return NOTHING
    found = context.finding(
        "stays-warm",
        "error",
        f"{step.verb}: `stays` says how long food is left in the cold, {stays}. Nothing here is "
        "cold.",
        "Write how long the step takes as `time`. Or name the refrigerator under `in`.",
        place=step.step.place("stays"),
        source=held_in(context.house),
    )
    return Outcome((), (found,))
