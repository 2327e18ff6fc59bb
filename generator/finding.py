"""Findings: what is wrong or doubtful in the standards, where, and how to mend it."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Literal

Severity = Literal["error", "warning", "note"]
SEVERITIES: tuple[Severity, ...] = ("error", "warning", "note")


_COMMA = re.compile(r"[0-9],[0-9]")
_QUOTED = re.compile(r'"[^"]*"|\'[^\']*\'')


def _in_brackets(before: str) -> bool:
    """Whether a line has braces or brackets open behind ``before``; those of quoted texts don't count."""
    rest = _QUOTED.sub("", before)
    return sum(map(rest.count, "{[")) > sum(map(rest.count, "}]"))


@dataclass(frozen=True)
class Place:
    """Where something stands in a file.

    Lines and columns count from 1, columns in characters. ``text`` is the whole line as typed,
    ``length`` how many characters of it are meant. Line 0 means the file as a whole.
    """

    file: str
    line: int = 0
    column: int = 0
    text: str = ""
    length: int = 1

    def mended(self, mend: str) -> str:
        """The quoted line with what is meant replaced by ``mend``; a whole line stays as it is."""
        start = self.column - 1
        if ": " in mend or not self.text or start < 0:
            return mend
        if _COMMA.search(mend) and mend[0] not in "\"'" and _in_brackets(self.text[:start]):
            mend = f'"{mend}"'  # YAML would part a decimal comma there
        rest = self.text[start + self.length :]
        if not rest.strip(" #"):  # "6 #": YAML took the sign for an empty comment
            rest = ""
        return (self.text[:start] + mend + rest).strip()

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}" if self.line else self.file


@dataclass(frozen=True)
class Finding:
    """One finding. ``write`` holds mended lines to copy; ``about`` the ids of records it stops."""

    code: str
    severity: Severity
    message: str
    place: Place
    help: str = ""
    write: tuple[str, ...] = ()
    source: str = ""
    about: frozenset[str] = field(default_factory=frozenset)

    @property
    def is_error(self) -> bool:
        return self.severity == "error"


class Refused(ValueError):
    """Text that can't be read without doubt: a code, what is wrong, how to mend it."""

    def __init__(self, code: str, message: str, help: str = "", write: Sequence[str] = ()) -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.help = help
        self.write = tuple(write)


def clipped(text: str) -> str:
    """A typed text as a finding quotes it: one line, at most sixty letters."""
    line = " ".join(text.split())
    return line if len(line) <= 60 else line[:59] + "…"


class BrokenData(Exception):
    """Reference data that can't be used at all; carries the findings that say why."""

    def __init__(self, findings: Sequence[Finding]) -> None:
        super().__init__("; ".join(f"{f.place}: {f.message}" for f in findings))
        self.findings = tuple(findings)


def in_order(findings: Iterable[Finding]) -> list[Finding]:
    """Findings once each, sorted by file, line, column, then gravity and words.

    What is said alike of several records (a scale the house lacks) is said once, about all of them.
    """
    told: dict[Finding, frozenset[str]] = {}
    for finding in findings:
        alike = replace(finding, about=frozenset())
        told[alike] = told.get(alike, frozenset()) | finding.about
    return sorted(
        (replace(finding, about=about) for finding, about in told.items()),
        key=lambda f: (
            f.place.file,
            f.place.line,
            f.place.column,
            SEVERITIES.index(f.severity),
            f.code,
            f.message,
        ),
    )


def counts(findings: Iterable[Finding]) -> dict[str, int]:
    """How many findings there are of each severity, every severity named."""
    found = Counter(f.severity for f in findings)
    return {severity: found.get(severity, 0) for severity in SEVERITIES}


def _spaced(finding: Finding) -> Finding:
    """The finding with ordinary spaces: a terminal and a search need no unbreakable ones."""
    spaces = {0xA0: " ", 0x2009: " "}
    return replace(
        finding,
        message=finding.message.translate(spaces),
        help=finding.help.translate(spaces),
        write=tuple(w.translate(spaces) for w in finding.write),
    )


def as_text(finding: Finding) -> str:
    """A finding as lines for a terminal: place, words, the line with a caret under the fault."""
    finding = _spaced(finding)
    place = finding.place
    lines = [f"{place}: {finding.severity}: {finding.message} [{finding.code}]"]
    if place.line and place.text:
        gutter = f"{place.line:>5} | "
        text = place.text.replace("\t", " ").rstrip()
        start = max(place.column - 1, 0)
        width = max(1, min(place.length, len(text) - start))
        lines.append(gutter + text)
        lines.append(" " * 5 + " | " + " " * start + "^" * width)
    if finding.help:
        lines.append("      " + finding.help)
    for index, mended in enumerate(finding.write):
        lines.append(("      Write: " if index == 0 else "         or: ") + mended)
    if finding.source:
        lines.append("      Source: " + finding.source)
    return "\n".join(lines)


def as_github(finding: Finding) -> str:
    """A finding as a workflow annotation, so that a code host shows it beside the line."""
    finding = _spaced(finding)
    level = {"error": "error", "warning": "warning", "note": "notice"}[finding.severity]
    place = finding.place

    def data(text: str) -> str:
        return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")

    def prop(text: str) -> str:
        return data(text).replace(":", "%3A").replace(",", "%2C")

    words = " ".join(w for w in (finding.message, finding.help, *finding.write) if w)
    where = f"file={prop(place.file)}"
    if place.line:
        where += f",line={place.line},col={place.column}"
    return f"::{level} {where},title={prop(finding.code)}::{data(words)}"


def as_record(finding: Finding) -> dict[str, Any]:
    """A finding as the JSON object the command line prints."""
    finding = _spaced(finding)
    record: dict[str, Any] = {
        "code": finding.code,
        "severity": finding.severity,
        "file": finding.place.file,
        "line": finding.place.line,
        "column": finding.place.column,
        "message": finding.message,
        "help": finding.help,
    }
    if finding.write:
        record["write"] = list(finding.write)
    if finding.source:
        record["source"] = finding.source
    return record


def total_words(findings: Sequence[Finding]) -> str:
    """The closing line of a check: "2 errors, 1 warning"."""
    found = counts(findings)
    parts = [f"{n} {word}{'' if n == 1 else 's'}" for word, n in found.items() if n]
    return ", ".join(parts) if parts else "no findings"
