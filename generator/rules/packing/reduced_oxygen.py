"""Packing without air: refused, unless a plan is on file and one criterion of the code is a stated
fact.

Food Code 3-502.12(B), (C), (E) and (F); cook-chill and sous vide, (D), have a module of their own.
A pack that asks no criterion (England) has a row for that, and needs no plan. Food put by under
fat is packed so by any verb.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from generator.measures.basis import Basis
from generator.measures.words import counted, listed, plain
from generator.records.figures import PH_OF_FOOD, WATER_ACTIVITY
from generator.records.formula import WithoutAir
from generator.reference.row_kinds import ReducedOxygenRow
from generator.resolve.joined import House, JoinedFormula, JoinedStep
from generator.rules.basics.context import (
    NOTHING,
    Outcome,
    StepContext,
    authorisation_problem,
    both,
)
from generator.rules.basics.limit import InWords, KeepingLimit, Lasts, figure_of
from generator.rules.basics.paper import OWN_PLAN, paper
from generator.rules.basics.product import RAW_STATES, Component
from generator.rules.basics.uncovered import ASK, not_covered
from generator.rules.cold.drinks import unproven_drink
from generator.rules.heat.parasites import is_fish
from generator.rules.packing.cook_chill import cook_chill, cook_chill_problems
from generator.rules.packing.opened import opened_in_time
from generator.rules.packing.under_fat import if_not, under_fat

_CRITERIA = (
    "Write the `criterion` and the `record` under `without_air` in the formula. One of: acidity "
    "or water-activity with `measured`, competing-organisms, cured-at-a-plant, cheese, "
    "fish-frozen, cook-chill, within-48-hours."
)
_ON_FILE = "Record the plan under `authorisations` in kitchen.yaml, `for: pack-without-air`."
_FLESH = ("meat", "game", "poultry", "ratite")
"""What meat and poultry are by 1-201.10: farmed game is meat, ratites are poultry."""
_VEGETABLES = ("leafy-greens",)
"""The plant food that needs control raw and is a vegetable in any reading; a tomato or a melon is a
fruit."""
_IN_THE_PACK = ("cook-chill", "within-48-hours")
NO_PLAN = ("within-48-hours", "no-criterion")


def packing(context: StepContext) -> Outcome:
    """The limit of a step that packs without air; nothing is allowed by silence."""
    packs = "packs-without-air" in context.step.effects
    covered = "" if packs else under_fat(context)
    if not (packs or covered) or _needs_no_control(context):
        return NOTHING
    facts = context.formula.formula.without_air
    found = {r.applies: r for _, r in context.house.pack.rows_of(ReducedOxygenRow)}
    stated: str = facts.criterion if facts else ""
    by = "no-criterion" if "no-criterion" in found else stated
    refused = _why_refused(context, by, facts, found)
    if refused is not None:
        why, help = refused
        return _refused(
            context, f"{covered} {why}".strip(), f"{if_not(context)} {help}" if covered else help
        )
    if facts is not None and by == "cook-chill":
        return cook_chill(context, facts)
    row = found[by]
    limit = _limit(context, facts, row)
    return Outcome((limit,), tuple(opened_in_time(context, row)), air_days=row.days)


def _why_refused(
    context: StepContext,
    by: str,
    facts: WithoutAir | None,
    found: dict[str, ReducedOxygenRow],
) -> tuple[str, str] | None:
    """Why the food may not be packed without air by the criterion ``by``, and what to do; None if
    it may. ``found`` are the pack's rows by what they apply to."""
    if any(c.raw_animal and c.heated for c in context.before.components):
        return "No paragraph here is for part-cooked raw animal food.", ASK
    if not found:
        return "The rules here say nothing about packing without air.", ASK
    wrong = _wrong(context, by, facts, found)
    if not wrong:
        return None
    helps = [help for _, help in wrong if help]
    return " ".join(why for why, _ in wrong), " ".join([*helps, ASK])


def _wrong(
    context: StepContext, by: str, facts: WithoutAir | None, found: dict[str, ReducedOxygenRow]
) -> list[tuple[str, str]]:
    """What keeps it from being packed, each with its fix: no plan, what its criterion asks. What
    cook-chill asks is asked by its own module where there is a plan."""
    plan = _plan(context) if by not in NO_PLAN else ""
    missing = [(plan, _ON_FILE)] if plan else []
    if by != "cook-chill" or facts is None or _any_fish(context):
        return [*missing, *_by_criterion(context, by, facts, found)]
    if not plan:
        return []
    return [*missing, *cook_chill_problems(context, facts.sold, facts.kept)]


def _by_criterion(
    context: StepContext, by: str, facts: WithoutAir | None, found: dict[str, ReducedOxygenRow]
) -> list[tuple[str, str]]:
    """Why the food may not be packed by the criterion it names, or that it names none."""
    if not by:
        return [("None of the code's criteria is stated.", _criteria(context))]
    if by != "cook-chill" and by not in found:
        return [(f"The rules here have no criterion `{by}`.", "")]
    problem = _problem(context, by, facts, found.get(by))
    return [(problem, "")] if problem else []


def _criteria(context: StepContext) -> str:
    """What to write of the criterion; for food cooked here, with all that cook-chill asks of it."""
    if not _cooked_here(context) or _any_fish(context):
        return _CRITERIA
    asked = [h for _, h in cook_chill_problems(context, sold=False, kept="cold")]
    if context.house.pack.row_for(ReducedOxygenRow, "cook-chill-cold") is None:
        return _CRITERIA
    return (
        f"{_CRITERIA} Cooked here and eaten here? `without_air: {{criterion: cook-chill, sold: no, "
        f"record: …}}`. {' '.join(asked)}"
    ).strip()


def _cooked_here(context: StepContext) -> bool:
    return any("cooks" in s.effects for s in context.formula.steps)


def _any_fish(context: StepContext) -> bool:
    return any(is_fish(context.house, c) for c in context.before.components)


def _needs_no_control(context: StepContext) -> bool:
    """Whether the food that is packed needs no temperature control: 3-502.12 is for food that does.

    The formula's own word, `not_tcs`, is of the finished food: it doesn't count while cooking is to
    come.
    """
    product, formula = context.before, context.formula
    if product.raw_animals:
        return False
    later = formula.after(context.step.number)
    finished = not any("cooks" in s.effects for s in later)
    if not product.tcs:
        return not unproven_drink(context.house, formula, product)
    return bool(formula.formula.not_tcs) and finished


def _refused(context: StepContext, why: str, help: str = ASK) -> Outcome:
    return not_covered(context, "reduced_oxygen", why, help)


def _plan(context: StepContext) -> str:
    """Why there is no plan in force; empty if there is."""
    asked = paper(context.house)
    either = asked if asked == OWN_PLAN else f"HACCP plan or a {asked}"
    none = f"Packing without air needs a {either}. None is on file."
    called = "The plan for packing without air"
    return authorisation_problem(context.house, "pack-without-air", none, called)


def _problem(
    context: StepContext, by: str, facts: WithoutAir | None, row: ReducedOxygenRow | None
) -> str:
    """Why the food doesn't meet what it claims; empty if it does, as far as is stated."""
    if by == "no-criterion":
        return ""
    if _any_fish(context):
        return _fish_problem(context, by)
    later = context.formula.after(context.step.number)
    if by == "fish-frozen":
        return "`criterion: fish-frozen` is for fish."
    if by not in _IN_THE_PACK and any("cooks" in s.effects for s in later):
        return "Cooking in the pack is `criterion: cook-chill`, or `criterion: within-48-hours`."
    if row is not None and row.most is not None:
        assert facts is not None
        return _measured_problem(facts, row.most)
    reported = _REPORTED.get(by)
    return reported(context) if reported is not None else ""


def _fish_problem(context: StepContext, by: str) -> str:
    """Fish goes by being frozen throughout, and by nothing else."""
    match by:
        case "fish-frozen":
            return _not_frozen_throughout(context)
        case "within-48-hours":
            return (
                "Fish: one paragraph forbids packing it unless it is frozen throughout. Another "
                "needs no plan for packs opened within 48 hours. This can be read both ways."
            )
        case _:
            return (
                "Pack fish without air only if it is frozen before, during and after: "
                "`criterion: fish-frozen`."
            )


def _measured_problem(facts: WithoutAir, most: Fraction) -> str:
    """Acidity or water activity: what was measured, against the most there may be."""
    if facts.measured is None:
        return (
            f"`criterion: {facts.criterion}` needs the figure measured in this food, under "
            "`measured`."
        )
    if facts.measured > most:
        return f"{plain(facts.measured)} measured is above the {plain(most)} of the criterion."
    bounds = PH_OF_FOOD if facts.criterion == "acidity" else WATER_ACTIVITY
    if facts.measured < bounds.least:
        return f"{plain(facts.measured)} can't be the {bounds.what}. {bounds.why}"
    return ""


def _not_cured_at_a_plant(context: StepContext) -> str:
    """What keeps the food from being meat as a plant cured it."""
    product = context.before
    if any(c.function == "cure" for c in product.components):
        return "Meat cured in this house doesn't count as cured at a plant."
    animals = [c for c in product.components if c.species != "none"]
    if not animals or product.cooked or any(c.raw_animal for c in animals):
        return "`criterion: cured-at-a-plant` is for meat received cured and in an intact package."
    return ""


def _not_frozen_throughout(context: StepContext) -> str:
    """Why fish isn't frozen before, during and after packing; empty if it is."""
    if not _frozen_when_packed(context):
        return "The fish isn't frozen when it is packed."
    if any(_thaws(s) for s in context.formula.after(context.step.number)):
        return "The fish doesn't stay frozen in its pack."
    keeps = context.formula.formula.keeps
    if keeps is not None and keeps.cold is not None:
        return "The fish is kept refrigerated by its formula."
    return ""


def _frozen_when_packed(context: StepContext) -> bool:
    """Whether all fish in it was frozen here or came frozen, and nothing thawed it since."""
    if context.formula.ways is not None and context.course.state != "frozen":
        return False  # streams met: each of them has to be
    before = context.formula.before(context.step.number)
    frozen_at = max((s.number for s in before if "freezes" in s.effects), default=0)
    if not frozen_at and not _comes_frozen(context):
        return False
    return not any(_thaws(s) for s in before if s.number > frozen_at)


def _comes_frozen(context: StepContext) -> bool:
    """Whether every line of the fish in it is an ingredient that is stated to arrive frozen."""
    fish = {c.item for c in context.before.components if is_fish(context.house, c)}
    received = [ln.ingredient for ln in context.formula.lines if ln.item in fish]
    return all(facts is not None and facts.arrives == "frozen" for facts in received)


def _thaws(step: JoinedStep) -> bool:
    """Whether frozen food doesn't stay frozen at a step: heated, thawed, slacked, or put in the
    cold that isn't a freezer."""
    if step.effects & {
        "thaws",
        "cooks",
        "part-cooks",
        "reheats",
        "holds-hot",
        "holds-by-time",
        "smokes",
    }:
        return True
    if "slacks" in step.effects and not step.step.stays_frozen:
        return True
    return step.cold is not None and step.cold.kind != "freezer" and "freezes" not in step.effects


def ends_at_the_makers_date(house: House, formula: JoinedFormula) -> bool:
    """Whether the days of a pack end at a maker's sell-by or use-by date if that is sooner, and
    something in it was made and packed by a plant, which may have put one on it: 3-502.12(B)(4) and
    (E)(3)."""
    facts = formula.formula.without_air
    found = house.pack.row_for(ReducedOxygenRow, facts.criterion) if facts is not None else None
    if facts is None or found is None or not found[1].makers_date:
        return False
    bought = [ln.ingredient for ln in formula.lines if ln.ingredient is not None]
    return facts.criterion == "cured-at-a-plant" or any(
        i.commercially_packed or i.cheese for i in bought
    )


def _only_cheese(context: StepContext) -> bool:
    facts = {ln.item: ln.ingredient for ln in context.formula.lines}
    kinds = ("hard", "semisoft", "pasteurised-process")
    found = [facts.get(c.item) for c in context.before.components]
    return bool(found) and all(f is not None and f.cheese in kinds for f in found)


def _not_cheese(context: StepContext) -> str:
    """What keeps the food from being a cheese the criterion names; empty if nothing does."""
    if _only_cheese(context):
        return ""
    return (
        "`criterion: cheese` is for a cheese made by a plant, hard, semisoft or pasteurised "
        "process, with nothing added: its `cheese` says which."
    )


def _not_raw(context: StepContext) -> str:
    """What keeps the food from being raw meat, poultry or vegetables; empty if nothing does.

    3-502.12(B)(2)(d) names these for the organisms on them that compete. Raw eggs, milk, dough,
    seeds and sprouts, wild game (no meat by 1-201.10) and an animal that isn't stated aren't named.
    """
    product = context.before
    needing = [c for c in product.components if c.tcs or c.raw_animal]
    others = [c for c in needing if not _raw_and_named(context, c)]
    if needing and not others:
        return ""
    names = listed(list(dict.fromkeys(c.name for c in others)))
    reported = (
        f" {names} {'is none of them' if len(others) == 1 else 'are none of them'}."
        if others
        else ""
    )
    return (
        "`criterion: competing-organisms` is for raw meat, raw poultry and raw vegetables "
        f"alone.{reported}"
    )


_REPORTED: dict[str, Callable[[StepContext], str]] = {
    "competing-organisms": _not_raw,
    "cheese": _not_cheese,
    "cured-at-a-plant": _not_cured_at_a_plant,
}
"""What the food itself is asked, by the criterion it goes by."""


def _raw_and_named(context: StepContext, component: Component) -> bool:
    """Whether a component is raw, and meat, poultry or a vegetable."""
    if component.state not in RAW_STATES or component.cooked or component.heated:
        return False
    definition = context.house.pack.definitions.get(component.species or "")
    if definition is not None:
        return definition.group_as in _FLESH
    return component.species == "none" and component.plant in _VEGETABLES


def _limit(
    context: StepContext, facts: WithoutAir | None, row: ReducedOxygenRow
) -> InWords | KeepingLimit:
    step, source = context.step, context.source(row)
    inputs = [("Criterion", row.food)]
    if facts is not None and facts.measured is not None and row.most is not None:
        inputs.append(("Measured", f"{plain(facts.measured)}, {plain(row.most)} at most"))
    if facts is not None and row.applies != "no-criterion":
        inputs.append(("Record", facts.record))
    if row.at is None:
        label = "Label it: keep frozen until use."
        return InWords(
            **context.names("reduced_oxygen"),
            hazard="reduced_oxygen",
            bound="max",
            source=source,
            words=row.words,
            note=label,
            group=row.food,
            basis=Basis(tuple(inputs), row.words, source.words),
            if_missed=step.step.if_missed,
        )
    figure = figure_of(row.at, row.printed, "max", context.accuracy)
    shown = both(figure.value, figure.shown_c, figure.shown_f)
    within = row.within.seconds if row.within is not None else None
    if within is not None:
        until = "taken out of its pack within 48 hours"
        note = f"Label it with the time and date it is packed. Keep it at {shown} or colder."
    else:
        assert row.days is not None
        days = counted(Fraction(row.days), "day")
        sooner = (
            ", or by the maker's sell-by or use-by date if that is sooner"
            if row.makers_date
            else ""
        )
        until = f"use it or throw it away within {days} of packing{sooner}"
        note = (
            f"Label it: keep at {shown} or colder, use or throw away within {days} of "
            f"packing{sooner}."
        )
    basis = Basis(
        (*inputs, ("Probe", f"reads to ±{context.accuracy}")),
        f"{row.food}: {shown} or colder, {until}",
        source.words,
    )
    return KeepingLimit(
        **context.names("reduced_oxygen"),
        hazard="reduced_oxygen",
        bound="max",
        source=source,
        figure=figure,
        read=figure.read_at(context.unit),
        group=row.food,
        basis=basis,
        note=note,
        probe=step.step.probe,
        if_missed=step.step.if_missed,
        lasts=Lasts(within, "from packing to opening the pack") if within is not None else None,
    )
