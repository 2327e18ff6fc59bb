"""The layout of a YAML file: two spaces a level, dashes one level in, no blanks at line ends. Its
words, comments and order stay."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import yaml

from generator.files.source_text import Mapping, Sequence, Text, read_bytes

_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_STEP = 2


def laid_out(raw: bytes, name: str) -> bytes | None:
    """The bytes of a file in one layout; None where it can't be read, or would not say word for
    word and comment for comment what it says."""
    before = read_bytes(raw, name)
    if before.tree is None or before.findings:
        return None
    text = raw.decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")
    found = _Lines(text).written().encode("utf-8")
    after = read_bytes(found, name)
    same = not after.findings and _words(before.tree) == _words(after.tree)
    return found if same and _comments(text) == _comments(found.decode("utf-8")) else None


def _words(tree: Any) -> Any:
    """What a tree says, with the order of its keys."""
    if isinstance(tree, Mapping):
        return [(str(key), _words(value)) for key, value in tree.items()]
    if isinstance(tree, Sequence):
        return [_words(one) for one in tree]
    return str(tree) if isinstance(tree, Text) else tree


def _comments(text: str) -> list[str]:
    """Each line's end from its first sign of a comment on: all comments are among them."""
    found = (re.search(r"(?:^|\s)#.*", line) for line in text.split("\n"))
    return [match.group().strip() for match in found if match]


@dataclass
class _Lines:
    """A text with, by line, where its first word goes, what is inside a text of several lines, and
    which gaps behind a colon may go."""

    text: str
    goes: dict[int, tuple[int, int]] = field(default_factory=dict)
    """By line: the column its first word is in, and the column it goes to."""
    inside: dict[int, tuple[int, bool]] = field(default_factory=dict)
    """By line within a value of several lines: the column it goes to, or how far it moves where its
    spaces count."""
    gaps: dict[int, list[tuple[int, int]]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.lines = self.text.split("\n")
        events = iter(yaml.parse(self.text, Loader=_LOADER))
        for event in events:
            if isinstance(event, yaml.DocumentStartEvent):
                self._node(next(events), events, 0)

    def _first(self, mark: Any, new: int) -> None:
        """A word begins here: if it is the first of its line, it goes to a column."""
        if not self.lines[mark.line][: mark.column].strip():
            self.goes.setdefault(mark.line, (mark.column, new))

    def _node(self, event: Any, events: Iterator[Any], new: int) -> None:
        """A value whose words stand in column ``new``, with all that is in it."""
        if isinstance(event, yaml.ScalarEvent):
            self._scalar(event, new)
        elif isinstance(event, yaml.SequenceStartEvent):
            self._sequence(event, events, new)
        elif isinstance(event, yaml.MappingStartEvent):
            self._mapping(event, events, new)

    def _sequence(self, event: Any, events: Iterator[Any], new: int) -> None:
        if event.flow_style:
            self._flow(event, events, new)
            return
        while not isinstance(inner := next(events), yaml.SequenceEndEvent):
            line = inner.start_mark.line
            dash = self.lines[line].find("-")
            if not self.lines[line][:dash].strip() and dash < inner.start_mark.column:
                self.goes.setdefault(line, (dash, new))
            self._node(inner, events, new + _STEP)

    def _mapping(self, event: Any, events: Iterator[Any], new: int) -> None:
        if event.flow_style:
            self._flow(event, events, new)
            return
        while not isinstance(key := next(events), yaml.MappingEndEvent):
            self._first(key.start_mark, new)
            value = next(events)
            if value.start_mark.line == key.end_mark.line:
                self.gaps.setdefault(key.end_mark.line, []).append(
                    (key.end_mark.column, value.start_mark.column)
                )
            self._node(value, events, new + _STEP)

    def _flow(self, event: Any, events: Iterator[Any], new: int) -> None:
        """Braces or brackets: their later lines go one level in, the last with its sign alone
        too."""
        depth, last = 1, event
        while depth:
            last = next(events)
            starts = isinstance(last, (yaml.SequenceStartEvent, yaml.MappingStartEvent))
            ends = isinstance(last, (yaml.SequenceEndEvent, yaml.MappingEndEvent))
            depth += starts - ends
        self._later(event.start_mark.line, last.end_mark.line, new)

    def _scalar(self, event: Any, new: int) -> None:
        start, end = event.start_mark, event.end_mark
        last = end.line if end.column else end.line - 1
        if event.style in ("|", ">"):
            self._block(start.line, last, new)
        else:
            self._first(start, new)
            self._later(start.line, last, new)

    def _later(self, first: int, last: int, new: int) -> None:
        for line in range(first + 1, last + 1):
            self.inside[line] = (new, False)

    def _block(self, first: int, last: int, new: int) -> None:
        """A text whose lines and spaces count: it moves as one."""
        body = range(first + 1, last + 1)
        filled = [self.lines[n] for n in body if n < len(self.lines) and self.lines[n].strip()]
        least = min((len(line) - len(line.lstrip(" ")) for line in filled), default=0)
        for line in body:
            self.inside[line] = (new - least, True)

    def written(self) -> str:
        """The text in its layout."""
        out: list[str] = []
        for number, line in enumerate(self.lines):
            one = self._line(number, line)
            if one or number in self.inside or (out and out[-1]):
                out.append(one)
        return "\n".join(out).rstrip("\n") + "\n"

    def _line(self, number: int, line: str) -> str:
        if number in self.inside:
            column, counts = self.inside[number]
            if counts:
                indent = len(line) - len(line.lstrip(" "))
                return " " * (indent + column) + line[indent:] if line.strip() else line.strip(" ")
            return " " * column + line.strip() if line.strip() else ""
        bare = line.strip()
        if not bare:
            return ""
        if number not in self.goes:
            return " " * self._beside(number) + bare if bare.startswith("#") else line.rstrip()
        old, new = self.goes[number]
        return " " * new + self._closed(number, line)[old:].rstrip()

    def _closed(self, number: int, line: str) -> str:
        """The line with one space behind each colon of a key, and behind a dash."""
        for end, start in sorted(self.gaps.get(number, ()), reverse=True):
            between = line[end:start]
            if re.fullmatch(r"\s*:\s+", between):
                line = f"{line[:end]}: {line[start:]}"
        return re.sub(r"^(\s*)((?:- +)+)", lambda m: m[1] + "- " * m[2].count("-"), line)

    def _beside(self, number: int) -> int:
        """Where a comment of its own line goes: with the line it stands over, or under, whose
        column it has; else with the one it stands over."""
        column = len(self.lines[number]) - len(self.lines[number].lstrip())
        below = [self.goes[n] for n in range(number + 1, len(self.lines)) if n in self.goes][:1]
        above = [self.goes[n] for n in range(number - 1, -1, -1) if n in self.goes]
        near = [new for old, new in (*below, *above) if old == column][:1]
        return (near or [new for _, new in below] or [0])[0]
