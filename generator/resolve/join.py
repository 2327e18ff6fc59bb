"""The joining itself: house, facts, formulas, and the order they can be computed in."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from graphlib import CycleError, TopologicalSorter

from generator.files.finding import Finding
from generator.intake.standards import Standards
from generator.measures.words import with_verb
from generator.records.formula import Formula
from generator.reference.library import Library
from generator.resolve.control_dates import check_control_dates
from generator.resolve.equipment import check_equipment
from generator.resolve.formulas import join_formula
from generator.resolve.house import check_facts, join_house
from generator.resolve.house_limits import check_house_limits
from generator.resolve.joined import House, JoinedFormula
from generator.resolve.made import History, join_history
from generator.resolve.names import Names
from generator.resolve.plans import JoinedPlan, join_plans
from generator.resolve.routines import check_routines
from generator.resolve.yields import check_yields


@dataclass(frozen=True)
class Joined:
    """The kitchen joined: formulas in the order they can be computed (sub-formulas first)."""

    house: House | None
    formulas: dict[str, JoinedFormula]
    salvaged: dict[str, JoinedFormula]
    findings: tuple[Finding, ...]
    plans: dict[str, JoinedPlan] = field(default_factory=dict)
    history: History = field(default_factory=lambda: History({}, {}))


_NAMES_ALONE = frozenset({"item-unknown", "station-unknown", "process-unknown", "vessel-unknown"})
"""What may be said of a formula whose faulty lines are left out: what is missing elsewhere
isn't."""


def join(
    standards: Standards,
    library: Library,
    as_of: datetime.date,
    whole: Standards | None = None,
) -> Joined:
    """Join everything that was read. Never raises on bad names. ``whole`` are the standards of the
    kitchen, where some of its formulas alone are to be joined: what there is to name, and what each
    goes into, is looked for there."""
    everywhere = whole if whole is not None else standards
    names = Names(everywhere, library)
    house = join_house(names, as_of)
    check_facts(names, house.pack if house is not None else None)
    check_equipment(names, as_of)
    check_house_limits(names)
    check_yields(names, as_of)
    check_control_dates(names, as_of)
    check_routines(names)
    joined: dict[str, JoinedFormula] = {}
    for ident, formula in standards.formulas.items():
        one = join_formula(names, ident, formula)
        if one is not None:
            joined[ident] = one
    salvaged: dict[str, JoinedFormula] = {}
    for ident, formula in standards.salvaged.items():
        before = len(names.findings)
        one = join_formula(names, ident, formula)
        names.findings[before:] = [f for f in names.findings[before:] if f.code in _NAMES_ALONE]
        if one is not None:
            salvaged[ident] = one
    order = _order(names, joined)
    if not standards.broken and whole is None:
        _unused(names)
    used_in, kept_as = _used_in(everywhere.formulas), _kept_as(everywhere.formulas)
    found = {
        ident: replace(
            joined[ident],
            used_in=used_in.get(ident, frozenset()),
            kept_as=kept_as.get(ident, {}),
        )
        for ident in order
    }
    plans = join_plans(names, joined, as_of)
    history = join_history(names, joined, as_of)
    return Joined(house, found, salvaged, tuple(names.findings), plans, history)


def _used_in(formulas: Mapping[str, Formula]) -> dict[str, frozenset[str]]:
    """By each formula or ingredient, the formulas that are made of it."""
    found: dict[str, set[str]] = {}
    for ident, formula in formulas.items():
        for item in {item for items in formula.parts.values() for item in items}:
            found.setdefault(item, set()).add(ident)
    return {item: frozenset(formulas) for item, formulas in found.items()}


def _kept_as(formulas: Mapping[str, Formula]) -> dict[str, dict[str, str]]:
    """By each formula the names of its by-products, by the outputs that they are."""
    found: dict[str, dict[str, str]] = {}
    for formula in formulas.values():
        of = formula.by_product
        if of is not None:
            found.setdefault(of.formula, {})[of.output] = formula.name
    return found


def _order(names: Names, joined: dict[str, JoinedFormula]) -> list[str]:
    graph = {ident: set(one.sub_formulas) & set(joined) for ident, one in joined.items()}
    while True:
        try:
            order = list(TopologicalSorter(graph).static_order())
            break
        except CycleError as error:
            ring = [str(name) for name in error.args[1]]
            circle = " → ".join(names.standards.formulas[i].name for i in ring)
            for ident in dict.fromkeys(ring):
                names.error(
                    "formula-in-circle",
                    names.standards.formulas[ident].key_place("parts"),
                    f"These formulas contain each other: {circle}.",
                    _out_of_the_circle(names, ring),
                    ident,
                )
                graph.pop(ident, None)
            graph = {k: v - set(ring) for k, v in graph.items()}
    good: list[str] = []
    for ident in order:
        if ident in joined and all(s in good for s in joined[ident].sub_formulas):
            good.append(ident)
    return good


def _out_of_the_circle(names: Names, ring: list[str]) -> str:
    """How to open a circle: what an earlier batch left is an ingredient of this one."""
    help = "One of them must be made of ingredients."
    if any(names.standards.formulas[ident].by_product is not None for ident in ring):
        help += " What is kept of an earlier batch is an ingredient: enter it as one."
    return help


def _unused(names: Names) -> None:
    for ident, ingredient in names.standards.ingredients.items():
        if ident not in names.used:
            names.findings.append(
                Finding(
                    "not-used",
                    "note",
                    f"{with_verb(ingredient.name, 'is')} in no formula.",
                    ingredient.place(),
                )
            )
