"""Food heated again, or thawed, for one guest's order and served at once: no temperature is asked
for.

Food Code 3-403.10 speaks of food that was cooked and is cold; what isn't stated to be cooked goes
by the reheating limit, and so does all that is held hot. 3-501.13(D) speaks of frozen food that is
ready to eat.
"""

from __future__ import annotations

from typing import TypeVar

from generator.measures.words import listed
from generator.reference.row_kinds import ReheatRow, ThawRow
from generator.rules.basics.context import StepContext
from generator.rules.basics.limit import InWords
from generator.rules.basics.no_figure import in_words
from generator.rules.basics.product import Component
from generator.rules.heat.to_order import TO_ORDER, holds, waits

_WAITED = "Not served at once? Throw it away."
_BY_ORDER = (("To order", "by the formula"),)


_Made = TypeVar("_Made", ReheatRow, ThawRow)


def to_be_served(context: StepContext, kind: type[_Made], hazard: str) -> _Made | None:
    """The row for food made to one guest's order, where the formula is; None where it isn't, where
    the pack has none, or where a limit of the kitchen's own is in force."""
    found = context.house.pack.row_for(kind, TO_ORDER)
    if found is None or hazard in context.house.pack.ours or not holds(context.formula):
        return None
    return found[1]


def reheated_to_order(context: StepContext) -> InWords | None:
    """The rule in words of a step that heats cooked, cold food for one order; None where the
    reheating limit is."""
    row = to_be_served(context, ReheatRow, "reheat")
    if row is None or context.before.raw_animals or cooking_problem(context):
        return None
    names = tuple(
        dict.fromkeys(c.through or c.name for c in context.before.components if c.chilled)
    )
    target = context.step.target.text if context.step.target else ""
    return in_words(context, row, "reheat", names, "min", _BY_ORDER, _WAITED, target)


def thawed_to_order(context: StepContext) -> InWords | None:
    """The rule in words of a step that thaws ready-to-eat food for one order; None where it isn't
    all ready to eat, or where anything waits after it. Food Code 3-501.13(D)."""
    row = to_be_served(context, ThawRow, "thaw")
    if row is None or context.before.raw_animals:
        return None
    later = context.formula.after(context.step.number)
    parts = [c for c in context.before.components if c.tcs or c.chilled]
    if any(waits(s) for s in later if "reheats" not in s.effects) or not all(map(_ready, parts)):
        return None
    names = tuple(dict.fromkeys(c.through or c.name for c in parts))
    return in_words(context, row, "thaw", names, inputs=_BY_ORDER, if_missed=_WAITED)


def _ready(c: Component) -> bool:
    return c.cooked or c.state == "ready-to-eat"


def cooking_problem(context: StepContext) -> str:
    """Why the food doesn't count as cooked and cold in a formula made to order, as words; empty if
    it does."""
    parts = context.before.components
    loose = listed(sorted({c.name for c in parts if _not_cooked(c)}))
    if loose:
        return f"{loose}: not stated to be cooked"
    return (
        "" if any(c.chilled and c.cooked for c in parts) else "nothing in it was cooked and is cold"
    )


def _not_cooked(c: Component) -> bool:
    """Whether it needs the cold, and nothing stated says that it was heated."""
    return (c.tcs or c.chilled) and not c.cooked and c.state != "pasteurised"
