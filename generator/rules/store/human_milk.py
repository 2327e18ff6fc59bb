"""Milk of mothers, donated or expressed, that a kitchen thaws and portions: a milk bank's advice to
hospitals. Which names mean it is a working rule of this manual."""

from __future__ import annotations

import re
from fractions import Fraction

from generator.records.effects import HEATS
from generator.rules.basics.context import EndContext, EndOutcome
from generator.rules.store.infant_formula import Said, finding_of, keeps, waits

_HUMAN = re.compile(
    r"\b(?:human|breast|donor|donated|mother's|expressed) ?milk\b|\bbreastmilk\b", re.IGNORECASE
)
COOL_S = Fraction(4 * 3600)
"""How long thawed milk that nobody warmed may be at room temperature, in seconds."""
WARM_S = Fraction(3600)
"""The same of milk that was warmed."""
_WARMED = (
    "Warm it in warm water, in the closed bottle: a microwave makes hot spots that burn. Warm each "
    "feed by itself."
)


def human_milk(context: EndContext) -> EndOutcome:
    """An error where human milk is out of the cold, or kept, for longer than it may be, is kept
    once it was warmed, or goes into a microwave oven."""
    names = list(dict.fromkeys(c.name for c in context.product.components if _HUMAN.search(c.name)))
    if not names:
        return EndOutcome()
    steps = context.formula.steps
    warmed = any(step.effects & HEATS for step in steps)
    said = [*waits(context, names, WARM_S if warmed else COOL_S), *keeps(context, names)]
    if any(s.machine is not None and s.machine.kind == "microwave" for s in steps):
        said.append(Said("error", "it goes into a microwave oven.", _WARMED))
    source = "texas-milk-bank"
    return EndOutcome((), tuple(finding_of(context, "human-milk", source, s) for s in said))
