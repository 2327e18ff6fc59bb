"""A rule of law that sets no figure, as the limit of a step: its words are where the figure
would."""

from __future__ import annotations

from generator.measures.basis import Basis
from generator.reference.row_kinds import BoundedRow, WordsRow
from generator.rules.basics.context import StepContext
from generator.rules.basics.limit import Bound, InWords


def in_words(
    context: StepContext,
    row: BoundedRow | WordsRow,
    ident: str,
    because: tuple[str, ...] = (),
    bound: Bound = "max",
    inputs: tuple[tuple[str, str], ...] = (),
    if_missed: str = "",
    target: str = "",
) -> InWords:
    """The limit of a row that has words and no figure. ``ident`` ends its id, ``inputs`` are
    reasons beside what is in it, ``if_missed`` what to do where the step itself says nothing of
    that."""
    step, source = context.step, context.source(row)
    basis = Basis((("In it", row.food), *inputs), row.words, source.words)
    return InWords(
        **context.names(ident),
        hazard=row.hazard,
        bound=bound,
        source=source,
        target=target,
        because=because,
        group=row.food,
        basis=basis,
        words=row.words,
        note=row.note,
        if_missed=step.step.if_missed or if_missed,
    )
