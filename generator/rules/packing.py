"""What the law does not list is not allowed by silence: packing without air, and other gaps."""

from __future__ import annotations

from generator.rules.context import NOTHING, Outcome, StepContext
from generator.rules.limit import Limit, Source


def not_covered(context: StepContext, hazard: str, why: str) -> Outcome:
    """A limit without a figure, and the error that keeps the standard from being approved."""
    step, facts = context.step, context.house.pack.facts
    finding = context.finding(
        "not-covered",
        "error",
        f"{step.verb}: no limit is held for this. {why}",
        "Ask your regulatory authority. Until then this standard can't be approved.",
        place=step.step.place("do"),
    )
    limit = Limit(
        f"{context.formula.id}/{step.id}/{hazard}", step.id, step.number, step.verb, hazard, "max",
        Source(facts.document, facts.edition, "", (), facts.checked_on), covered=False, note=why,
    )  # fmt: skip
    return Outcome((limit,), (finding,))


def packing(context: StepContext) -> Outcome:
    """Reduced-oxygen packaging is not allowed without a plan; no pack row is held for it yet."""
    if "excludes-air" not in context.step.effects:
        return NOTHING
    return not_covered(
        context,
        "reduced_oxygen",
        "Packing without air needs a HACCP plan or a variance, and its limits are not in this manual.",
    )
