"""Food that is said to be eaten frozen: it is frozen at its end, and kept so alone."""

from __future__ import annotations

from collections.abc import Iterator

from generator.files.finding import Finding
from generator.measures.words import listed, with_verb
from generator.rules.basics.context import EndContext, EndOutcome


def eaten_frozen(context: EndContext) -> EndOutcome:
    """The error of a formula that is said to be eaten frozen, and isn't frozen, or is kept
    otherwise too. No limit is laxer by it: the label alone follows."""
    formula = context.formula.formula
    wrong = list(_wrong(context)) if formula.eaten_frozen else []
    if not wrong:
        return EndOutcome()
    found = Finding(
        "eaten-frozen-misfit",
        "error",
        f"{with_verb(formula.name, 'says')} `eaten_frozen: yes`, but {listed(wrong, 'and')}.",
        formula.place("eaten_frozen"),
        "Freeze it, store it in a freezer to the end, and write `keeps: {frozen: …}` alone. If "
        "not, delete `eaten_frozen`.",
        about=frozenset({context.formula.id}),
    )
    return EndOutcome((), (found,))


def _wrong(context: EndContext) -> Iterator[str]:
    keeps = context.formula.formula.keeps
    if not context.product.frozen:
        yield "at its end it isn't frozen"
    if keeps is None or keeps.frozen is None:
        yield "`keeps` doesn't say how long it keeps frozen"
    if keeps is not None and (keeps.cold is not None or keeps.dry is not None):
        yield "`keeps` says that it is kept unfrozen too"
