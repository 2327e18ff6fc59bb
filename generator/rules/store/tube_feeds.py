"""Tube feed that is mixed or blended here: how long it may hang, and how long it is kept.

Advice of the American Society for Parenteral and Enteral Nutrition, as quoted: powder that is made
up hangs for 4 hours, food blended in a kitchen for 2, and what is left is thrown away after 24
hours in the refrigerator. Feed that a plant filled sterile isn't asked. Which names mean tube feed
is a working rule of this manual.
"""

from __future__ import annotations

import re
from fractions import Fraction

from generator.rules.basics.context import EndContext, EndOutcome
from generator.rules.basics.product import Component
from generator.rules.store.infant_formula import finding_of, keeps, waits

_FEED = re.compile(
    r"\b(?:tube[ -](?:feed(?:s|ing)?|fed)|enteral|nasogastric|gastrostomy|PEG feeds?)\b",
    re.IGNORECASE,
)
_STERILE = re.compile(r"\b(?:ready[ -]to[ -](?:hang|feed)|closed system|sterile)\b", re.IGNORECASE)
_MADE_UP, _BLENDED = "aspen-hang-times-quoted", "blenderised-hang-time-quoted"
MADE_UP_S = Fraction(4 * 3600)
"""How long powder that was made up may hang."""
BLENDED_S = Fraction(2 * 3600)
"""How long food that was blended in a kitchen may hang."""


def tube_feed(context: EndContext) -> EndOutcome:
    """An error where tube feed waits longer out of the cold than it may hang, or is kept for more
    than 24 hours in it."""
    powder = [c for c in context.product.components if _is_feed(c)]
    if not powder and not _is_blended(context):
        return EndOutcome()
    names = list(dict.fromkeys(c.name for c in powder)) or [context.formula.formula.name]
    most, source = (MADE_UP_S, _MADE_UP) if powder else (BLENDED_S, _BLENDED)
    hung = [finding_of(context, "tube-feed", source, one) for one in waits(context, names, most)]
    kept = [finding_of(context, "tube-feed", _MADE_UP, one) for one in keeps(context, names)]
    return EndOutcome((), (*hung, *kept))


def _is_blended(context: EndContext) -> bool:
    """Whether a formula makes tube feed of food, by its name."""
    formula = context.formula.formula
    called = any(map(_FEED.search, (formula.name, *formula.other_names)))
    return called and not any(_STERILE.search(c.name) for c in context.product.components)


def _is_feed(part: Component) -> bool:
    """Whether a part is tube feed that isn't sterile any more: powder, or made up in a formula."""
    named = _FEED.search(part.name) is not None and not _STERILE.search(part.name)
    return named and part.form != "liquid"
