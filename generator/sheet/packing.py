"""A walk or a sheet as bytes, and back: what every run reads anew (records, rows of law, the
house) is named, not written out.

The bytes come from a folder that only this user can write (``files.kept``). Even so nothing is
called that they ask for but classes of this program and a few of Python's own.
"""

from __future__ import annotations

import io
import pickle
from collections.abc import Callable, Iterator, Mapping
from fractions import Fraction
from functools import cached_property
from typing import Any

from generator.intake.restored import REFUSED, Unpickler
from generator.records.record import Record
from generator.resolve.joined import House, JoinedFormula


def _named(name: str) -> Any:
    """Stands for an object that is read anew; only its address is ever written."""
    raise LookupError(name)


class Names:
    """What is read anew in each run, by a name that is the same in every run with the same
    inputs."""

    def __init__(self, house: House, records: Mapping[str, Mapping[str, Record]]) -> None:
        self._house, self._records = house, records

    @cached_property
    def _shared(self) -> dict[str, Any]:
        """By their names; gathered where anything is kept at all."""
        found = dict(_of_the_house(self._house))
        for kind, held in self._records.items():
            found |= {f"{kind}:{ident}": one for ident, one in held.items()}
        return found

    @cached_property
    def _names(self) -> dict[int, str]:
        return {id(one): name for name, one in self._shared.items()}

    def packed(self, formula: JoinedFormula, more: Mapping[str, Any], value: Any) -> bytes | None:
        """``value`` of a formula as bytes; None for what can't be written so. ``more`` are other
        objects to name."""
        mine = {**dict(_of_a_formula(formula)), **more}
        known = self._names | {id(one): name for name, one in mine.items()}
        out = io.BytesIO()
        try:
            _Writer(out, known).dump(value)
        except REFUSED:
            return None
        return out.getvalue()

    def unpacked(self, formula: JoinedFormula, more: Mapping[str, Any], data: bytes) -> Any:
        """What :meth:`packed` wrote. Raises ValueError for bytes that aren't such."""
        mine = {**dict(_of_a_formula(formula)), **more}
        try:
            return _Reader(io.BytesIO(data), _Either(mine, self._shared)).load()
        except REFUSED as error:
            raise ValueError(str(error)) from None


class _Either(dict[str, Any]):
    """Names of a formula, then the shared ones."""

    def __init__(self, mine: Mapping[str, Any], shared: Mapping[str, Any]) -> None:
        super().__init__(mine)
        self._shared = shared

    def __missing__(self, name: str) -> Any:
        return self._shared[name]


class _Writer(pickle.Pickler):
    """Writes a name in place of what has one."""

    def __init__(self, out: io.BytesIO, known: Mapping[int, str]) -> None:
        super().__init__(out, pickle.HIGHEST_PROTOCOL)
        self._known = known

    def reducer_override(self, value: Any) -> Any:
        name = self._known.get(id(value))
        if name is not None:
            return _named, (name,)
        if type(value) is Fraction:
            return Fraction, (value.numerator, value.denominator)
        return NotImplemented


class _Reader(Unpickler):
    """Calls classes of this program, and looks names up; refuses all else."""

    def __init__(self, data: io.BytesIO, names: Mapping[str, Any]) -> None:
        super().__init__(data)
        self._look_up: Callable[[str], Any] = names.__getitem__

    def find_class(self, module: str, name: str) -> Any:
        if (module, name) == (__name__, _named.__name__):
            return self._look_up
        return super().find_class(module, name)


def _of_the_house(house: House) -> Iterator[tuple[str, Any]]:
    """The house, its kitchen, and what of the reference data a sheet holds."""
    library = house.library
    yield "house", house
    yield "kitchen", house.kitchen
    yield "units", house.units
    yield "library", library
    yield "allergens", house.allergens
    for kind in ("verbs", "hazards", "foodstuffs", "plants", "working_rules", "cautions", "media"):
        for ident, one in getattr(library, kind).items():
            yield f"{kind}:{ident}", one
    for name, pack in library.packs.items():
        yield f"pack:{name}", pack
        yield f"pack-facts:{name}", pack.facts
        for ident, row in pack.rows.items():
            yield f"row:{name}:{ident}", row


def _of_a_formula(formula: JoinedFormula) -> Iterator[tuple[str, Any]]:
    """What a joined formula holds: its record, its lines and its steps."""
    yield "formula", formula
    yield "record", formula.formula
    yield "process", formula.process
    for number, line in enumerate(formula.lines):
        yield f"line:{number}", line
        yield f"typed:{number}", line.line
    for number, step in enumerate(formula.steps):
        yield f"step:{number}", step
        yield f"own:{number}", step.step
