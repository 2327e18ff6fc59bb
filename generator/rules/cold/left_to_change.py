"""Food in the cold for the time of a step: whether the step says how cold; and food that is left
standing so that it rises, sours, dries or ripens."""

from __future__ import annotations

from generator.records.effects import CHANGES
from generator.rules.basics.context import StepContext
from generator.rules.cold.schedules import cooling_row

LEFT_TO_CHANGE = CHANGES | {"raises"}


def changes_in_the_cold(context: StepContext) -> bool:
    """Whether food that needs the cold is left in it so that it changes: nothing else at the step
    says how cold."""
    left = context.step.effects & LEFT_TO_CHANGE
    return bool(left) and context.needs_cold and context.stay.during == "cold"


def shows_cold(context: StepContext) -> bool:
    """Whether a step holds its food cold by a limit of its own: it is in a refrigerator, or stored,
    whatever is done to it there, and neither a limit for cooling it nor that of the finished food
    says how cold it must be."""
    if changes_in_the_cold(context):
        return True
    if not context.needs_cold or context.step.waiting:
        return False
    if carried(context):
        return not context.before.hot
    if context.stay.during not in ("cold", "cooling") or _cooled_here(context):
        return False
    return bool(context.formula.after(context.step.number)) or not context.before.tcs


def carried(context: StepContext) -> bool:
    """Whether food that needs it is carried to another place: no preparation, so it is held hot or
    cold on the way (Food Code 3-501.16(A)), unless it goes by time alone."""
    step = context.step
    return "carries" in step.effects and "holds-by-time" not in step.effects and context.needs_cold


def _cooled_here(context: StepContext) -> bool:
    """Whether the food has a limit for cooling at a step, or is hot there still."""
    before = context.before
    if before.hot:
        return True
    on_the_clock = before.ready_to_eat or before.from_ambient
    return context.cools and before.tcs and on_the_clock and cooling_row(context) is not None
