"""An ingredient's own limits: as JSON and as text."""

from __future__ import annotations

from typing import Any

from generator.answers.dates import date_lines, date_record
from generator.answers.limits import limit_block, limit_record
from generator.measures.temperature import Degree
from generator.measures.words import breakable
from generator.resolve.joined import ConfirmedFact
from generator.rules.store.shelf import Shelf


def shelf_record(shelf: Shelf) -> dict[str, Any]:
    """An ingredient's limits in the order of the work, in the shapes of a formula's."""
    limits = [limit_record(limit) for limit in shelf.limits]
    if shelf.dates is not None:
        limits.append(date_record(shelf.item, shelf.dates))
    record: dict[str, Any] = {"ingredient": shelf.item, "limits": limits}
    if shelf.receiving is not None:
        seen = (*shelf.receiving.words, shelf.receiving.assumed)
        record["at_the_door"] = [words for words in seen if words]
    if shelf.confirmed:
        record["confirmed"] = [confirmed_record(one) for one in shelf.confirmed]
    return record


def confirmed_record(one: ConfirmedFact) -> dict[str, str]:
    """A confirmed fact as JSON."""
    return {
        "ingredient": one.item,
        "fact": one.key,
        "words": one.words,
        "reason": one.reason,
        "document": one.document,
    }


def shelf_text(shelf: Shelf, unit: Degree = "°C") -> str:
    """An ingredient's limits for the terminal; ``unit`` is the crew's scale, shown first."""
    out = [shelf.name]
    out += [f"  {one.sentence}" for one in shelf.confirmed]
    if not shelf.limits and shelf.dates is None:
        out.append("No critical limit applies to it as it comes in.")
    for limit in shelf.limits:
        out += ["", *limit_block(limit, unit)]
        if limit.step == "receive" and shelf.receiving is not None:
            seen = (*shelf.receiving.words, shelf.receiving.assumed)
            out += [f"  {words}" for words in seen if words]
    dates = shelf.dates
    if dates is not None and dates.source is not None:
        out += ["", f"Use by: {dates.words}", *(f"  {line}" for line in date_lines(dates))]
        out.append(f"  Source: {dates.source.words}")
    return breakable("\n".join(out))
