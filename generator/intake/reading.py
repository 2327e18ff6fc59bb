"""Reading files of records: one record a file, or many under their ids; faults gathered."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

from pydantic import ValidationError

from generator.files.finding import Finding, Place, clipped
from generator.files.kept import NOTHING, Kept, hash_of
from generator.files.progress import counted_off
from generator.files.source_text import Document, Mapping, Text, copied, place_of, read_file
from generator.intake.entries import Entry, entries_of, entry_of, folder_unreadable
from generator.intake.faults import findings_of, salvage
from generator.intake.restored import Restored
from generator.intake.told import Told
from generator.measures.marks import decimal_mark
from generator.measures.units import Units
from generator.records.fields import ID_PATTERN, MOST_ID, as_id
from generator.records.record import Record

EVERYTHING = "*"
"""What a finding is about when it stops the whole manual."""

_R = TypeVar("_R", bound=Record)


def top_of(tree: Any, file: str) -> Place:
    """Where a file's one record starts: its first line."""
    return Place(file, 1, 1, place_of(tree, Place(file)).text)


def _no_id(ident: str, start: Place, about: str) -> Finding:
    """A record under a key that is no id, with the id nearest to what was typed."""
    message = f"`{clipped(ident)}` is not an id: small letters, digits, single hyphens."
    if len(ident) > MOST_ID:
        message = f"`{clipped(ident)}` is over {MOST_ID} letters long. An id must be shorter."
    fixed = as_id(ident)
    fits = ID_PATTERN.fullmatch(fixed) and len(fixed) <= MOST_ID
    write = (start.fixed(fixed),) if fits and start.length == len(ident) else ()
    help = "The name people read is under `name`."
    meant = about.removesuffix(ident) + fixed  # what names it rightly waits for it too
    return Finding("id-form", "error", message, start, help, write, about=frozenset({about, meant}))


def validated(model: type[_R], tree: Any, units: Units | None) -> _R:
    """The record of a tree. Raises ValidationError with all that is wrong with it."""
    return model.model_validate(tree, context={"units": units})


def _filled_in(tree: Mapping, given: Mapping) -> Mapping:
    """A tree with what it doesn't say filled in as ``given``; the tree itself is as it was."""
    filled: Mapping = copied(tree)
    filled.update(given)
    filled.keys_at.update(given.keys_at)
    return filled


class Reader:
    """Gathers records and findings over all files."""

    def __init__(self, root: Path, top: str, kept: Kept = NOTHING) -> None:
        self.root, self.kept = root, kept
        self.real_root = root.resolve()
        self.top = top
        self.findings: list[Finding] = []
        self.broken: set[str] = set()
        self.names: dict[str, str] = {}
        self.stations: dict[str, str] = {}
        self.foodstuffs: dict[str, str] = {}
        self.salvaged: dict[str, Record] = {}
        self.lost: dict[str, Any] = {}
        self.approvals: dict[type[Record], Mapping] = {}
        self.digests: dict[str, str] = {}
        self.files = 0
        self.partial = False
        self.units: Units | None = None
        self.restored = Restored(kept)
        self._filled: dict[int, tuple[Any, Any, str]] = {}
        self._measures: tuple[Units | None, str] = (None, "")
        self.told: Told | None = None
        self._listed: dict[str, list[Path]] = {}
        self._entries: dict[Path, Entry] = {}

    def document(self, path: Path) -> Document:
        """A file's tree. What isn't a plain file of the project is a finding, and isn't opened."""
        self.files += 1
        file = self.name_of(path)
        entry = self._entries.get(path) or entry_of(path, self.real_root)
        if entry.kind != "file":
            return Document(file, None, (entry.finding(file),))
        document = read_file(path, file, self.kept, self.restored.document)
        self.restored.read(document)
        self.digests[file] = document.digest
        return document

    def name_of(self, path: Path) -> str:
        """How findings name a path of the project."""
        return path.relative_to(self.root).as_posix()

    def folder(self, name: str) -> list[Path]:
        """Everything in a folder that is named like a file of standards, sound or not."""
        if name not in self._listed:
            self._listed[name] = list(self._list(name))
        return self._listed[name]

    def only(self, name: str, paths: list[Path]) -> None:
        """Read these files of a folder alone."""
        self._listed[name] = paths

    def _list(self, name: str) -> Iterator[Path]:
        folder = self.root / self.top / name
        if not os.path.lexists(folder):
            return
        entry = entry_of(folder, self.real_root)
        if entry.kind != "folder":
            self.lose(entry.finding(self.name_of(folder), as_file=False))
            return
        try:
            entries = entries_of(folder, self.real_root)
        except OSError as error:
            self.lose(folder_unreadable(error, self.name_of(folder)))
            return
        self._entries.update((e.path, e) for e in entries)
        for path in (e.path for e in entries):
            ending = path.suffix or path.name
            if ending != ".yaml" and ending.lower() in (".yml", ".yaml"):
                self.note_file(path, "file-ending", "Standards end in .yaml.", "Rename the file.")
            elif path.name == ".yaml":
                self.note_file(
                    path, "id-form", "There is no id before .yaml.", "Name the file by its id."
                )
            elif ending == ".yaml":
                yield path

    def lose(self, finding: Finding) -> None:
        """Take a finding about what can't be read at all: any id may be in there."""
        self.partial = True
        self.findings.append(replace(finding, about=frozenset({EVERYTHING})))

    def note_file(self, path: Path, code: str, message: str, help: str) -> None:
        place = Place(self.name_of(path))
        self.findings.append(
            Finding(code, "error", message, place, help, about=frozenset({EVERYTHING}))
        )

    def record(self, model: type[_R], tree: Any, start: Place, ident: str) -> _R | None:
        """One record, or None with its faults gathered. What can be read of a faulty one is kept
        in ``salvaged``, so that a later fault in the same file is reported in the same run."""
        self.named(ident, tree)
        try:
            record = self._sound(model, self.approved(model, tree))
        except ValidationError as error:
            self.findings.extend(
                findings_of(error, model, tree, start, ident, {"units": self.units})
            )
            self.broken.add(ident)
            self.lost[ident] = tree
            salvaged = salvage(model, tree, {"units": self.units})
            if salvaged is not None:
                self.salvaged[ident] = salvaged
            return None
        return record

    def _sound(self, model: type[_R], tree: Any) -> _R:
        """The record of a tree, made once of one that is remembered: neither ever changes. What it
        was made of is kept with it, so that nothing else gets the identity it is found by. Raises
        ValidationError."""

        def made() -> tuple[Any, Any, Any, _R]:
            return model, tree, self.units, self._made(model, tree)

        key = f"record {id(model)} {id(tree)} {id(self.units)} {decimal_mark()}"
        return self.kept.remembered(key, made)[3]

    def _made(self, model: type[_R], tree: Any) -> _R:
        """The record of a tree, restored or made now."""
        if not self.restored.keeps:
            return validated(model, tree, self.units)
        _, typed, filled = self._filled.get(id(tree), (tree, tree, ""))
        about = hash_of(model.__qualname__, decimal_mark(), self._units_hash(), filled)
        known = self.restored.record(typed, about)
        if type(known) is model:
            return known
        record = validated(model, tree, self.units)
        self.restored.made(typed, about, record)
        return record

    def _units_hash(self) -> str:
        """The hash of the units in force."""
        units, found = self._measures
        if units is not self.units or not found:
            units = self.units
            said = (units.set_name, repr(units.by_name), repr(units.aliases)) if units else ()
            found = hash_of("units", *said)
            self._measures = units, found
        return found

    def named(self, ident: str, tree: Any) -> None:
        """Keep what a record is called, where it belongs, and its foodstuff, as typed."""
        if isinstance(tree, Mapping):
            for key, kept in (
                ("name", self.names),
                ("station", self.stations),
                ("foodstuff", self.foodstuffs),
            ):
                said = tree.get(key)
                first = said[0] if isinstance(said, Sequence) and said else None
                if isinstance(said, str) or isinstance(first, str):
                    kept.setdefault(ident, str(said if isinstance(said, str) else first))

    def approved(self, model: type[Record], tree: Any) -> Any:
        """The tree with the approval of its folder, if it gives none of its own."""
        given = self.approvals.get(model)
        if given is None or not isinstance(tree, Mapping) or tree.keys() & given.keys():
            return tree
        texts = [value for value in given.values() if isinstance(value, Text)]
        if len(texts) < len(given):
            return _filled_in(tree, given)  # a fault of kitchen.yaml, reported there
        words = [f"{text!r} {text.plain} {text.place}" for text in texts]
        key = f"approved {id(tree)} {words} {given.place} {given.keys_at}"
        filled = self.kept.remembered(key, lambda: (tree, _filled_in(tree, given)))[1]
        _, typed, so_far = self._filled.get(id(tree), (tree, tree, ""))
        self._filled[id(filled)] = filled, typed, f"{so_far} {words} {given.place} {given.keys_at}"
        return filled

    def take(self, document: Document, about: str) -> Any:
        """The tree of a document, its findings taken; None if there is nothing to read."""
        for finding in document.findings:
            self.findings.append(replace(finding, about=frozenset({about})))
        if document.tree is None:
            if not document.findings:
                empty = Finding(
                    "file-empty",
                    "error",
                    "This file is empty.",
                    Place(document.file),
                    "Delete it, or start from a skeleton.",
                    about=frozenset({about}),
                )
                self.findings.append(empty)
            return None
        if document.findings:
            self.broken.add(about)
        return document.tree if self.told is None else self._told(document.tree, about, self.told)

    def _told(self, tree: Any, about: str, told: Told) -> Any:
        """The tree in the kitchen's own language."""
        known = len(told.findings)
        plain = told.plain(tree, about)
        if plain is not tree:  # its texts in one language follow from the tree alone
            self._filled[id(plain)] = plain, tree, "plain"
        self.findings.extend(told.findings[known:])
        if len(told.findings) > known:
            self.broken.add(about)
        return plain

    def trees(self, folder: str, prefix: str = "") -> Iterator[tuple[str, Any, Place]]:
        """What was typed in each file of a folder that could be read, with its id and its first
        line."""
        for path in counted_off(f"Reading {folder}", self.folder(folder)):
            ident = path.stem
            if not ID_PATTERN.fullmatch(ident) or len(ident) > MOST_ID:
                words = "small letters, digits, single hyphens"
                if len(ident) > MOST_ID:
                    words = f"at most {MOST_ID} letters"
                self.note_file(
                    path,
                    "id-form",
                    f"`{clipped(ident)}` is not an id: {words}.",
                    "Rename the file. The name people read is under `name`.",
                )
                continue
            tree = self.take(self.document(path), prefix + ident)
            if tree is None:
                self.broken.add(prefix + ident)
                continue
            yield ident, tree, top_of(tree, self.name_of(path))

    def one_each(
        self, folder: str, model_for: Callable[[Any], type[_R]], prefix: str = ""
    ) -> dict[str, _R]:
        """One record a file, under the file's name, of the kind that its tree says."""
        records: dict[str, _R] = {}
        for ident, tree, start in self.trees(folder, prefix):
            record = self.record(model_for(tree), tree, start, prefix + ident)
            if record is not None and prefix + ident not in self.broken:
                records[ident] = record
        return records

    def many_each(
        self, folder: str, model_for: Callable[[Any], type[_R]], prefix: str = ""
    ) -> dict[str, _R]:
        """Many records a file, each under its id."""
        records: dict[str, _R] = {}
        places: dict[str, Place] = {}
        for path in counted_off(f"Reading {folder}", self.folder(folder)):
            tree = self.take(self.document(path), EVERYTHING)
            if not isinstance(tree, Mapping):
                self.partial = True
                if tree is not None:
                    self.note_file(
                        path,
                        "group-expected",
                        "Write ids with their facts here.",
                        "As in `salt-fine:` and its keys below it.",
                    )
                continue
            for ident, inner in tree.items():
                start = tree.keys_at[ident]
                if ident in places:
                    self.findings.append(
                        Finding(
                            "id-twice",
                            "error",
                            f"`{ident}` is in two places (also {places[ident]}).",
                            start,
                            "Keep one. An id may be used once only.",
                            about=frozenset({prefix + ident}),
                        )
                    )
                    continue
                places[ident] = start
                if not ID_PATTERN.fullmatch(ident) or len(ident) > MOST_ID:
                    self.findings.append(_no_id(ident, start, prefix + ident))
                    self.broken |= {prefix + ident, prefix + as_id(ident)}  # reported once
                    continue
                record = self.record(model_for(inner), inner, start, prefix + ident)
                if record is not None:
                    record.set_place(start)
                    records[ident] = record
        return records
