"""What is to be recorded of a batch, from the files somebody has: a phone's JSON, a CSV with named
columns, or YAML. Several files of one batch are put together. And the text of its record."""

from __future__ import annotations

import csv
import datetime
import io
import re
import zoneinfo
from collections import Counter
from collections.abc import Iterator
from collections.abc import Sequence as SequenceOf
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from generator.files.finding import BrokenData, Finding, Place, Refused, clipped
from generator.files.source_text import Mapping, Sequence, Text, place_of, read_file
from generator.files.spreadsheets import SHEET_START, table_bytes, table_text
from generator.intake.batch_file import is_batch_file, read_batch_file
from generator.intake.faults import findings_of, keys_of
from generator.intake.reading import top_of, validated
from generator.measures.units import Units
from generator.records.batch import BatchClock, BatchReading, BatchRecord
from generator.records.fields import MOST_ID, as_id
from generator.records.made import MadeBatch

_HEAD = ("formula", "revision", "lot", "day", "who", "size", "started", "made", "labels", "use_by")
_HEADS = (*_HEAD, "note")
_ROWS: dict[str, tuple[str, dict[str, str]]] = {
    "item": ("used", {"item": "item", "weight": "weight", "item_lot": "lot", "from": "from"}),
    "reading": (
        "readings",
        {"step": "step", "at": "at", "reading": "value", "probe": "probe"},
    ),
    "before": ("weights", {"step": "step", "before": "before", "after": "after"}),
    "what": ("deviations", {"step": "step", "what": "what", "done": "done"}),
}
"""By the column that says what a row is: the list it belongs to, and its columns with their
keys."""
COLUMNS = tuple(
    dict.fromkeys((*_HEADS, *(c for _, columns in _ROWS.values() for c in columns), "time"))
)
"""The columns a CSV may have."""
_MOST_ROWS = 5_000
_PLAIN = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9 °%/._-]*[A-Za-z0-9°%])?")


def read_made_files(paths: SequenceOf[Path]) -> Mapping:
    """What the files of one batch say together, as one tree with its places. Raises BrokenData with
    every fault of a file, Refused for files that can't be read, or are of two batches."""
    whole: Mapping | None = None
    for path in paths:
        tree = _tree_of(path)
        whole = tree if whole is None else _together(whole, tree, path.name)
    assert whole is not None, "a command asks for a file"
    return whole


def made_of_tree(tree: Mapping, units: Units, name: str) -> MadeBatch:
    """The record of a tree. Raises BrokenData with every fault."""
    try:
        return validated(MadeBatch, tree, units)
    except ValidationError as error:
        start = top_of(tree, place_of(tree, Place(name)).file)
        raise BrokenData(
            findings_of(error, MadeBatch, tree, start, name, {"units": units})
        ) from None


def _tree_of(path: Path) -> Mapping:
    if is_batch_file(path):
        return tree_of_batch(read_batch_file(path))
    if path.suffix.lower() in (".yaml", ".yml"):
        document = read_file(path, path.name)
        if document.findings:
            raise BrokenData(list(document.findings))
        if not isinstance(document.tree, Mapping):
            words = f"{path.name} is no record of a batch."
            help = "Write its keys, as in `formula: onion-gravy`."
            raise BrokenData([Finding("record-file", "error", words, Place(path.name), help)])
        return document.tree
    return _tree_of_table(path)


def _together(first: Mapping, other: Mapping, name: str) -> Mapping:
    """Two trees of one batch: lists one behind the other. Raises Refused where they contradict."""
    for key, value in other.items():
        held = first.get(key)
        if held is None:
            first[key] = value
            first.keys_at[key] = other.keys_at[key]
        elif isinstance(held, Sequence) and isinstance(value, Sequence):
            held.extend(value)
        elif isinstance(held, Mapping) and isinstance(value, Mapping):
            _together(held, value, name)
        elif str(held).strip() != str(value).strip():
            raise Refused(
                "record-files",
                f"{name}: `{key}` is {clipped(str(value))}, and {clipped(str(held))} in the file "
                "before it.",
                "Are both of one batch? Change one of them, or leave it out.",
            )
    return first


# --- a phone's JSON


def tree_of_batch(batch: BatchRecord) -> Mapping:
    """A phone's batch as a record's tree: its readings, and the times of its clocks. Raises Refused
    for one that was handed on: the other phone has the rest of it."""
    if batch.handed is not None:
        words = f"This batch of {batch.formula} was handed to another phone."
        raise Refused("record-handed", words, "Record the file of the phone that ended it.")
    place = batch.place()
    tree = Mapping(place)
    zone = zoneinfo.ZoneInfo(batch.zone)

    def put(key: str, value: str | None, at: Place | None = None) -> None:
        if value:
            tree[key] = Text.of(" ".join(value.split()), at or place)
            tree.keys_at[key] = at or place

    put("formula", batch.formula, batch.place("formula"))
    put("revision", str(batch.revision), batch.place("revision"))
    put("lot", f"{batch.day:%y%m%d}-{batch.number}", batch.place("number"))
    put("day", batch.day.isoformat(), batch.place("day"))
    put("who", batch.who, batch.place("who"))
    put("size", batch.label, batch.place("label"))
    if batch.started.astimezone(zone).date() == batch.day:
        put("started", f"{batch.started.astimezone(zone):%H:%M}", batch.place("started"))
    rows = list(_readings(batch, zone))
    if rows:
        tree["readings"] = _sequence(place, rows)
        tree.keys_at["readings"] = batch.key_place("readings")
    times = _times(batch)
    if times:
        tree["times"] = _mapping(place, {k: f"{v} min" for k, v in times.items()})
        tree.keys_at["times"] = batch.key_place("clocks")
    put("note", _said_besides(batch, zone))
    return tree


def _mapping(place: Place, pairs: dict[str, str]) -> Mapping:
    found = Mapping(place)
    for key, value in pairs.items():
        found[key] = Text.of(value, place)
        found.keys_at[key] = place
    return found


def _sequence(place: Place, rows: list[Mapping]) -> Sequence:
    found = Sequence(place)
    found.extend(rows)
    return found


def _local(
    at: datetime.datetime, day: datetime.date, zone: zoneinfo.ZoneInfo, seconds: bool = False
) -> str:
    """An instant on the kitchen's clock, with its day where that isn't the batch's, with its
    ``seconds`` where they tell it from another."""
    here = at.astimezone(zone)
    clock = f"{here:%H:%M:%S}" if seconds else f"{here:%H:%M}"
    return clock if here.date() == day else f"{here:%Y-%m-%d} {clock}"


def _step_of(limit: str) -> str:
    """The step of a limit's id: formula/step/hazard."""
    parts = limit.split("/")
    return parts[1] if len(parts) > 1 else limit


def _readings(batch: BatchRecord, zone: zoneinfo.ZoneInfo) -> Iterator[Mapping]:
    """The readings that count; loads that cool by clocks of their own have each its probe."""
    counting = [one for one in batch.readings if one.struck is None]
    minutes = Counter((_step_of(r.limit), _probe(batch, r), _minute(r.at)) for r in counting)
    for number, one in enumerate(batch.readings):
        if one.struck is not None:
            continue
        several = minutes[_step_of(one.limit), _probe(batch, one), _minute(one.at)] > 1
        yield _mapping(
            batch.place("readings", number),
            {
                "step": _step_of(one.limit),
                "at": _local(one.at, batch.day, zone, several),
                "value": f"{one.value} {one.unit}",
                "probe": _probe(batch, one),
            },
        )


def _minute(at: datetime.datetime) -> datetime.datetime:
    return at.replace(second=0, microsecond=0)


def _probe(batch: BatchRecord, one: BatchReading) -> str:
    clocks = list(
        dict.fromkeys(r.clock for r in batch.readings if r.clock and r.limit == one.limit)
    )
    if one.clock and len(clocks) > 1:
        return f"{one.probe} of clock {clocks.index(one.clock) + 1}"
    return one.probe


def _times(batch: BatchRecord) -> dict[str, int]:
    """How many minutes the clocks of each step ran, the longest of them."""
    found: dict[str, int] = {}
    for clock in batch.clocks:
        end = _end_of(clock)
        if clock.limit is None or end is None:
            continue
        minutes = round((end - clock.started).total_seconds() / 60)
        step = _step_of(clock.limit)
        if minutes > 0:
            found[step] = max(minutes, found.get(step, 0))
    return found


def _end_of(clock: BatchClock) -> datetime.datetime | None:
    """When a clock ended: as its last figure was reached, else as somebody stopped it."""
    reached = [due.reached for due in clock.due]
    if reached and all(one is not None for one in reached):
        return max(one for one in reached if one is not None)
    return clock.stopped


def _said_besides(batch: BatchRecord, zone: zoneinfo.ZoneInfo) -> str:
    """What else the phone kept: readings struck out, ticks of earlier revisions, no end."""
    struck = [
        f"{r.value} {r.unit} at {_local(r.at, batch.day, zone)}"
        for r in batch.readings
        if r.struck is not None
    ]
    words = [f"Struck out on the phone as typed wrong: {', '.join(struck)}."] if struck else []
    words += [f"Begun with revision {one.revision}." for one in batch.earlier]
    words += [] if batch.ended else ["Not ended on the phone."]
    return " ".join(words)


# --- a table


def _tree_of_table(path: Path) -> Mapping:
    """A CSV with named columns as a record's tree. What is of the whole batch may stand in its
    first row or in all; each row may hold one thing of each kind."""
    lines, rows = _rows(path)
    heads = _heads(path, lines, rows)
    tree = Mapping(Place(path.name, 1, 1, lines[0] if lines else ""))
    faults: list[Finding] = []
    for number, cells in rows[1:]:
        row = {
            head: Text.of(cell.strip(), _cell_place(path.name, lines, number, cell))
            for head, cell in zip(heads, cells, strict=False)
            if cell.strip()
        }
        faults += _head_cells(tree, row)
        faults += _row_cells(tree, row, Place(path.name, number, 1, lines[number - 1]))
    if faults:
        raise BrokenData(faults)
    return tree


def _rows(path: Path) -> tuple[list[str], list[tuple[int, list[str]]]]:
    """The lines of a CSV, and its filled rows with the line each ends on. Raises Refused."""
    data = table_bytes(path, "Keep one batch.")
    if data.startswith(SHEET_START):
        raise Refused(
            "sheet-unreadable", f"{path.name} is a spreadsheet.", "Save it as CSV, UTF-8."
        )
    text = table_text(path, data)
    first = text.lstrip().split("\n", 1)[0]
    separator = max((",", ";", "\t"), key=first.count)
    reader = csv.reader(io.StringIO(text), delimiter=separator, strict=True)
    try:
        rows = [(reader.line_num, row) for row in reader if any(cell.strip() for cell in row)]
    except csv.Error as error:
        raise Refused(
            "sheet-unreadable", f"{path.name}, line {reader.line_num}: {error}.", "Save it anew."
        ) from None
    if len(rows) > _MOST_ROWS:
        raise Refused("sheet-unreadable", f"{path.name} is too long.", "Keep one batch.")
    return text.splitlines() or [""], rows


def _heads(path: Path, lines: list[str], rows: list[tuple[int, list[str]]]) -> list[str]:
    """The columns by their names. Raises BrokenData for one that isn't known, or is there twice."""
    names = [as_id(cell).replace("-", "_") for cell in rows[0][1]] if rows else []
    faults: list[Finding] = []
    known = f"Columns: {', '.join(COLUMNS)}."
    if not set(names) & set(COLUMNS):
        words = f"{path.name} has no row of column names."
        raise BrokenData([Finding("record-columns", "error", words, Place(path.name), known)])
    for cell, name in zip(rows[0][1], names, strict=True):
        place = _cell_place(path.name, lines, rows[0][0], cell)
        if name and name not in COLUMNS:
            words = f"There is no column `{clipped(cell)}`."
            faults.append(Finding("record-columns", "error", words, place, known))
        elif name and names.count(name) > 1:
            words = f"The column `{name}` is there twice."
            faults.append(Finding("record-columns", "error", words, place, "Keep one."))
    if faults:
        raise BrokenData(faults)
    return names


def _cell_place(file: str, lines: list[str], number: int, cell: str) -> Place:
    """Where a cell is: in its row's last line, or its beginning."""
    line = lines[number - 1] if number <= len(lines) else ""
    found = line.find(cell.strip())
    return Place(file, number, max(found, 0) + 1, line, max(1, len(cell.strip())))


def _head_cells(tree: Mapping, row: dict[str, Text]) -> Iterator[Finding]:
    """What a row says of the whole batch, put into the tree; a row that says otherwise than one
    above it is a fault: it may be of another batch."""
    for head in _HEADS:
        cell = row.get(head)
        if cell is None:
            continue
        held = tree.setdefault(head, cell)
        tree.keys_at.setdefault(head, cell.place)
        if str(held) != str(cell):
            words = f"`{head}` is {clipped(str(cell))} here, and {clipped(str(held))} above."
            help = "A file holds one batch. Put the other in a file of its own."
            yield Finding("record-files", "error", words, cell.place, help)


def _row_cells(tree: Mapping, row: dict[str, Text], place: Place) -> Iterator[Finding]:
    """What else a row says, put into the lists it belongs to."""
    taken: set[str] = set(_HEADS)
    for sign, (key, columns) in _ROWS.items():
        if sign not in row and not (sign == "before" and "after" in row):
            continue
        one = Mapping(place)
        for column, name in columns.items():
            if column in row:
                one[name] = row[column]
                one.keys_at[name] = row[column].place
        taken |= set(columns)
        rows = tree.setdefault(key, Sequence(place))
        tree.keys_at.setdefault(key, place)
        rows.append(one)
    if "time" in row and "step" in row:
        taken |= {"time", "step"}
        times = tree.setdefault("times", Mapping(place))
        tree.keys_at.setdefault("times", place)
        times[str(row["step"])] = row["time"]
        times.keys_at[str(row["step"])] = row["step"].place
    for column in row.keys() - taken:
        words = f"`{clipped(str(row[column]))}`: of what is this `{column}`?"
        help = "A lot needs an `item`, a probe a `reading`, what was done a `what`."
        yield Finding("record-columns", "error", words, row[column].place, help)


# --- the record's own file


def ident_of(record: MadeBatch, taken: SequenceOf[str], correction: bool) -> str:
    """The name of the file of a record: its formula and its own number, with what tells it from
    those ``taken``."""
    lot = as_id(record.lot)
    ending = "-corrected" if correction else ""
    for number in range(1, len(taken) + 2):
        last = f"-{lot}{ending}" + (f"-{number}" if number > 1 else "")
        ident = record.formula[: MOST_ID - len(last)].rstrip("-") + last
        if ident not in taken:
            return ident
    raise AssertionError("one of so many names is free")


def made_text(tree: Mapping) -> str:
    """The text of a record: its keys in their order, its values as they were typed."""
    lines: list[str] = []
    for key in keys_of(MadeBatch):
        value = tree.get(key)
        if isinstance(value, Sequence):
            lines += [f"{key}:", *(f"  - {_braced(one)}" for one in value)] if value else []
        elif isinstance(value, Mapping):
            lines += [f"{key}:", *(f"  {k}: {_scalar(v)}" for k, v in value.items())]
        elif value is not None:
            lines.append(f"{key}: {_scalar(value)}")
    return "\n".join(lines) + "\n"


def _braced(one: Any) -> str:
    """One entry of a list, on a line of its own."""
    if not isinstance(one, Mapping):
        return _scalar(one)
    return "{" + ", ".join(f"{key}: {_scalar(value)}" for key, value in one.items()) + "}"


def _scalar(value: Any) -> str:
    """A text as YAML takes it, plain where nothing in it means anything."""
    text = " ".join(str(value).split())
    if _PLAIN.fullmatch(text) and ": " not in text:
        return text
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def says(tree: Any) -> Any:
    """What a tree says, without places, the order of its keys and empty lists: two that say the
    same are equal."""
    if isinstance(tree, Mapping):
        said = {key: says(value) for key, value in tree.items()}
        return {key: value for key, value in said.items() if value not in ({}, [])}
    if isinstance(tree, Sequence):
        return [says(one) for one in tree]
    return " ".join(str(tree).split())
