"""Walks and sheets kept from run to run under the hash of what goes into them."""

from __future__ import annotations

import json
from collections.abc import Callable, Hashable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, TypeVar

from generator.files.finding import Finding
from generator.files.kept import NOTHING, Kept, hash_of
from generator.intake.standards import Standards
from generator.resolve.joined import House, JoinedFormula
from generator.sheet.inputs import Inputs
from generator.sheet.packing import Names
from generator.sheet.sheet import Sheet
from generator.sheet.walked import Walk

_T = TypeVar("_T")


@dataclass(frozen=True)
class Keeping:
    """Where results are kept, and the hash each computed sheet is known by; ``base`` is that of
    what goes into every sheet.

    A sheet that was changed after it was computed, as one made a draft, has no hash: what is drawn
    of it isn't kept.
    """

    kept: Kept = NOTHING
    known: Mapping[str, tuple[Sheet, str]] = field(default_factory=dict, repr=False)
    base: str = ""

    def key_of(self, sheet: Sheet, *about: str) -> str:
        """The key of what is drawn of a sheet and of nothing else, ``about`` what; empty for a
        sheet that isn't the computed one."""
        computed, key = self.known.get(sheet.id, (None, ""))
        return hash_of(key, *about) if computed is sheet and key else ""

    def key_of_all(self, *about: str) -> str:
        """The key of what is drawn of the kitchen whole and of ``about``, but of no sheet; empty
        where nothing is kept."""
        return hash_of(self.base, *about) if self.base else ""

    def part(
        self,
        sheet: Sheet,
        about: str,
        make: Callable[[], _T],
        written: Callable[[_T], Any] = lambda made: made,
        read: Callable[[Any], _T] = lambda found: found,
    ) -> _T:
        """What a list of the kitchen takes from a sheet, and from what it is made of, alone. All
        parts of a sheet are in one file: ``written`` gives JSON of one, ``read`` takes it. Nobody
        may change what is given."""
        computed, key = self.known.get(sheet.id, (None, ""))
        if computed is not sheet or not key or not self.kept.keeps:
            return make()
        parts = self.parts
        return self.kept.remembered(
            f"{about} of {key}", lambda: parts.of(key, about, make, written, read)
        )

    @cached_property
    def parts(self) -> Parts:
        """The parts of all sheets."""
        return Parts(self.kept)

    def number(self, make: Callable[[], int], *about: str) -> int:
        """A whole number that hangs on ``about`` alone, made now or kept."""
        return self.made_of(about, make, lambda n: str(n).encode(), int)

    def made_of(
        self,
        about: tuple[str, ...],
        make: Callable[[], _T],
        written: Callable[[_T], bytes],
        read: Callable[[bytes], _T],
    ) -> _T:
        """What hangs on ``about`` alone, made now or kept."""
        return self.kept.of(hash_of(*about), make, written, read)

    def tabled(self, about: str, digest: str, make: Callable[[], _T]) -> _T:
        """What hangs on a text of this ``digest`` alone, as JSON has it: made now, remembered, or
        kept in the table of what it is ``about``. Nobody may change it."""

        def found() -> _T:
            if not self.kept.keeps:
                return make()
            kept: _T = self.kept.table(about).of(digest, make)
            return kept

        return self.kept.remembered((about, digest), found)

    def remembered(self, key: Hashable, make: Callable[[], _T]) -> _T:
        """What this process has under ``key``, or makes now (``Kept.remembered``)."""
        return self.kept.remembered(key, make)


class Parts:
    """What lists take from each sheet, by the sheet's key: read when one is first asked for,
    written at the end of the run if there is more."""

    def __init__(self, kept: Kept) -> None:
        self._kept = kept
        self._found: dict[str, dict[str, Any]] = {}
        self._more: set[str] = set()
        kept.at_last(self._write)

    def of(
        self,
        key: str,
        about: str,
        make: Callable[[], _T],
        written: Callable[[_T], Any],
        read: Callable[[Any], _T],
    ) -> _T:
        """The part of one list, made now or kept."""
        parts = self._found.get(key)
        if parts is None:
            parts = self._found[key] = self._kept.there(hash_of("parts", key), _parts_of) or {}
        if about in parts:
            with suppress(TypeError, ValueError, KeyError, IndexError):
                return read(parts[about])
        made = make()
        parts[about] = written(made)
        self._more.add(key)
        return made

    def _write(self) -> None:
        for key in sorted(self._more):
            data = json.dumps(self._found[key], separators=(",", ":")).encode()
            self._kept.put(hash_of("parts", key), data)
        self._more = set()


def _parts_of(data: bytes) -> dict[str, Any]:
    found = json.loads(data)
    if not isinstance(found, dict):
        raise ValueError("no parts of a sheet")
    return found


class Computing:
    """The walks and sheets of one reading."""

    def __init__(self, kept: Kept, house: House, standards: Standards, inputs: Inputs) -> None:
        self._kept, self._inputs = kept, inputs
        self._names = Names(
            house,
            {
                "station": standards.stations,
                "equipment": standards.equipment,
                "ingredient": standards.ingredients,
                "shared-process": standards.processes,
            },
        )
        self._keys: dict[str, str] = {}

    @property
    def keeps(self) -> bool:
        """Whether what is computed is kept for another run."""
        return self._kept.keeps

    def walk(
        self, formula: JoinedFormula, make: Callable[[], Walk | tuple[Finding, ...]]
    ) -> Walk | tuple[Finding, ...]:
        """The walk of a formula, or the findings that keep it from being computed."""
        return self._of("walk", formula, dict, make)

    def sheet(self, walk: Walk, shared: frozenset[str], make: Callable[[], Sheet]) -> Sheet:
        """The sheet of a walk; ``shared`` are the machines shared by raw and ready food."""

        def held() -> dict[str, object]:
            named: dict[str, object] = {"walk": walk}
            named |= {f"line-of-walk:{n}": line for n, line in enumerate(walk.lines)}
            named |= {f"step-of-walk:{n}": step for n, step in enumerate(walk.steps)}
            named |= {f"limit-of-walk:{n}": limit for n, limit in enumerate(walk.limits)}
            return named

        return self._of("sheet", walk.formula, held, make, *sorted(shared))

    def _of(
        self,
        what: str,
        formula: JoinedFormula,
        more: Callable[[], dict[str, object]],
        make: Callable[[], _T],
        *about: str,
    ) -> _T:
        inputs = self._inputs.of(formula.id)
        key = hash_of(what, inputs, *about) if inputs else ""
        self._keys[formula.id] = key
        names = self._names
        result: _T = self._kept.of(
            key,
            make,
            lambda made: names.packed(formula, more(), made),
            lambda data: names.unpacked(formula, more(), data),
        )
        return result

    def keeping(self, sheets: Mapping[str, Sheet]) -> Keeping:
        """What the sheets computed last are known by."""
        known = {i: (one, self._keys[i]) for i, one in sheets.items() if self._keys.get(i)}
        return Keeping(self._kept, known, self._inputs.base)
