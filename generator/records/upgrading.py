"""Standards rewritten in today's names: nothing but the renamed words is changed.

A word is replaced only where it is typed as it is, bare or in quotes, on one line; and a file is
written only if what it then says is what it said, the renamed words apart. Whatever can't be
rewritten so is left as it is and named.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from generator.files.disk import write_together
from generator.files.source_text import Document, Mapping, Sequence, Text, read_bytes
from generator.records.equipment import KINDS
from generator.records.formula import Formula
from generator.records.ingredient import Ingredient
from generator.records.kitchen import Kitchen
from generator.records.process import Process
from generator.records.record import Record
from generator.records.renames import Old, old_names
from generator.records.routine import Routine
from generator.records.station import Station

_FOLDER = "standards"
_ONE_EACH: dict[str, type[Record]] = {
    "stations": Station,
    "processes": Process,
    "formulas": Formula,
}


@dataclass(frozen=True)
class Upgraded:
    """A file in today's names: its path, its new bytes, and the old names it held, in order."""

    path: Path
    content: bytes
    renamed: tuple[Old, ...]


@dataclass(frozen=True)
class Upgrade:
    """What of a project's standards has old names: the files rewritten, not yet written, and in
    words what is left as it is."""

    files: list[Upgraded] = field(default_factory=list)
    left: list[str] = field(default_factory=list)

    def write(self) -> None:
        """Write all files, or none. Raises Refused if the disk doesn't take them."""
        write_together({one.path: one.content for one in self.files})


def upgraded(project: Path) -> Upgrade:
    """``project``'s standards in today's names. Nothing is written. Raises OSError if a file can't
    be opened."""
    found = Upgrade()
    sources = [_read(path, name) for path, name in standards_files(project, found.left)]
    ids = {ident for source in sources for ident in _step_ids(source)}
    for source in sources:
        file = _file(source, ids, found.left)
        if file is not None:
            found.files.append(file)
    return found


@dataclass(frozen=True)
class _Source:
    """A file as it is: its path, its name for people, its bytes, and what they hold."""

    path: Path
    name: str
    raw: bytes
    document: Document


def _read(path: Path, name: str) -> _Source:
    raw = path.read_bytes()
    return _Source(path, name, raw, read_bytes(raw, name))


def _file(source: _Source, ids: set[str], left: list[str]) -> Upgraded | None:
    """One file in today's names, or None if it has no old one; what stays is added to ``left``.
    ``ids`` are those of steps."""
    path, name, document = source.path, source.name, source.document
    if document.tree is None or document.findings:
        left.append(f"{name} can't be read; `kitchen-manual check` says why.")
        return None
    left.extend(
        f"{one.place}: both `{one.rename.old}` and `{one.rename.new}` are here. Keep one."
        for one in _old_in(path, document.tree, both=True)
    )
    olds = list(_old_in(path, document.tree))
    steps = [old for old in olds if old.rename.kind == "id" and old.rename.old in ids]
    left.extend(_is_a_step(old) for old in steps)
    content, renamed, others = _rewritten(source.raw, [old for old in olds if old not in steps])
    left.extend(others)
    if not renamed:
        return None
    if not _says_the_same(document.tree, content, name, renamed):
        left.append(f"{name}: no word was renamed. Rename its keys by hand.")
        return None
    return Upgraded(path, content, tuple(renamed))


def _old_in(path: Path, tree: Any, both: bool = False) -> Iterator[Old]:
    for record, model in _records(path, tree):
        yield from old_names(record, model, both)


def _is_a_step(old: Old) -> str:
    return (
        f"{old.place}: `{old.rename.old}` is the id of a step, too. If the food's days are meant, "
        f"write `{old.rename.new}`."
    )


def _step_ids(source: _Source) -> Iterator[str]:
    """The ids and verbs of the steps of a process, a formula and its endings, as typed."""
    tree = source.document.tree
    endings = tree.get("endings") if isinstance(tree, Mapping) else None
    for one in (tree, *(endings.values() if isinstance(endings, Mapping) else ())):
        steps = one.get("steps") if isinstance(one, Mapping) else None
        for step in steps if isinstance(steps, Sequence) else []:
            if isinstance(step, Mapping):
                yield from (str(step[key]) for key in ("id", "do") if key in step)


def _is_linked(path: Path, project: Path) -> bool:
    """Whether a file is a link, or lies in a folder that is one."""
    return Path(os.path.realpath(path)) != Path(os.path.realpath(project)) / path.relative_to(
        project
    )


def standards_files(project: Path, left: list[str]) -> Iterator[tuple[Path, str]]:
    """The plain files of a project's standards with their names for people; what is a link, or no
    file, is added to ``left`` in words."""
    root = project / _FOLDER
    places = [root / "kitchen.yaml"]
    for folder in ("stations", "equipment", "ingredients", "processes", "formulas"):
        places += sorted((root / folder).glob("*.yaml"))
    for path in places:
        name = path.relative_to(project).as_posix()
        if not os.path.lexists(path):
            continue
        if _is_linked(path, project) or not path.is_file():
            left.append(f"{name} is a link, or no file. It is left as it is.")
        else:
            yield path, name


def _stands_alone(tree: Any) -> bool:
    """Whether a process spec has checks, and so no steps."""
    return isinstance(tree, Mapping) and "checks" in tree


def _records(path: Path, tree: Any) -> Iterator[tuple[Any, type[Record]]]:
    """The trees of a file's records, each with the record it is."""
    folder = path.parent.name
    if path.name == "kitchen.yaml" and folder == _FOLDER:
        yield tree, Kitchen
    elif folder in _ONE_EACH:
        yield tree, Routine if _stands_alone(tree) else _ONE_EACH[folder]
    elif isinstance(tree, Mapping):
        for one in tree.values():
            kind = str(one.get("kind")) if isinstance(one, Mapping) else ""
            if folder != "equipment":
                yield one, Ingredient
            elif kind in KINDS:
                yield one, KINDS[kind]


def _rewritten(raw: bytes, olds: list[Old]) -> tuple[bytes, list[Old], list[str]]:
    """The bytes with each old name replaced where it is typed, from the end on; line ends and a
    byte order mark stay. And which were, and in words which weren't."""
    lines = re.split(r"(?<=\n)|(?<=\r)(?!\n)", raw.decode("utf-8"))
    shift = 1 if lines and lines[0].startswith("\ufeff") else 0
    renamed, left = list[Old](), list[str]()
    for old in sorted(olds, key=lambda one: (one.place.line, one.place.column), reverse=True):
        at = old.place.line - 1
        start = old.place.column - 1 + (shift if at == 0 else 0)
        typed = lines[at][start : start + old.place.length]
        word = re.escape(old.rename.old)
        before = r".*\s" if old.rename.kind == "words" else ""
        match = re.fullmatch(rf"(?P<before>[\"']?{before}){word}(?P<after>[\"']?)", typed)
        if match is None:
            left.append(f"{old.place}: rename `{old.rename.old}` to `{old.rename.new}` by hand.")
            continue
        new = f"{match['before']}{old.rename.new}{match['after']}"
        lines[at] = lines[at][:start] + new + lines[at][start + old.place.length :]
        renamed.insert(0, old)
    return "".join(lines).encode("utf-8"), renamed, left


def _says_the_same(tree: Any, content: bytes, name: str, renamed: list[Old]) -> bool:
    """Whether the new bytes hold what the tree holds, word for word but for the renamed ones."""
    document = read_bytes(content, name)
    if document.tree is None or document.findings:
        return False
    before, after = list(_words(tree)), list(_words(document.tree))
    places = {(old.place.line, old.place.column): old.rename for old in renamed}
    if len(before) != len(after):
        return False
    for (word, at), (new, _) in zip(before, after, strict=True):
        rename = places.get(at)
        if rename is None and word != new:
            return False
        if rename is not None and new != word.removesuffix(rename.old) + rename.new:
            return False
    return True


def _words(tree: Any) -> Iterator[tuple[str, tuple[int, int]]]:
    """Every key and text of a tree in typed order, with its line and column."""
    if isinstance(tree, Mapping):
        for key, value in tree.items():
            place = tree.keys_at[key]
            yield str(key), (place.line, place.column)
            yield from _words(value)
    elif isinstance(tree, Sequence):
        for one in tree:
            yield from _words(one)
    elif isinstance(tree, Text):
        yield str(tree), (tree.place.line, tree.place.column)
