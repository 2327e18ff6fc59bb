"""The line of a log that names its columns: where it is, and what it says."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from generator.files.finding import BrokenData
from generator.measures.temperature import Degree
from generator.review.logger_files import LogLine, log_fault

_MOST_PREAMBLE = 60
"""Lines that a logger writes about itself before the heads of its columns."""
_TIMES = frozenset(
    {"time", "date/time", "date time", "date_time", "date-time", "datetime", "timestamp"}
)
_PROBES = frozenset({"probe", "channel", "sensor"})
_HEAD = re.compile(
    r"(?P<word>temp(?:erature)?\.?|reading|value)?[ _,]*[(\[]?(?P<sign>°|º|deg(?:rees?)?\.?)?\s*"
    r"(?P<unit>[cf])?(?:elsius|ahrenheit)?[)\]]?",
    re.IGNORECASE,
)
FORM = "A line names the columns: time,probe,temp_c (or temp_f)."


@dataclass(frozen=True)
class Heads:
    time: int
    date: int | None
    temperature: int
    probe: int | None
    unit: Degree
    width: int
    separator: str


def find_heads(path: Path, lines: list[LogLine]) -> tuple[int, Heads]:
    """The line that names the columns, by its place among ``lines``, and what it says.

    Raises BrokenData, with what the first line lacks if no line names a time and a temperature."""
    for index, line in enumerate(lines[:_MOST_PREAMBLE]):
        for separator in sorted(",;\t", key=line.text.count, reverse=True):
            names = [cell.lower() for cell in line.parted(separator) or ()]
            if any(n in _TIMES for n in names) and any(_temperature_head(n) for n in names):
                return index, _named(path, line, separator, names)
    line = lines[0]
    names = [cell.lower() for cell in line.parted(max(",;\t", key=line.text.count)) or ()]
    lacking = "temp_c or temp_f" if any(n in _TIMES for n in names) else "time"
    message = f"There is no column {lacking}."
    raise BrokenData([log_fault("readings-header", path, line.number, line.text, message, FORM)])


def _temperature_head(name: str) -> re.Match[str] | None:
    """A head of temperatures: a word for it, a sign of degrees, or both; its unit may be
    missing."""
    match = _HEAD.fullmatch(name)
    return match if match and (match["word"] or (match["sign"] and match["unit"])) else None


def _named(path: Path, line: LogLine, separator: str, names: list[str]) -> Heads:
    def broken(message: str) -> BrokenData:
        return BrokenData(
            [log_fault("readings-header", path, line.number, line.text, message, FORM)]
        )

    heads = {i: m for i, n in enumerate(names) if (m := _temperature_head(n))}
    units = {i: m["unit"].upper() for i, m in heads.items() if m["unit"]}
    if not units:
        raise broken(
            f"`{names[next(iter(heads))]}` doesn't say °C or °F; there is no column temp_c or "
            "temp_f."
        )
    if len(units) > 1:
        raise broken("There are two columns of temperatures; leave one.")
    at: dict[str, int] = {}
    for kind, known in (("time", _TIMES), ("probe", _PROBES), ("date", frozenset({"date"}))):
        places = [i for i, n in enumerate(names) if n in known]
        if len(places) > 1:
            raise broken(f"The column {kind} stands twice.")
        if places:
            at[kind] = places[0]
    column, letter = next(iter(units.items()))
    unit: Degree = "degC" if letter == "C" else "degF"
    return Heads(at["time"], at.get("date"), column, at.get("probe"), unit, len(names), separator)
