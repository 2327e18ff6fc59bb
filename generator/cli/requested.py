"""Batch sheets on request: a formula's, one of any size, one of a day's batch."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from generator.binder.sheets import Record
from generator.cli.labels import part_days
from generator.cli.sizes import asked_or_usual
from generator.files.finding import Refused
from generator.measures.marks import written_with
from generator.measures.words import breakable, date
from generator.sheet.labelling import Asked, NoDate, date_mark
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet


@dataclass(frozen=True)
class Request:
    """What is asked of batch sheets: ``sizes`` are the size options, ``made`` to ``opened`` those
    of a day's batch."""

    sizes: dict[str, Any]
    made: datetime.date | None = None
    number: str | None = None
    start: str | None = None
    parts: tuple[str, ...] = ()
    opened: datetime.date | None = None
    copies: int = 1
    numbers: tuple[int, ...] = field(default=())
    folded: bool = False

    @property
    def of_a_batch(self) -> bool:
        """Whether it is of one batch, or of a size of its own."""
        sized = any(self.sizes.values())
        return sized or self.made is not None or bool(self.number or self.start or self.parts)


def requested_sheets(
    manual: Manual, formulas: Sequence[str], request: Request, site: str
) -> list[Record]:
    """The batch sheets of ``formulas``: as in their binder, or the one asked for. Raises Refused,
    NoDate."""
    from generator.binder.batch_sheet import sheet_of_size
    from generator.binder.documents import finished, station_binder
    from generator.binder.numbering import taken_of

    found: list[Record] = []
    if request.of_a_batch:
        if len(formulas) > 1:
            raise Refused(
                "one-formula", "A size, a day or a batch number is of one formula.", "Name one."
            )
        sheet = manual.sheets[formulas[0]]
        batch = asked_or_usual(sheet, dict(request.sizes))
        with written_with(manual.writing):
            return [
                finished(
                    sheet_of_size(manual, sheet, batch, _dated(manual, sheet, request)), "", site
                )
            ]
    taken = taken_of(manual.standards.register)
    for ident in formulas:
        station = manual.sheets[ident].formula.formula.home
        key = f"{station}/{ident}/batch"
        found += [s for s in station_binder(manual, station, taken, site) if s["key"] == key]
    return found


def _dated(manual: Manual, sheet: Sheet, request: Request) -> Any:
    """The batch of a day, with its use-by; None where neither day nor number nor start is said.
    Raises Refused, NoDate."""
    from generator.binder.batch_sheet import Dated

    if request.made is None:
        if request.number or request.start or request.parts or request.opened:
            raise Refused(
                "made-missing", "On which day is this batch made?", "", ["--made YYYY-MM-DD"]
            )
        return None
    days = part_days(request.parts)
    parts = tuple((item, date(day.first)) for item, day in days.items())
    made = breakable(date(request.made))
    number = request.number or f"{request.made:%y%m%d}-1"
    use_by = _use_by(manual, sheet, Asked(request.made, days, request.opened))
    return Dated(number, made, _start(request.start), use_by, parts)


def _use_by(manual: Manual, sheet: Sheet, asked: Asked) -> str:
    """The use-by of a batch in words; empty for what isn't kept. Raises NoDate."""
    from generator.binder.labels import day_words

    dates = sheet.walk.dates
    if dates is None or dates.day is None:
        return ""
    in_force = {i: w.formula.formula.effective for i, w in manual.walks.items()}
    mark = date_mark(sheet, asked, max(manual.as_of, asked.made), in_force)
    if mark.use_by is None:
        return ""
    by = f", by {mark.governed_by} of {date(mark.day_one)}" if mark.governed_by else ""
    return f"{day_words(mark.use_by)} {mark.use_by.year}{by}"


def _start(typed: str | None) -> datetime.time | None:
    """A time of day, as 14:10. Raises Refused."""
    if typed is None:
        return None
    try:
        return datetime.datetime.strptime(typed, "%H:%M").time()
    except ValueError:
        raise Refused(
            "start-time", f"`{typed[:40]}` is no time of day.", "", ["--start 14:10"]
        ) from None


__all__ = ["NoDate", "Request", "requested_sheets"]
