"""The largest batch of what is made for one guest's order: a portion, or a fill where no portion is
said.

Its limits hold for one guest's order alone (Food Code 3-401.11(A)(1)(a), 3-403.10). `rules` says so
of the sizes under `batches`; here it is said of any other size that is asked for.
"""

from __future__ import annotations

from fractions import Fraction

from generator.files.finding import Refused
from generator.measures.words import with_verb
from generator.rules.heat.to_order import holds
from generator.sheet.outputs import factor_of
from generator.sheet.walked import Walk

MADE_AHEAD = (
    "It is made for one guest's order. For more, make it once for each guest, or write a formula "
    "that is made ahead."
)
"""What is said of a larger batch; the script of the page says the same."""


def largest_to_order(walk: Walk) -> Fraction | None:
    """The factor of one guest's order; None of a formula that isn't made to order, or that has an
    error about that already."""
    formula = walk.formula
    if not formula.formula.to_order or not holds(formula):
        return None
    for kind in ("portions", "fills"):
        try:
            return factor_of(walk, kind, Fraction(1))
        except Refused:  # it makes none of these
            continue
    return None


def of_one_order(walk: Walk, factor: Fraction) -> None:
    """Raises Refused for a batch, by its ``factor``, that is more than one guest's order."""
    most = largest_to_order(walk)
    if most is not None and factor > most:
        raise Refused("not-to-order", more_than_one(walk), MADE_AHEAD)


def more_than_one(walk: Walk) -> str:
    """The words of the refusal."""
    name = with_verb(walk.formula.formula.name, "is not")
    return f"{name} made to order in a batch of more than one portion."
