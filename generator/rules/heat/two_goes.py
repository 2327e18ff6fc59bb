"""What a chef writes of raw animal food that is scalded, or cooked in part, and cooked through
later: Food Code 3-401.14 lets nothing be heated so without a procedure that was approved before."""

from __future__ import annotations

from generator.measures.words import duration
from generator.reference.row_kinds import PartCookRow
from generator.rules.basics.context import StepContext, authorisation_problem, chilled_to

PLAN = "part-cook"
"""What the authorisation on file is for."""


def in_two_goes(context: StepContext) -> str:
    """All that is still to be written for a first heat that doesn't cook it through; empty where
    the law in force knows no cooking in two goes."""
    rows = context.house.pack.rows_of(PartCookRow)
    if not rows:
        return ""
    step, most = context.step.step, rows[0][1].within.seconds
    keys = [] if step.time is not None else [f"`time` ({duration(most)} at most)"]
    keys += [] if step.procedure else ["`procedure`, the written one"]
    beside = f" with {' and '.join(keys)}" if keys else ""
    cool = f" Cool it straight after: `do: chill`, `target: {chilled_to(context.house)}`."
    after = "" if _cooled_next(context) else cool
    asked = authorisation_problem(context.house, PLAN, "none", "")
    approved = (
        " Have your regulatory authority approve the procedure first, and record that under "
        f"`authorisations` in kitchen.yaml, `for: {PLAN}`."
        if asked
        else ""
    )
    return f"Write `do: part-cook`{beside}.{after}{approved}"


def _cooled_next(context: StepContext) -> bool:
    """Whether a step cools it before anything heats it again."""
    for later in context.formula.after(context.step.number):
        if later.cold is not None or later.effects & {"cools", "freezes"}:
            return True
        if later.effects & {"cooks", "part-cooks", "reheats", "holds-hot", "serves"}:
            return False
    return False
