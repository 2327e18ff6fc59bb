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
    whole before the work starts by its name. The signal word is said once for several."""
    said: dict[str, list[str]] = {}
    for notice in notices:
        words = f"{notice.name.rstrip('.')}." if notice.whole else notice.short
        said.setdefault(notice.severity, []).append(words)
    return " ".join(f"{severity.upper()}: {' '.join(words)}" for severity, words in said.items())
