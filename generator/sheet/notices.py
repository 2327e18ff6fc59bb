"""A caution as it is on a page, and all of those of a formula."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from generator.reference.cautions import Severity

_CLAUSE = re.compile(r"[.;!?](?=\s|$)")


@dataclass(frozen=True)
class Notice:
    """A caution as it is on a page: rank, words, where it comes from.

    ``whole`` is False where it was whole before: then the signal word and ``short`` are enough.
    """

    id: str
    severity: Severity
    name: str
    words: str
    source: str
    whole: bool = True

    @property
    def short(self) -> str:
        """Its first clause, as a sentence."""
        return _CLAUSE.split(self.words, maxsplit=1)[0].rstrip() + "."

    @property
    def rest(self) -> str:
        """What comes after its first clause; empty where that is all."""
        return self.words[len(self.short) :].strip()

    @property
    def again(self) -> Notice:
        """It where it was whole before."""
        if not self.whole:
            return self
        return Notice(self.id, self.severity, self.name, self.words, self.source, False)

    @property
    def open(self) -> bool:
        """Whether nothing of it may be folded away: a WARNING or a DANGER."""
        return self.severity in ("warning", "danger")


@dataclass(frozen=True)
class Notices:
    """The notices of one formula: by step number, for the page, for before anything is weighed, and
    those switched off with why. At a step a notice is whole where it comes the first time."""

    by_step: Mapping[int, tuple[Notice, ...]]
    page: tuple[Notice, ...]
    off: tuple[tuple[str, str], ...]
    before: tuple[Notice, ...] = ()

    @property
    def all(self) -> tuple[Notice, ...]:
        """Every notice as often as it is: of the page, before the work, then by step."""
        of_steps = (n for number in sorted(self.by_step) for n in self.by_step[number])
        return (*self.page, *self.before, *of_steps)
