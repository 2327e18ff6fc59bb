"""A limit in one line, for answers, findings and folds."""

from __future__ import annotations

from typing import assert_never

from generator.measures.words import duration
from generator.rules.basics.context import Dates, DayOne, both, hold_words
from generator.rules.basics.limit import (
    CoolingLimit,
    Figure,
    HeatingLimit,
    InWords,
    KeepingLimit,
    Law,
    TimeLimit,
)


def limit_words(limit: Law | TimeLimit) -> str:
    """A limit as a sentence holds it: "165 °F (74 °C) or hotter, any one reading"; a law without a
    figure by its words."""
    match limit:
        case InWords():
            return limit.words
        case TimeLimit():
            return f"{duration(limit.lasts.most_s, days=False)} at most"
        case CoolingLimit():
            return _stages(limit)
        case HeatingLimit():
            stood = f", then {duration(limit.stand.row_s)} covered" if limit.stand else ""
            return f"{_side(limit)}{hold_words(limit.row_hold_s)}{stood}{_reach(limit)}"
        case KeepingLimit():
            return f"{_side(limit)}{_stored(limit)}{hold_words(limit.row_hold_s)}"
        case _:
            assert_never(limit)


def shown(figure: Figure) -> str:
    """A figure in its unit of record with the other in brackets: 165 °F (74 °C)."""
    return both(figure.value, figure.shown_c, figure.shown_f)


def _stages(limit: CoolingLimit) -> str:
    stages = [
        f"{shown(s.figure)} within {duration(s.within_s)}"
        f"{' of the stage before' if s.after_stage else ''}{' (advised)' if s.advised else ''}"
        for s in limit.stages
    ]
    start = f", from {shown(limit.clock)}" if limit.clock else ""
    if limit.begin_s is not None:
        start += f", begun within {duration(limit.begin_s)} of cooking"
    if limit.finish is not None:
        start += f"; {shown(limit.finish)} before it is packed"
    return "; ".join(stages) + start


def _side(limit: HeatingLimit | KeepingLimit) -> str:
    return f"{shown(limit.figure)} or {'hotter' if limit.bound == 'min' else 'colder'}"


def _reach(limit: HeatingLimit) -> str:
    if limit.reach is None:
        return ""
    return f", within {duration(limit.reach.within_s)} of {shown(limit.reach.start)}"


def _stored(limit: KeepingLimit) -> str:
    if limit.stored is None:
        return ""
    return f" until solid, then stored at {shown(limit.stored)} or colder"


DAY_ONE: dict[DayOne, str] = {
    "made": "it is made",
    "opened": "it is opened",
    "prepared": "it was prepared",
    "packed": "it is packed",
}
"""What day 1 is the day of, behind "the day"."""


def mark_words(dates: Dates) -> str:
    """When the law asks for a date mark, in a sentence; empty where it doesn't say."""
    if dates.marked_after_s is None:
        return ""
    after = duration(dates.marked_after_s, days=False)
    if dates.unmarked:
        return f"Kept for {after} at most, it needs no date mark by the code."
    return f"Kept longer than {after}, the code requires the date mark."


def hold_day_words(dates: Dates) -> str:
    """Of stock that is later held by time, which of it the days are for; empty for any other."""
    if not dates.before_hold:
        return ""
    return "These are the days of the stock. Once held by time, it is never kept."
