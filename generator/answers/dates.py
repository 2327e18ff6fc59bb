"""Last days: as JSON and as text."""

from __future__ import annotations

from typing import Any

from generator.answers.numbers import number, without_none
from generator.answers.sources import house_record, source_record
from generator.measures.words import counted
from generator.rules.basics.context import Dates
from generator.rules.basics.in_words import hold_day_words, mark_words
from generator.sheet.walk import Walk


def date_record(item: str, dates: Dates) -> dict[str, Any]:
    """The last day of a formula or an ingredient that is kept cold, as JSON."""
    return without_none(
        {
            "id": f"{item}/store/date",
            "step": "store",
            "hazard": "date",
            "bound": "max",
            "value": dates.day,
            "unit": "day",
            "day_one": dates.day_one,
            "law_days": dates.law_day,
            "marked_after_s": number(dates.marked_after_s),
            "mark_asked_for": None if dates.marked_after_s is None else not dates.unmarked,
            "house_days": dates.house_day,
            "house": house_record(dates.house) if dates.house is not None else None,
            "chef_days": dates.chef_day,
            "moved_days": dates.moved_days,
            "before_hold_by_time": dates.before_hold or None,
            "dated_by_parts": list(dates.parts_to_date) or None,
            "words": dates.law_words or (dates.words if dates.day_one != "made" else None),
            "source": source_record(dates.source) if dates.source else None,
        }
    )


def date_lines(dates: Dates) -> list[str]:
    """What is under a use-by: when the law asks for the mark, and whose the days are."""
    lines = [mark_words(dates)] if dates.marked_after_s is not None else []
    if dates.house is not None:
        lines += [dates.house.compared, _law_days(dates)]
    return [*lines, hold_day_words(dates)] if dates.before_hold else lines


def last_day_lines(walk: Walk) -> list[str]:
    """How long a formula's food keeps, as lines of text, a blank one before each part."""
    lines: list[str] = []
    dates = walk.dates
    if dates is not None and dates.day is not None:
        until = "Freeze by" if walk.formula.formula.eaten_frozen else "Use by"
        kept = f"Keeps {counted(dates.day, 'day')}. {dates.words}"
        lines += ["", f"{until}: {dates.words}" if dates.kind == "cold" else kept]
        lines += [f"  {line}" for line in date_lines(dates)]
    frozen = eaten_frozen_lines(walk)
    return [*lines, "", *frozen] if frozen else lines


EXEMPTS = "the use-by once it is thawed: it is never thawed"
STILL_APPLIES = (
    "every limit here: cooking, cooling, time out of the cold, keeping frozen; and its days until "
    "it is frozen"
)


def eaten_frozen_record(walk: Walk) -> dict[str, Any] | None:
    """What is eaten frozen, as JSON: the chef's days in the freezer, what stating it lifts, and
    what it doesn't; None for what isn't eaten frozen."""
    if not walk.formula.formula.eaten_frozen:
        return None
    days = walk.dates.frozen_days if walk.dates is not None else None
    return without_none({"frozen_days": days, "exempts": EXEMPTS, "still_applies": STILL_APPLIES})


def eaten_frozen_lines(walk: Walk) -> list[str]:
    """The same as lines of text."""
    record = eaten_frozen_record(walk)
    if record is None:
        return []
    days = record.get("frozen_days")
    within = f" Within {counted(days, 'day')}, the chef's figure." if days is not None else ""
    return [
        f"Eaten frozen.{within} Thawed? Throw it away.",
        f"  Doesn't apply: {EXEMPTS}.",
        f"  Still applies: {STILL_APPLIES}.",
    ]


def _law_days(dates: Dates) -> str:
    """The code's own days in a line of their own, where a house limit is in force."""
    clause = f"; {dates.source.document}, {dates.source.clause}" if dates.source else ""
    if dates.law_day is None:
        return f"Code: {dates.law_words}{clause}"
    return f"Code {counted(dates.law_day, 'day')}{clause}"
