"""Standards rewritten in today's names: nothing but the renamed words is changed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from generator.files.disk import write_together
from generator.files.source_text import Mapping, read_bytes
from generator.records.equipment import KINDS
from generator.records.formula import Formula
from generator.records.ingredient import Ingredient
from generator.records.kitchen import Kitchen
from generator.records.process import Process
from generator.records.record import Record
from generator.records.renames import Old, old_names
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


def upgraded(project: Path) -> tuple[list[Upgraded], list[str]]:
    """What of ``project``'s standards has old names, rewritten; and the files that can't be read
    as YAML, which stay as they are. Nothing is written. Raises OSError."""
    found, unread = list[Upgraded](), list[str]()
    for path, name in _files(project):
        raw = path.read_bytes()
        tree = read_bytes(raw, name).tree
        if tree is None:
            unread.append(name)
            continue
        renamed = tuple(old for one, model in _records(path, tree) for old in old_names(one, model))
        if renamed:
            found.append(Upgraded(path, _rewritten(raw, renamed), renamed))
    return found, unread


def upgrade(project: Path) -> tuple[list[Upgraded], list[str]]:
    """Rewrite ``project``'s standards in today's names: all files, or none. Raises Refused if the
    disk doesn't take them, OSError if one can't be opened."""
    found, unread = upgraded(project)
    write_together({one.path: one.content for one in found})
    return found, unread


def _files(project: Path) -> Iterator[tuple[Path, str]]:
    root = project / _FOLDER
    places = [root / "kitchen.yaml"]
    for folder in ("stations", "equipment", "ingredients", "processes", "formulas"):
        places += sorted((root / folder).glob("*.yaml"))
    for path in places:
        if path.is_file() and not path.is_symlink():
            yield path, path.relative_to(project).as_posix()


def _records(path: Path, tree: Any) -> Iterator[tuple[Any, type[Record]]]:
    """The trees of a file's records, each with the record it is."""
    folder = path.parent.name
    if path.name == "kitchen.yaml" and folder == _FOLDER:
        yield tree, Kitchen
    elif folder in _ONE_EACH:
        yield tree, _ONE_EACH[folder]
    elif isinstance(tree, Mapping):
        for one in tree.values():
            kind = str(one.get("kind")) if isinstance(one, Mapping) else ""
            if folder != "equipment":
                yield one, Ingredient
            elif kind in KINDS:
                yield one, KINDS[kind]


def _rewritten(raw: bytes, renamed: tuple[Old, ...]) -> bytes:
    """The bytes with each old name replaced where it is, from the end on; line ends and a byte
    order mark stay."""
    lines = raw.decode("utf-8").splitlines(keepends=True)
    shift = 1 if lines and lines[0].startswith("\ufeff") else 0
    for old in sorted(renamed, key=lambda one: (one.place.line, one.place.column), reverse=True):
        at = old.place.line - 1
        start = old.place.column - 1 + (shift if at == 0 else 0)
        line = lines[at]
        length, quote = old.place.length, ""
        if line[start : start + 1] in ("'", '"'):
            quote = line[start]
        lines[at] = line[:start] + quote + old.rename.new + quote + line[start + length :]
    return "".join(lines).encode("utf-8")
