"""How much of a food is usually taken, by named sources: an amount far above it is asked about.

No limits: a tenth of such an amount is offered first, for a lost decimal mark or a slip of the hand
is the likely reason.
"""

from __future__ import annotations

import functools
from fractions import Fraction

from generator.records.ingredient import Ingredient
from generator.reference.rows import UsualAmount
from generator.resolve.joined import House, JoinedLine
from generator.rules.basics.context import EndContext
from generator.rules.basics.product import words_of
from generator.rules.basics.said import any_of

ASKED_FROM = 2
"""How many times as much as is usual at most is asked about."""


def usual_of(context: EndContext, line: JoinedLine) -> UsualAmount | None:
    """What is usual of the food of a line, by its name; None where nothing is known of it."""
    facts, house = line.ingredient, context.house
    if facts is None:
        return None
    return house.once(f"usual {line.item}", facts, lambda: _usual_of(house, line.item, facts))


def _usual_of(house: House, item: str, facts: Ingredient) -> UsualAmount | None:
    names = (facts.name, *words_of(item), *facts.other_names)
    text = " / ".join(names).casefold()
    known = house.library.usual_amounts.values()
    return next((u for u in known if _has(text, u.known_by) and not _has(text, u.unless)), None)


@functools.lru_cache(4096)
def _has(text: str, words: tuple[str, ...]) -> bool:
    return bool(words) and any_of(words).search(text) is not None


def share_of_usual(context: EndContext, line: JoinedLine, usual: UsualAmount) -> Fraction | None:
    """How many percent a line is of what its usual amount is a share of; None where there is none
    of that."""
    parts = context.product.components
    whole = sum((c.grams for c in parts if usual.of == "all" or c.flour), Fraction(0))
    mine = sum((c.grams for c in parts if (c.part, c.item) == (line.part, line.item)), Fraction(0))
    return mine / whole * 100 if whole else None


def far_above(percent: Fraction, usual: UsualAmount) -> bool:
    """Whether an amount is so far above the usual that it is asked about."""
    return percent > usual.most * ASKED_FROM
