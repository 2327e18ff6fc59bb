"""Strong spirits, which keep what lies in enough of them. Names and the share are working rules of
this manual."""

from __future__ import annotations

import functools
import re
from fractions import Fraction

from generator.measures.rounding import total
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
    may_be = part.species == "none" and not (part.acid or part.tcs)
    return may_be and _named_strong(part.name)


@functools.lru_cache(4096)
def _named_strong(name: str) -> bool:
    """Whether a name is one of strong spirits: each step asks of the same food again."""
    return _STRONG.search(name) is not None and not _NOT_STRONG.search(name)


def in_spirits(product: Product) -> bool:
    """Whether strong spirits that nothing heated keep what is in it."""
    spirits = [c for c in product.components if _keeps(c)]
    if not spirits:
        return False
    strong = total(c.weight for c in spirits)
    sugar = total(c.weight for c in product.components if c.boils == "sugar")
    return strong > 0 and strong >= IN_SPIRITS * (product.mass - sugar)


def _keeps(part: Component) -> bool:
    return is_spirits(part) and not (part.cooked or part.heated)
