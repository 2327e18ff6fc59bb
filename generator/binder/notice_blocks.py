"""Cautions on paper: a whole one as its box, one that was whole before as a line."""

from __future__ import annotations

from collections.abc import Iterable

from generator.binder.sheets import Record
from generator.sheet.cautioning import Notice


def notice_block(notice: Notice, keep: bool = False, phase: int = 0) -> Record:
    """A caution: its signal word and its words; ``keep`` holds it before the step it is about."""
    return {
        "form": "notice",
        "severity": notice.severity,
        "words": notice.words,
        "keep": keep,
        "phase": phase,
    }


def again_words(notices: Iterable[Notice]) -> str:
    """Cautions that are whole elsewhere, in front of what to do: signal word and first clause; one
    whole before the work starts by its name."""
    return " ".join(
        f"{n.severity.upper()}: {n.name.rstrip('.') + '.' if n.whole else n.short}" for n in notices
    )
