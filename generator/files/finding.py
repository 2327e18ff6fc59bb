"""Findings: what is wrong or doubtful in the standards, where, and how to fix it."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Literal

Severity = Literal["error", "warning", "note"]
SEVERITIES: tuple[Severity, ...] = ("error", "warning", "note")


MOST_ALIKE = 20
"""How many findings of one code are reported for one file; the rest are counted."""
MOST_READ = 500
"""How many faults of one kind are worked out for one file that can't be read; the rest are
counted."""
MOST_NOTES = 5
"""How many notes of one code a terminal shows for one file; the rest are counted."""
MOST_TEXT = 150_000
"""How many bytes of findings are printed in one run; the rest are counted."""
_LINE, _AROUND = 160, 60
_MOST_WORDS, _MOST_HELP, _MOST_WRITE = 600, 1500, 400
_UNSEEN = re.compile(
    "[\x00-\x1f\x7f-\x9f\u00ad\u061c\u200b\u200e\u200f\u2028-\u202e"
    "\u2060-\u2064\u2066-\u2069\ud800-\udfff\ufeff\U000e0000-\U000e007f]"
)
_COMMA = re.compile(r"[0-9],[0-9]")
_ENTRY = re.compile(r"[a-z_]+: [^{}\[\]:]+")
"""One key with its value, as it may be one more entry of braces."""
_QUOTED = re.compile(r'"[^"]*"|\'[^\']*\'')


def visible(text: str) -> str:
    """A text as it may be sent to a terminal: what can't be seen, or would steer it, is written
    out, as in ``\\x1b``. A byte of a file's name that is no text is written as that byte."""
    return _UNSEEN.sub(lambda match: _written_out(ord(match.group())), text)


def visible_lines(text: str) -> str:
    """Several lines, each as :func:`visible` shows it."""
    return "\n".join(visible(line) for line in text.split("\n"))


def _written_out(code: int) -> str:
    if 0xDC80 <= code <= 0xDCFF:
        code -= 0xDC00
    if code > 0xFFFF:
        return f"\\U{code:08x}"
    return f"\\x{code:02x}" if code <= 0xFF else f"\\u{code:04x}"


def _in_brackets(before: str) -> bool:
    """Whether a line has braces or brackets open behind ``before``; those of quoted texts don't
    count."""
    rest = _QUOTED.sub("", before)
    return sum(map(rest.count, "{[")) > sum(map(rest.count, "}]"))


@dataclass(frozen=True)
class Place:
    """Where something is in a file.

    Lines and columns count from 1, columns in characters. ``text`` is the whole line as typed,
    ``length`` how many characters of it are meant. Line 0 means the file as a whole.
    """

    file: str
    line: int = 0
    column: int = 0
    text: str = ""
    length: int = 1

    def fixed(self, fix: str) -> str:
        """The quoted line with what is meant replaced by ``fix``; a whole line stays as it is."""
        start = self.column - 1
        if not self.text or start < 0 or len(self.text) > _MOST_WRITE:
            return fix
        if _ENTRY.fullmatch(fix) and _in_brackets(self.text[:start]):
            return self._with_entry(fix)
        if ": " in fix:
            return fix
        if _COMMA.search(fix) and fix[0] not in "\"'" and _in_brackets(self.text[:start]):
            fix = f'"{fix}"'  # YAML would part a decimal comma there
        rest = self.text[start + self.length :]
        if not rest.strip(" #"):  # "6 #": YAML took the sign for an empty comment
            rest = ""
        return (self.text[:start] + fix + rest).strip()

    def _with_entry(self, entry: str) -> str:
        """The quoted line, whose braces are open where this is, with one more entry behind what is
        meant; or with the entry in place of the one of the same key that is meant."""
        start, end = self.column - 1, self.column - 1 + self.length
        key, _, value = entry.partition(": ")
        value = f'"{value}"' if _COMMA.search(value) else value
        head = f"{key}: "
        if self.text[:start].endswith(head):
            return f"{self.text[:start]}{value}{self.text[end:]}".strip()
        if self.text[start:end] == key and self.text[end:].startswith(":"):
            rest = re.sub(r"^:\s*[^,{}\[\]]*", "", self.text[end:])
            return f"{self.text[:start]}{head}{value}{rest}".strip()
        return f"{self.text[:end]}, {head}{value}{self.text[end:]}".strip()

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}" if self.line else self.file


def place_at(file: str, line: int, column: int, text: str, length: int) -> Place:
    """``Place`` of these, its fields put where they are kept: a frozen record's own ``__init__``
    takes three times as long, and every word of every file has a place."""
    place = object.__new__(Place)
    place.__dict__.update(file=file, line=line, column=column, text=text, length=length)
    return place


@dataclass(frozen=True)
class Finding:
    """One finding. ``write`` holds fixed lines to copy; ``about`` the ids of records it stops;
    ``more`` says how many like it in the same file are only counted, and ``folded`` is those of
    them that were worked out: :func:`unfolded` gives them back."""

    code: str
    severity: Severity
    message: str
    place: Place
    help: str = ""
    write: tuple[str, ...] = ()
    source: str = ""
    about: frozenset[str] = field(default_factory=frozenset)
    more: int = 0
    folded: tuple[Finding, ...] = field(default=(), compare=False, repr=False)

    @property
    def is_error(self) -> bool:
        return self.severity == "error"


class Refused(ValueError):
    """Text that can't be read without doubt: a code, what is wrong, how to fix it."""

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
    reported: dict[Finding, frozenset[str]] = {}
    for finding in findings:
        alike = replace(finding, about=frozenset())
        reported[alike] = reported.get(alike, frozenset()) | finding.about
    return sorted(
        (replace(finding, about=about) for finding, about in reported.items()),
        key=lambda f: (
            f.place.file,
            f.place.line,
            f.place.column,
            SEVERITIES.index(f.severity),
            f.code,
            f.message,
        ),
    )


def bounded(findings: Iterable[Finding], most: int = MOST_ALIKE) -> list[Finding]:
    """The findings, at most ``most`` of one code and severity a file; the last of them says how
    many more there are, and is about all that they are about."""
    kept: list[Finding] = []
    last: dict[tuple[str, str, str], tuple[int, int]] = {}
    dropped: dict[int, list[Finding]] = {}
    for finding in findings:
        alike = (finding.place.file, finding.code, finding.severity)
        number, index = last.get(alike, (0, 0))
        if number < most:
            last[alike] = (number + 1, len(kept))
            kept.append(finding)
            continue
        dropped.setdefault(index, []).append(finding)
    for index, others in dropped.items():
        one = kept[index]
        kept[index] = replace(
            one,
            more=one.more + sum(1 + other.more for other in others),
            about=one.about.union(*(other.about for other in others)),
            folded=(*one.folded, *others),
        )
    return kept


def unfolded(findings: Iterable[Finding]) -> list[Finding]:
    """Every finding on its own, in order: those that :func:`bounded` only counted too. What was
    never worked out, as faults of a file beyond :data:`MOST_READ`, is counted still."""

    def each(finding: Finding) -> Iterator[Finding]:
        inside = sum(1 + other.more for other in finding.folded)
        yield replace(finding, more=finding.more - inside, folded=())
        for other in finding.folded:
            yield from each(other)

    return in_order(one for finding in findings for one in each(finding))


def fewer_notes(findings: Sequence[Finding]) -> list[Finding]:
    """The findings, at most :data:`MOST_NOTES` notes of one code a file; the last of them says how
    many more there are. Errors and warnings are all there."""
    notes = bounded((f for f in findings if f.severity == "note"), MOST_NOTES)
    return [*(f for f in findings if f.severity != "note"), *notes]


def with_more(findings: Iterable[Finding], more: Iterable[Finding]) -> tuple[Finding, ...]:
    """The findings with more among them, in their order, as many as are reported."""
    return tuple(bounded(in_order([*findings, *more])))


def counts(findings: Iterable[Finding]) -> dict[str, int]:
    """How many findings there are of each severity, every severity named."""
    found: Counter[str] = Counter()
    for finding in findings:
        found[finding.severity] += 1 + finding.more
    return {severity: found.get(severity, 0) for severity in SEVERITIES}


def _spaced(finding: Finding) -> Finding:
    """The finding with ordinary spaces, which is all a terminal and a search need, with nothing
    that steers a terminal, and of a bounded length; a line to copy is whole or left out."""
    spaces = {0xA0: " ", 0x2009: " "}

    def shown(text: str, most: int) -> str:
        line = visible(text.translate(spaces))
        return line if len(line) <= most else line[: most - 1] + "…"

    return replace(
        finding,
        place=replace(finding.place, file=visible(finding.place.file)),
        message=shown(finding.message, _MOST_WORDS),
        help=shown(finding.help, _MOST_HELP),
        write=tuple(shown(w, _MOST_WRITE) for w in finding.write if len(w) <= _MOST_WRITE),
        source=shown(finding.source, _MOST_WORDS),
    )


def quoted_line(place: Place) -> tuple[str, str, str]:
    """The line as it is shown, clipped round the place: what is before it, what is meant, the
    rest."""
    text, start = place.text, min(max(place.column - 1, 0), len(place.text))
    length = max(1, min(place.length, len(text) - start))
    first, end = 0, len(text)
    if len(text) > _LINE:
        length = min(length, _LINE - 2 * _AROUND)
        first = max(0, min(start - _AROUND, len(text) - _LINE))
        end = first + _LINE
    before = ("…" if first else "") + _in_one_line(text[first:start])
    meant = _in_one_line(text[start : start + length])
    after = _in_one_line(text[start + length : end]) + ("…" if end < len(text) else "")
    return before, meant, after


def _in_one_line(text: str) -> str:
    return visible(text.replace("\t", " "))


def as_text(finding: Finding) -> str:
    """A finding as lines for a terminal: place, words, the line with a caret under the fault."""
    finding = _spaced(finding)
    place = finding.place
    lines = [f"{place}: {finding.severity}: {finding.message} [{finding.code}]"]
    if place.line and place.text:
        before, meant, after = quoted_line(place)
        line = (before + meant + after).rstrip()
        width = max(1, min(len(meant), len(line) - len(before)))
        lines.append(f"{place.line:>5} | {line}")
        lines.append(" " * 5 + " | " + " " * len(before) + "^" * width)
    if finding.help:
        lines.append("      " + finding.help)
    for index, fixed in enumerate(finding.write):
        lines.append(("      Write: " if index == 0 else "         or: ") + fixed)
    if finding.source:
        lines.append("      Source: " + finding.source)
    if finding.more:
        lines.append(f"      and {finding.more:,} more [{finding.code}] in {place.file}")
    return "\n".join(lines)


def texts(
    findings: Sequence[Finding],
    form: Callable[[Finding], str] = as_text,
    most: int | None = MOST_TEXT,
) -> Iterator[tuple[Finding | None, str]]:
    """Each finding with its text, as far as ``most`` bytes go (None: all of them); then how many
    there are beyond."""
    size = 0
    for number, finding in enumerate(findings):
        text = form(finding)
        size += len(text.encode("utf-8")) + 1
        if most is not None and size > most:
            rest = findings[number:]
            yield None, f"and {total_words(rest)} more. Fix these first."
            return
        yield finding, text


def printed(findings: Sequence[Finding]) -> str:
    """Findings as one text of a bounded size."""
    return "\n".join(text for _, text in texts(findings))


def as_github(finding: Finding) -> str:
    """A finding as a workflow annotation, so that a code host shows it beside the line."""
    finding = _spaced(finding)
    level = {"error": "error", "warning": "warning", "note": "notice"}[finding.severity]
    place = finding.place

    def data(text: str) -> str:
        return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")

    def prop(text: str) -> str:
        return data(text).replace(":", "%3A").replace(",", "%2C")

    more = f"And {finding.more:,} more in this file." if finding.more else ""
    words = " ".join(w for w in (finding.message, finding.help, *finding.write, more) if w)
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
    if finding.more:
        record["more"] = finding.more
    if finding.write:
        record["write"] = list(finding.write)
    if finding.source:
        record["source"] = finding.source
    return record


def total_words(findings: Sequence[Finding]) -> str:
    """The closing line of a check: "2 errors, 1 warning"."""
    found = counts(findings)
    parts = [f"{n:,} {word}{'' if n == 1 else 's'}" for word, n in found.items() if n]
    return ", ".join(parts) if parts else "no findings"
