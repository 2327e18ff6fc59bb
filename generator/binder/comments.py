"""A YAML file of ours written again with the comments, blank lines and order it had."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from generator.files.source_text import Mapping as Marked
from generator.files.source_text import read_bytes

Path = tuple[str, ...]


@dataclass(frozen=True)
class Line:
    """One line of the file: the keys that lead to it, and its text without indent."""

    path: Path
    text: str


@dataclass(frozen=True)
class Comments:
    """What was round the keys of a file: lines ``head`` above a key, a comment ``beside`` it,
    lines at the end (``tail``), and the ``order`` of the keys."""

    head: Mapping[Path, tuple[str, ...]] = field(default_factory=dict)
    beside: Mapping[Path, str] = field(default_factory=dict)
    tail: tuple[str, ...] = ()
    order: Mapping[Path, int] = field(default_factory=dict)


def commented(text: str) -> Comments:
    """The comments, blank lines and order of a YAML text of mappings and single texts."""
    tree = read_bytes(text.encode(), "").tree
    keys: dict[int, Path] = {}
    order: dict[Path, int] = {}
    for path, line in _keys(tree, ()):
        keys.setdefault(line, path)
        order[path] = len(order)
    head: dict[Path, tuple[str, ...]] = {}
    beside: dict[Path, str] = {}
    waiting: list[str] = []
    for number, typed in enumerate(text.split("\n"), 1):
        bare = typed.strip()
        if number in keys:
            if waiting:
                head[keys[number]] = tuple(waiting)
            waiting = []
            value = bare.partition(":")[2].strip()
            if found := _beside(value):
                beside[keys[number]] = found
        elif not bare or bare.startswith("#"):
            waiting.append(bare)
    while waiting and not waiting[-1]:
        waiting.pop()
    return Comments(head, beside, tuple(waiting), order)


def _beside(value: str) -> str:
    """The comment behind a value, if there is one; a sign in quotes is none."""
    if value.startswith("#"):
        return value
    rest = value
    if value[:1] in ('"', "'"):
        closed = re.match(r"""\"(?:[^\"\\]|\\.)*\"|'(?:[^']|'')*'""", value)
        rest = value[closed.end() :] if closed else ""
    found = re.search(r"\s(#.*)$", rest)
    return found[1] if found else ""


def _keys(node: Any, at: Path) -> Iterator[tuple[Path, int]]:
    if isinstance(node, Marked):
        for key, value in node.items():
            yield (*at, key), node.keys_at[key].line
            yield from _keys(value, (*at, key))


def written(lines: Iterable[Line], comments: Comments) -> str:
    """The file's text: a key's indent is its depth. A comment whose key is gone goes to the nearest
    key above it that is there."""
    found = _in_order(list(lines), comments.order)
    there = {line.path for line in found}
    head: dict[Path, list[str]] = {}
    for path, words in comments.head.items():
        head.setdefault(_nearest(path, there), []).extend(words)
    for path, word in comments.beside.items():
        if path not in there:
            head.setdefault(_nearest(path, there), []).append(word)
    out: list[str] = []
    for line in found:
        indent = "  " * (len(line.path) - 1)
        out += [(indent + words).rstrip() for words in head.get(line.path, ())]
        beside = comments.beside.get(line.path, "")
        out.append(f"{indent}{line.text}  {beside}".rstrip())
    return "\n".join([*out, *comments.tail]) + "\n"


def _nearest(path: Path, there: set[Path]) -> Path:
    while path and path not in there:
        path = path[:-1]
    return path or min(there)


def _in_order(lines: list[Line], order: Mapping[Path, int]) -> list[Line]:
    """Lines with the keys of each mapping as they were; new ones behind, in their own order."""
    own = {line.path: n for n, line in enumerate(lines)}

    def place(line: Line) -> tuple[tuple[bool, int], ...]:
        steps = (line.path[: n + 1] for n in range(len(line.path)))
        return tuple((s not in order, order.get(s, own[s])) for s in steps)

    return sorted(lines, key=place)
