"""Which of an authority's lethality tables counts: the pack's own, or the one a plant's plan goes
by.

A pack marks what each cooking group's table gives. What a formula asks for under `lethality` is
in for the group its food falls into only where the pack says so: the 7-log column of meat never
replaces a poultry table. Nothing here is chosen by silence.
"""

from __future__ import annotations

from generator.files.finding import Finding
from generator.measures.marks import as_written
from generator.measures.words import listed
from generator.reference.rows import Group
from generator.rules.basics.context import NOTHING, EndContext, EndOutcome, Outcome, StepContext
from generator.rules.basics.grouping import group_of, highest
from generator.rules.cures.cured import least_ingoing
from generator.rules.cures.smoking import SMOKES


def table_for(context: StepContext, group: str) -> str:
    """The group whose rows count for food that falls into ``group``: the one that replaces it
    by the formula's `lethality`, else ``group`` itself."""
    asked = context.formula.formula.lethality
    groups = context.house.pack.groups
    if asked is None or group not in groups or groups[group].lethality == asked:
        return group
    raw = {
        group_of(c, context.house.pack, context.before.stuffed) for c in context.before.raw_animals
    }
    fitting = [
        ident
        for ident, one in groups.items()
        if one.lethality == asked and {group, *raw} <= set(one.instead_of) and _is_so(context, one)
    ]
    return max(fitting, key=lambda ident: len(groups[ident].only_if), default=group)


def _is_so(context: StepContext, group: Group) -> bool:
    """Whether the food was treated as a group asks: cured, smoked by the end of this step."""
    found = {"cured": lambda: least_ingoing(context) > 0, "smoked": lambda: _smoked(context)}
    return all(found[word]() for word in group.only_if)


def _smoked(context: StepContext) -> bool:
    """Whether it was smoked by the end of this step: of streams that met, all that is raw in it."""
    formula = context.formula
    smoked = [s for s in formula.upto(context.step.number) if SMOKES in s.effects]
    if formula.ways is None:
        return bool(smoked)
    raw = {c.part for c in context.before.raw_animals}
    return any(raw <= {p for s in formula.upto(one.number) for p in s.parts} for one in smoked)


def lethality(context: StepContext) -> Outcome:
    """The error of a step whose food has no such table, though the pack has one for other food."""
    formula = context.formula.formula
    pack = context.house.pack
    if formula.lethality is None or "cooks" not in context.step.effects or not context.due:
        return NOTHING
    if not any(g.lethality == formula.lethality for g in pack.groups.values()):
        return NOTHING  # said once, of the whole formula
    found = highest(context.before, pack)
    if found is None or found[0] is None:
        return NOTHING
    if pack.groups[table_for(context, found[0])].lethality == formula.lethality:
        return NOTHING
    names = listed(list(dict.fromkeys(c.name for c in context.before.raw_animals)))
    own = pack.groups[found[0]].lethality
    finding = context.finding(
        "lethality-not-for-this",
        "error",
        f"{context.step.verb}: there is no table called {as_written(formula.lethality)} for "
        f"{names}.",
        f"Write `lethality: {as_written(own)}`. Or delete the line: then its own table counts."
        if own
        else "",
        place=formula.place("lethality"),
    )
    return Outcome((), (finding,))


def lethality_held(context: EndContext) -> EndOutcome:
    """The error of a formula that names a table where the rules hold none of that name, or that
    cooks nothing."""
    formula, pack = context.formula.formula, context.house.pack
    if formula.lethality is None:
        return EndOutcome()
    held = list(dict.fromkeys(g.lethality for g in pack.groups.values() if g.lethality))
    if formula.lethality in held and any("cooks" in s.effects for s in context.formula.steps):
        return EndOutcome()
    if formula.lethality in held:
        words, help = "no step of its process cooks it", "Take the line out."
    elif held:
        words = f"{pack.facts.name} has no table called {as_written(formula.lethality)}"
        help = f"It has {listed([as_written(one) for one in held])}."
    else:
        words = f"{pack.facts.document} has one table for each food. There is none to choose"
        help = (
            "Delete the line. It is for a plant under inspection, by the tables of its authority."
        )
    finding = Finding(
        "lethality-not-held",
        "error",
        f"{formula.name}: {words}.",
        formula.place("lethality"),
        help,
        about=frozenset({context.formula.id}),
    )
    return EndOutcome((), (finding,))
