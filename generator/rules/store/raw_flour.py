"""Raw flour that is eaten: dough, batter and what is dusted with it, where nothing heats it.

The FDA's advice: flour is a raw food, is not to be eaten or tasted raw, and goes into no
ready-to-eat food raw. Which names mean it, and from which share it is an error, are working rules
of this manual.
"""

from __future__ import annotations

import re
from fractions import Fraction

from generator.files.finding import Finding
from generator.measures.words import listed
from generator.records.effects import HEATS
from generator.resolve.joined import JoinedFormula
from generator.rules.basics.context import EndContext, EndOutcome
from generator.rules.basics.product import RAW_STATES, Component

_FLOUR = re.compile(r"\b(?:flour|semolina|farina|farine|mehl|harina|farina)\b", re.IGNORECASE)
_HEATED = re.compile(
    r"\b(?:heat[ -]treated|toasted|roasted|cooked|pre-?gelatini[sz]ed|malt(?:ed)?)\b", re.IGNORECASE
)
_NUTS = frozenset({"tree nuts", "nuts", "peanuts"})
DUSTED = Fraction(1, 25)
"""The share below which flour is dust: an error above it, a warning below."""


def eaten_raw_flour(context: EndContext) -> EndOutcome:
    """An error where raw flour is eaten that no step heats, a warning where it is only dust."""
    if not context.fate.eaten:
        return EndOutcome()
    parts = context.product.components
    raw = [c for c in parts if is_raw_flour(c) and not _heated(context.formula, c)]
    if not raw:
        return EndOutcome()
    share = sum((c.grams for c in raw), Fraction(0)) / sum((c.grams for c in parts), Fraction(0))
    formula = context.formula.formula
    finding = Finding(
        "flour-eaten-raw",
        "error" if share >= DUSTED else "warning",
        f"{formula.name}: nobody heats {listed(list(dict.fromkeys(c.name for c in raw)))}, and it "
        "is eaten. Raw flour can carry germs that make people sick.",
        formula.key_place("name"),
        "Bake or cook it. Or buy flour that its maker heat-treated, and put that into its name. "
        "Does whoever takes it bake it? Write that under `cooked_later`.",
        source=context.house.library.source_title("fda-flour"),
        about=frozenset({context.formula.id}),
    )
    return EndOutcome((), (finding,))


def is_raw_flour(part: Component) -> bool:
    """Whether a part is raw flour of grain, by its record or its name; nothing that was heated in a
    formula made ahead."""
    if part.cooked or part.heated or _HEATED.search(part.name):
        return False
    if part.flour:
        return True
    raw = part.species == "none" and part.state in RAW_STATES and part.form == "dry"
    nuts = any(a.word in _NUTS for a in part.allergens)
    named = _FLOUR.search(part.name) is not None and not nuts
    return raw and named and not (part.through and _counts_as_flour(part))


def _counts_as_flour(part: Component) -> bool:
    """Whether its record says that it is flour: then ``flour`` is no longer so because a step of a
    formula made ahead heated it."""
    return part.facts is not None and bool(part.facts.flour)


def _heated(formula: JoinedFormula, part: Component) -> bool:
    """Whether a step heats a part, from the one on that takes it in."""
    first = min((s.number for s in formula.steps if part.part in s.parts), default=1)
    return any(step.effects & HEATS for step in formula.since(first))
