"""YAML as typed: every scalar stays text and remembers its line and column.

libyaml's events are turned into marked mappings, lists and texts. Nothing is guessed: ``no``,
``1:30``, ``012``, ``1.10`` and ``1e3`` stay the text a chef typed until a record's field reads
them. Aliases, anchors, tags, tabs, duplicate keys, other encodings, files over 1 MiB and nesting
over 20 levels are findings, never surprises.
"""

from __future__ import annotations

import errno
import hashlib
import itertools
import os
import re
import stat
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import yaml

from generator.files.finding import MOST_READ, Finding, Place, place_at
from generator.files.kept import NOTHING, Kept
from generator.files.syntax import MOST_DEPTH, conflict_findings, syntax_finding, too_deep

MOST_BYTES = 1 << 20

_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_BARRED = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\x80-\x9f\u00ad\u061c\u200b\u200e\u200f\u2028-\u202e"
    "\u2060-\u2064\u2066-\u2069\ud800-\udfff\ufeff\U000e0000-\U000e007f]"
)
_TAB = re.compile(r"^( *)\t|^ *- *\t|:\t", re.MULTILINE)


class Text(str):
    """A scalar as typed, with its place; ``plain`` when written without quotes."""

    place: Place
    plain: bool

    @staticmethod
    def of(value: str, place: Place, plain: bool = True) -> Text:
        text = Text(value)
        text.place = place
        text.plain = plain
        return text


class Mapping(dict[str, Any]):
    """A mapping with its place and the places of its keys (``keys_at``), in typed order."""

    def __init__(self, place: Place) -> None:
        super().__init__()
        self.place = place
        self.keys_at: dict[str, Place] = {}


class Sequence(list[Any]):
    """A list with its place."""

    def __init__(self, place: Place) -> None:
        super().__init__()
        self.place = place


@dataclass(frozen=True)
class Document:
    """One file: its name for people, its tree (None if it couldn't be read), and the SHA-256 of the
    bytes that were read; empty where there were none."""

    file: str
    tree: Any
    findings: tuple[Finding, ...] = ()
    digest: str = ""


class _Fault(Exception):
    def __init__(self, finding: Finding) -> None:
        self.finding = finding


def place_of(node: Any, default: Place) -> Place:
    """The place of a marked value, or ``default`` for one without a mark."""
    place = getattr(node, "place", None)
    return place if isinstance(place, Place) else default


def copied(tree: Any) -> Any:
    """A tree that can be changed without changing this one; texts and places are shared."""
    if isinstance(tree, Mapping):
        mapping = Mapping(tree.place)
        mapping.update((key, copied(value)) for key, value in tree.items())
        mapping.keys_at = dict(tree.keys_at)
        return mapping
    if isinstance(tree, Sequence):
        sequence = Sequence(tree.place)
        sequence.extend(copied(item) for item in tree)
        return sequence
    return tree


def locate(
    tree: Any, path: Iterable[str | int], value_at: Place, key_at: Place
) -> tuple[Any, Place, Place]:
    """The value at ``path`` as far as it exists, its place, and the place of its last key.

    ``value_at`` and ``key_at`` are what to answer where nothing of the path exists.
    """
    node = tree
    for key in path:
        if isinstance(node, Mapping) and key in node:
            key_at = node.keys_at.get(str(key), key_at)
            node = node[str(key)]
            value_at = place_of(node, key_at)
        elif isinstance(node, Sequence) and isinstance(key, int) and key < len(node):
            node = node[key]
            value_at = key_at = place_of(node, value_at)
        elif isinstance(key, int) and isinstance(node, str):
            continue  # a single text standing for a list of one
        else:
            break
    return node, value_at, key_at


def read_file(
    path: Path,
    file: str,
    kept: Kept = NOTHING,
    restored: Callable[[str, str], Document | None] = lambda file, digest: None,
) -> Document:
    """Read one YAML file.

    ``path`` is where it lies, ``file`` how findings name it. Never raises on bad content: what
    can't be read comes back as findings and a tree of None. Bytes that ``kept`` remembers are not
    parsed again, nor those that ``restored`` has a document of, by the file and their hash.
    """
    whole = Place(file)
    try:
        raw, size = _bytes_of(path)
        if len(raw) > MOST_BYTES:
            finding = Finding(
                "file-too-large",
                "error",
                f"This file has {max(size, len(raw))} bytes. At most {MOST_BYTES} are read.",
                whole,
                "Split it. Ingredients and equipment can be in as many files as you like.",
            )
            return Document(file, None, (finding,))
    except OSError as error:
        reason = error.strerror or "unknown reason"
        finding = Finding(
            "file-unreadable", "error", f"This file can't be opened: {reason}.", whole
        )
        return Document(file, None, (finding,))
    digest = hashlib.sha256(raw).hexdigest()
    key = f"document {digest} {file}"

    def read() -> Document:
        found = restored(file, digest)
        return found if found is not None else replace(read_bytes(raw, file), digest=digest)

    return kept.remembered(key, read)


def _bytes_of(path: Path) -> tuple[bytes, int]:
    """The beginning of a plain file and its size. Raises OSError; a pipe or a device is one as
    well: opened without waiting for its other end, and not read."""
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    with os.fdopen(handle, "rb") as file:
        found = os.fstat(handle)
        if not stat.S_ISREG(found.st_mode):
            raise OSError(errno.EINVAL, "it is not a plain file")
        raw = file.read(min(found.st_size, MOST_BYTES) + 1)
        if len(raw) > found.st_size:  # it grew meanwhile
            raw += file.read(MOST_BYTES + 1 - len(raw))
        return raw, found.st_size


def read_bytes(raw: bytes, file: str) -> Document:
    """Read YAML given as bytes; see :func:`read_file`."""
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = raw[: error.start]
        line = before.count(b"\n") + 1
        start = before.rfind(b"\n") + 1
        column = len(before[start:].decode("utf-8", "replace")) + 1
        shown = raw[start:].split(b"\n", 1)[0].decode("utf-8", "replace").rstrip("\r")
        finding = Finding(
            "not-utf-8",
            "error",
            "This file isn't UTF-8 text.",
            Place(file, line, column, shown),
            "Save it again as UTF-8. In most editors: Save with encoding, UTF-8.",
        )
        return Document(file, None, (finding,))
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    lines = text.split("\n")
    faults = conflict_findings(lines, file) or list(_forbidden(text, lines, file))
    if faults:
        return Document(file, None, tuple(faults))
    builder = _Builder(file, lines)
    try:
        tree = builder.build(text)
    except _Fault as fault:
        return Document(file, None, (*builder.findings, fault.finding))
    except yaml.MarkedYAMLError as error:
        return Document(file, None, (*builder.findings, syntax_finding(error, file, lines)))
    except yaml.YAMLError:
        finding = Finding(
            "yaml-syntax", "error", "This file isn't YAML.", Place(file), "Start from a skeleton."
        )
        return Document(file, None, (*builder.findings, finding))
    return Document(file, tree, tuple(builder.findings))


def _unprintable(match: re.Match[str], place: Place) -> Finding:
    return Finding(
        "unprintable-character",
        "error",
        f"There is a character here that can't be seen (U+{ord(match.group()):04X}).",
        place,
        "Delete it and type the text again.",
    )


def _forbidden(text: str, lines: list[str], file: str) -> Iterator[Finding]:
    """Characters that can't be seen, and tabs, line by line; past twenty of each they are
    counted."""
    yield from _first(
        _hits(_BARRED, text, lines), lambda n, m: _unprintable(m, _place(file, lines, n, m.start()))
    )
    yield from _first(
        _hits(_TAB, text, lines), lambda n, m: _tab(_place(file, lines, n, m.end() - 1))
    )


_Hit = tuple[int, re.Match[str]]


def _hits(pattern: re.Pattern[str], text: str, lines: list[str]) -> Iterator[_Hit]:
    if not pattern.search(text):  # of nearly every file: then no line is looked at
        return
    for number, line in enumerate(lines):
        for match in pattern.finditer(line):
            yield number, match


def _first(
    hits: Iterator[_Hit], finding: Callable[[int, re.Match[str]], Finding]
) -> Iterator[Finding]:
    reported = [finding(*hit) for hit in itertools.islice(hits, MOST_READ)]
    if reported:
        reported[-1] = replace(reported[-1], more=sum(1 for _ in hits))
    yield from reported


def _place(file: str, lines: list[str], number: int, column: int) -> Place:
    return Place(file, number + 1, column + 1, lines[number])


def _tab(place: Place) -> Finding:
    return Finding(
        "tab-indent",
        "error",
        "There is a tab here. YAML needs spaces.",
        place,
        "Replace the tab with two spaces for each level.",
    )


class _Builder:
    """Turns libyaml's events into marked values."""

    def __init__(self, file: str, lines: list[str]) -> None:
        self.file = file
        self.lines = lines
        self.findings: list[Finding] = []

    def build(self, text: str) -> Any:
        events = iter(_LOADER(text).get_event, None)
        tree: Any = None
        documents = 0
        for event in events:
            if isinstance(event, yaml.DocumentStartEvent):
                documents += 1
                if documents > 1:
                    raise self.fault(
                        "second-document",
                        "A second document starts here (`---`).",
                        event,
                        "Keep one document in a file. Delete the line.",
                    )
                tree = self.node(next(events), events, 1)
        return tree

    def place(self, event: Any, length: int | None = None) -> Place:
        start, end = event.start_mark, event.end_mark
        line = min(start.line, len(self.lines) - 1)
        text = self.lines[line]
        if length is None:
            end_column = end.column if end.line == start.line else len(text)
            length = max(1, end_column - start.column)
        return place_at(self.file, line + 1, start.column + 1, text, length)

    def fault(self, code: str, message: str, event: Any, help: str) -> _Fault:
        return _Fault(Finding(code, "error", message, self.place(event), help))

    def node(self, event: Any, events: Iterator[Any], depth: int) -> Any:
        if depth > MOST_DEPTH:
            raise _Fault(too_deep(self.place(event)))
        if type(event) is yaml.ScalarEvent and event.anchor is None and event.tag is None:
            return self.scalar(event)  # as nearly all are
        self.refuse(event)
        if isinstance(event, yaml.SequenceStartEvent):
            items = Sequence(self.place(event, 1))
            while not isinstance(inner := next(events), yaml.SequenceEndEvent):
                item = self.node(inner, events, depth + 1)
                if event.flow_style and items and (whole := self.parted(items[-1], item)):
                    items[-1] = whole
                else:
                    items.append(item)
            items.place = self.closed(items.place, event, inner)
            return items
        return self.mapping(event, events, depth)

    def refuse(self, event: Any) -> None:
        """Raises a fault for an alias, an anchor and a tag."""
        if isinstance(event, yaml.AliasEvent):
            raise self.fault(
                "alias-refused",
                f"`*{event.anchor}` points to another place in the file.",
                event,
                "Write the value here. What several formulas share belongs in a process spec.",
            )
        if event.anchor is not None:
            raise self.fault(
                "alias-refused",
                f"`&{event.anchor}` names a place to point to.",
                event,
                "Delete the name. Write each value where it is used. Put a text with & in quotes.",
            )
        if event.tag is not None:
            raise self.fault(
                "tag-refused",
                f"`{event.tag.replace('tag:yaml.org,2002:', '!!')}` is a type tag. The key sets "
                "the type.",
                event,
                "Delete the tag. Put a text that starts with an exclamation mark in quotes.",
            )

    def scalar(self, event: Any) -> Text:
        value, place = event.value, self.place(event)
        if barred := _BARRED.search(value):  # typed as an escape, as in "\x1b"
            self.findings.append(_unprintable(barred, place))
        return Text.of(value, place, not event.style)

    def mapping(self, event: Any, events: Iterator[Any], depth: int) -> Mapping:
        result = Mapping(self.place(event, 1))
        name = ""
        while not isinstance(key_event := next(events), yaml.MappingEndEvent):
            key = self.node(key_event, events, depth + 1)
            value = self.node(next(events), events, depth + 1)
            if not isinstance(key, Text):
                place = place_of(key, result.place)
                self.findings.append(
                    Finding(
                        "key-not-text",
                        "error",
                        "A key must be a plain word.",
                        place,
                        "Write `key: value`. Put a value with brackets in quotes.",
                    )
                )
                continue
            whole = self.parted(result.get(name), key) if event.flow_style and not value else None
            if whole:
                result[name] = whole
                continue
            name = str(key)
            if name in result:
                first = result.keys_at[name]
                words = f"`{name}` is here a second time (first on line {first.line})."
                self.findings.append(
                    Finding(
                        "duplicate-key", "error", words, key.place, "Keep one of the two lines."
                    )
                )
                continue
            result[name] = value
            result.keys_at[name] = key.place
        result.place = self.closed(result.place, event, key_event)
        return result

    def parted(self, first: Any, second: Any) -> Text | None:
        """The figure a decimal comma in braces or brackets parted, made whole; None if none was.

        ``{each: 4,5 g}`` is `each: 4` and `5 g` to YAML. No list of bare figures is ever typed
        here, so a comma between two digits, without a space, is a decimal comma.
        """
        if not (isinstance(first, Text) and isinstance(second, Text)):
            return None
        at, behind = first.place, second.place
        touch = at.line == behind.line and behind.column == at.column + at.length + 1
        digits = first[-1:].isdigit() and second[:1].isdigit()
        if not (touch and digits and first.plain and second.plain):
            return None
        place = replace(at, length=at.length + 1 + behind.length)
        whole = Text.of(f"{first},{second}", place)
        mark = "'" if '"' in whole else '"'
        self.findings.append(
            Finding(
                "comma-splits",
                "error",
                "Inside braces and brackets a comma splits entries.",
                place,
                "Put the figure in quotes, or write it on its own line.",
                (place.fixed(f"{mark}{whole}{mark}"),),
            )
        )
        return whole

    def closed(self, place: Place, start: Any, end: Any) -> Place:
        """A bracketed group on one line is underlined whole."""
        if start.flow_style and start.start_mark.line == end.end_mark.line:
            return replace(place, length=max(1, end.end_mark.column - start.start_mark.column))
        return place
