"""Findings about names: what is unknown, and which known name is near it."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import replace
from typing import TypeVar

from generator.finding import Finding, Place
from generator.intake.faults import spliced
from generator.intake.standards import Standards
from generator.records.equipment import Equipment
from generator.reference.library import Library

_E = TypeVar("_E", bound=Equipment)


class Names:
    """The records to join, and the findings gathered while joining."""

    def __init__(self, standards: Standards, library: Library) -> None:
        self.standards = standards
        self.library = library
        self.findings: list[Finding] = []
        self.used: set[str] = set()

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
        self, code: str, what: str, name: str, place: Place, known: Iterable[str], about: str
    ) -> None:
        """An id that names nothing. Silent while its record is only unreadable."""
        prefix = {"station": "station:", "process": "process:", "machine": "equipment:"}.get(
            what, ""
        )
        if prefix + name in self.standards.broken or name in self.standards.broken:
            return
        if self.standards.partial and what != "process" and what != "station":
            return
        near = difflib.get_close_matches(name.lower(), sorted(known), n=1, cutoff=0.55)
        hint = (
            f"Did you mean `{near[0]}`?"
            if near
            else "Known: " + ", ".join(sorted(known)[:12]) + "."
        )
        start = place.column - 1
        exact = place.text[start : start + len(name)] == name
        spot = replace(place, length=len(name))
        mended = [spliced(spot, near[0])] if near and exact else []
        self.error(code, place, f"There is no {what} called `{name}`.", hint, about, mended)

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
