"""A cooling form as it is printed: a row for each batch, a time beside each temperature in it.

Date, food, then Time and Temp (°F) as often as it is read: a line for each reading comes of it, as
a logger writes. A form with the hours alone over its columns isn't read: who looks in at 2 h 20
writes it under 2 h, and nobody can tell.
"""

from __future__ import annotations

import datetime
import itertools
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from generator.review.logger_files import LogLine

_LINES = 60
_PAIRS = 2
_TIME = re.compile(
    r"(?:(?:start(?:ing)?|end|finish|\d{1,2}(?:\s*(?:h|hrs?|hours?))?)[\s_-]*)?"
    r"time(?:[\s_#-]*\d{1,2}(?:\s*(?:h|hrs?|hours?))?)?"
)
_TEMPERATURE = re.compile(r".*\btemp(?:erature)?\b.*|.*[°º]\s*[cf]\b.*|temp_[cf]")
_UNIT = re.compile(r"(?:[°º(\[_]\s*|\bdeg\.?\s*|\s)([cf])[)\]]?\s*\d*$")
_FOODS = ("food", "food item", "product", "item", "dish", "product name", "item name")
_DAY = re.compile(r"(\d{1,2})[/.-](\d{1,2})[/.-](\d{4})")
_ONE, _MONTHS = datetime.timedelta(days=1), 12
_HOUR = re.compile(r"(\d{1,2})[:.h](\d{2})(?:[:.]\d{2})?\s*([ap])?\.?m?", re.IGNORECASE)


@dataclass(frozen=True)
class _Form:
    """Where the columns of a form are: each reading's time and temperature, its ``unit``."""

    pairs: tuple[tuple[int, int], ...]
    unit: str
    date: int | None
    food: int | None
    width: int


def one_reading_a_line(lines: Sequence[LogLine]) -> list[LogLine]:
    """The lines of a log; of a form with its readings side by side, each with its own time, a line
    for each reading. Anything else is as it was."""
    for index, line in enumerate(lines[:_LINES]):
        for separator in ",;\t":
            form = _form(line.parted(separator) or ())
            if form is not None:
                return list(_apart(lines[index:], form, separator))
    return list(lines)


def _form(cells: Sequence[str]) -> _Form | None:
    """The form whose columns a line names; None where they aren't of one, or say no scale or
    two."""
    names = [cell.strip().lower() for cell in cells]
    pairs = tuple(
        (at, at + 1)
        for at, (name, behind) in enumerate(itertools.pairwise(names))
        if _TIME.fullmatch(name) and _TEMPERATURE.fullmatch(behind)
    )
    units = {m[1] for _, at in pairs if (m := _UNIT.search(names[at])) is not None}
    if len(pairs) < _PAIRS or len(units) != 1:
        return None
    date = names.index("date") if "date" in names else None
    food = next((at for at, name in enumerate(names) if name in _FOODS), None)
    return _Form(pairs, units.pop(), date, food, len(names))


def _apart(lines: Sequence[LogLine], form: _Form, separator: str) -> Iterator[LogLine]:
    """The line of heads, then a line for each reading of each row; a row of another width is left
    as it is, to be reported."""
    head = ("date", "time", "probe", f"temp_{form.unit}")
    yield LogLine(lines[0].number, lines[0].text, head if form.date is not None else head[1:])
    for line in lines[1:]:
        cells = line.parted(separator)
        if cells is None or len(cells) < form.width:
            yield LogLine(line.number, line.text, cells or ())
        else:
            yield from _readings(line, cells, form)


def _readings(line: LogLine, cells: Sequence[str], form: _Form) -> Iterator[LogLine]:
    """A line for each reading of a row, of a probe that is called after the food and the line."""
    food = cells[form.food] if form.food is not None else ""
    probe = f"{food} (line {line.number})" if food else f"line {line.number}"
    pairs = [(cells[at], cells[of]) for at, of in form.pairs if cells[at] or cells[of]]
    late = _past_midnight([time for time, _ in pairs])
    for over, (time, degrees) in zip(late, pairs, strict=True):
        day = "" if form.date is None else cells[form.date]
        stamped = (_next_day(day) if over and day else day,) if form.date is not None else ()
        yield LogLine(line.number, line.text, (*stamped, time, probe, degrees))


def _past_midnight(times: Sequence[str]) -> list[bool]:
    """Of each time of a row whether it is past midnight: times go on from left to right, so one
    that is earlier than that before it is of the next day. Where hours may be of a clock of twelve
    nothing is concluded, and they are asked about."""
    read = [_HOUR.fullmatch(time.strip()) for time in times]
    sure = any(m is not None and (m[3] or int(m[1]) > 12) for m in read)
    found: list[bool] = []
    last, over = -1, False
    for match in read:
        minutes = _minutes(match) if match is not None else last
        over = over or (sure and minutes < last)
        found.append(over)
        last = minutes
    return found


def _minutes(match: re.Match[str]) -> int:
    hour = int(match[1]) % 12 + 12 * (match[3].lower() == "p") if match[3] else int(match[1])
    return hour * 60 + int(match[2])


def _next_day(day: str) -> str:
    """The day after a date; one whose order isn't sure is said to be the day after, which no date
    is, so that it is asked about."""
    parts = _DAY.fullmatch(day)
    try:
        if parts is None:
            return (datetime.date.fromisoformat(day) + _ONE).isoformat()
        first, second, year = map(int, parts.groups())
        if first > _MONTHS or second > _MONTHS:
            month, of = (second, first) if first > _MONTHS else (first, second)
            return (datetime.date(year, month, of) + _ONE).isoformat()
    except ValueError:
        pass
    return f"{day} (the day after)"
