"""Walks and sheets kept from run to run under the hash of what goes into them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TypeVar

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

    def is_so(self, sheet: Sheet, about: str, make: Callable[[], bool]) -> bool:
        """Whether something is so of a sheet, by itself and what it is made of alone."""
        key = self.key_of(sheet, about)
        return bool(self.number(make, key)) if key else make()

    def number(self, make: Callable[[], int], *about: str) -> int:
        """A whole number that hangs on ``about`` alone, made now or kept."""
        return self.kept.of(hash_of(*about), make, lambda n: str(n).encode(), int)


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

    def walk(
        self, formula: JoinedFormula, make: Callable[[], Walk | tuple[Finding, ...]]
    ) -> Walk | tuple[Finding, ...]:
        """The walk of a formula, or the findings that keep it from being computed."""
        return self._of("walk", formula, {}, make)

    def sheet(self, walk: Walk, shared: frozenset[str], make: Callable[[], Sheet]) -> Sheet:
        """The sheet of a walk; ``shared`` are the machines shared by raw and ready food."""
        held: dict[str, object] = {"walk": walk}
        held |= {f"line-of-walk:{n}": line for n, line in enumerate(walk.lines)}
        held |= {f"step-of-walk:{n}": step for n, step in enumerate(walk.steps)}
        held |= {f"limit-of-walk:{n}": limit for n, limit in enumerate(walk.limits)}
        return self._of("sheet", walk.formula, held, make, *sorted(shared))

    def _of(
        self,
        what: str,
        formula: JoinedFormula,
        more: dict[str, object],
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
            lambda made: names.packed(formula, more, made),
            lambda data: names.unpacked(formula, more, data),
        )
        return result

    def keeping(self, sheets: Mapping[str, Sheet]) -> Keeping:
        """What the sheets computed last are known by."""
        known = {i: (one, self._keys[i]) for i, one in sheets.items() if self._keys.get(i)}
        return Keeping(self._kept, known, self._inputs.base)
