"""A fitted coefficient written into the equipment's own file: nothing else in it changes."""

from __future__ import annotations

import re
from collections.abc import Sequence

from generator.files.finding import Refused

_ENTRY = re.compile(r"(\s*)- ")


def with_fitted(text: str, ident: str, vessel: str | None, entry: Sequence[str]) -> str:
    """The text of a file of equipment with a run under `fitted` of ``ident``, in place of an older
    one of the same vessel. ``entry`` are its keys, a line each.

    Raises Refused where the equipment isn't written on lines of its own.
    """
    end = "\r\n" if "\r\n" in text else "\n"
    lines = text.splitlines()
    for number, line in enumerate(lines):
        if (
            flow := re.fullmatch(rf"({re.escape(ident)}: *\{{.*)\}}( *(?:#.*)?)", line)
        ) is not None:
            lines[number] = f"{_in_braces(flow[1], ident, entry)}}}{flow[2]}"
            return end.join(lines) + end
    head = next((n for n, line in enumerate(lines) if _is_head(line, ident)), None)
    if head is None:
        raise _not_there(ident)
    stop = _block_end(lines, head + 1, 1)
    first = next((line for line in lines[head + 1 : stop] if line.strip()), "  ")
    indent = first[: len(first) - len(first.lstrip())]
    at = next((n for n in range(head + 1, stop) if lines[n].rstrip() == f"{indent}fitted:"), None)
    if at is None:
        block = [f"{indent}fitted:", *_item(indent, entry)]
        return end.join([*lines[:stop], *block, *lines[stop:]]) + end
    last = _list_end(lines, at + 1, stop, len(indent))
    kept = _without(lines[at + 1 : last], vessel)
    return end.join([*lines[: at + 1], *kept, *_item(indent, entry), *lines[last:]]) + end


def _is_head(line: str, ident: str) -> bool:
    return line.split(" #")[0].rstrip() == f"{ident}:"


def _not_there(ident: str) -> Refused:
    return Refused(
        "fitted-not-written",
        f"{ident} isn't written on lines of its own, so that nothing can be added to it.",
        "Write its keys below it, a line each. Then try again.",
    )


def _in_braces(line: str, ident: str, entry: Sequence[str]) -> str:
    """Equipment on one line with a first run; its figures in quotes, as a comma may be in them."""
    if re.search(r"\bfitted:", line):
        raise _not_there(ident)
    pairs = [one.split(": ", 1) for one in entry]
    quoted = [f"{k}: {v if v[0] == chr(34) else chr(34) + v + chr(34)}" for k, v in pairs]
    return f"{line}, fitted: [{{{', '.join(quoted)}}}]"


def _item(indent: str, entry: Sequence[str]) -> list[str]:
    first, *rest = entry
    return [f"{indent}  - {first}", *(f"{indent}    {line}" for line in rest)]


def _depth(line: str) -> int:
    return len(line) - len(line.lstrip())


def _block_end(lines: Sequence[str], start: int, least: int) -> int:
    """Where a block ends: behind its last line that is indented so far."""
    end = start
    for number in range(start, len(lines)):
        line = lines[number]
        if line.strip() and _depth(line) < least and not line.startswith("#"):
            break
        if line.strip() and _depth(line) >= least:
            end = number + 1
    return end


def _list_end(lines: Sequence[str], start: int, stop: int, indent: int) -> int:
    """Where the entries of a list end; they may be no deeper than its key."""
    end = start
    for number in range(start, stop):
        line = lines[number]
        if line.strip() and _depth(line) <= indent and not line[indent:].startswith("- "):
            break
        if line.strip():
            end = number + 1
    return end


def _without(lines: Sequence[str], vessel: str | None) -> list[str]:
    """A list's lines without the entry of a vessel."""
    entries: list[list[str]] = []
    for line in lines:
        if _ENTRY.match(line) or not entries:
            entries.append([])
        entries[-1].append(line)
    return [line for one in entries if _vessel_of(one) != (vessel or "") for line in one]


def _vessel_of(entry: Sequence[str]) -> str:
    found = re.search(r"\bvessel:\s*([\w-]+)", " ".join(entry))
    return found[1] if found else ""
