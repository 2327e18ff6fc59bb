"""What the law does not list is not allowed by silence: a limit without a figure, and its error."""

from __future__ import annotations

from generator.files.finding import Finding
from generator.resolve.joined import House
from generator.rules.basics.context import EndContext, EndOutcome, Outcome, StepContext
from generator.rules.basics.limit import NotCovered, Source

ASK = "Ask your regulatory authority. Until then this standard can't be approved."


def _limit(
    house: House, formula: str, step: str, number: int, verb: str, hazard: str, why: str
) -> NotCovered:
    facts = house.pack.facts
    return NotCovered(
        id=f"{formula}/{step}/{hazard}",
        step=step,
        number=number,
        verb=verb,
        hazard=hazard,
        bound="max",
        source=Source(facts.document, facts.edition, "", (), facts.checked_on),
        why=why,
    )


def not_covered(context: StepContext, hazard: str, why: str, help: str = ASK) -> Outcome:
    """A step's limit without a figure, and the error that keeps the standard from being
    approved."""
    step = context.step
    finding = context.finding(
        "not-covered",
        "error",
        f"{step.verb}: there is no limit here for this. {why}",
        help,
        place=step.step.place("do"),
    )
    limit = _limit(context.house, context.formula.id, step.id, step.number, step.verb, hazard, why)
    return Outcome((limit,), (finding,))


def never_covered(context: EndContext, hazard: str, step: str, verb: str, why: str) -> EndOutcome:
    """The same for what is asked of the finished food."""
    formula = context.formula
    finding = Finding(
        "not-covered",
        "error",
        f"{formula.formula.name}: there is no limit here for this. {why}",
        formula.formula.place("name"),
        ASK,
        about=frozenset({formula.id}),
    )
    return EndOutcome((_limit(context.house, formula.id, step, 0, verb, hazard, why),), (finding,))


def without_its_step(
    context: EndContext, key: str, effect: str, code: str, words: str, help: str
) -> EndOutcome:
    """The error of a formula that states ``key``, and of whose steps none has the ``effect``."""
    formula = context.formula.formula
    if getattr(formula, key) is None or any(effect in s.effects for s in context.formula.steps):
        return EndOutcome()
    finding = Finding(
        code,
        "error",
        f"{formula.name} {words}.",
        formula.key_place(key),
        help,
        about=frozenset({context.formula.id}),
    )
    return EndOutcome((), (finding,))
