"""Logs of what comes in, of cures, and of the thermometers themselves."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from generator.binder.log_forms import (
    BY,
    CHECK,
    DAY,
    FOOD,
    MISSED,
    READS,
    Watched,
    air_words,
    authorised,
    column,
    head_fields,
    in_unit,
    log_block,
    log_sheet,
    monitoring,
)
from generator.binder.sheets import Record, Words, bold
from generator.measures.words import NARROW, date, listed, plain
from generator.records.equipment import Thermometer
from generator.resolve.joined import House
from generator.sheet.dosed import capped_dose, nitrite_in
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet
from generator.views.limit_view import limit_view
from generator.views.probe_view import probe_checks


def receiving_logs(manual: Manual, station: str, sheets: Sequence[Sheet]) -> list[Record]:
    """What comes in for this station, by the figure it is received at."""
    house = manual.house
    groups: dict[tuple[str, str, tuple[str, ...]], list[str]] = {}
    clauses: dict[tuple[str, str, tuple[str, ...]], str] = {}
    for shelf in manual.shelves_of(sheets):
        found = shelf.receiving
        if found is None:
            continue
        figure, side = "", ""
        view = limit_view(house, found.limit)
        if view.figures:
            figure = view.figures[0].number + NARROW + view.figures[0].unit
            side = view.figures[0].words + air_words(found.limit)
        seen = (view.words, *found.words) if view.words else found.words
        clauses[figure, side, seen] = f"{view.document}, {view.clause}"
        groups.setdefault((figure, side, seen), []).append(found.name)
    if not groups:
        return []
    words = house.library.hazards["receive"]
    rows: list[list[Words | Record]] = [
        [
            {"words": listed(tuple(names)), "under": clauses.get(key, "")},
            key[0] or "–",
            " ".join(w for w in (f"{key[1]}." if key[1] else "", *key[2]) if w),
        ]
        for key, names in groups.items()
    ]
    table: Record = {
        "form": "table",
        "rows": rows,
        "least": 9,
        "columns": [
            {"head": "What comes in", "share": 1},
            {"head": "Limit: must read", "mm": 30, "role": "weight"},
            {"head": "And", "mm": 56},
        ],
    }
    columns = [
        DAY,
        column("Supplier, food, lot", None, "food"),
        READS,
        column("Sound, yes or no", 17, "sound"),
        column("If refused: why", 36, "missed"),
        BY,
        CHECK,
    ]
    example = {
        "date": "25 Nov",
        "food": "Farm A, cream, 4471",
        "reads": "3.1",
        "sound": "yes",
        "missed": "none",
        "by": "MK",
        "check": "HO",
    }
    block = log_block(
        figures=[],
        start="",
        small=["", ""],
        how=monitoring(house, words),
        fields=head_fields(house),
        columns=in_unit(house, columns),
        example=[example],
    )
    return [
        log_sheet(
            manual,
            station,
            "log-receive",
            "Receiving log",
            words.what,
            [table, block],
        )
    ]


@dataclass(frozen=True)
class _CureWeighed:
    """A cure as one batch weighs it: its row, and what the example row takes from it."""

    row: list[Words | Record]
    meat: str
    reads: str


def _cures_weighed(house: House, sheets: Sequence[Sheet]) -> Iterator[_CureWeighed]:
    """Each line with nitrite of each batch of a formula whose dose has a legal maximum."""
    for sheet in sheets:
        limit = capped_dose(sheet.walk)
        if limit is None:
            continue
        view = limit_view(house, limit)
        most = f"At most {view.code}{view.code_rest}, {view.document}"
        dose: Words | Record = {"words": view.dose, "under": most}
        for batch in sheet.batches:
            for line in batch.lines:
                scale = line.weighing.scale
                if not nitrite_in(sheet.walk, line.line) or scale is None:
                    continue
                reads = scale.shows(line.weighing.grams)
                times = f" in each of {line.loads} loads" if line.loads > 1 else ""
                yield _CureWeighed(
                    [
                        {"words": sheet.name, "under": f"{batch.label}, {line.name}"},
                        f"{reads}{NARROW}{scale.unit}",
                        f"on the {scale.name.lower()}{times}",
                        dose,
                    ],
                    plain(limit.meat_share * batch.factor / line.loads, 0),
                    reads,
                )
                dose = "the same"


def curing_logs(
    manual: Manual, station: str, sheets: Sequence[Sheet], watched: Sequence[Watched]
) -> list[Record]:
    """Each cure's weight by batch size, what it gives, and the most the law allows."""
    house = manual.house
    if not watched:
        return []
    words = house.library.hazards["additive"]
    weighed = list(_cures_weighed(house, sheets))
    table: Record = {
        "form": "table",
        "rows": [one.row for one in weighed],
        "least": 9,
        "columns": [
            {"head": "Food, batch size", "share": 1, "bold": True},
            {"head": "Weigh", "mm": 28, "role": "weight"},
            {"head": "", "mm": 38},
            {"head": "Limit", "mm": 52},
        ],
    }
    allowed = authorised(house, "cure", manual.as_of)
    assert allowed is not None, "logged only where it is authorised"
    how: list[Words] = [
        [
            bold("Allowed by: "),
            f"{allowed.authority}, {allowed.document}, until {date(allowed.until)}.",
        ],
        *monitoring(house, words),
    ]
    columns = [
        DAY,
        FOOD,
        column("Meat, g", 20, "meat"),
        column("Cure, lot", 20, "lot"),
        column("Cure, g", 20, "reads"),
        MISSED,
        BY,
        CHECK,
    ]
    example = {
        "date": "25 Nov",
        "food": "261125-1",
        "lot": "C 118",
        "missed": "none",
        "by": "MK",
        "check": "HO",
    }
    if weighed:
        example |= {"meat": weighed[0].meat, "reads": weighed[0].reads}
    block = log_block(
        figures=[],
        start="",
        small=["", ""],
        how=how,
        fields=head_fields(house),
        columns=columns,
        least=4,
        example=[example],
    )
    return [log_sheet(manual, station, "log-cure", "Curing log", words.what, [table, block])]


def thermometer_log(manual: Manual, station: str, house: House) -> Record:
    """What each thermometer must read in stirred ice and in boiling water at the kitchen's
    altitude."""
    rows: list[list[Words | Record]] = []
    ice = ""  # what the first must read in ice
    for record in manual.standards.equipment.values():
        if not isinstance(record, Thermometer) or record.is_elsewhere(station):
            continue
        for check in probe_checks(house, record):
            ice = ice or check.number
            rows.append([record.name, check.at, check.figure, check.within])
    blocks: list[Record] = []
    if rows:
        blocks.append(
            {
                "form": "table",
                "rows": rows,
                "least": 9,
                "columns": [
                    {"head": "Thermometer", "share": 1, "bold": True},
                    {"head": "In", "mm": 36},
                    {"head": "Limit: must read", "mm": 34, "role": "weight"},
                    {"head": "Its accuracy counted", "mm": 62},
                ],
            }
        )
    sign = house.kitchen.temperature
    how: list[Words] = [
        [bold("Hazard: "), "a thermometer that reads wrong passes food that isn't safe."],
        [
            bold("What: "),
            "each thermometer, in stirred ice and water; in boiling water if it can't go in ice.",
        ],
        [bold("How: "), "wait until it stops moving, then write what it reads."],
        [
            bold("How often: "),
            "as often as your plan says. Always when it is new, and after a fall or a sudden "
            "change of heat.",
        ],
        [bold("Who: "), "who probes."],
        [
            bold("If missed: "),
            "adjust it and check again, or take it out of use. Review what it passed since the "
            "last check.",
        ],
        [bold("Check: "), "a second person reads this log."],
    ]
    columns = [
        DAY,
        column("Thermometer no.", None, "food"),
        column(f"Ice, {sign}", 22, "ice"),
        column(f"Boiling, {sign}", 24, "boil"),
        column("Right, yes or no", 22, "sound"),
        MISSED,
        BY,
        CHECK,
    ]
    example = {
        "date": "25 Nov",
        "food": "P2",
        "ice": ice,
        "boil": "",
        "sound": "yes",
        "missed": "none",
        "by": "MK",
        "check": "HO",
    }
    block = log_block(
        figures=[],
        start="",
        small=["", ""],
        how=how,
        fields=head_fields(house),
        columns=columns,
        example=[example],
    )
    return log_sheet(
        manual,
        station,
        "log-calibration",
        "Thermometer log",
        "Ice point and boiling point",
        [*blocks, block],
    )
