"""The rules asked of a step and of the finished food: of the code, then with the house limits in
force."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from generator.rules.basics.context import Dates, EndContext, EndOutcome, Outcome, StepContext
from generator.rules.basics.house_rule import Spoken
from generator.rules.basics.limit import Limit, NotCovered, Probed
from generator.rules.cold.cooling import cooling
from generator.rules.cold.holding import hot_holding, kept_cold
from generator.rules.cold.left_to_change import shows_cold
from generator.rules.heat.cooking import cooking
from generator.rules.heat.plant_cooking import plant_cooking
from generator.rules.heat.reheating import reheating
from generator.rules.house.house_limits import Found, any_here, reported_of
from generator.rules.house.house_spots import at_end, at_step
from generator.rules.listed import ENDINGS, RULES

_HAZARD: dict[Callable[[StepContext], Outcome], str] = {
    cooking: "cook",
    plant_cooking: "cook",
    reheating: "reheat",
    cooling: "cool",
    hot_holding: "hot_hold",
}
"""The hazard a rule speaks of, where a house limit may be in the code's place."""


def ask_step(context: StepContext) -> tuple[list[Outcome], Spoken]:
    """What every rule says of a step, and the places of the house limits that speak of it."""
    outcomes = [rule(context) for rule in RULES]
    if not any_here(context.house, context.formula, context.step):
        return outcomes, frozenset()
    found = at_step(context, _hazards(context, outcomes))
    if found is None:
        return outcomes, frozenset()
    law = {limit.id: limit for outcome in outcomes for limit in outcome.limits}
    if found.rules:
        own = replace(context, house=found.house)
        outcomes = [_reported(rule(own), found, law) for rule in RULES]
        said = shows_cold(context) or "stores" in context.step.effects
        if "cold_hold" in found.narrow and not said:
            mine, codes = kept_cold(own), kept_cold(context)
            rule = found.rules["cold_hold"]
            limits = tuple(reported_of(a, rule, b) for a, b in zip(mine, codes, strict=True))
            outcomes.append(Outcome(limits))
    return [*outcomes, Outcome((), found.findings)], found.touched


def _hazards(context: StepContext, outcomes: list[Outcome]) -> frozenset[str]:
    """The hazards the code speaks of here; where it holds no row, no house limit counts."""
    hazards = {
        _HAZARD[rule]
        for rule, outcome in zip(RULES, outcomes, strict=True)
        if rule in _HAZARD
        and (outcome.limits or outcome.findings)
        and not any(isinstance(limit, NotCovered) for limit in outcome.limits)
    }
    step, tcs = context.step, context.before.tcs and not context.freed
    if tcs and (step.cold is not None or "stores" in step.effects):
        hazards.add("cold_hold")
    return frozenset(hazards)


def _reported(outcome: Outcome, found: Found, law: dict[str, Limit]) -> Outcome:
    """The limits with what is said of the house limit; one that goes by a stricter row of the
    code is the code's still."""
    limits = tuple(
        reported_of(limit, found.rules[limit.hazard], law.get(limit.id))
        if limit.hazard in found.rules and limit != law.get(limit.id)
        else limit
        for limit in outcome.limits
    )
    return replace(outcome, limits=limits)


def ask_end(context: EndContext) -> tuple[list[EndOutcome], Spoken]:
    """The same for the finished food: held cold, and dated."""
    outcomes = [ending(context) for ending in ENDINGS]
    law = {limit.id: limit for outcome in outcomes for limit in outcome.limits}
    dates = next((o.dates for o in outcomes if o.dates is not None), None)
    cold = any(limit.hazard == "cold_hold" and isinstance(limit, Probed) for limit in law.values())
    found = at_end(context, cold, dates is not None and dates.kind == "cold")
    if found is None:
        return outcomes, frozenset()
    if found.rules:
        own = replace(context, house=found.house)
        outcomes = [_ended(ending(own), found, law, dates) for ending in ENDINGS]
    return [*outcomes, EndOutcome((), found.findings)], found.touched


def _ended(
    outcome: EndOutcome, found: Found, law: dict[str, Limit], dates: Dates | None
) -> EndOutcome:
    limits = _reported(Outcome(outcome.limits), found, law).limits
    rule = found.rules.get("date")
    if rule is None or outcome.dates is None or dates is None or outcome.dates == dates:
        return replace(outcome, limits=limits)
    reported = replace(
        outcome.dates,
        law_day=dates.law_day,
        law_words=dates.law_words,
        source=dates.source,
        house=rule,
        house_day=outcome.dates.law_day,
    )
    return replace(outcome, limits=limits, dates=reported)
