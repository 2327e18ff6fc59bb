"""The document on file a limit rests on: the variance, plan or approval that lets the food be made
at all."""

from __future__ import annotations

from dataclasses import replace

from generator.measures.words import date
from generator.resolve.joined import House, JoinedFormula
from generator.rules.basics.limit import Limit
from generator.rules.heat.two_goes import PLAN
from generator.rules.packing.reduced_oxygen import NO_PLAN

_RESTS_ON = {
    "additive": "cure",
    "acidity": "acidify",
    "reduced_oxygen": "pack-without-air",
    "part_cook": PLAN,
}
"""What an authorisation is for, by the hazard of the limit that needs it."""


def with_document(house: House, formula: JoinedFormula, limit: Limit) -> Limit:
    """The limit with the document it rests on among the reasons: its title, its authority, its last
    day. A limit that needs none, or whose document isn't in force, is returned as it is."""
    kind = _RESTS_ON.get(limit.hazard) or _of_the_pack(house)
    packed = formula.formula.without_air
    if limit.hazard == "reduced_oxygen" and packed is not None and packed.criterion in NO_PLAN:
        return limit
    held = [a for a in house.kitchen.authorisations if a.for_ == kind and a.in_force(house.as_of)]
    if not held:
        return limit
    reported = "; ".join(f"{a.document}, {a.authority}, until {date(a.until)}" for a in held)
    inputs = (*limit.basis.inputs, ("On file", reported))
    return replace(limit, basis=replace(limit.basis, inputs=inputs))


def _of_the_pack(house: House) -> str:
    """What a retail kitchen needs on file to go by a pack that isn't made for it."""
    facts = house.pack.facts
    for_others = facts.only_for is not None and house.kitchen.operation != facts.only_for
    return (facts.variance or "") if for_others else ""
