"""The station sheet: its scales, probes, machines, cold and vessels, with what each can do."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from generator.binder.sheets import Record, Words, sheet_record
from generator.records.approval import approval_of
from generator.records.equipment import Cold, Equipment, Machine, Scale, Thermometer, Vessel
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet
from generator.views.equipment_view import facts_of

_NONE = "not recorded"


def equipment_sheet(manual: Manual, station: str, sheets: Sequence[Sheet]) -> Record:
    """What stands at a station and what its formulas are made with; a scale or a probe that is
    named for none goes round. A check that isn't recorded says so."""
    house = manual.house
    record = house.stations[station]
    pieces = _pieces(manual, station, sheets)
    blocks: list[Record] = []
    for words, kind, heads in _TABLES:
        mine = [one for one in pieces if isinstance(one, kind)]
        if mine:
            blocks.append({"form": "head", "words": words, "keep": True})
            blocks.append(_table(manual, mine, heads))
    if not blocks:
        blocks.append({"form": "prose", "words": "No equipment is entered for this station."})
    return sheet_record(
        manual,
        "equipment",
        f"{station}/{station}/equipment",
        "Equipment of this station",
        ["Station sheet"],
        record.name,
        approval_of(record, house.kitchen, manual.as_of),
        f"{station}, equipment",
        blocks,
    )


_TABLES: tuple[tuple[str, type[Equipment], tuple[tuple[str, int], ...]], ...] = (
    (
        "Scales",
        Scale,
        (("Division", 26), ("Accuracy", 22), ("Capacity", 32), ("Minimum load", 24)),
    ),
    ("Probes", Thermometer, (("Reads", 26), ("Accuracy", 22))),
    ("Machines", Machine, (("At most", 40), ("At least", 26), ("Places", 46))),
    ("Cold", Cold, (("Air", 30), ("At most", 34), ("Places", 46))),
    ("Vessels", Vessel, (("Inside", 60), ("Holds", 34), ("In the house", 26))),
)
"""Each kind with the facts it has a column for, and their widths in mm."""


def _pieces(manual: Manual, station: str, sheets: Sequence[Sheet]) -> list[Equipment]:
    """The station's own pieces, what its formulas use, and the scales and probes that go round."""
    used = {(piece.kind, piece.name) for sheet in sheets for piece in _used(sheet)}
    return [
        one
        for one in manual.standards.equipment.values()
        if one.is_at(station)
        or (one.kind, one.name) in used
        or (isinstance(one, Scale | Thermometer) and not one.is_elsewhere(station))
    ]


def _used(sheet: Sheet) -> Iterator[Equipment]:
    if sheet.formula.vessel is not None:
        yield sheet.formula.vessel
    for step in sheet.formula.steps:
        yield from (piece for piece in (step.machine, step.cold, step.vessel) if piece is not None)


def _table(
    manual: Manual, pieces: Sequence[Equipment], heads: tuple[tuple[str, int], ...]
) -> Record:
    checked = isinstance(pieces[0], Scale | Thermometer)
    columns: list[Record] = [{"head": "Name", "share": 1, "bold": True}]
    columns += [{"head": head, "mm": mm} for head, mm in heads]
    if checked:
        columns.append({"head": "Last check", "mm": 34})
    rows: list[list[Words | Record]] = []
    for piece in pieces:
        facts = dict(facts_of(piece, manual.house.units))
        row: list[Words | Record] = [{"words": piece.name, "under": piece.note}]
        row += [facts.get(head, "–") for head, _ in heads]
        if checked:
            row.append(facts.get("Last check", _NONE))
        rows.append(row)
    return {"form": "table", "columns": columns, "rows": rows, "least": 6.3}
