"""A formula kept in a spreadsheet, as a formula's file: rows that can be read without doubt become
lines, and every other is reported and left where ``check`` stops at it."""

from __future__ import annotations

import csv
import datetime
import io
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

from generator.authoring.skeletons import quoted
from generator.files.finding import Refused, clipped, visible
from generator.files.spreadsheets import SHEET_START, Cell, cells_of, table_bytes, table_text
from generator.intake.standards import Standards
from generator.measures.amounts import read_amount
from generator.measures.marks import as_written, written_with
from generator.records.fields import ID_PATTERN, MOST_ID, as_id

MOST_ROWS = 2_000
_SEPARATORS = (",", ";", "\t")
_MAIN = "main"


@dataclass(frozen=True)
class Columns:
    """Which column holds what: its heading, or its letters. ``unit`` may be a unit for all rows;
    ``part`` is "" where all is one part, ``rows`` the first and last row meant."""

    item: str
    amount: str
    unit: str = ""
    part: str = ""
    sheet: str = ""
    rows: tuple[int, int] | None = None


@dataclass(frozen=True)
class Row:
    """A row read: its number, its part, its line of YAML ("" if it is none), and why it couldn't be
    read, "" if it was."""

    number: int
    part: str
    line: str
    problem: str = ""


@dataclass(frozen=True)
class Imported:
    """What was read of a sheet: its rows, and what of it wasn't looked at."""

    sheet: str
    rows: tuple[Row, ...]
    unread_columns: tuple[str, ...]
    unread_rows: tuple[int, ...]

    @property
    def read(self) -> int:
        """How many rows became lines without doubt."""
        return sum(not row.problem for row in self.rows)


@dataclass(frozen=True)
class _Table:
    """A sheet with its columns found."""

    title: str
    rows: list[tuple[int, tuple[Cell, ...]]]
    at: Mapping[str, int]
    unit: str
    unread_columns: tuple[str, ...]
    unread_rows: tuple[int, ...]


def read_sheet(path: Path, columns: Columns, standards: Standards) -> Imported:
    """Read the rows of a spreadsheet (.xlsx, or CSV in UTF-8).

    An item is an ingredient or formula of ``standards`` by its id or one of its names, letter by
    letter; an amount is read as one typed in a formula is. Nothing is guessed. Raises Refused for a
    file that can't be read, and for columns that aren't there or are there twice.
    """
    with written_with(standards.writing):
        table = _table(path, columns, standards)
        known = _known(standards)
        found: list[Row] = []
        for number, cells in table.rows:
            row = _row(number, cells, table, known, standards)
            if row is not None:
                found.append(_once(row, found))
        return Imported(table.title, tuple(found), table.unread_columns, table.unread_rows)


def _table(path: Path, columns: Columns, standards: Standards) -> _Table:
    sheets = _sheets(path, columns)
    if columns.sheet and columns.sheet not in sheets:
        raise _unclear(f"{path.name} has no sheet `{clipped(columns.sheet)}`.", sheets)
    if not columns.sheet and len(sheets) != 1:
        raise _unclear(f"{path.name} has {len(sheets)} filled sheets. Say --sheet.", sheets)
    title = columns.sheet or next(iter(sheets))
    rows = sheets[title]
    if len(rows) > MOST_ROWS:
        raise Refused(
            "sheet-unreadable",
            f"{path.name} is too long: at most {MOST_ROWS:,} are read.",
            "Keep the formula's rows.",
        )
    return _headed(title, rows, columns, standards)


def _unclear(message: str, names: Iterable[str]) -> Refused:
    listed = ", ".join(clipped(visible(name)) for name in names)
    return Refused("sheet-column", message, f"There: {listed}." if listed else "")


def _sheets(path: Path, columns: Columns) -> dict[str, list[tuple[int, tuple[Cell, ...]]]]:
    data = table_bytes(path, "Keep one sheet.")
    if data.startswith(SHEET_START):
        return cells_of(path, data)
    return {path.name: _text_rows(path, data, columns)}


def _text_rows(path: Path, data: bytes, columns: Columns) -> list[tuple[int, tuple[Cell, ...]]]:
    """The rows of a CSV file, apart by the separator that parts the headings asked for."""
    text = table_text(path, data)
    tables = [
        table
        for separator in _SEPARATORS
        if (table := _parted(text, separator)) and any(_has(row, columns) for row in table)
    ]
    if len(tables) != 1:
        raise _unclear(
            f"{path.name} has no row with the columns `{clipped(columns.item)}` and "
            f"`{clipped(columns.amount)}`.",
            (),
        )
    return [
        (number, tuple(Cell(cell.strip() or None) for cell in row))
        for number, row in enumerate(tables[0], 1)
        if any(cell.strip() for cell in row)
    ]


def _parted(text: str, separator: str) -> list[list[str]]:
    try:
        return list(csv.reader(io.StringIO(text), delimiter=separator, strict=True))
    except csv.Error:
        return []


def _has(row: Sequence[str], columns: Columns) -> bool:
    """Whether a row has the two columns that must be there: their headings, or as far as their
    letters go."""
    asked = (columns.item, columns.amount)
    letters = [_column(name) for name in asked]
    reach = max((n for n in letters if n is not None), default=0)
    far = None not in letters and len(row) > max(reach, 1)
    return far or {_plain(name) for name in asked} <= {_plain(cell) for cell in row}


def _headed(
    title: str, rows: list[tuple[int, tuple[Cell, ...]]], columns: Columns, standards: Standards
) -> _Table:
    """The rows below the first that has the headings asked for; all, where letters were given."""
    fixed = "" if not columns.unit or not _is_unit(columns.unit, standards) else columns.unit
    asked = _asked(columns, fixed)
    head = _heads(rows, asked)
    if head is None:
        at, rest, above = _by_letters(title, rows, asked), rows, rows[:0]
    else:
        at, rest, above = _by_headings(rows[head][1], asked), rows[head + 1 :], rows[:head]
    cells = rows[head][1] if head is not None else ()
    first, last = columns.rows or (0, MOST_ROWS * MOST_ROWS)
    left = [row for row in rest if not first <= row[0] <= last]
    meant = [row for row in rest if first <= row[0] <= last]
    unread = _unread(cells, at.values())
    return _Table(title, meant, at, fixed, unread, tuple(n for n, _ in (*above, *left)))


def _asked(columns: Columns, fixed: str) -> dict[str, str]:
    """The headings or letters asked for, by what they hold."""
    found = {"item": columns.item, "amount": columns.amount, "part": columns.part}
    found["unit"] = "" if fixed else columns.unit
    return {key: name for key, name in found.items() if name}


def _unread(heads: Sequence[Cell], at: Iterable[int]) -> tuple[str, ...]:
    """The columns with a heading that nobody asked for."""
    named = {i: clipped(_text(cell)) for i, cell in enumerate(heads) if i not in {*at}}
    return tuple(f"{_letters(i)} ({name})" for i, name in named.items() if name)


def _heads(rows: list[tuple[int, tuple[Cell, ...]]], asked: Mapping[str, str]) -> int | None:
    """Which row has all the headings; None where none has."""
    wanted = set(map(_plain, asked.values()))
    for index, (_, cells) in enumerate(rows):
        if wanted <= {_plain(_text(cell)) for cell in cells}:
            return index
    return None


def _by_headings(cells: Sequence[Cell], asked: Mapping[str, str]) -> dict[str, int]:
    """The columns of the headings. Raises Refused where one is there twice, or is asked for as two
    things."""
    heads = [_plain(_text(cell)) for cell in cells]
    at = {key: heads.index(_plain(name)) for key, name in asked.items()}
    for name in asked.values():
        if heads.count(_plain(name)) > 1:
            raise _unclear(f"`{clipped(name)}` is the heading of two columns.", ())
    return _apart(at)


def _by_letters(
    title: str, rows: list[tuple[int, tuple[Cell, ...]]], asked: Mapping[str, str]
) -> dict[str, int]:
    """The columns of letters. Raises Refused where a name is neither heading nor letters."""
    found = {key: _column(name) for key, name in asked.items()}
    at = {key: column for key, column in found.items() if column is not None}
    if len(at) < len(found):
        names = ", ".join(f"`{clipped(name)}`" for name in asked.values())
        first = max(
            (cells for _, cells in rows),
            key=lambda row: sum(map(bool, map(_text, row))),
            default=(),
        )
        raise _unclear(
            f"No row of {clipped(visible(title))} has the headings {names}.",
            filter(None, map(_text, first)),
        )
    return _apart(at)


def _apart(at: dict[str, int]) -> dict[str, int]:
    if len(set(at.values())) < len(at):
        raise _unclear("One column can't hold two things.", ())
    return at


def _is_unit(text: str, standards: Standards) -> bool:
    try:
        amount = read_amount(f"1 {text}", standards.units, pieces=False)
    except Refused:
        return False
    return amount.kind in ("mass", "volume")


def _column(name: str) -> int | None:
    """The column of letters, counted from 0; None where they are none."""
    if not re.fullmatch(r"[A-Z]{1,2}", name):
        return None
    from openpyxl.utils import column_index_from_string  # only who imports a sheet waits for it

    return column_index_from_string(name) - 1


def _letters(column: int) -> str:
    from openpyxl.utils import get_column_letter

    return get_column_letter(column + 1)


def _plain(text: str) -> str:
    return " ".join(text.casefold().split())


def _text(cell: Cell) -> str:
    return "" if cell.value is None else " ".join(str(cell.value).split())


def _known(standards: Standards) -> dict[str, set[str]]:
    """The ids by each name they have: their own, and those people say."""
    found: dict[str, set[str]] = {}
    for ident, ingredient in standards.ingredients.items():
        for name in (ident, ingredient.name, *ingredient.other_names):
            found.setdefault(_plain(name), set()).add(ident)
    for ident, formula in standards.formulas.items():
        for name in (ident, formula.name):
            found.setdefault(_plain(name), set()).add(ident)
    return found


def _row(
    number: int,
    cells: Sequence[Cell],
    table: _Table,
    known: Mapping[str, set[str]],
    standards: Standards,
) -> Row | None:
    """One row; None where nothing of what is asked for is in it."""

    def of(key: str) -> Cell:
        at = table.at.get(key)
        return cells[at] if at is not None and at < len(cells) else Cell(None)

    item, typed = _text(of("item")), of("amount")
    if not item and typed.value is None and not typed.computed:
        return None
    part, no_part = _part(of("part")) if "part" in table.at else (_MAIN, "")
    if not item:
        line = f"not-read-row-{number}: {_quoted(clipped(_shown(typed)))}"
        return Row(number, part, line, f"`{clipped(_shown(typed))}` stands alone: no item.")
    if typed.value is None and not typed.computed:
        return Row(number, part, "", f"`{clipped(item)}` has no amount.")
    ident, no_item = _ident(item, known)
    amount, no_amount = _amount(typed, _text(of("unit")) or table.unit, standards)
    problem = " ".join(filter(None, (no_item, no_amount, no_part)))
    return Row(number, part, f"{ident}: {amount}" if ident else "", problem)


def _shown(cell: Cell) -> str:
    return _text(cell) or "a formula"


def _part(cell: Cell) -> tuple[str, str]:
    ident = as_id(_text(cell))[:MOST_ID]
    if ID_PATTERN.fullmatch(ident):
        return ident, ""
    said = f"`{clipped(_text(cell))}` gives no id of a part." if _text(cell) else "No part."
    return _MAIN, f"{said} Written under `{_MAIN}`."


def _ident(item: str, known: Mapping[str, set[str]]) -> tuple[str, str]:
    """The id an item is called by; where none is, one made of its words, and what is wrong."""
    found = known.get(_plain(item), set())
    if len(found) == 1:
        return next(iter(found)), ""
    ident = as_id(item)[:MOST_ID].strip("-")
    ident = ident if ID_PATTERN.fullmatch(ident) else ""
    if found:
        return ident, f"`{clipped(item)}` may be {' or '.join(sorted(found))}."
    written = f" Written as `{ident}`." if ident else ""
    return ident, f"No ingredient or formula is called `{clipped(item)}`.{written}"


def _amount(cell: Cell, unit: str, standards: Standards) -> tuple[str, str]:
    """An amount as it is typed in a formula; where it can't be, a text no formula takes, and what
    is wrong."""
    text, problem = _figure(cell)
    percent = text.endswith("%")
    if not problem and unit:
        if percent:
            problem = f"`{text}` is a percentage, and its unit is `{clipped(unit)}`."
        elif not re.search(r"[^\W\d_]", text):
            text = f"{text} {unit}"
        else:
            problem = f"`{clipped(text)}` has a unit of its own beside `{clipped(unit)}`."
    if not problem:
        try:
            read_amount(text, standards.units)
            return _quoted(text), ""
        except Refused as refused:
            problem = refused.message
    return _quoted(f"not read: {clipped(text)}"), problem


def _quoted(text: str) -> str:
    if re.fullmatch(r"[\w .,/%½¼¾⅓⅔-]+", text) and not text.startswith(("-", ",", ".")):
        return text
    return quoted(visible(text))


def _figure(cell: Cell) -> tuple[str, str]:
    """The text of a cell's amount, and what speaks against it."""
    value = cell.value
    if value is None:
        return "", "A formula is in the cell and no value: open the sheet, save it, import again."
    if isinstance(value, (bool, datetime.date, datetime.time)):
        return str(value), f"`{clipped(str(value))}` is no amount, to the spreadsheet neither."
    if not isinstance(value, (int, float)):
        return " ".join(str(value).split()), ""
    if "%" in cell.shown_as:
        return f"{_digits(Fraction(f'{value:.15g}') * 100)} %", ""
    return _digits(Fraction(f"{value:.15g}")), ""


def _digits(value: Fraction) -> str:
    """A figure with the digits a spreadsheet keeps, in the kitchen's mark."""
    text = f"{float(value):.12f}".rstrip("0").rstrip(".")
    return as_written(text)


def _once(row: Row, before: list[Row]) -> Row:
    """The row; reported where its part has such a line already."""
    ident = row.line.partition(":")[0]
    first = next(
        (r for r in before if ident and r.part == row.part and r.line.partition(":")[0] == ident),
        None,
    )
    if first is None:
        return row
    words = f"`{ident}` is in `{row.part}` already, in row {first.number}."
    return replace(row, problem=" ".join(filter(None, (words, row.problem))))


def parts_of(found: Imported) -> str:
    """The rows as the lines under ``parts`` of a formula, over the reported ones why."""
    by_part: dict[str, list[Row]] = {}
    for row in found.rows:
        by_part.setdefault(row.part, []).append(row)
    lines: list[str] = []
    for part, rows in by_part.items():
        lines.append(f"  {part}:")
        for row in rows:
            if row.problem:
                why = visible(" ".join(row.problem.split()))
                lines.append(f"    # row {row.number}: {why}")
            if row.line:
                lines.append(f"    {row.line}")
    return "\n".join(lines)
