"""What a formula or a sheet of paper says, name by name, and what of it differs: the one engine
behind ``changes`` and change sheets.

Whoever lays out what is compared names each thing as people know it, with its words as they are
shown; two differ where such a fact does.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from generator.measures.words import breakable

Group = Literal[
    "control",
    "formula",
    "limits",
    "steps",
    "dates",
    "batch",
    "allergens",
    "vessel",
    "equipment",
    "composition",
    "paper",
]
"""What a fact is about; "paper" is whatever else is on a printed sheet."""
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

    def put(self, group: Group, name: str, words: str, size: str = "") -> tuple[Group, str, str]:
        """Note that ``name`` reads ``words``, and what it is noted under; a thin space parts
        thousands: it stays."""
        key, count = (group, size, name), 2
        while key in self:  # the same name twice: an ingredient in two parts
            key, count = (group, size, f"{name}, {count}"), count + 1
        self[key] = breakable(words)
        return key


def fact_changes(old: Facts, new: Facts) -> tuple[Change, ...]:
    """The facts that differ, in the order of the new ones, those that are gone last."""
    found = [
        Change(*key, old.get(key, ""), words) for key, words in new.items() if old.get(key) != words
    ]
    found += [Change(*key, words, "") for key, words in old.items() if key not in new]
    return tuple(found)


def narrowed(old: str, new: str) -> tuple[str, str]:
    """The words of two texts that differ, with the unit behind a figure: "9.58 kg", "9.57 kg"."""
    before, after = old.split(" "), new.split(" ")
    start = 0
    while start < min(len(before), len(after)) and before[start] == after[start]:
        start += 1
    end = 0
    least = min(len(before), len(after)) - start
    while end < least and before[-1 - end] == after[-1 - end]:
        end += 1
    if end and any(words[-1 - end][-1:].isdigit() for words in (before, after) if len(words) > end):
        end -= 1

    def part(words: list[str]) -> str:
        return " ".join(words[start : len(words) - end]).rstrip(".,;·")

    return part(before), part(after)


_SHORT = 14
"""Words no longer than this are as they are."""


def pair_of(change: Change) -> tuple[str, str]:
    """Old and new of a change; of long words only those that differ."""
    old, new = change.old, change.new
    if old and new and max(len(old), len(new)) > _SHORT:
        old, new = narrowed(old, new)
    return old or ABSENT, new or ABSENT
