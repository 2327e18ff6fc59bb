"""Lots of one item whose numbers are nearly alike: one lot, copied two ways, or two."""

from __future__ import annotations

from collections.abc import Iterator

from generator.files.finding import Finding
from generator.intake.standards import RECORD
from generator.records.made import bare_lot, same_lot
from generator.resolve.made import History, JoinedBatch

ALIKE = "record-lot-alike"
_HELP = (
    "One lot? Record one of them again with --corrects, written as on the carton. Two lots? Leave "
    "it: `trace` says that either may be the other."
)


def lots_nearly_alike(history: History) -> Iterator[Finding]:
    """A note where a lot of an item is first written otherwise than before, but for signs that are
    misread or left out, and the two may be of one supplier."""
    first: dict[tuple[str, str], list[tuple[str, str, JoinedBatch]]] = {}
    for batch in history.batches.values():
        for number, part in enumerate(batch.made_of):
            used = part.used
            if used.lot is None or part.batches:
                continue
            known = first.setdefault((used.item, bare_lot(used.lot)), [])
            mine = [k for k in known if not (k[1] and used.from_) or k[1] == used.from_.casefold()]
            if any(same_lot(lot) == same_lot(used.lot) for lot, _, _ in mine):
                continue
            known.append((used.lot, used.from_.casefold(), batch))
            if not mine:
                continue
            lot, _, other = mine[0]
            words = f"`{used.lot}` of {used.item} is nearly `{lot}`, its lot in {other.id}."
            place = batch.record.place("used", number, "lot")
            about = frozenset({f"{RECORD}{batch.id}"})
            yield Finding(ALIKE, "note", words, place, _HELP, about=about)
