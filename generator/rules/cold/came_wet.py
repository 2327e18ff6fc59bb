"""Dry plant food that was soaked warm in formulas made ahead, and is eaten uncooked here: what
nobody could know there. The time is the working rule for food out of the cold."""

from __future__ import annotations

from generator.measures.words import duration, listed
from generator.rules.basics.context import NOTHING, Outcome, StepContext
from generator.rules.basics.product import RAW_STATES
from generator.rules.cold.between import most_of


def came_wet(context: StepContext) -> Outcome:
    """An error at the step that takes in dry plant food which stood wet and warm for too long, or
    for a time nobody says, where no step cooks it from here on."""
    limit, step = most_of(context.house), context.step
    new = [
        c
        for c in context.before.components
        if c.part in step.parts
        and c.tcs
        and c.state in RAW_STATES
        and c.wet_s is not None
        and c.wet_s > limit.most
    ]
    if not new or any("cooks" in s.effects for s in context.formula.since(step.number)):
        return NOTHING
    made = listed(list(dict.fromkeys(c.through for c in new)))
    finding = context.finding(
        "between-too-long",
        "error",
        f"{step.verb}: {listed(list(dict.fromkeys(c.name for c in new)))} stood wet and warm in "
        f"{made} for more than {duration(limit.most)}, or nobody says how long. No step here cooks "
        "it.",
        f"Soak it in a refrigerator there (`in`), or for a `time` of {duration(limit.most)} at "
        "most. Or cook it here.",
        place=step.step.place("do"),
        source=limit.source.words,
    )
    return Outcome((), (finding,))
