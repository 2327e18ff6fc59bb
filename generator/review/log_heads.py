"""The line of a log that names its columns: where it is, and what it says."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from generator.files.finding import BrokenData, Finding
from generator.measures.temperature import Degree
from generator.review.logger_files import LogLine, log_fault

_MOST_PREAMBLE = 60
"""Lines that a logger writes about itself before the heads of its columns."""
_TIMES = frozenset(
    {"time", "date/time", "date time", "date_time", "date-time", "datetime", "timestamp"}
)
_PROBES = frozenset({"probe", "channel", "sensor"})
_UNIT = r"[(\[]?(?P<sign>°|º|deg(?:rees?)?\.?)?\s*(?P<unit>[cf])(?:elsius|ahrenheit)?[)\]]?"
_HEAD = re.compile(
    r"(?P<word>temp(?:erature)?\.?|reading|value)?[ _,]*" + _UNIT.replace("[cf])", "[cf])?", 1),
    re.IGNORECASE,
)
_WORD = (
    "temp(?:erature)?|probe|core|sensor|channel|ch|thermocouple|tc|t|food|product|internal|"
    "cent(?:re|er)|reading|value|top|bottom|side"
)
_NUMBERED = re.compile(
    rf"(?P<name>(?:(?:{_WORD})[ _.\-]*)+(?:(?:no\.?|\#)?\s*\d{{1,3}}|[a-z](?![a-z]))?)"
    rf"(?:[ _,/]+|(?=[(\[°º])){_UNIT}",
    re.IGNORECASE,
)
"""A head that names a probe and its scale: `Probe 1 (°C)`, `Core temp 2 [°F]`, `T1/°C`."""
FORM = (
    "A line names the columns: time,probe,temp_c (or temp_f). Or time and a column for each probe, "
    "as in Probe 1 (°C)."
)


@dataclass(frozen=True)
class Heads:
    """Where the columns stand. ``names`` are the probes of columns of temperatures, by their
    places, where each probe has a column of its own; empty where a row is one reading."""

    time: int
    date: int | None
    temperature: int
    probe: int | None
    unit: Degree
    width: int
    separator: str
    names: tuple[tuple[int, str], ...] = ()


def find_heads(path: Path, lines: list[LogLine]) -> tuple[int, Heads]:
    """The line that names the columns, by its place among ``lines``, and what it says.

    Raises BrokenData, with what the first line lacks if no line names a time and a temperature."""
    for index, line in enumerate(lines[:_MOST_PREAMBLE]):
        for separator in sorted(",;\t", key=line.text.count, reverse=True):
            names = [cell.lower() for cell in line.parted(separator) or ()]
            if any(n in _TIMES for n in names) and any(_temperature_head(n) for n in names):
                return index, _named(path, line, separator)
    raise BrokenData([_lacking(path, lines[:_MOST_PREAMBLE])])


def _lacking(path: Path, lines: list[LogLine]) -> Finding:
    """What the line lacks that comes nearest to naming the columns: the first that has a time, else
    the first of all."""
    for line in lines:
        for separator in sorted(",;\t", key=line.text.count, reverse=True):
            cells = line.parted(separator) or ()
            if not any(cell.lower() in _TIMES for cell in cells):
                continue
            message = "There is no column temp_c or temp_f."
            degrees = [cell for cell in cells if re.search(r"[°º]|temp|\b[cf]\b", cell.lower())]
            if degrees:
                message = (
                    f"`{degrees[0][:40]}` isn't known as the food's temperature in °C or °F; there "
                    "is no column temp_c or temp_f."
                )
            return log_fault("readings-header", path, line.number, line.text, message, FORM)
    line = lines[0]
    words = "There is no column time."
    return log_fault("readings-header", path, line.number, line.text, words, FORM)


def _temperature_head(name: str) -> re.Match[str] | None:
    """A head of temperatures: a word for it, a sign of degrees, or both; its unit may be missing.
    Or a probe's with its unit."""
    match = _HEAD.fullmatch(name)
    if match and (match["word"] or (match["sign"] and match["unit"])):
        return match
    return _NUMBERED.fullmatch(name)


def _named(path: Path, line: LogLine, separator: str) -> Heads:
    def broken(message: str, help: str = FORM) -> BrokenData:
        return BrokenData(
            [log_fault("readings-header", path, line.number, line.text, message, help)]
        )

    cells = line.parted(separator) or ()
    names = [cell.lower() for cell in cells]
    heads = {i: m for i, n in enumerate(names) if (m := _temperature_head(n))}
    units = {i: m["unit"].upper() for i, m in heads.items() if m["unit"]}
    if not units:
        raise broken(
            f"`{names[next(iter(heads))]}` doesn't say °C or °F; there is no column temp_c or "
            "temp_f."
        )
    at: dict[str, int] = {}
    for kind, known in (("time", _TIMES), ("probe", _PROBES), ("date", frozenset({"date"}))):
        places = [i for i, n in enumerate(names) if n in known]
        if len(places) > 1:
            raise broken(f"The column {kind} stands twice.")
        if places:
            at[kind] = places[0]
    column, letter = next(iter(units.items()))
    each = tuple((i, _probe_of(cells[i], i)) for i in units) if len(units) > 1 else ()
    if each and len(set(units.values())) > 1:
        raise broken("There are columns in °C and in °F; leave those of one.")
    if each and "probe" in at:
        raise broken(
            "There are several columns of temperatures, and one that names the probe; leave one.",
            "Leave out the column probe, or all columns of temperatures but one.",
        )
    if len({name for _, name in each}) < len(each):
        raise broken(
            "There are two columns of temperatures with one name; leave one.",
            "Give each probe's column a name, as in Probe 1 (°C).",
        )
    unit: Degree = "degC" if letter == "C" else "degF"
    return Heads(
        at["time"], at.get("date"), column, at.get("probe"), unit, len(names), separator, each
    )


def _probe_of(cell: str, index: int) -> str:
    """The name of the probe a column is of: its head without the scale."""
    match = _NUMBERED.fullmatch(cell)
    name = match["name"] if match else re.sub(r"[ _,(\[]*[°º]?\s*[cfCF]?[)\]]?$", "", cell)
    return name.strip(" _.-") or f"column {index + 1}"
