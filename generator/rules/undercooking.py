"""Served raw or undercooked on request: Food Code 3-401.11(D) with the advisory of 3-603.11.

Lawful only when a guest asks and is told of the risk; never for a highly susceptible population,
never for anything chilled and kept.
"""

from __future__ import annotations

from generator.finding import Finding
from generator.rules.context import EndContext, EndOutcome


def undercooking(context: EndContext) -> EndOutcome:
    """Refuse undercooking where it is not lawful, and undercooking that isn't any."""
    formula = context.formula.formula
    if not formula.undercooked:
        return EndOutcome()
    about = frozenset({context.formula.id})
    place = formula.place("undercooked")
    findings: list[Finding] = []
    if context.house.kitchen.serves == "highly-susceptible":
        findings.append(
            Finding("undercooked-refused", "error",
                    f"{formula.name}: undercooked food is never served to a highly susceptible population.",
                    place, "Cook it to its limit, or use a pasteurised product.",
                    source="Food Code 3-801.11, read in Washington WAC 246-215-03800(3)", about=about)
        )  # fmt: skip
    kept = formula.keeps is not None and (formula.keeps.refrigerated or formula.keeps.frozen)
    chilled = any("cools" in s.effects or "freezes" in s.effects for s in context.formula.steps)
    if kept or chilled:
        findings.append(
            Finding("undercooked-kept", "error",
                    f"{formula.name}: undercooked on request is made to order; it can't be chilled and kept.",
                    place, "Take out `keeps` and the chilling, or cook it to its limit.", about=about)
        )  # fmt: skip
    if not context.product.raw_animals:
        findings.append(
            Finding("undercooked-needless", "warning",
                    f"{formula.name}: nothing in it is raw or undercooked.", place, "Delete the key.", about=about)
        )  # fmt: skip
    return EndOutcome((), tuple(findings))
