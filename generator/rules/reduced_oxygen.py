"""Packing without air: refused, unless a plan is on file and one criterion of the code is a stated fact.

Food Code 3-502.12(B). Fish, cook-chill and sous vide have rules of their own and stay refused.
"""

from __future__ import annotations

from fractions import Fraction

from generator.computed import Basis
from generator.measures.words import counted, date, plain
from generator.product import Product
from generator.records.formula import WithoutAir
from generator.reference.rows import Row
from generator.rules.context import NOTHING, Outcome, StepContext, both
from generator.rules.limit import Limit, figure_of
from generator.rules.parasites import is_fish
from generator.rules.uncovered import ASK, not_covered

_CRITERIA = (
    "State the criterion it meets under `without_air` in the formula: `by: acidity` or "
    "`by: water-activity` with `measured`, `by: raw`, or `by: cured-at-a-plant`; and the `record`."
)


def packing(context: StepContext) -> Outcome:
    """The limit of a step that packs without air; nothing is allowed by silence."""
    if "excludes-air" not in context.step.effects:
        return NOTHING
    rows = context.house.pack.rows_of("reduced_oxygen")
    if not rows:
        return _refused(context, "The rules held say nothing of packing without air.")
    plan = _plan(context)
    if plan:
        return _refused(context, plan)
    facts = context.formula.formula.without_air
    if facts is None:
        return _refused(context, "None of the code's criteria is stated.", f"{_CRITERIA} {ASK}")
    row = next((r for _, r in rows if r.applies == facts.by), None)
    if row is None or row.days is None or row.at is None:
        return _refused(context, f"The rules held have no criterion `{facts.by}`.")
    wrong = _misfit(context, facts, row)
    if wrong:
        return _refused(context, wrong)
    return Outcome((_limit(context, facts, row),), air_days=row.days)


def _refused(context: StepContext, why: str, help: str = ASK) -> Outcome:
    return not_covered(context, "reduced_oxygen", why, help)


def _plan(context: StepContext) -> str:
    """Why there is no plan in force; empty if there is."""
    held = [a for a in context.house.kitchen.authorisations if a.for_ == "reduced-oxygen"]
    today = context.house.as_of
    if not held:
        return "Packing without air needs a HACCP plan or a variance, and none is on file."
    if not any(a.from_ <= today <= a.until for a in held):
        last = max(held, key=lambda a: a.until)
        return (
            f"The plan for packing without air ({last.document}) isn't in force on {date(today)}."
        )
    return ""


def _misfit(context: StepContext, facts: WithoutAir, row: Row) -> str:
    """Why the food doesn't meet the criterion it claims; empty if it does, as far as is stated."""
    product = context.before
    if any(is_fish(context.house, c) for c in product.components):
        return "Fish is packed without air only by rules of its own, which aren't held here."
    later = context.formula.steps[context.step.number :]
    if any("cooks" in s.effects for s in later):
        return "Cooking in the pack has rules of its own, which aren't held here."
    if row.most is not None:
        if facts.measured is None:
            return f"`by: {facts.by}` needs the figure measured in this food, under `measured`."
        if facts.measured > row.most:
            return (
                f"{plain(facts.measured)} measured is above the {plain(row.most)} of the criterion."
            )
        return ""
    if facts.by == "raw" and not _all_raw(product):
        return "`by: raw` is for raw meat, raw poultry and raw vegetables alone."
    if facts.by == "cured-at-a-plant":
        if any(c.function == "cure" for c in product.components):
            return "Meat cured in this house doesn't count as cured at a plant."
        animals = [c for c in product.components if c.species != "none"]
        if not animals or product.cooked or any(c.raw_animal for c in animals):
            return "`by: cured-at-a-plant` is for meat received cured and in an intact package."
    return ""


def _all_raw(product: Product) -> bool:
    needing = [c for c in product.components if c.tcs or c.raw_animal]
    return bool(needing) and all(c.state in (None, "raw") and not c.cooked for c in needing)


def _limit(context: StepContext, facts: WithoutAir, row: Row) -> Limit:
    step = context.step
    assert row.at is not None and row.days is not None
    figure = figure_of(row.at, row.printed, "max", context.accuracy)
    source = context.source(row)
    shown = both(figure.value, figure.shown_c, figure.shown_f)
    days = counted(Fraction(row.days), "day")
    inputs = [("Criterion", row.food), ("Record", facts.record)]
    if facts.measured is not None and row.most is not None:
        measured = f"{plain(facts.measured)}, {plain(row.most)} at most"
        inputs.insert(1, ("Measured", measured))
    basis = Basis(
        (*inputs, ("Probe", f"reads to ±{context.accuracy}")),
        f"{row.food}: {shown} or colder, discarded within {days} of packing",
        source.words,
    )
    return Limit(
        f"{context.formula.id}/{step.id}/reduced_oxygen", step.id, step.number, step.verb, "reduced_oxygen",
        "max", source, figure, read=figure.read_at(context.unit), group=row.food, basis=basis,
        note=f"Label it: keep at {shown} or colder, discard within {days} of packing.",
        probe=step.step.probe, if_missed=step.step.if_missed,
    )  # fmt: skip
