"""An ingredient's own limits as its page shows them: at the door, as it is put away, in store, use
by."""

from __future__ import annotations

from dataclasses import dataclass

from generator.resolve.joined import House
from generator.rules.basics.in_words import mark_words
from generator.rules.store.shelf import Shelf
from generator.views.limit_view import LimitView, limit_view
from generator.views.store_view import week_strip, why_rows


@dataclass(frozen=True)
class ShelfPart:
    """One place it goes through: its limit, and what else is looked at there."""

    id: str
    name: str
    limit: LimitView
    words: tuple[str, ...]


@dataclass(frozen=True)
class UseBy:
    """Its last day: in words, with the weekdays of day 1 (``first`` says what that is the day of)
    and the fold below."""

    words: str
    mark: str
    first: str
    strip: tuple[tuple[str, str], ...]
    why: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class ShelfView:
    """The parts in the order of the work, and the last day or None."""

    parts: tuple[ShelfPart, ...]
    use_by: UseBy | None

    @property
    def headings(self) -> list[tuple[str, str]]:
        """Id and name of each part, in order."""
        found = [(part.id, part.name) for part in self.parts]
        return [*found, ("use-by", "Use by")] if self.use_by is not None else found


def shelf_view(house: House, shelf: Shelf) -> ShelfView:
    """The view of an ingredient's limits in the kitchen's unit."""
    parts: list[ShelfPart] = []
    for limit in shelf.limits:
        seen: tuple[str, ...] = ()
        if limit.step == "receive" and shelf.receiving is not None:
            seen = tuple(w for w in (*shelf.receiving.words, shelf.receiving.assumed) if w)
        parts.append(ShelfPart(limit.step, limit.verb, limit_view(house, limit), seen))
    dates = shelf.dates
    if dates is None or dates.day is None:
        return ShelfView(tuple(parts), None)
    reported = f" {dates.house.compared}" if dates.house is not None else ""
    use_by = UseBy(
        dates.words[:1].upper() + dates.words[1:],
        mark_words(dates) + reported,
        dates.day_one.capitalize(),
        week_strip(dates.day),
        why_rows(dates),
    )
    return ShelfView(tuple(parts), use_by)
