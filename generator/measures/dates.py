"""Days as they are typed: year-month-day, so that no one swaps day and month."""

from __future__ import annotations

import datetime
import re

from generator.files.finding import Refused, clipped

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")


def _days_of(text: str) -> list[str]:
    """The days a date may mean: one for `4 May 2026`, two for `4/5/2026`."""
    words = re.findall(r"[A-Za-z]+|[0-9]+", re.sub(r"(?<=[0-9])(st|nd|rd|th)\b", "", clipped(text)))
    figures = [int(w) for w in words if w.isdigit()]
    months = [_MONTHS.index(w[:3].lower()) + 1 for w in words if w[:3].lower() in _MONTHS]
    if len(words) != 3:
        return []
    match (figures, months):
        case ([day, year], [month]):
            orders = [(year, month, day)]
        case ([year, month, day], []) if year > 31:
            orders = [(year, month, day)]
        case ([first, second, year], []):
            orders = [(year, first, second), (year, second, first)]
        case _:
            return []
    days = (_day(*order) for order in orders)
    return list(dict.fromkeys(day for day in days if day))


def _day(year: int, month: int, day: int) -> str:
    """The day as year-month-day, or nothing if there is none of this century."""
    if not 2000 <= year <= 2100:
        return ""
    try:
        return datetime.date(year, month, day).isoformat()
    except (ValueError, OverflowError):
        return ""


def read_date(text: str) -> datetime.date:
    """A day as year-month-day: ``2026-09-14``. Raises Refused for anything else, with the days it
    may mean."""
    try:
        if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text.strip()):
            return datetime.date.fromisoformat(text.strip())
    except ValueError:
        raise Refused(
            "date-unreadable", f"There is no day {text}.", "Check day and month."
        ) from None
    raise Refused(
        "date-unreadable",
        f"`{clipped(text)}` is not a date.",
        "Write year-month-day, as in 2026-05-04.",
        _days_of(text),
    )
