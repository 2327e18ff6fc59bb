"""What was read of a file, as bytes and back: its tree, and the records made of it.

The bytes come from a folder that only this user can write (``files.kept``). Even so nothing is
called that they ask for but classes of this program and a few of Python's own.
"""

from __future__ import annotations

import datetime
import io
import pickle
from collections.abc import Iterable, Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

from generator.files.kept import Kept, hash_of, program_hash
from generator.files.source_text import Document, Mapping
from generator.records.record import Record

REFUSED = (
    pickle.PickleError,
    AttributeError,
    EOFError,
    ImportError,
    IndexError,
    KeyError,
    MemoryError,
    TypeError,
    RecursionError,
    UnicodeDecodeError,
)
"""What bytes that aren't as they were written may raise."""
_PLACE = type(Path())
_PYTHONS: dict[tuple[str, str], Any] = {
    ("fractions", "Fraction"): Fraction,
    ("datetime", "date"): datetime.date,
    ("datetime", "time"): datetime.time,
    ("datetime", "timedelta"): datetime.timedelta,
    (_PLACE.__module__, _PLACE.__name__): _PLACE,
}
_PROGRAM = "generator."
_KNOWN: dict[tuple[str, str], type] = {}
"""The classes of this program that were asked for: every sheet asks for the same hundred."""


class Unpickler(pickle.Unpickler):
    """Calls classes of this program and a few of Python's own; refuses all else."""

    def find_class(self, module: str, name: str) -> Any:
        found = _PYTHONS.get((module, name)) or _KNOWN.get((module, name))
        if found is None and module.startswith(_PROGRAM):
            asked = super().find_class(module, name)
            if isinstance(asked, type) and asked.__module__ == module:
                found = _KNOWN[module, name] = asked
        if found is None:
            raise pickle.UnpicklingError(f"{module}.{name} is not kept")
        return found


def pickled(value: Any) -> bytes | None:
    """A value as bytes; None for one that can't be written so."""
    try:
        return pickle.dumps(value, pickle.HIGHEST_PROTOCOL)
    except REFUSED:
        return None


def unpickled(data: bytes) -> Any:
    """What some bytes hold. Raises ValueError for bytes that aren't such."""
    try:
        return Unpickler(io.BytesIO(data)).load()
    except REFUSED as error:
        raise ValueError(str(error)) from None


class Restored:
    """What is kept of the files of one reading: by the bytes of each its tree, and by what a record
    hangs on beside its tree (``about``) the records."""

    def __init__(self, kept: Kept) -> None:
        self._kept = kept
        self.keeps = kept.folder is not None
        """Whether anything is kept of what is read."""
        self._found: dict[tuple[int, str], tuple[Mapping, Record]] = {}
        self._read: dict[str, Document] = {}
        self._new: set[str] = set()
        self._more: list[tuple[Mapping, str, Record]] = []

    def document(self, file: str, digest: str) -> Document | None:
        """A file's tree, if these bytes of it were read before."""
        if not self.keeps:
            return None
        found = self._kept.there(_key(file, digest), unpickled)
        if found is None:
            self._new.add(file)
            return None
        document, records = found
        self._found |= {(id(tree), about): (tree, one) for tree, about, one in records}
        return document if isinstance(document, Document) else None

    def record(self, tree: Any, about: str) -> Record | None:
        """The record of a tree, if it was made before."""
        found = self._found.get((id(tree), about))
        return found[1] if found is not None else None

    def made(self, tree: Any, about: str, record: Record) -> None:
        """A record was made of a tree."""
        if self.keeps and isinstance(tree, Mapping):
            self._more.append((tree, about, record))

    def read(self, document: Document) -> None:
        """A file was read, and is to be kept with what is made of it."""
        if self.keeps and document.digest and not document.findings:
            self._read[document.file] = document

    def keep(self) -> None:
        """All is read: keep what wasn't kept yet."""
        owner = {id(tree): file for file, one in self._read.items() for tree in _trees(one)}
        more: dict[str, list[tuple[Mapping, str, Record]]] = {}
        for one in self._more:
            if id(one[0]) in owner:
                more.setdefault(owner[id(one[0])], []).append(one)
        for file, document in self._read.items():
            if file not in more and file not in self._new:
                continue
            records = more.get(file, [])
            mine = {id(tree) for tree in _trees(document)}
            known = [(t, a, r) for (i, a), (t, r) in self._found.items() if i in mine]
            data = pickled((document, [*known, *records]))
            if data is not None:
                self._kept.put(_key(file, document.digest), data)


def _trees(document: Document) -> Iterator[Mapping]:
    """The trees of a file a record may be made of: its own, and those under its keys."""
    if isinstance(document.tree, Mapping):
        yield document.tree
        inner: Iterable[Any] = document.tree.values()
        yield from (one for one in inner if isinstance(one, Mapping))


def _key(file: str, digest: str) -> str:
    return hash_of("read", program_hash(), file, digest)
