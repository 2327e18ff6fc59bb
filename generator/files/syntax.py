"""A YAML reader's complaint in words for a cook: what was typed, where, and how to fix it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import yaml

from generator.files.finding import Finding, Place, clipped

MOST_DEPTH = 20
_MOST_LINES = 6

_GLUED = re.compile(r"^ *(?:- +)?[A-Za-z0-9][\w-]*:(?=[^\s:/])")


@dataclass(frozen=True)
class _Complaint:
    """What is wrong in words for a cook, how to fix it, the line and column it went wrong (from
    0), and the line fixed, where there is one way to fix it."""

    message: str
    help: str
    at: tuple[int, int]
    write: str = ""


_NO_COLON = (
    "This key has no colon.",
    "Write a colon and a space after the key.",
)
_IN_WORDS: tuple[tuple[tuple[str, ...], str, str], ...] = (
    (
        ("expected key", "expected '-'", "block end"),
        "This line doesn't line up with the lines above it.",
        "Lines of one group start in the same column. Lines of a list start with a dash.",
    ),
    (
        ("sequence entries are not allowed",),
        "A list can't start after a colon on the same line.",
        "Start it on the next line, or write it as [one, two].",
    ),
    (
        ("cannot start any token",),
        "A text can't start with this character.",
        "Put the whole text in quotes.",
    ),
)
"""What the reader says, by a few of its words: what is wrong and how to fix it."""


def syntax_finding(error: yaml.MarkedYAMLError, file: str, lines: list[str]) -> Finding:
    """What the YAML reader couldn't read, where it went wrong for the one who typed it."""
    mark, opened = error.problem_mark or error.context_mark, error.context_mark
    at = (min(mark.line, len(lines) - 1), mark.column) if mark else (0, 0)
    problem = str(error.problem or "")
    if "nesting depth" in problem:
        return too_deep(Place(file, at[0] + 1, at[1] + 1, lines[at[0]]))
    found = _complaint(problem, lines, at, (opened.line, opened.column) if opened else at)
    line, column = found.at
    place = Place(file, line + 1, column + 1, lines[line])
    write = (found.write,) if found.write else ()
    return Finding("yaml-syntax", "error", found.message, place, found.help, write)


def _complaint(
    problem: str, lines: list[str], at: tuple[int, int], opened: tuple[int, int]
) -> _Complaint:
    """The reader's ``problem``, met ``at`` a line and column of what began at ``opened``."""
    line, column = at
    if "mapping values are not allowed" in problem:
        return _of_a_colon(lines, at)
    if "could not find expected ':'" in problem:
        return _of_no_colon(lines, opened)
    if "did not find expected key" in problem and lines[line][:column].strip():
        message = "There is something after a closing quote or bracket."
        help = "Put the whole text in one pair of quotes. Inside '…', write ' twice."
        return _Complaint(message, help, at)
    for words, message, help in _IN_WORDS:
        if _says(problem, *words):
            return _Complaint(message, help, at)
    if "node content" in problem and lines[line][column : column + 1] in ("]", "}"):
        message = "This closing bracket has no opening bracket."
        return _Complaint(message, "Delete it, or open it. Put a text with brackets in quotes.", at)
    if _says(problem, "end of stream", "expected ',' or", "node content"):
        message = "A bracket or a quote is opened here but not closed."
        where = opened if opened[0] < len(lines) else at
        return _Complaint(message, "Close it with }, ] or the same quote.", where)
    return _Complaint("This line can't be read as YAML.", f"The reader reports: {problem}.", at)


def _says(problem: str, *words: str) -> bool:
    return any(word in problem for word in words)


def _of_a_colon(lines: list[str], at: tuple[int, int]) -> _Complaint:
    """A colon where none can be: the line above has none, one is glued to its value, or there are
    two."""
    bare = _without_colon(lines, at[0])
    if bare is not None:
        return _Complaint(*_NO_COLON, bare[:2], bare[2])
    return _of_a_glued_colon(lines, at[0]) or _Complaint(
        "There is a second colon on this line, or the line starts too far right.",
        'Put a text that contains ": " in quotes, or line the key up with its neighbours.',
        at,
    )


def _of_no_colon(lines: list[str], at: tuple[int, int]) -> _Complaint:
    """A key without a colon, or with one glued to its value."""
    return _of_a_glued_colon(lines, at[0]) or _Complaint(*_NO_COLON, at)


def _of_a_glued_colon(lines: list[str], line: int) -> _Complaint | None:
    """A colon without a space behind it on this line or the one above."""
    glued = _glued(lines, line)
    if glued is None:
        return None
    message = "There is no space after the colon."
    help = "Without one, YAML reads it all as one word."
    return _Complaint(message, help, glued[:2], glued[2])


@dataclass(frozen=True)
class Conflict:
    """A merge conflict git left in a file: two names and their lines, as ``(number, text)`` from 1,
    and the line it starts and ends at."""

    start: int
    end: int
    names: tuple[str, str]
    sides: tuple[tuple[tuple[int, str], ...], tuple[tuple[int, str], ...]]


def conflicts(lines: Sequence[str]) -> list[Conflict]:
    """The merge conflicts in a file's lines, in order; one that isn't closed is none."""
    found: list[Conflict] = []
    start, part, names = 0, "", ["", ""]
    sides: dict[str, list[tuple[int, str]]] = {}
    for number, line in enumerate(lines, 1):
        mark, _, name = line.partition(" ")
        if mark == "<" * 7:
            start, part, names, sides = number, "ours", [name, ""], {"ours": [], "theirs": []}
        elif part and mark == "|" * 7:
            part = "base"  # what both came from: neither side's
        elif part and line == "=" * 7:
            part = "theirs"
        elif part == "theirs" and mark == ">" * 7:
            both = (tuple(sides["ours"]), tuple(sides["theirs"]))
            found.append(Conflict(start, number, (names[0], name), both))
            part = ""
        elif part in sides:
            sides[part].append((number, line))
    return found


def sides_of(lines: Sequence[str]) -> tuple[list[str], list[str]] | None:
    """The lines of a file as each side has them; None if it holds no merge conflict."""
    found = conflicts(lines)
    if not found:
        return None
    whole: tuple[list[str], list[str]] = ([], [])
    for n, side in enumerate(whole):
        last = 0
        for conflict in found:
            side += [*lines[last : conflict.start - 1], *(text for _, text in conflict.sides[n])]
            last = conflict.end
        side += lines[last:]
    return whole


def conflict_findings(lines: Sequence[str], file: str) -> list[Finding]:
    """Each merge conflict in a file, with both sides' lines."""
    return [
        Finding(
            "merge-conflict",
            "error",
            f"Lines {c.start} to {c.end} are a merge conflict. Two people changed the same lines.",
            Place(file, c.start, 1, lines[c.start - 1], len(lines[c.start - 1])),
            f"{_side(c, 0)} {_side(c, 1)} Keep what is right. Delete the lines with "
            "<<<<<<<, =======, >>>>>>>.",
        )
        for c in conflicts(lines)
    ]


def _side(conflict: Conflict, number: int) -> str:
    name, lines = clipped(conflict.names[number]) or "one side", conflict.sides[number]
    if not lines:
        return f"{name} has nothing there."
    others = [text for _, text in conflict.sides[1 - number]]
    reported = " / ".join(
        clipped(_where_it_differs(text, others[n] if n < len(others) else ""))
        for n, (_, text) in enumerate(lines[:_MOST_LINES])
    )
    more = f" / and {len(lines) - _MOST_LINES} more" if len(lines) > _MOST_LINES else ""
    where = f"line {lines[0][0]}" if len(lines) == 1 else f"lines {lines[0][0]} to {lines[-1][0]}"
    return f"{name}, {where}: {reported}{more}."


def _where_it_differs(text: str, other: str) -> str:
    """A long line from a little before the place where it differs from the other side's."""
    alike = next((n for n, (a, b) in enumerate(zip(text, other, strict=False)) if a != b), None)
    start = min(len(text), len(other)) if alike is None else alike
    return text if len(text) <= 60 or start < 40 else "…" + text[start - 20 :]


def too_deep(place: Place) -> Finding:
    """Brackets or lines set in deeper than any manual needs."""
    words = f"This is nested more than {MOST_DEPTH} levels deep."
    help = "A manual never needs that. Check the brackets and the spaces at the left."
    return Finding("nested-too-deep", "error", words, place, help)


def _without_colon(lines: list[str], line: int) -> tuple[int, int, str] | None:
    """The line above in the same column, if it has no colon: line, column, the line fixed.

    YAML reads such a line and the next as one text, and stumbles over the next one's colon.
    """
    above = next((n for n in range(line - 1, -1, -1) if lines[n].strip()), None)
    if above is None:
        return None
    text = lines[above]
    indent = len(text) - len(text.lstrip())
    if indent != len(lines[line]) - len(lines[line].lstrip()):
        return None
    match = re.fullmatch(r" *([A-Za-z][\w-]*)(?: +([^\s:#].*))?", text.rstrip())
    if match is None or ": " in text or text.rstrip().endswith(":"):
        return None
    return above, indent, f"{match[1]}: {match[2]}" if match[2] else ""


def _glued(lines: list[str], line: int) -> tuple[int, int, str] | None:
    """A colon without a space on this line or the one above: line, column, the line fixed."""
    for number in (line, line - 1):
        match = _GLUED.match(lines[number]) if number >= 0 else None
        if match:
            text = lines[number]
            fixed = f"{text[: match.end()]} {text[match.end() :]}".strip()
            return number, match.end() - 1, fixed
    return None
