"""What a batch's record says of the days of its parts: one that was past its last day when it was
put in."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress

from generator.files.finding import Finding
from generator.intake.standards import RECORD
from generator.measures.words import date
from generator.resolve.made import JoinedBatch
from generator.sheet.recall import Dated, last_day_of

_LATE = (
    "Hold the batch. Was the lot or a day misread? Record it again with --corrects. Was it so? "
    "Throw it away, and write it under `deviations`."
)


def late_parts(kitchen: Dated) -> Iterator[Finding]:
    """A warning for each part made ahead that was put in after its last day; a note where it may
    have been frozen in between."""
    for batch in kitchen.history.batches.values():
        for number, part in enumerate(batch.made_of):
            for ident in part.batches:
                yield from _of_a_part(kitchen, batch, number, kitchen.history.batches[ident])


def _of_a_part(
    kitchen: Dated, batch: JoinedBatch, number: int, part: JoinedBatch
) -> Iterator[Finding]:
    record, made = batch.record, part.record
    called = f"{made.formula} {made.lot}"
    place = record.place("used", number, "item")
    about = frozenset({f"{RECORD}{batch.id}", f"{RECORD}{part.id}"})
    with suppress(OverflowError):  # past the last day there is
        found = last_day_of(kitchen, part)
        if found.day is None or not made.day <= found.day < record.day:
            return  # a last day before the day it was made is said of that batch
        words = f"{called} was used on {date(record.day)}. Its last day was {date(found.day)}"
        thawed = found.day - made.day
        if found.frozen_until is not None and record.day <= found.frozen_until + thawed:
            help = "Write under `deviations` that it was frozen, from when to when."
            words += ", unless it was frozen in between."
            yield Finding("record-part-late", "note", words, place, help, about=about)
            return
        yield Finding("record-part-late", "warning", f"{words}.", place, _LATE, about=about)
