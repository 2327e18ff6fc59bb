"""Frozen food: kept frozen in store, or slacked, let warm a little on its way to the heat.

Food Code 3-501.11 and 3-501.12. The code sets no temperature for either but one: what is slacked in
a refrigerator is held as cold as thawing food. Elsewhere it stays frozen, and the step says so.
"""

from __future__ import annotations

from generator.measures.basis import Basis
from generator.reference.row_kinds import HoldRow, ThawRow
from generator.resolve.joined import House
from generator.rules.basics.context import (
    NOTHING,
    EndContext,
    EndOutcome,
    Outcome,
    StepContext,
    cited,
    source_of,
)
from generator.rules.basics.limit import InWords
from generator.rules.basics.no_figure import in_words
from generator.rules.cold.thawing import below

FROZEN = "frozen"
"""The row for what is kept frozen."""
_THAWED = "Thawed, or thawed and frozen again? Put it aside. Ask the chef."


def kept_frozen(house: House, owner: str, because: tuple[str, ...] = ()) -> InWords | None:
    """The rule in words for frozen food in store, a formula's or an ingredient's; None where the
    pack has none."""
    found = house.pack.row_for(HoldRow, FROZEN, "cold_hold")
    if found is None:
        return None
    row = found[1]
    source = source_of(house, row)
    return InWords(
        id=f"{owner}/store/cold_hold",
        step="store",
        number=0,
        verb="Store",
        hazard="cold_hold",
        bound="max",
        source=source,
        because=because,
        group=row.food,
        basis=Basis((("In it", row.food),), row.words, source.words),
        words=row.words,
        note=row.note,
        if_missed=_THAWED,
    )


def stored_frozen(context: EndContext) -> EndOutcome:
    """What is asked of a finished food that is frozen."""
    limit = kept_frozen(context.house, context.formula.id)
    return EndOutcome((limit,)) if limit is not None else EndOutcome()


def slacking(context: StepContext) -> Outcome:
    """The limit of a step that slacks frozen food: 3-501.12.

    In a refrigerator it has a figure, in a freezer none. Anywhere else the step has to say that the
    food stays frozen; where it doesn't, the figure counts, and an error asks.
    """
    step, before = context.step, context.before
    if "slacks" not in step.effects or not (before.tcs or before.raw_animals):
        return NOTHING
    cold, still = _row(context, "slack-refrigerator"), _row(context, "slack-frozen")
    if cold is None or still is None:
        return NOTHING
    if step.cold is not None and step.cold.kind != "freezer":
        return Outcome((below(context, cold, "thaw"),))
    if step.cold is not None or step.step.stays_frozen:
        return Outcome((in_words(context, still, "thaw", if_missed=_THAWED),))
    found = context.finding(
        "slacked-where",
        "error",
        f"{step.verb}: slacked food must be in a refrigerator, or stay frozen. This step says "
        "neither.",
        "Write the refrigerator under `in`. Does it stay frozen? Write `stays_frozen: yes`.",
        place=step.step.place("do"),
        source=cited(context.house, cold),
    )
    return Outcome((below(context, cold, "thaw"),), (found,))


def _row(context: StepContext, how: str) -> ThawRow | None:
    rows = context.house.pack.rows_of(ThawRow)
    return next((r for _, r in rows if r.how == how), None)
