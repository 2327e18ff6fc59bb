"""Additives with a legal maximum: refused until their rows are held."""

from __future__ import annotations

from generator.finding import Finding
from generator.rules.context import NOTHING, Outcome, StepContext


def additives(context: StepContext) -> Outcome:
    """A cure needs a variance and a dose within the law; neither is held here yet."""
    findings: list[Finding] = []
    for line in context.formula.lines:
        if (
            line.part in context.step.parts
            and line.ingredient
            and line.ingredient.function == "cure"
        ):
            findings.append(
                context.finding(
                    "cure-not-covered",
                    "error",
                    f"{line.name}: curing needs a variance, and no dose limit is held in this manual.",
                    "Ask your regulatory authority. Until then this standard can't be approved.",
                    place=line.line.place("amount"),
                )
            )
    return Outcome((), tuple(findings)) if findings else NOTHING
