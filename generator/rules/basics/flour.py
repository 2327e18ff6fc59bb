"""Raw flour: what it is called, and how much of a food it is. One list and one sum, for dough,
batter, what is dusted, and what drinks water.

Which names mean it is a working rule of this manual. Starch is flour in a dough, and for what water
makes of it; nobody advises against eating it raw, as the FDA does of milled grain.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Iterable
from fractions import Fraction

from generator.measures.rounding import total
from generator.rules.basics.product import RAW_STATES, Component

_FLOUR = re.compile(
    r"\b(?:flour|cornflour|semolina|farina|farine|mehl|harina|tempura|batter mix|breading mix)\b",
    re.IGNORECASE,
)
_STARCH = re.compile(r"\bstarch\b", re.IGNORECASE)
_HEATED = re.compile(
    r"\b(?:heat[ -]treated|toasted|roasted|cooked|pre-?gelatini[sz]ed|malt(?:ed)?|tortillas?|wraps?"
    r"|noodles?|crackers?)\b",
    re.IGNORECASE,
)
_NUTS = frozenset({"tree nuts", "nuts", "peanuts"})
DOUGH = Fraction(1, 4)
"""The share of raw flour from which food is dough or batter, and not dusted: pancake batter has a
fourth and more. A working rule of ours."""


def is_raw_flour(part: Component) -> bool:
    """Whether a part is raw flour of grain, by its record or its name; nothing that was heated in a
    formula made ahead."""
    if part.cooked or part.heated or _says_heated(part.name):
        return False
    if part.flour:
        return True
    raw = part.species in (None, "none") and part.state in RAW_STATES
    nuts = any(a.word in _NUTS for a in part.allergens)
    named = _says_flour(part.name) and not nuts
    return raw and named and not (part.through and _counts_as_flour(part))


def _counts_as_flour(part: Component) -> bool:
    """Whether its record says that it is flour: then ``flour`` is no longer so because a step of a
    formula made ahead heated it."""
    return part.facts is not None and bool(part.facts.flour)


def called_flour(name: str) -> bool:
    """Whether a name means flour or starch, raw or not: it takes up water as dough does."""
    return _says_flour(name) or _says_starch(name)


# Each step asks of the same names again.
@functools.lru_cache(4096)
def _says_flour(name: str) -> bool:
    return _FLOUR.search(name) is not None


@functools.lru_cache(4096)
def _says_starch(name: str) -> bool:
    return _STARCH.search(name) is not None


@functools.lru_cache(4096)
def _says_heated(name: str) -> bool:
    return _HEATED.search(name) is not None


def flour_in(parts: Iterable[Component]) -> Fraction:
    """The grams of raw flour and of starch in some parts, as they were weighed in."""
    return total(c.grams for c in parts if _raw_starch(c) or is_raw_flour(c))


def _raw_starch(part: Component) -> bool:
    return _says_starch(part.name) and not (part.cooked or part.heated or _says_heated(part.name))


def mostly_flour(parts: Iterable[Component]) -> bool:
    """Whether some parts are dough or batter: a fourth of them and more is raw flour or starch."""
    all_parts = tuple(parts)
    flour = flour_in(all_parts)
    return flour > 0 and flour >= DOUGH * total(c.grams for c in all_parts)
