"""Logged readings: a CSV file of times, probes and temperatures, read strictly and put in order."""

from __future__ import annotations

import csv
import datetime
import itertools
import re
import zoneinfo
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from generator.finding import BrokenData, Finding, Place, visible
from generator.measures.temperature import SIGN, Degree, Temperature
from generator.measures.words import counted

MOST_BYTES = 8 * 1024 * 1024
MOST_FINDINGS = 50
_NO_READING = frozenset(
    {"", "-", "--", "---", "n/a", "na", "nan", "null", "none", "err", "error", "open", "no reading"}
)
"""What loggers write when the probe gave nothing: a drop-out, not a temperature."""
_TIME = re.compile(
    r"(\d{4})-(\d{2})-(\d{2})[T ](\d{1,2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,6}))?)?\s*(Z|[+-]\d{2}:?\d{2})?",
    re.ASCII,
)
_NUMBER = re.compile(
    r"([-+−]?\d{1,4}(?:[.,]\d{1,6})?)\s*(?:°?\s*([CF]))?", re.ASCII | re.IGNORECASE
)
_UNITS: dict[str, Degree] = {"temp_c": "degC", "temp_f": "degF"}
_COLDEST, _HOTTEST = Fraction(-60), Fraction(350)


@dataclass(frozen=True)
class Reading:
    """One reading: the instant in UTC, the temperature, the line of the file."""

    at: datetime.datetime
    temperature: Temperature
    line: int


@dataclass(frozen=True)
class Series:
    """One probe's readings in order of time.

    Two readings of one instant that disagree are both kept; ``lowest`` and ``highest`` choose.
    ``drop_outs`` are instants at which the probe gave nothing.
    """

    probe: str
    readings: tuple[Reading, ...]
    drop_outs: tuple[datetime.datetime, ...] = ()

    def _one_each(self, warmest: bool) -> tuple[Reading, ...]:
        chosen: dict[datetime.datetime, Reading] = {}
        for reading in self.readings:
            held = chosen.get(reading.at)
            if held is None or (held.temperature < reading.temperature) == warmest:
                chosen[reading.at] = reading
        return tuple(chosen.values())

    @property
    def lowest(self) -> tuple[Reading, ...]:
        return self._one_each(warmest=False)

    @property
    def highest(self) -> tuple[Reading, ...]:
        return self._one_each(warmest=True)

    def gaps(self, longer_than: Fraction) -> list[tuple[datetime.datetime, datetime.datetime]]:
        """Pairs of neighbouring instants further apart than so many seconds."""
        times = [r.at for r in self.lowest]
        pairs = itertools.pairwise(times)
        return [(a, b) for a, b in pairs if seconds_between(a, b) > longer_than]


@dataclass(frozen=True)
class ReadingLog:
    """A whole file: its probes, its unit, what was put in order, and whether its clock may have
    been changed while it ran. ``zone`` is that of stamps without one."""

    file: str
    unit: Degree
    series: tuple[Series, ...]
    notes: tuple[str, ...]
    clock_change: bool
    zone: zoneinfo.ZoneInfo


def seconds_between(start: datetime.datetime, end: datetime.datetime) -> Fraction:
    """Exact seconds from ``start`` to ``end``."""
    difference = end - start
    whole = difference.days * 86400 + difference.seconds
    return Fraction(whole) + Fraction(difference.microseconds, 1_000_000)


@dataclass(frozen=True)
class _Header:
    time: int
    temperature: int
    probe: int | None
    unit: Degree
    width: int
    separator: str


def read_log(path: Path, zone: zoneinfo.ZoneInfo) -> ReadingLog:
    """The readings in a file with the columns ``time``, ``temp_c`` or ``temp_f``, and ``probe``.

    Columns stand in any order, apart by commas, semicolons or tabs; others are left alone. A stamp
    without a zone is of ``zone``. Raises BrokenData with every fault found.
    """
    lines = _lines(path)
    first = next((i for i, line in enumerate(lines) if line.strip()), None)
    if first is None:
        raise BrokenData([_fault("readings-empty", path, 0, "", "The file holds nothing.", _FORM)])
    header = _header(path, first + 1, lines[first])
    faults: list[Finding] = []
    found: dict[str, list[tuple[datetime.datetime, Temperature | None, int]]] = {}
    offsets: set[datetime.timedelta | None] = set()
    doubtful = False
    merged: list[Finding] | None = []
    for number, line in enumerate(lines[first + 1 :], first + 2):
        if not line.strip():
            continue
        merged = _merged(path, number, line, header, merged)
        row = _row(path, number, line, header, faults)
        if row is None:
            continue
        stamp, temperature, probe = row
        if stamp.tzinfo is None:
            local = stamp.replace(tzinfo=zone)
            offsets.add(local.utcoffset())
            doubtful |= local.utcoffset() != local.replace(fold=1).utcoffset()
            stamp = local
        found.setdefault(probe, []).append((stamp.astimezone(datetime.UTC), temperature, number))
    faults = faults or (merged or [])[:MOST_FINDINGS]
    if not faults and not any(t is not None for rows in found.values() for _, t, _ in rows):
        faults.append(
            _fault("readings-empty", path, 0, "", "The file holds no reading.", "Log one and try again.")
        )  # fmt: skip
    if faults:
        raise BrokenData(faults)
    notes: list[str] = []
    series = tuple(_series(probe, rows, notes) for probe, rows in found.items())
    return ReadingLog(visible(path.name), header.unit, series, tuple(notes), doubtful or len(offsets) > 1, zone)  # fmt: skip


_FORM = "The first line names the columns: time,probe,temp_c (or temp_f)."


def _fault(
    code: str, path: Path, line: int, text: str, message: str, help: str = "", column: int = 1,
    length: int = 0,
) -> Finding:  # fmt: skip
    place = Place(path.name, line, column if line else 0, text, length or max(len(text), 1))
    return Finding(code, "error", message, place, help)


def _lines(path: Path) -> list[str]:
    """The file's lines. Raises BrokenData for what isn't a text file of a sensible size."""

    def broken(message: str, help: str) -> BrokenData:
        return BrokenData([_fault("readings-unreadable", path, 0, "", message, help)])

    try:
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except OSError as error:
        reason = error.strerror or "it can't be opened"
        raise broken(f"{path.name} can't be read: {reason}.", "Check the name.") from None
    if len(data) > MOST_BYTES:
        raise broken(f"{path.name} is larger than 8 MiB.", "Cut out the hours that matter.")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise broken(f"{path.name} is not UTF-8 text.", "Save it as CSV, UTF-8.") from None
    if "\0" in text:
        raise broken(f"{path.name} is not a text file.", "Save it as CSV, UTF-8.")
    return re.split(r"\r\n|\r|\n", text)


def _cells(line: str, separator: str) -> list[str] | None:
    try:
        rows = list(csv.reader([line], delimiter=separator, strict=True))
    except csv.Error:
        return None
    return [cell.strip() for cell in rows[0]] if len(rows) == 1 else None


def _header(path: Path, number: int, line: str) -> _Header:
    separator = max(",;\t", key=line.count)
    cells = _cells(line, separator)
    names = [cell.lower() for cell in cells] if cells is not None else []

    def broken(message: str) -> BrokenData:
        return BrokenData([_fault("readings-header", path, number, line, message, _FORM)])

    units = [name for name in names if name in _UNITS]
    if "time" not in names or not units:
        lacking = "time" if "time" not in names else "temp_c or temp_f"
        raise broken(f"There is no column {lacking}.")
    if len(units) > 1:
        raise broken("There are two columns of temperatures; leave one.")
    for name in ("time", "probe"):
        if names.count(name) > 1:
            raise broken(f"The column {name} stands twice.")
    probe = names.index("probe") if "probe" in names else None
    return _Header(
        names.index("time"), names.index(units[0]), probe, _UNITS[units[0]], len(names), separator
    )


def _row(
    path: Path, number: int, line: str, header: _Header, faults: list[Finding]
) -> tuple[datetime.datetime, Temperature | None, str] | None:
    """One row, or None with its faults added."""
    cells = _cells(line, header.separator)
    if cells is None or len(cells) != header.width:
        count = "quotes that don't close" if cells is None else counted(len(cells), "cell")
        message = f"This line has {count}; the first line has {counted(header.width, 'column')}."
        _add(faults, _fault("reading-cells", path, number, line, message, _decimals(cells, header)))
        return None

    def fault(code: str, index: int, message: str, help: str) -> None:
        parts = line.split(header.separator)
        plain = '"' not in line and index < len(parts)
        start = sum(len(p) + 1 for p in parts[:index]) + 1 if plain else 1
        length = len(parts[index]) if plain else len(line)
        _add(faults, _fault(code, path, number, line, message, help, start, max(length, 1)))

    stamp = _stamp(cells[header.time])
    if isinstance(stamp, str):
        fault("reading-time", header.time, stamp, "Write it as in 2026-11-25 14:05.")
    temperature: Temperature | str | None = None
    if cells[header.temperature].lower() not in _NO_READING:
        temperature = _temperature(cells[header.temperature], header)
        if isinstance(temperature, str):
            help = "If the probe gave nothing, leave the cell empty."
            fault("reading-temperature", header.temperature, temperature, help)
    probe = cells[header.probe] if header.probe is not None else "probe"
    if not probe or len(probe) > 60 or not probe.isprintable():
        help = "Give every probe a short name, as in A."
        fault("reading-probe", header.probe or 0, "This line doesn't say which probe.", help)
        return None
    if isinstance(stamp, str) or isinstance(temperature, str):
        return None
    return stamp, temperature, probe


def _merged(
    path: Path, number: int, line: str, header: _Header, doubts: list[Finding] | None
) -> list[Finding] | None:
    """The rows so far whose figure and next cell may be one figure with a decimal comma, in a row that
    lacks a cell: `3,5` for 3.5. None once a row shows that the next column holds whole figures."""
    cells = line.split(",") if header.separator == "," and '"' not in line else []
    at = header.temperature
    if doubts is None or len(cells) <= at + 1 or not re.fullmatch("[0-9]{1,6}", cells[at + 1]):
        return doubts
    if re.fullmatch(r"\s*[-+−]?[0-9]+\.[0-9]+\s*", cells[at]):
        return None
    if re.fullmatch(r"\s*[-+−]?[0-9]{1,4}", cells[at]):
        both = f"{cells[at].strip()},{cells[at + 1]}"
        words = f"`{both}` may be one figure with a decimal comma, or two cells."
        help = f"Write {both.replace(',', '.')}, or {cells[at].strip()}.0 and the next cell; or part the columns by semicolons."
        start = sum(len(cell) + 1 for cell in cells[:at]) + 1
        length = len(cells[at]) + 1 + len(cells[at + 1])
        doubts.append(_fault("reading-comma", path, number, line, words, help, start, length))
    return doubts


def _decimals(cells: list[str] | None, header: _Header) -> str:
    if cells is not None and header.separator == "," and len(cells) == header.width + 1:
        return "With a decimal comma, part the columns by semicolons."
    return "Mend or delete the line."


def _add(faults: list[Finding], fault: Finding) -> None:
    if len(faults) < MOST_FINDINGS:
        faults.append(fault)


def _stamp(text: str) -> datetime.datetime | str:
    """A stamp, or what is wrong with it."""
    match = _TIME.fullmatch(text) if len(text) <= 40 else None
    if match is None:
        return f"`{text[:40]}` is not a date and time."
    year, month, day, hour, minute = (int(match[i]) for i in range(1, 6))
    second = int(match[6] or 0)
    micro = int((match[7] or "").ljust(6, "0") or 0)
    if not 1970 <= year <= 2199:
        return f"`{text[:40]}`: the year can't be right."
    zone: datetime.tzinfo | None = None
    if match[8] == "Z":
        zone = datetime.UTC
    elif match[8]:
        hours, minutes = int(match[8][1:3]), int(match[8][-2:])
        if hours > 14 or minutes > 59:
            return f"`{text[:40]}`: there is no such zone."
        offset = datetime.timedelta(hours=hours, minutes=minutes)
        zone = datetime.timezone(-offset if match[8][0] == "-" else offset)
    try:
        return datetime.datetime(year, month, day, hour, minute, second, micro, zone)
    except ValueError:
        return f"`{text[:40]}`: there is no such day or hour."


def _temperature(text: str, header: _Header) -> Temperature | str:
    """A temperature in the column's unit, or what is wrong with it."""
    match = _NUMBER.fullmatch(text) if len(text) <= 20 else None
    if match is None:
        return f"`{text[:40]}` is not a temperature."
    if match[2] and match[2].upper() != header.unit[-1]:
        return f"`{text}` stands in a column of {SIGN[header.unit]}."
    value = Fraction(match[1].replace(",", ".").replace("−", "-"))
    try:
        temperature = Temperature.of(value, header.unit)
    except ValueError:
        return f"{text}: nothing is that cold."
    if not _COLDEST <= temperature.celsius <= _HOTTEST:
        return f"{text} {SIGN[header.unit]} is no temperature of food."
    return temperature


def _series(
    probe: str, rows: list[tuple[datetime.datetime, Temperature | None, int]], notes: list[str]
) -> Series:
    times = [at for at, _, _ in rows]
    if times != sorted(times):
        notes.append(f"{probe}: the lines were out of order; they are judged in order of time.")
    rows = sorted(rows, key=lambda row: (row[0], row[2]))
    kept: dict[tuple[datetime.datetime, Fraction], Reading] = {}
    missing: list[datetime.datetime] = []
    for at, temperature, line in rows:
        if temperature is None:
            missing.append(at)
        else:
            kept.setdefault((at, temperature.celsius), Reading(at, temperature, line))
    readings = tuple(kept.values())
    double = len(rows) - len(missing) - len(readings)
    if double:
        notes.append(f"{probe}: {counted(double, 'line')} stood twice and counted once.")
    clashing = len(readings) - len({r.at for r in readings})
    if clashing:
        notes.append(
            f"{probe}: at {counted(clashing, 'instant')} two readings disagree; "
            "it passes or fails only if it does so with either."
        )
    if missing:
        notes.append(f"{probe}: {counted(len(missing), 'line')} without a reading.")
    return Series(probe, readings, tuple(missing))
