"""What only a person can say of a log: whether an hour that goes back is of the next day, and
whether what a column of products names is the food that is judged."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from generator.files.finding import Finding, visible
from generator.measures.words import counted
from generator.review.half_days import DAY, Line, gone_back
from generator.review.log_heads import Heads
from generator.review.logger_files import LogLine, log_fault


def questions(
    path: Path,
    header: Heads,
    lines: Sequence[LogLine],
    written: Mapping[str, Sequence[Line]],
    called: Sequence[str],
) -> list[Finding]:
    """What is asked of a log without a fault: of the first probe whose hours go back past midnight,
    and of each product that isn't ``called`` so. ``written`` are the stamps of each probe."""
    nights = (past_midnight(path, stamps) for stamps in written.values())
    first = next((night for night in nights if night is not None), None)
    return [*([first] if first is not None else []), *other_food(path, header, lines, called)]


def past_midnight(path: Path, written: Sequence[Line]) -> Finding | None:
    """The question whether a line is of the next day: its stamp, as ``written``, goes back by more
    than half a day under the same date as the line before it. None where none does. ``written``
    are the stamps of one probe, as the file has them, without a zone."""
    back = gone_back(written, DAY)
    if back is None:
        return None
    (before, first), (after, second) = back
    words = (
        f"Line {first} is of {before:%Y-%m-%d %H:%M}, and the next, line {second}, of "
        f"{after:%H:%M} on the same date. Is {after:%H:%M} the next day?"
    )
    help = (
        f"If it is, write {after.date() + datetime.timedelta(days=1)} there, and on the lines "
        "after it. If not, put the lines in order of time."
    )
    return log_fault("reading-hours", path, second, "", words, help)


def other_food(
    path: Path, header: Heads, lines: Sequence[LogLine], called: Sequence[str]
) -> Iterator[Finding]:
    """A question for each product that a log names, and that is none of the names of what is
    judged: ``called``, its id first."""
    if header.product is None or not called:
        return
    own, seen = {_plain(name) for name in called}, dict[str, list[LogLine]]()
    for line in lines:
        cells = line.parted(header.separator)
        text = cells[header.product] if cells is not None and len(cells) > header.product else ""
        named = any(map(str.isalpha, text))  # a number counts lines, or is a batch's
        if named and _plain(text) not in own:
            seen.setdefault(text, []).append(line)
    for text, found in seen.items():
        more = f" ({counted(len(found), 'line')})" if found[1:] else ""
        words = f"The log is of `{visible(text[:40])}`{more}. Is that {called[-1]}?"
        help = f"If it is, write `{called[0]}` in that column. If not, delete its lines."
        yield log_fault("reading-product", path, found[0].number, found[0].text, words, help)


def _plain(name: str) -> str:
    return re.sub(r"[\W_]+", " ", name.casefold()).strip()
