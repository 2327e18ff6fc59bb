"""Food that is left standing so that it rises, sours, dries or ripens."""

from __future__ import annotations

from generator.records.effects import CHANGES
from generator.rules.basics.context import StepContext

LEFT_TO_CHANGE = CHANGES | {"raises"}


def changes_in_the_cold(context: StepContext) -> bool:
    """Whether food that needs the cold is left in it so that it changes: nothing else at the step
    says how cold."""
    left = context.step.effects & LEFT_TO_CHANGE
    return bool(left) and context.needs_cold and context.stay.during == "cold"
