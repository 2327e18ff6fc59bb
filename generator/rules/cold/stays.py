"""How long food stays where it was chilled, at a step where nothing is cold; and hot food in a cold
place for a time that nobody says."""

from __future__ import annotations

from generator.rules.basics.context import NOTHING, Outcome, StepContext
from generator.rules.cold.between_words import held_in

_COLD = frozenset({"cold", "cooling", "frozen", "thawing"})


def stays_warm(context: StepContext) -> Outcome:
    """The error of food that needs the cold or the heat and `stays` so long where it is neither
    chilled nor cold: no rule counts that time, which is `time` there."""
    step, stays = context.step, context.step.step.stays
    if _hot_in_the_cold(context):
        return _how_long(context)
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


_CHANGES = frozenset({"cools", "freezes", "stores", "cooks", "reheats", "serves"})
"""What says how warm it is from then on, or ends its time."""


def _hot_in_the_cold(context: StepContext) -> bool:
    """Whether hot food waits in a cold place, nobody says for how long, and it isn't cooled, heated
    or put away from there: its time is on no clock."""
    step, stay = context.step, context.stay
    waits = stay.during == "cold" and stay.seconds is None and step.target is None
    if not (waits and context.before.hot and context.needs_cold):
        return False
    behind = next(
        (s for s in context.formula.after(step.number) if "cleans" not in s.effects), None
    )
    ends = step.effects | (behind.effects if behind is not None else {"stores"})
    return not ends & _CHANGES


def _how_long(context: StepContext) -> Outcome:
    step = context.step
    found = context.finding(
        "wait-unknown",
        "error",
        f"{step.verb}: hot food goes into the cold here. Nobody says for how long, or how cold it "
        "gets.",
        "Write its `time`. Is it cooled there? Call the step `do: chill`, with its `target`.",
        place=step.step.place("do"),
        source=held_in(context.house),
    )
    return Outcome((), (found,))
