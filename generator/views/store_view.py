"""Storing and labelling: use by, and what is on the label."""

from __future__ import annotations

from dataclasses import dataclass

from generator.measures.words import NARROW, counted, duration, listed
from generator.rules.basics.context import Dates
from generator.rules.basics.in_words import DAY_ONE, hold_day_words, mark_words
from generator.rules.basics.limit import most_time
from generator.sheet.sheet import Sheet
from generator.views.limit_view import LimitView

_WEEK = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_CHEFS = "day {}, the chef's figure"
_MOST_DAYS = 14  # a strip of weekdays says nothing sure beyond two weeks


@dataclass(frozen=True)
class StoreView:
    """Use by in words (``short``: without whose figure it is), the two rows of weekdays, the
    label's lines (``keep_other``: in the other temperature scale), the fold "Weekday?"."""

    day: int | None
    words: str
    explain: str
    strip: tuple[tuple[str, str], ...]
    frozen: str
    parts: str
    keep: str
    keep_other: str
    why: tuple[tuple[str, str], ...]
    short: str = ""


def _to_be_opened(sheet: Sheet) -> str:
    """What is written on a pack without air that has to be opened in so many hours: 3-502.12(F)."""
    within = next(
        (
            lasts.most_s
            for lm in sheet.walk.limits
            if lm.hazard == "reduced_oxygen" and (lasts := most_time(lm)) is not None
        ),
        None,
    )
    facts = sheet.formula.formula.without_air
    if within is None or facts is None or facts.criterion != "within-48-hours":
        return ""
    return f"Write when you pack it. Open the pack within {duration(within, days=False)} of that."


def store_view(sheet: Sheet, limits: tuple[LimitView, ...]) -> StoreView:
    """The view of a sheet's dates; ``limits`` are those of storing."""
    dates = sheet.walk.dates
    opening = _to_be_opened(sheet)
    held = hold_day_words(dates) if dates is not None else ""
    keep, keep_other = (
        " ".join(filter(None, (words, opening, held if words else "")))
        for words in _keep(dates, limits)
    )
    frozen = _eaten_frozen(dates) if sheet.formula.formula.eaten_frozen else _frozen(dates)
    if dates is None or dates.day is None:
        return StoreView(
            None, "", dates.words if dates else "", (), frozen, "", keep, keep_other, ()
        )
    if dates.kind == "cold":
        words, explain = dates.words, _explained(dates)
        short = f"day {dates.day}" if words == _CHEFS.format(dates.day) else words
    else:
        short, explain = f"day {dates.day}", dates.words
        words = _CHEFS.format(dates.day)
    return StoreView(
        dates.day,
        words,
        explain,
        week_strip(dates.day),
        frozen,
        _parts(dates),
        keep,
        keep_other,
        why_rows(dates),
        short,
    )


def _keep(dates: Dates | None, limits: tuple[LimitView, ...]) -> tuple[str, str]:
    """How cold it is kept, as the label says it in either temperature scale."""
    if not limits or not limits[0].figures:
        return "", ""
    first = limits[0].figures[0]
    number, unit = first.other
    words = first.side
    keep = f"Keep at {first.number}{NARROW}{first.unit} {words}."
    keep_other = f"Keep at {number}{NARROW}{unit} {words}." if number else ""
    if dates is not None and dates.moved_days is not None and len(limits) > 1:
        return _two_places(limits[1], keep, keep_other)
    return keep, keep_other


def _eaten_frozen(dates: Dates | None) -> str:
    """How long it keeps frozen, for food that is never thawed."""
    if dates is None or dates.frozen_days is None:
        return ""
    days = counted(dates.frozen_days, "day")
    return f"It is eaten frozen, within {days}, the chef's figure. Thawed? Throw it away."


def _frozen(dates: Dates | None) -> str:
    """How long it keeps frozen, and that freezing stops the count."""
    if dates is None or dates.frozen_days is None:
        return ""
    return (
        f"Frozen, it keeps {counted(dates.frozen_days, 'day')}, the chef's figure. Freezing stops "
        f"the count of days. It doesn't start it again. Write how many days it had before."
    )


def _parts(dates: Dates) -> str:
    """That the day of a part made or opened before may govern."""
    if not dates.parts_to_date:
        return ""
    bought = any(part.how == "prepared" for part in dates.dated_parts)
    how = "made, prepared or opened" if bought else "made or opened"
    return (
        f"Was {listed(dates.parts_to_date, 'or')} {how} earlier? Its own last day counts if sooner."
    )


def _explained(dates: Dates) -> str:
    """From which day is counted, and how many days the code and the house allow."""
    explain = "The day it is first ready to eat is day 1. "
    if dates.moved_days is not None:
        explain = (
            "The day you pack it is day 1. The day you take it out of the colder place is the "
            f"first of {counted(dates.moved_days, 'day')}. "
        )
    if dates.law_day is not None:
        explain += f"The code allows day {dates.law_day} at most."
    else:
        explain += dates.law_words
    if dates.house is not None:
        explain += f" {dates.house.compared}"
    if dates.unmarked:
        explain += f" {mark_words(dates)}"
    return f"{explain} {hold_day_words(dates)}".strip()


def _two_places(warmer: LimitView, keep: str, keep_other: str) -> tuple[str, str]:
    """How it is kept before and after it is taken out of the colder of its two places."""
    second = warmer.figures[0]
    number, unit = second.other
    side = second.side
    words = f"{keep} Taken out: {second.number}{NARROW}{second.unit} {side}."
    other = f"{keep_other} Taken out: {number}{NARROW}{unit} {side}." if number else ""
    return words, other


def week_strip(day: int) -> tuple[tuple[str, str], ...]:
    """For each weekday that is day 1, the weekday it is to be used by; nothing beyond two weeks."""
    if day > _MOST_DAYS:
        return ()
    return tuple((first, _WEEK[(i + day - 1) % 7]) for i, first in enumerate(_WEEK))


def _shorter(dates: Dates) -> tuple[str, ...]:
    """The parts that keep for fewer days than the food would without them, in words."""
    most = dates.alone
    if most is None:
        return ()
    parts = [(p.name, p.days) for p in dates.dated_parts if p.days is not None]
    return tuple(f"{name} keeps {counted(days, 'day')}" for name, days in parts if days < most)


def _parts_why(dates: Dates) -> list[tuple[str, str]]:
    """Which parts have a date of their own, and which of them keep it shorter."""
    if not dates.parts_to_date:
        return []
    words = f"{listed(dates.parts_to_date)}: the earliest date counts"
    return [("Parts", words), *(("Part", shorter) for shorter in _shorter(dates))]


def why_rows(dates: Dates) -> tuple[tuple[str, str], ...]:
    """The rows of the fold "Why these dates?"."""
    rows: list[tuple[str, str]] = []
    if dates.law_day is not None:
        rows.append(
            ("Code", f"day {dates.law_day} at most; the day {DAY_ONE[dates.day_one]} is day 1")
        )
    if dates.moved_days is not None:
        rows.append(
            ("Taken out", f"{counted(dates.moved_days, 'day')} at most in the warmer place")
        )
    if dates.marked_after_s is not None:
        rows.append(("Mark", mark_words(dates)))
    if dates.house is not None:
        rows.append(("House", dates.house.compared))
    if dates.chef_day is not None:
        rows.append(("Chef", counted(dates.chef_day, "day")))
    rows += _parts_why(dates)
    if dates.law_words:
        rows.append(("Rule", dates.law_words))
    elif dates.day_one in ("opened", "prepared"):
        rows.append(("Rule", "freezing pauses the days and doesn't start them again"))
    elif dates.kind == "cold":
        rows.append(
            ("Rule", "the earlier of the two; cooking it again or freezing it doesn't reset it")
        )
    elif dates.words:
        rows.append(("Rule", dates.words))
    if dates.source is not None:
        rows.append(("Source", dates.source.words))
    return tuple(rows)
