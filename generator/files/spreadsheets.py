"""Spreadsheets as rows of cells, looked at before they are unpacked."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from generator.files.finding import Refused

MOST_BYTES = 8 * 1024 * 1024
MOST_UNPACKED = 128 * 1024 * 1024
"""A spreadsheet is packed: what it may come to, unpacked."""
_MOST_MEMBERS = 500
MOST_COLUMNS = 200
SHEET_START = b"PK\x03\x04"
_OLD_SHEET = b"\xd0\xcf\x11\xe0"


@dataclass(frozen=True)
class Cell:
    """What a cell holds: the value that was last worked out, how it is shown (``0.0%``), and
    whether a formula is behind it."""

    value: object
    shown_as: str = "General"
    computed: bool = False


def table_text(path: Path, data: bytes) -> str:
    """The text of a table's bytes. Raises Refused for what is not UTF-8."""
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise _refused(f"{path.name} is not UTF-8 text.", "Save it as CSV, UTF-8.") from None


def table_bytes(path: Path, keep: str) -> bytes:
    """A table's file, a spreadsheet or text; ``keep`` says what to do with one that is too large.
    Raises Refused for what can't be read, and for spreadsheets of the old kind."""
    try:
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except OSError as error:
        reason = error.strerror or "it can't be opened"
        raise _refused(f"{path.name} can't be read: {reason}.", "Check the name.") from None
    if len(data) > MOST_BYTES:
        raise _refused(f"{path.name} is larger than 8 MiB.", keep)
    if data.startswith(_OLD_SHEET):
        raise _refused(f"{path.name} is a spreadsheet of the old kind.", "Save it as .xlsx or CSV.")
    return data


def _refused(message: str, help: str) -> Refused:
    return Refused("sheet-unreadable", message, help)


def _guard(name: str, data: bytes) -> None:
    """How large it comes to, and that no part of it names others. Raises Refused."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            members = packed.infolist()
            size = sum(m.file_size for m in members)
            if len(members) > _MOST_MEMBERS or size > MOST_UNPACKED:
                raise _refused(
                    f"{name} unpacks to more than 128 MiB, or to too many parts.",
                    "Save the one sheet alone, as CSV.",
                )
            for member in members:
                if member.filename.endswith((".xml", ".rels")):
                    with packed.open(member) as part:
                        head = part.read(4096)
                    if b"<!DOCTYPE" in head or b"<!ENTITY" in head:
                        raise _refused(f"{name} is not a plain spreadsheet.", "Save it as CSV.")
    except (zipfile.BadZipFile, OSError, NotImplementedError, RuntimeError, EOFError):
        raise _refused(f"{name} can't be unpacked.", "Save it again, or as CSV.") from None


def sheets_of(path: Path, data: bytes) -> dict[str, list[tuple[int, tuple[object, ...]]]]:
    """The filled rows of each filled sheet, by its name, each with its number from 1: values that
    were worked out last, never formulas; links are not followed. Raises Refused."""
    _guard(path.name, data)
    import openpyxl  # only who brings a spreadsheet waits for it

    try:
        book = openpyxl.load_workbook(
            io.BytesIO(data), read_only=True, data_only=True, keep_links=False
        )
        sheets = {sheet.title: _filled(sheet) for sheet in book.worksheets}
    except Exception:  # the library raises whatever its parser does
        raise _unreadable(path) from None
    return {title: rows for title, rows in sheets.items() if rows}


def cells_of(path: Path, data: bytes) -> dict[str, list[tuple[int, tuple[Cell, ...]]]]:
    """The same with how each cell is shown and whether it is computed. Raises Refused."""
    _guard(path.name, data)
    import openpyxl  # only who brings a spreadsheet waits for it

    try:
        books = [
            openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=o, keep_links=False)
            for o in (True, False)
        ]
        values, typed = (
            {sheet.title: list(_each(sheet)) for sheet in book.worksheets} for book in books
        )
    except Exception:  # the library raises whatever its parser does
        raise _unreadable(path) from None
    found = {title: list(_joined(values[title], typed[title])) for title in values}
    return {title: rows for title, rows in found.items() if rows}


def _unreadable(path: Path) -> Refused:
    return _refused(f"{path.name} is not a spreadsheet that can be read.", "Save it as CSV.")


def _filled(sheet: Any) -> list[tuple[int, tuple[object, ...]]]:
    rows = enumerate(sheet.iter_rows(values_only=True, max_col=MOST_COLUMNS), 1)
    return [(number, tuple(row)) for number, row in rows if any(v is not None for v in row)]


def _each(sheet: Any) -> Iterator[tuple[Any, ...]]:
    yield from sheet.iter_rows(max_col=MOST_COLUMNS)


def _joined(
    values: list[tuple[Any, ...]], typed: list[tuple[Any, ...]]
) -> Iterator[tuple[int, tuple[Cell, ...]]]:
    for number, (row, formulas) in enumerate(zip(values, typed, strict=True), 1):
        cells = tuple(
            Cell(one.value, str(one.number_format or "General"), other.data_type == "f")
            if one.value is not None or other.value is not None
            else Cell(None)
            for one, other in zip(row, formulas, strict=True)
        )
        if any(cell.value is not None or cell.computed for cell in cells):
            yield number, cells
