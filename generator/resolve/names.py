"""Findings about names: what is unknown, and which known name is near it."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import replace
from functools import cached_property
from typing import TypeVar

from generator.files.finding import Finding, Place, clipped
from generator.intake.standards import Standards
from generator.records.equipment import Equipment
from generator.reference.library import Library

MOST_REPORTED = 40
_SURE = 0.75
"""How alike two spellings are before one is written for the other: a wrong food would be copied."""
_PREFIX = {
    "station": "station:",
    "process": "process:",
    "machine": "equipment:",
    "vessel": "equipment:",
    "thermometer": "equipment:",
    "refrigerator, chiller or freezer": "equipment:",
}
_E = TypeVar("_E", bound=Equipment)


def _with_article(noun: str) -> str:
    return f"{'an' if noun[0] in 'aeiou' else 'a'} {noun}"


def _sharing_a_word(name: str, known: list[str]) -> list[str]:
    """The known ids with a word spelled nearly like one of the name's, at most six: those that
    begin as it does before the others."""
    words = name.lower()[:60].split("-")

    def shared(ident: str) -> set[str]:
        near = (difflib.get_close_matches(w, words, n=1, cutoff=0.8) for w in ident.split("-"))
        return {one for found in near for one in found}

    alike = [(ident, found) for ident in known if (found := shared(ident))]
    alike.sort(key=lambda one: (words[0] not in one[1], -len(one[1])))
    return [ident for ident, _ in alike][:6]


def _known_or_alike(name: str, known: list[str]) -> str:
    """The known ids; where they are many, those like the name alone."""
    if not known:
        return "None is entered yet."
    if len(known) <= MOST_REPORTED:
        return f"Known: {', '.join(known)}."
    alike = _sharing_a_word(name, known)
    like = f"Like it: {', '.join(alike)}" if alike else "None is like it"
    return f"{like}. {len(known)} are known."


def _begun(name: str, known: list[str]) -> list[str]:
    """The one known name that begins as this one does, as soybeans does for soy."""
    begun = [one for one in known if one.startswith(name.lower())] if len(name) > 2 else []
    return begun if len(begun) == 1 else []


def _misspelt(name: str, known: list[str], cutoff: float) -> list[str]:
    """The known name that this one most likely misspells, if any."""
    close = difflib.get_close_matches(name.lower()[:60], known, n=1, cutoff=cutoff)
    return [one for one in close if _same_words(name, one)]


def _same_words(name: str, known: str) -> bool:
    """Whether one may be a misspelling of the other word by word: `egg-white` is none of
    `rice-white`."""
    ours, theirs = name.lower()[:60].split("-"), known.split("-")
    if len(ours) != len(theirs):
        return True
    pairs = zip(ours, theirs, strict=True)
    return all(difflib.SequenceMatcher(None, a, b).ratio() >= _ALIKE for a, b in pairs)


_ALIKE = 0.5
"""From how near two words may be the same one misspelt."""


class Names:
    """The records to join, and the findings gathered while joining."""

    def __init__(self, standards: Standards, library: Library) -> None:
        self.standards = standards
        self.library = library
        self.findings: list[Finding] = []
        self.used: set[str] = set()

    @cached_property
    def by_volume(self) -> frozenset[str]:
        """What any formula takes by volume."""
        return frozenset(
            item
            for formula in self.standards.formulas.values()
            for items in formula.parts.values()
            for item, line in items.items()
            if line.amount.kind == "volume"
        )

    def error(
        self,
        code: str,
        place: Place,
        message: str,
        help: str,
        about: str,
        write: Iterable[str] = (),
    ) -> None:
        self.findings.append(
            Finding(code, "error", message, place, help, tuple(write), about=frozenset({about}))
        )

    def unknown(
        self,
        code: str,
        what: str,
        name: str,
        place: Place,
        known: Iterable[str],
        about: str,
        cutoff: float = 0.55,
    ) -> None:
        """An id that names nothing. Silent while its record is only unreadable."""
        if f"{_PREFIX.get(what, '')}{name}" in self.standards.broken:
            return
        if self.standards.partial and what != "process" and what != "station":
            return
        names = sorted(known)
        called = self._called(name, names)
        near = called or _begun(name, names) or _misspelt(name, names, cutoff)
        hint = f"Did you mean `{near[0]}`?" if near else _known_or_alike(name, names)
        start = place.column - 1
        exact = place.text[start : start + len(name)] == name
        sure = called or difflib.get_close_matches(name.lower()[:60], near, n=1, cutoff=_SURE)
        spot = replace(place, length=len(name))
        fixed = [spot.fixed(near[0])] if sure and exact else []
        self.error(code, place, self._none_called(what, name), hint, about, fixed)

    def _none_called(self, what: str, name: str) -> str:
        """That there is none of that name; or what kind of equipment bears it."""
        other = self.standards.equipment.get(name) if _PREFIX.get(what) == "equipment:" else None
        if other is not None:
            return f"`{name}` is {_with_article(other.kind)}. Here you need {_with_article(what)}."
        return f"There is no {what} called `{clipped(name)}`."

    def _called(self, name: str, known: list[str]) -> list[str]:
        """The known id whose record bears this very name: a name is matched before spellings are;
        then the one with the same words in another order."""
        held = self.standards
        for records in (
            held.equipment,
            held.ingredients,
            held.formulas,
            held.stations,
            held.processes,
        ):
            for ident in known:
                if ident in records and records[ident].name.casefold() == name.casefold():
                    return [ident]
        words = sorted(name.casefold().split("-"))
        return [i for i in known if len(words) > 1 and sorted(i.split("-")) == words][:1]

    def equipment(
        self, name: str | None, place: Place, kind: type[_E], what: str, about: str
    ) -> _E | None:
        """A piece of equipment of a kind by its id; a finding if there is none."""
        if name is None:
            return None
        found = self.standards.equipment.get(name)
        if isinstance(found, kind):
            return found
        known = [i for i, e in self.standards.equipment.items() if isinstance(e, kind)]
        self.unknown("equipment-unknown", what, name, place, known, about)
        return None
