"""Files that loggers write, as lines of cells: text in UTF-8, UTF-16 or Windows-1252, or a
spreadsheet."""

from __future__ import annotations

import csv
import datetime
import re
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from generator.files.finding import BrokenData, Finding, Place, Refused
from generator.files.spreadsheets import SHEET_START, sheets_of, table_bytes


class LogLine(NamedTuple):
    """One line: its number from 1, its text as it is shown in a finding, and its cells.

    Text is parted into cells only when the columns are known; ``cells`` is None until then."""

    number: int
    text: str
    cells: tuple[str, ...] | None = None

    def parted(self, separator: str) -> tuple[str, ...] | None:
        """The cells, apart by ``separator``; None where quotes don't close."""
        if self.cells is not None:
            return self.cells
        if '"' not in self.text:
            return tuple(map(str.strip, self.text.split(separator)))
        try:
            rows = list(csv.reader([self.text], delimiter=separator, strict=True))
        except csv.Error:
            return None
        return tuple(cell.strip() for cell in rows[0]) if len(rows) == 1 else None


def log_fault(
    code: str,
    path: Path,
    line: int,
    text: str,
    message: str,
    help: str = "",
    column: int = 1,
    length: int = 0,
) -> Finding:
    """An error at a place of a log; line 0 is the whole file."""
    place = Place(path.name, line, column if line else 0, text, length or max(len(text), 1))
    return Finding(code, "error", message, place, help)


def broken(path: Path, message: str, help: str) -> BrokenData:
    """The refusal of a whole file."""
    return BrokenData([Finding("readings-unreadable", "error", message, Place(path.name), help)])


def log_lines(path: Path) -> list[LogLine]:
    """The lines of a file that aren't empty. Raises BrokenData for what is no log of a sensible
    size."""
    if path.exists() and not path.is_file():
        raise broken(path, f"{path.name} is not a file.", "Name the file the logger wrote.")
    try:
        data = table_bytes(path, "Keep only the hours that matter.")
    except Refused as refused:
        raise broken(path, refused.message, refused.help) from None
    if data.startswith(SHEET_START):
        return list(_spreadsheet(path, data))
    lines = re.split(r"\r\n|\r|\n", _text(path, data))
    return [LogLine(n, line) for n, line in enumerate(lines, 1) if line.strip()]


def assumed_coding(path: Path) -> str:
    """How a text that doesn't say its coding was read, as a sentence; empty where nothing had to be
    assumed."""
    data = table_bytes(path, "")
    coding = "" if data.startswith(SHEET_START) else _coding(data)
    return f"The file isn't UTF-8. It was read as {_CALLED[coding]}." if coding in _CALLED else ""


_CALLED = {
    "cp1252": "Windows-1252 (Latin-1)",
    "utf-16-le": "UTF-16 without its mark",
    "utf-16-be": "UTF-16 without its mark",
}
_IN_LATIN = re.compile(
    "[\\x00-\\x7f\u00a0\u00b0\u00ba\u00aa\u00b2\u00b3\u00b5\u00b7\u2018-\u201d\u2013\u2014\u2026"
    "\u20ac\u00c0-\u00d6\u00d8-\u00f6\u00f8-\u00ff]*"
)
"""What a log in Windows-1252 holds: letters of Western Europe, signs of degrees, quotes."""


def _coding(data: bytes) -> str:
    """The coding of a text: said by its first bytes, UTF-8, UTF-16 by its zeros, or Windows-1252
    where each of its bytes is a letter there, or a sign that logs hold; "" for none of these."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    if data and not len(data) % 2:
        for zeros, coding in ((data[1::2], "utf-16-le"), (data[::2], "utf-16-be")):
            if zeros.count(0) * 10 >= len(zeros) * 9:
                return coding
    for coding in ("utf-8-sig", "cp1252"):
        try:
            text = data.decode(coding)
        except UnicodeDecodeError:
            continue
        if coding != "cp1252" or _IN_LATIN.fullmatch(text):
            return coding
    return ""


def _text(path: Path, data: bytes) -> str:
    coding = _coding(data)
    try:
        text = data.decode(coding) if coding else None
    except UnicodeDecodeError:
        text = None
    if text is None:
        raise broken(path, f"{path.name} is not UTF-8 text.", "Save it as CSV, UTF-8.")
    if "\0" in text:
        raise broken(path, f"{path.name} is not a text file.", "Save it as CSV, UTF-8.")
    return text


# --- spreadsheets


def _spreadsheet(path: Path, data: bytes) -> Iterator[LogLine]:
    """The rows of the one sheet that holds anything."""
    try:
        found = sheets_of(path, data)
    except Refused as refused:
        raise broken(path, refused.message, refused.help) from None
    filled = [rows for rows in map(_rows, found.values()) if rows]
    if len(filled) > 1:
        raise broken(
            path,
            f"{path.name} has {len(filled)} filled sheets.",
            "Keep the one with the readings.",
        )
    for number, cells in filled[0] if filled else []:
        yield LogLine(number, ",".join(cells), cells)


def _rows(rows: list[tuple[int, tuple[object, ...]]]) -> list[tuple[int, tuple[str, ...]]]:
    texts = [(number, tuple(map(_cell, row))) for number, row in rows]
    found = [(number, cells) for number, cells in texts if any(cells)]
    width = max((max(i for i, c in enumerate(cells, 1) if c) for _, cells in found), default=0)
    return [(n, (*cells[:width], *[""] * (width - len(cells)))) for n, cells in found]


def _cell(value: object) -> str:
    """A cell as it would be in a CSV file."""
    if value is None:
        return ""
    if isinstance(value, datetime.datetime):
        whole = value + datetime.timedelta(microseconds=500_000)  # kept as a share of a day
        return whole.replace(microsecond=0).isoformat(sep=" ")
    if isinstance(value, datetime.date):
        return value.isoformat()
    if isinstance(value, datetime.time):
        return value.replace(microsecond=0).isoformat()
    if isinstance(value, float):
        return f"{round(value, 6):f}".rstrip("0").rstrip(".")
    return str(value).strip()
