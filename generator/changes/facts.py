"""What a formula or a sheet of paper says, name by name, and what of it differs: the one engine
behind ``changes`` and change sheets.

Whoever lays out what is compared names each thing as people know it, with its words as they are
shown; two differ where such a fact does.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from generator.measures.words import NARROW

Group = Literal["control", "formula", "limits", "steps", "dates", "batch", "paper"]
"""What a fact is about; "paper" is whatever is on a printed sheet."""
Facts = dict[tuple[Group, str, str], str]
"""Words by (group, batch size or "", name)."""
ABSENT = "none"


@dataclass(frozen=True)
class Change:
    """One fact that differs. ``size`` is the batch size it is of, or empty; ``old`` or ``new`` is
    empty where there was or is no such fact."""

    group: Group
    size: str
    name: str
    old: str
    new: str


class NamedFacts(Facts):
    """Facts by group, size and name; a name that comes twice is counted."""

    def put(self, group: Group, name: str, words: str, size: str = "") -> None:
        """Note that ``name`` reads ``words``; a thin space parts thousands: it stays."""
        key, count = (group, size, name), 2
        while key in self:  # the same name twice: an ingredient in two parts
            key, count = (group, size, f"{name}, {count}"), count + 1
        self[key] = words.replace(NARROW, " ")


def fact_changes(old: Facts, new: Facts) -> tuple[Change, ...]:
    """The facts that differ, in the order of the new ones, those that are gone last."""
    found = [
        Change(*key, old.get(key, ""), words) for key, words in new.items() if old.get(key) != words
    ]
    found += [Change(*key, words, "") for key, words in old.items() if key not in new]
    return tuple(found)
