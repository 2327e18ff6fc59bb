"""Cleaning between steps: Food Code 4-602.11. The food isn't there; only the surfaces are."""

from __future__ import annotations

from generator.measures.words import breakable, duration
from generator.reference.row_kinds import TimeRow
from generator.rules.basics.context import NOTHING, Outcome, StepContext, cited

CLEANS = "cleans"


def cleaning(context: StepContext) -> Outcome:
    """A cleaning step that comes round less often than the code asks."""
    every = context.step.step.every
    if CLEANS not in context.step.effects or every is None:
        return NOTHING
    found = context.house.pack.row_for(TimeRow, "tcs", "clean")
    if found is None or found[1].within is None or every.seconds <= found[1].within.seconds:
        return NOTHING
    row, place = found[1], context.step.step.place("every")
    assert row.within is not None
    asked = breakable(duration(row.within.seconds))
    words = f"{context.step.verb}: every {every} is less often than every {asked} required."
    help = "A refrigerated room may allow longer; ask your regulatory authority."
    source = cited(context.house, row)
    fixes = (place.fixed(asked),)
    return Outcome(
        (), (context.finding("cleaned-too-seldom", "warning", words, help, fixes, place, source),)
    )
