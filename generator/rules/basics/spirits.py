"""Strong spirits, which keep what lies in enough of them. Names and the share are working rules of
this manual."""

from __future__ import annotations

import re
from fractions import Fraction

from generator.rules.basics.product import Component, Product

_STRONG = re.compile(
    r"\b(?:vodka|rum|gin|spirits?|brandy|whisky|whiskey|bourbon|grappa|liqueur|tequila|mezcal|pisco"
    r"|cognac|kirsch|schnapps|eau[ -]de[ -]vie|alcohol|ethanol)\b",
    re.IGNORECASE,
)
_NOT_STRONG = re.compile(
    r"\b(?:non[ -]alcoholic|alcohol[ -]free|without alcohol|0 ?%|extract|flavou?r\w*|sauce"
    r"|raisins?|vinegar)",
    re.IGNORECASE,
)
IN_SPIRITS = Fraction(1, 2)
"""The share of strong spirits, of all that is no sugar, from which they keep what is in them: half
of 40 % by volume. Port keeps at as much."""


def is_spirits(part: Component) -> bool:
    """Whether a part is strong spirits, by its name."""
    strong = _STRONG.search(part.name) is not None and not _NOT_STRONG.search(part.name)
    return strong and part.species == "none" and not (part.acid or part.tcs)


def in_spirits(product: Product) -> bool:
    """Whether strong spirits that nothing heated keep what is in it."""
    strong = sum((c.weight for c in product.components if _keeps(c)), Fraction(0))
    sugar = sum((c.weight for c in product.components if c.boils == "sugar"), Fraction(0))
    return strong > 0 and strong >= IN_SPIRITS * (product.mass - sugar)


def _keeps(part: Component) -> bool:
    return is_spirits(part) and not (part.cooked or part.heated)
