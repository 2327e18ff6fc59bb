"""Cautions that `check` asks about, too: what is in the food should not be in it at all."""

from __future__ import annotations

from collections.abc import Iterator

from generator.files.finding import Finding
from generator.reference.cautions import Caution
from generator.sheet.walk import Walk


def asked_about(walk: Walk, ident: str, caution: Caution) -> Iterator[Finding]:
    """The warning of a caution that says so (``asked``), at the formula's name, until the food or
    the formula is changed, or the caution switched off with a reason."""
    if not caution.asked:
        return
    formula = walk.formula.formula
    yield Finding(
        "caution-asked",
        "warning",
        f"{formula.name}: {caution.words}",
        formula.key_place("name"),
        f"Is it not so here? Switch the caution off with a reason: `cautions_off: {{{ident}: …}}`.",
        about=frozenset({walk.formula.id}),
    )
