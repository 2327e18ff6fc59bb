"""The form of a log: its columns, its monitoring in words, its block."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from generator.binder.sheets import Record, Words, bold, sheet_record
from generator.measures.words import listed
from generator.records.approval import approval_of
from generator.records.kitchen import Authorisation
from generator.reference.rows import HazardWords
from generator.resolve.joined import House
from generator.rules.basics.limit import KeepingLimit, Limit
from generator.rules.basics.missed import in_general, reheating_figure
from generator.sheet.manual import Manual
from generator.views.limit_view import LimitView

Column = dict[str, Any]
"""``heads`` (a line each), ``mm`` (left out: what is over), ``key`` into a row; ``fixed`` words
printed in each entry, a line each; ``once`` where one cell spans the lines of an entry."""


def column(head: str, mm: int | None, key: str, *more: str) -> Column:
    """A column with its heads, one under the other."""
    found: Column = {"heads": [head, *more], "key": key}
    return found if mm is None else {**found, "mm": mm}


def monitoring(house: House, words: HazardWords) -> list[Words]:
    """How a limit is kept, by the columns of the Codex principles: the hazard, what is watched,
    how, how often, by whom; what to do when it is missed; the check."""
    pairs = (
        ("Hazard", words.guards),
        ("What", words.what),
        ("How", words.check),
        ("How often", words.how_often),
        ("Who", words.who),
        ("If missed", in_general(words, reheating_figure(house, house.kitchen.temperature))),
        ("Check", words.verify),
    )
    return [[bold(f"{name}: "), _sentence(text)] for name, text in pairs]


def air_words(limit: Limit) -> str:
    """What is behind a figure that is the air's."""
    air = isinstance(limit, KeepingLimit) and limit.measured == "air"
    return ", in the air" if air else ""


def _sentence(text: str) -> str:
    return text if text.endswith((".", "!", "?")) else f"{text}."


def log_block(
    *,
    figures: list[Record],
    start: Words,
    small: list[str],
    how: Sequence[Words],
    fields: list[Record],
    columns: Sequence[Column],
    example: list[dict[str, str]],
    lines: int = 1,
    foods: Sequence[str] = (),
    least: int = 6,
) -> Record:
    """A log's block: entries of ``lines`` lines each to write in, one example before them; as many
    as the page has room for, ``least`` beside what is above it."""
    return {
        "form": "log",
        "figures": figures,
        "start": start,
        "foods": [bold("For: "), f"{listed(tuple(dict.fromkeys(foods)))}."] if foods else "",
        "small": [s for s in small if s],
        "how": list(how),
        "fields": fields,
        "columns": list(columns),
        "example": example,
        "count": _MOST // lines,
        "least": least // lines,
        "lines": ["" for _ in range(lines)],
    }


_MOST = 14


@dataclass(frozen=True)
class Watched:
    """One limit of one food of the station."""

    food: str
    limit: Limit
    view: LimitView

    @property
    def figures(self) -> tuple[str, ...]:
        """What makes two limits the same on a log."""
        figures = tuple(f"{f.number} {f.unit} {f.words}" for f in self.view.figures)
        return (*figures, self.view.hold, self.view.stand, self.view.words, self.view.start)


def authorised(house: House, what: str, day: datetime.date) -> Authorisation | None:
    """What allows it on a day; None if nothing on file does."""
    held = (a for a in house.kitchen.authorisations if a.for_ == what and a.in_force(day))
    return next(held, None)


def log_sheet(
    manual: Manual, station: str, kind: str, title: str, words: str, blocks: list[Record]
) -> Record:
    house = manual.house
    record = house.stations[station]
    approval = approval_of(record, house.kitchen, manual.as_of)
    return sheet_record(
        manual,
        "log",
        f"{station}/{station}/{kind}",
        title,
        [words] if words else [],
        record.name,
        approval,
        f"{station}, {title.lower()}",
        blocks,
    )


DAY, FOOD = column("Date", 17, "date"), column("Food, batch no.", None, "food")
READS, AT = column("Reads", 18, "reads"), column("At, time", 17, "at")
BY, CHECK = column("By", 13, "by"), column("Check", 14, "check")
MISSED = column("If missed:", 30, "missed", "what you did")


def in_unit(house: House, columns: Sequence[Column]) -> list[Column]:
    """The columns with the kitchen's scale behind "Reads"."""
    sign = house.kitchen.temperature
    return [c if c["heads"] != ["Reads"] else {**c, "heads": [f"Reads {sign}"]} for c in columns]


def small_print(view: LimitView) -> list[str]:
    code = f"{view.code}{view.code_rest}".strip()
    clause = ", ".join(w for w in (view.document, view.clause) if w)
    return [
        f"{view.label} {code}." if code else "",
        f"{clause}."
        if view.hazard == "part_cook"
        else f"{clause}. The probe's accuracy is in the figures.",
    ]


def head_fields(house: House) -> list[Record]:
    return [
        {"label": "Month", "share": 28},
        {"label": "Unit, place", "share": 44},
        {"label": "Probe no., checked on", "share": 38},
        {"label": "Sheet full, filed by", "share": 34},
        {"label": "Verified by, on", "share": 36},
    ]
