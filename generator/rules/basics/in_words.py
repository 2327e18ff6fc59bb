"""A limit told in one line, for answers, findings and folds."""

from __future__ import annotations

from generator.measures.words import duration
from generator.rules.basics.context import Dates, DayOne, both, hold_words
from generator.rules.basics.limit import Limit


def limit_words(limit: Limit) -> str:
    """A limit of a figure as a sentence holds it: "165 °F (74 °C) or hotter, any one reading"; a law
    without a figure by its words."""
    if limit.words:
        return limit.words
    if limit.stages:
        stages = [
            f"{both(s.figure.value, s.figure.shown_c, s.figure.shown_f)} within {duration(s.within_s)}"
            f"{' of the stage before' if s.after_stage else ''}{' (advised)' if s.advised else ''}"
            for s in limit.stages
        ]
        clock = limit.clock
        start = f", from {both(clock.value, clock.shown_c, clock.shown_f)}" if clock else ""
        if limit.begin_s is not None:
            start += f", begun within {duration(limit.begin_s)} of cooking"
        if limit.finish is not None:
            end = limit.finish
            start += f"; {both(end.value, end.shown_c, end.shown_f)} before it is packed"
        return "; ".join(stages) + start
    figure = limit.figure
    if figure is None:
        assert limit.within_s is not None, "an uncovered limit has no words"
        return f"{duration(limit.within_s, days=False)} at most"
    side = " or hotter" if limit.bound == "min" else " or colder"
    words = both(figure.value, figure.shown_c, figure.shown_f) + side
    if limit.stored is not None:
        kept = limit.stored
        words += (
            f" until solid, then stored at {both(kept.value, kept.shown_c, kept.shown_f)} or colder"
        )
    words += hold_words(limit.row_hold_s)
    if limit.row_stand_s is not None:
        words += f", then {duration(limit.row_stand_s)} covered"
    if limit.reach is not None:
        cold = limit.reach.start
        words += f", within {duration(limit.reach.within_s)} of {both(cold.value, cold.shown_c, cold.shown_f)}"
    return words


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
        return f"Kept no longer than {after}, it needs no date mark by the code."
    return f"The code asks for the mark once it is kept longer than {after}."
