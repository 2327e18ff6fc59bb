"""What is still to come for the food of a step: whether it must be safe there, is held hot next, is
cooked later."""

from __future__ import annotations

from fractions import Fraction

from generator.records.effects import HEATS, WAITS
from generator.resolve.joined import JoinedStep

_BREAKS = WAITS | {
    "cools",
    "freezes",
    "slices",
    "divides",
    "packs",
    "holds-hot",
    "holds-by-time",
    "serves",
    "thaws",
}
"""What ends a run of heating."""


def held_hot_next(steps: tuple[JoinedStep, ...]) -> bool:
    """Whether the food is held hot at one of ``steps`` before it is cooled again."""
    for step in steps:
        if "holds-hot" in step.effects:
            return True
        if step.effects & {"cools", "freezes"}:
            return False
    return False


def due_at(steps: tuple[JoinedStep, ...], wait: Fraction) -> bool:
    """Whether raw food must be safe at the first of ``steps``, its food's way from there on.

    That is so at cooking steps with a core or a surface target, and at the last of each run of
    heating. Browning bones before they simmer is no limit; the cold, whatever is done there, and
    more than ``wait`` seconds of other work end a run.
    """
    step, later_steps = steps[0], steps[1:]
    if "cooks" not in step.effects:
        return False
    if step.target is not None and step.target.kind in ("core", "surface"):
        return True
    waited = Fraction(0)
    for later in later_steps:
        if _ends_a_run(later):
            return True
        if not later.effects & HEATS and later.step.time is not None:
            waited += later.step.time.longest
        if waited > wait:
            return True
        if "cooks" in later.effects:
            return False
    return True


def _ends_a_run(step: JoinedStep) -> bool:
    """Whether what is done, or where it waits, ends a run of heating; to wait in the kitchen for
    other food is work on that."""
    in_the_kitchen = step.waiting and not step.effects & {"stores", "holds-hot"}
    return step.cold is not None or (bool(step.effects & _BREAKS) and not in_the_kitchen)


def cooked_from(steps: tuple[JoinedStep, ...]) -> bool:
    """Whether one of ``steps`` cooks the food."""
    return any("cooks" in step.effects for step in steps)
