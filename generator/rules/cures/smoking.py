"""Smoking: for flavour it asks for nothing of its own, to keep the food it needs a variance.

Food Code 3-502.11(A). What it is smoked for is the formula's to say; not stated, it counts as
keeping. A smoke that cooks the food is cooking as well, with its own target.
"""

from __future__ import annotations

from generator.reference.row_kinds import WordsRow
from generator.rules.basics.context import (
    NOTHING,
    EndContext,
    EndOutcome,
    Outcome,
    StepContext,
    authorisation_problem,
    cited,
)
from generator.rules.basics.uncovered import not_covered, without_its_step

SMOKES = "smokes"


def smoking(context: StepContext) -> Outcome:
    """The error of a step that smokes food to keep it with no variance in force."""
    formula = context.formula.formula
    if SMOKES not in context.step.effects or formula.smoked_for == "flavour":
        return NOTHING
    said = (
        ""
        if formula.smoked_for
        else " Nothing says it is for the flavour. It counts as smoked to keep it."
    )
    row = context.house.pack.row_for(WordsRow, "keeping", "smoking")
    if row is None:
        return not_covered(
            context,
            "smoking",
            f"The rules here say nothing about smoking food to keep it.{said}",
            "Is it for the flavour? Write `smoked_for: flavour` in the formula. If not, ask your "
            "regulatory authority.",
        )
    none = "smoking food to keep it needs a variance. None is on file."
    why = authorisation_problem(context.house, "smoke", none, "the variance for smoking")
    if not why:
        return NOTHING
    finding = context.finding(
        "smoked-without-variance",
        "error",
        f"{formula.name}: {why}{said}",
        "Is it for the flavour? Write `smoked_for: flavour`. If not, record the variance under "
        "`authorisations` in kitchen.yaml: "
        "for, authority, document, from, until.",
        place=formula.place("smoked_for") if formula.smoked_for else context.step.step.place("do"),
        source=cited(context.house, row[1]),
    )
    return Outcome((), (finding,))


def never_smoked(context: EndContext) -> EndOutcome:
    """Said to be smoked, and no step does it."""
    return without_its_step(
        context,
        "smoked_for",
        SMOKES,
        "smoke-missing",
        "says it is smoked, but no step smokes it",
        "Add a step to its process, as in `do: smoke`, or delete the line.",
    )
