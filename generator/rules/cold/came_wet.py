"""Dry plant food that was soaked warm in formulas made ahead, and is eaten uncooked here: what
nobody could know there. The time is the working rule for food out of the cold."""

from __future__ import annotations

from fractions import Fraction

from generator.measures.words import duration, listed
from generator.resolve.joined import JoinedStep
from generator.rules.basics.context import NOTHING, Outcome, StepContext
from generator.rules.basics.product import RAW_STATES, Component
from generator.rules.cold.between import most_of


def came_wet(context: StepContext) -> Outcome:
    """An error at the step that takes in dry plant food which stood wet and warm for too long, or
    for a time nobody says, where no step cooks it from here on."""
    step = context.step
    parts = context.before.components
    came = [c for c in parts if c.wet_s is not None and c.tcs and c.state in RAW_STATES]
    if not came:
        return NOTHING
    limit = most_of(context.house)
    new = _new_for_too_long(came, step, limit.most)
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


def _new_for_too_long(came: list[Component], step: JoinedStep, most: Fraction) -> list[Component]:
    """What a step takes in of food that came wet, and that stood so for more than ``most`` s."""
    return [c for c in came if c.part in step.parts and c.wet_s is not None and c.wet_s > most]
