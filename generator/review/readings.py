"""Logged readings: times, probes and temperatures, read strictly and put in order."""

from __future__ import annotations

import datetime
import itertools
import re
import zoneinfo
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from pathlib import Path

from generator.files.finding import BrokenData, Finding, Refused, visible
from generator.files.progress import counted_off
from generator.measures.temperature import Degree, Temperature
from generator.measures.words import counted, listed
from generator.review.half_days import Line, gone_back
from generator.review.log_asked import questions
from generator.review.log_heads import FORM, NO_READING, NUMBER, Heads, find_heads
from generator.review.logger_files import LogLine, assumed_coding, log_fault, log_lines
from generator.review.paired_columns import one_reading_a_line
from generator.review.stamps import Order, Stamps

MOST_FINDINGS = 50
_COLDEST, _HOTTEST = Fraction(-60), Fraction(350)


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading: the instant in UTC, the temperature, the line of the file."""

    at: datetime.datetime
    temperature: Temperature
    line: int


@dataclass(frozen=True)
class Series:
    """One probe's readings in order of time.

    Two readings of one instant that disagree are both kept; ``lowest`` and ``highest`` choose.
    ``drop_outs`` are instants at which the probe gave nothing, ``clash`` the first two readings
    that disagree.
    """

    probe: str
    readings: tuple[Reading, ...]
    drop_outs: tuple[datetime.datetime, ...] = ()
    clash: tuple[Reading, Reading] | None = None

    def _one_each(self, warmest: bool) -> tuple[Reading, ...]:
        if self.clash is None and not self._doubles():
            return self.readings
        chosen: dict[datetime.datetime, Reading] = {}
        for reading in self.readings:
            held = chosen.get(reading.at)
            if held is None or (held.temperature < reading.temperature) == warmest:
                chosen[reading.at] = reading
        return tuple(chosen.values())

    def _doubles(self) -> bool:
        return any(a.at == b.at for a, b in itertools.pairwise(self.readings))

    @property
    def lowest(self) -> tuple[Reading, ...]:
        return self._one_each(warmest=False)

    @property
    def highest(self) -> tuple[Reading, ...]:
        return self._one_each(warmest=True)

    def gaps(self, longer_than: Fraction) -> list[tuple[datetime.datetime, datetime.datetime]]:
        """Pairs of neighbouring instants further apart than so many seconds."""
        most = datetime.timedelta(microseconds=int(longer_than * 1_000_000))  # stamps are whole µs
        pairs = itertools.pairwise([r.at for r in self.readings])
        return [(a, b) for a, b in pairs if b - a > most]


@dataclass(frozen=True)
class ReadingLog:
    """A whole file: its probes, its unit, what was put in order, and whether its clock may have
    been changed while it ran; ``clock_words`` say by which lines. ``zone`` is that of stamps
    without one."""

    file: str
    unit: Degree
    series: tuple[Series, ...]
    notes: tuple[str, ...]
    clock_change: bool
    zone: zoneinfo.ZoneInfo
    clock_words: str = ""


def seconds_between(start: datetime.datetime, end: datetime.datetime) -> Fraction:
    """Exact seconds from ``start`` to ``end``."""
    difference = end - start
    whole = difference.days * 86400 + difference.seconds
    return Fraction(whole) + Fraction(difference.microseconds, 1_000_000)


_Found = dict[str, list[tuple[datetime.datetime, Temperature | None, int]]]


def read_log(
    path: Path,
    zone: zoneinfo.ZoneInfo,
    dates: Order | None = None,
    called: Sequence[str] = (),
) -> ReadingLog:
    """The readings in a file with the columns ``time``, ``temp_c`` or ``temp_f``, and ``probe``, or
    with a column of temperatures for each probe.

    Columns are in any order, apart by commas, semicolons or tabs, or in a spreadsheet; others are
    left alone, and so are lines before the heads. A form with a time beside each temperature in a
    row is read as a line for each. A stamp without a zone is of ``zone``; ``dates``
    says what is first in a date that ends in its year; a column that names another product than
    ``called`` (an id, a name) is asked about. Raises BrokenData with every fault found.
    """
    lines = one_reading_a_line(log_lines(path))
    if not lines:
        raise BrokenData([log_fault("readings-empty", path, 0, "", "The file is empty.", FORM)])
    first, header = find_heads(path, lines)
    faults: list[Finding] = []
    stamps, clock = Stamps(dates), _Clock(zone, header.zone)
    found: _Found = {}
    written: dict[str, list[Line]] = {}
    merged: list[Finding] | None = None if header.names else []
    rows = lines[first + 1 :]
    for line in counted_off("Reading the log", rows):
        merged = _merged(path, line, header, merged)
        row = _row(path, line, header, stamps, faults)
        if row is not None:
            stamp, readings = row
            at = clock.instant(stamp, line.number)
            for probe, temperature in readings:
                found.setdefault(probe, []).append((at, temperature, line.number))
                written.setdefault(probe, []).append((stamp.replace(tzinfo=None), line.number))
    odds = stamps.at_odds()
    if odds is not None:
        _add(
            faults,
            log_fault("reading-dates", path, odds[1], "", odds[0], "Write them all one way."),
        )
    if stamps.half_day and not faults:
        _add_twelve(path, found, zone, faults)
    faults = faults or questions(path, header, rows, written, called)[:MOST_FINDINGS]
    faults = faults or (merged or [])[:MOST_FINDINGS]
    if not faults and not _any_reading(found):
        words = "The file has no readings."
        faults.append(log_fault("readings-empty", path, 0, "", words, "Log one and try again."))
    if faults:
        raise BrokenData(_of_every_line(faults, len(rows)))
    notes: list[tuple[str, str]] = []
    series = tuple(_series(probe, stamped, notes) for probe, stamped in found.items())
    said = (*_assumed(path, header), *_once(notes), *_left_out(header))
    return ReadingLog(
        visible(path.name), header.unit, series, said, bool(clock.words), zone, clock.words
    )


def _any_reading(found: _Found) -> bool:
    return any(t is not None for rows in found.values() for _, t, _ in rows)


def log_of(
    file: str,
    rows: Sequence[tuple[datetime.datetime, str, Temperature]],
    zone: zoneinfo.ZoneInfo,
) -> ReadingLog:
    """A log of readings that are known already: instant, probe, temperature, in any order. Where
    both scales are in it, all are taken in °F, which loses nothing; a reading's line is its place
    among ``rows``, from 1."""
    unit: Degree = "°F" if any(t.unit == "°F" for _, _, t in rows) else "°C"
    found: _Found = {}
    for number, (at, probe, temperature) in enumerate(rows, 1):
        same = temperature
        if temperature.unit != unit:
            same = Temperature.of(temperature.in_unit(unit), unit)
        found.setdefault(probe, []).append((at, same, number))
    notes: list[tuple[str, str]] = []
    series = tuple(_series(probe, stamped, notes) for probe, stamped in found.items())
    return ReadingLog(visible(file), unit, series, _once(notes), False, zone)


def food_temperature(value: Fraction, unit: Degree) -> Temperature | None:
    """A reading as a temperature of food; None for what no food has."""
    try:
        temperature = Temperature.of(value, unit)
    except ValueError:
        return None
    return temperature if _COLDEST <= temperature.celsius <= _HOTTEST else None


def _assumed(path: Path, header: Heads) -> tuple[str, ...]:
    """What was assumed of the file's coding and of its heads, in sentences."""
    return tuple(filter(None, (assumed_coding(path), header.read_as)))


def _left_out(header: Heads) -> tuple[str, ...]:
    """The columns that nothing is taken from, in a sentence."""
    if not header.left_out:
        return ()
    names = listed([f"`{visible(name[:40])}`" for name in header.left_out[:6]])
    more = len(header.left_out) - 6
    also = f" and {more} more" if more > 0 else ""
    return (f"Left out, not known as the food's: {names}{also}.",)


_EVERY_LINE = 6
"""A fault of every line, of so many lines and more, is one fault."""


def _of_every_line(faults: list[Finding], lines: int) -> list[Finding]:
    """A fault that every line has is reported once, with their count."""
    if lines < _EVERY_LINE:
        return faults
    alike: dict[tuple[str, str], list[Finding]] = {}
    for fault in faults:
        kind = (fault.code, re.sub("`[^`]*`", "``", fault.message))
        alike.setdefault(kind, []).append(fault)
    reported: list[Finding] = []
    for same in alike.values():
        if len(same) >= min(lines, MOST_FINDINGS) > 1:
            words = f"{same[0].message} So it is on all {lines} lines."
            reported.append(replace(same[0], message=words))
        else:
            reported += same
    return reported


def _once(notes: list[tuple[str, str]]) -> tuple[str, ...]:
    """What is said of several probes is said once, with their names."""
    by_words: dict[str, list[str]] = {}
    for probe, words in notes:
        by_words.setdefault(words, []).append(probe)
    return tuple(
        f"{listed(probes[:3])}{f' and {len(probes) - 3} more' if len(probes) > 3 else ''}: {words}"
        for words, probes in by_words.items()
    )


def _add_twelve(path: Path, found: _Found, zone: zoneinfo.ZoneInfo, faults: list[Finding]) -> None:
    """Ask, once, where hours may be of a clock of twelve: the order of the lines says so."""
    for rows in found.values():
        back = gone_back([(at, line) for at, _, line in rows])
        if back is None:
            continue
        (before, first), (after, second) = back
        one, other = before.astimezone(zone), after.astimezone(zone)
        words = (
            f"Line {first} is of {one.hour}:{one:%M}, and the next, line {second}, of "
            f"{other.hour}:{other:%M}. Is that in the other half of the day?"
        )
        help = (
            f"Write every hour from 0 to 23, as in {(other.hour + 12) % 24}:{other:%M}, or with AM "
            "or PM. Or put the lines in order."
        )
        _add(faults, log_fault("reading-hours", path, second, "", words, help))
        return


class _Clock:
    """Instants of stamps without a zone, which are of ``zone``, or of the one that the head of
    the column has ``said``; ``words`` say where the clocks were changed meanwhile."""

    def __init__(self, zone: zoneinfo.ZoneInfo, said: datetime.tzinfo | None) -> None:
        self.zone, self.said = zone, said
        self.offset: datetime.timedelta | None = None
        self.even_day = 0
        self.line = 0
        self.words = ""

    def _even(self, stamp: datetime.datetime) -> bool:
        """Whether the clocks are still all day: midnight and the next have one offset."""
        start = datetime.datetime(stamp.year, stamp.month, stamp.day, tzinfo=self.zone)
        end = start + datetime.timedelta(days=1)
        return start.utcoffset() == end.utcoffset() == end.replace(fold=1).utcoffset()

    def instant(self, stamp: datetime.datetime, line: int) -> datetime.datetime:
        if stamp.tzinfo is None and self.said is not None:
            stamp = stamp.replace(tzinfo=self.said)
        if stamp.tzinfo is not None:
            return stamp.astimezone(datetime.UTC)
        day = stamp.toordinal()
        if day == self.even_day and self.offset is not None:
            self.line = line
            return (stamp - self.offset).replace(tzinfo=datetime.UTC)
        if self._even(stamp):
            self.even_day = day
        local = stamp.replace(tzinfo=self.zone)
        offset = local.utcoffset()
        assert offset is not None
        if not self.words and offset != local.replace(fold=1).utcoffset():
            self.words = f"The clocks changed about line {line}, and its time doesn't say its zone."
        if not self.words and self.offset not in (None, offset):
            self.words = (
                f"The clocks changed between lines {self.line} and {line}, and the times don't "
                f"say their zone."
            )
        self.offset, self.line = offset, line
        return (stamp - offset).replace(tzinfo=datetime.UTC)


def _row(
    path: Path, line: LogLine, header: Heads, stamps: Stamps, faults: list[Finding]
) -> tuple[datetime.datetime, list[tuple[str, Temperature | None]]] | None:
    """One row's stamp and its reading of each probe, or None with its faults added."""
    cells = line.parted(header.separator)
    while cells is not None and len(cells) > header.width and not cells[-1]:
        cells = cells[:-1]
    if cells is None or len(cells) != header.width:
        count = "quotes that don't close" if cells is None else counted(len(cells), "cell")
        message = f"This line has {count}; the first line has {counted(header.width, 'column')}."
        _add(
            faults,
            log_fault(
                "reading-cells", path, line.number, line.text, message, _decimals(cells, header)
            ),
        )
        return None

    stamp = _stamp(cells, header, line, stamps)
    if isinstance(stamp, Refused) and (
        stamp.code != "reading-dates" or stamps.ask_once(line.number)
    ):
        _add(faults, _at(path, line, header, stamp.code, header.time, stamp.message, stamp.help))
    probe = cells[header.probe] if header.probe is not None else "probe"
    columns = header.names or ((header.temperature, probe),)
    readings: list[tuple[str, Temperature | None]] = []
    for column, name in columns:
        temperature = None
        if cells[column].lower() not in NO_READING:
            temperature, why = _temperature(cells[column], header.unit)
            if temperature is None:
                help = "If the probe gave nothing, leave the cell empty."
                _add(faults, _at(path, line, header, "reading-temperature", column, why, help))
                continue
        readings.append((name, temperature))
    if not probe or len(probe) > 60 or not probe.isprintable():
        help, why = "Give every probe a short name, as in A.", "This line doesn't say which probe."
        _add(faults, _at(path, line, header, "reading-probe", header.probe or 0, why, help))
        return None
    return None if isinstance(stamp, Refused) else (stamp, readings)


def _at(
    path: Path, line: LogLine, header: Heads, code: str, index: int, message: str, help: str
) -> Finding:
    """A fault at one cell of a line."""
    parts = line.text.split(header.separator if line.cells is None else ",")
    as_typed = line.cells is None or tuple(map(str.strip, parts)) == line.cells
    plain = '"' not in line.text and index < len(parts) and as_typed
    start = sum(len(p) + 1 for p in parts[:index]) + 1 if plain else 1
    length = len(parts[index]) if plain else len(line.text)
    return log_fault(code, path, line.number, line.text, message, help, start, max(length, 1))


def _stamp(
    cells: tuple[str, ...], header: Heads, line: LogLine, stamps: Stamps
) -> datetime.datetime | Refused:
    """The stamp of a row, from one cell or from a date and a time, or what is wrong with it."""
    text = cells[header.time]
    if header.date is not None:
        day = cells[header.date].removesuffix(" 00:00:00")  # a spreadsheet's day has an hour, too
        text = f"{day} {text}"
    try:
        return stamps.read(text, line.number)
    except Refused as refused:
        return refused


def _merged(
    path: Path, line: LogLine, header: Heads, doubts: list[Finding] | None
) -> list[Finding] | None:
    """The rows so far whose figure and next cell may be one figure with a decimal comma, in a row
    that lacks a cell: `3,5` for 3.5. None once a row shows that the next column holds whole
    figures."""
    typed = line.cells is None and header.separator == "," and '"' not in line.text
    cells = line.text.split(",") if typed else []
    at = header.temperature
    if doubts is None or len(cells) <= at + 1 or not re.fullmatch("[0-9]{1,6}", cells[at + 1]):
        return doubts
    if re.fullmatch(r"\s*[-+−]?[0-9]+\.[0-9]+\s*", cells[at]):
        return None
    if re.fullmatch(r"\s*[-+−]?[0-9]{1,4}", cells[at]):
        both = f"{cells[at].strip()},{cells[at + 1]}"
        words = f"`{both}` may be one figure with a decimal comma, or two cells."
        help = (
            f"Write {both.replace(',', '.')}, or {cells[at].strip()}.0 and the next cell; "
            "or separate the columns by semicolons."
        )
        start = sum(len(cell) + 1 for cell in cells[:at]) + 1
        length = len(cells[at]) + 1 + len(cells[at + 1])
        doubts.append(
            log_fault("reading-comma", path, line.number, line.text, words, help, start, length)
        )
    return doubts


def _decimals(cells: tuple[str, ...] | None, header: Heads) -> str:
    if cells is not None and header.separator == "," and len(cells) == header.width + 1:
        return "With a decimal comma, separate the columns by semicolons."
    return "Fix or delete the line."


def _add(faults: list[Finding], fault: Finding) -> None:
    if len(faults) < MOST_FINDINGS:
        faults.append(fault)


@lru_cache(maxsize=65536)
def _temperature(text: str, unit: Degree) -> tuple[Temperature | None, str]:
    """A temperature in the column's unit, or None and what is wrong with it."""
    match = NUMBER.fullmatch(text) if len(text) <= 20 else None
    if match is None:
        return None, f"`{text[:40]}` is not a temperature."
    if match[2] and match[2].upper() != unit[-1]:
        return None, f"`{text}` is in a column of {unit}."
    value = Fraction(match[1].replace(",", ".").replace("−", "-"))
    try:
        temperature = Temperature.of(value, unit)
    except ValueError:
        return None, f"{text}: that is colder than anything can be."
    if not _COLDEST <= temperature.celsius <= _HOTTEST:
        return None, f"{text} {unit} is not a temperature of food."
    return temperature, ""


def _series(
    probe: str,
    rows: list[tuple[datetime.datetime, Temperature | None, int]],
    notes: list[tuple[str, str]],
) -> Series:
    if any(a[0] > b[0] for a, b in itertools.pairwise(rows)):
        notes.append((probe, "the lines were out of order. They are judged in order of time."))
        rows = sorted(rows, key=lambda row: (row[0], row[2]))
    missing = tuple(at for at, temperature, _ in rows if temperature is None)
    kept: list[Reading] = []
    clashes: list[tuple[Reading, Reading]] = []
    double = 0
    for at, temperature, line in rows:
        if temperature is None:
            continue
        same = _of_one_instant(kept, at)
        if any(k.temperature.celsius == temperature.celsius for k in same):
            double += 1
            continue
        kept.append(Reading(at, temperature, line))
        if len(same) == 1:
            clashes.append((same[0], kept[-1]))
    if double:
        notes.append((probe, f"{counted(double, 'line')} came twice and count once."))
    if clashes:
        notes.append((probe, _clash_words(clashes)))
    if missing:
        notes.append((probe, f"{counted(len(missing), 'line')} without a reading."))
    return Series(probe, tuple(kept), missing, clashes[0] if clashes else None)


def _of_one_instant(kept: list[Reading], at: datetime.datetime) -> list[Reading]:
    """The readings at the end of ``kept`` that are of this instant."""
    return list(itertools.takewhile(lambda reading: reading.at == at, reversed(kept)))


def _clash_words(clashes: list[tuple[Reading, Reading]]) -> str:
    """The first two readings of one instant that disagree, and how many more there are."""
    one, other = clashes[0]
    more = f", and so at {counted(len(clashes) - 1, 'other time')}" if clashes[1:] else ""
    return (
        f"lines {one.line} and {other.line} have the same time and read {one.temperature} and "
        f"{other.temperature}{more}. It passes or fails only if it does so with either."
    )
