"""The day a pack was taken out of the colder of the two places it is kept at, and what counts from
it.

Food Code 3-502.12(D)(2)(e)(iii): kept at 34 °F, then at 41 °F or below for 7 days at most, and
never beyond 30 days from packing.
"""

from __future__ import annotations

import datetime

from generator.files.finding import Refused
from generator.measures.words import counted, date
from generator.rules.basics.context import Dates


def last_day_out(taken_out: datetime.date, days: int) -> datetime.date:
    """The last of ``days`` in the warmer place; the day it was taken out is the first, the strict
    side."""
    return taken_out + datetime.timedelta(days=days - 1)


def problem(
    name: str,
    dates: Dates,
    taken_out: datetime.date | None,
    made: datetime.date,
    frozen: bool,
    today: datetime.date,
) -> list[Refused]:
    """Every reason against a label of food so kept: the day is asked for where the law counts from
    it, and nowhere else; it has come, and not before the packing; such food has no days in the
    freezer."""
    if dates.moved_days is None:
        if taken_out is None:
            return []
        words = f"{name} isn't kept at one place and then at a warmer one."
        return [Refused("label-moved-needless", words, "Leave --moved out.")]
    reasons: list[Refused] = []
    if taken_out is None:
        help = (
            f"It has {counted(dates.moved_days, 'day')} from then. Still in there? --still-colder "
            f"prints its last day in there, and a line for the day you take it out."
        )
        words = f"{name}: on which day was it taken out of the colder place?"
        reasons.append(Refused("label-moved-missing", words, help, ("--moved YYYY-MM-DD",)))
    elif taken_out > today:
        words = f"The day it was taken out, {date(taken_out)}, is in the future."
        reasons.append(Refused("label-date-future", words, f"Today is {date(today)}."))
    elif taken_out < made:
        words = f"The day it was taken out, {date(taken_out)}, is before day 1, {date(made)}."
        reasons.append(Refused("label-dates-order", words, "Check the days."))
    if frozen:
        help = "Ask the chef: its days don't stop in the freezer."
        reasons.append(
            Refused("label-freezing", f"{name} is kept at two places, and not frozen.", help)
        )
    return reasons


def still_colder(
    name: str, dates: Dates, taken_out: datetime.date | None, frozen: bool
) -> list[Refused]:
    """Every reason against a label of food that is still in the colder of two places."""
    if dates.moved_days is None:
        words = f"{name} isn't kept at one place and then at a warmer one."
        return [Refused("label-moved-needless", words, "Leave --still-colder out.")]
    if taken_out is not None:
        words = f"{name}: one option says it was taken out, the other that it wasn't."
        return [Refused("label-moved-needless", words, "Leave one of them out.")]
    if frozen:
        help = "Ask the chef: its days don't stop in the freezer."
        words = f"{name} is kept at two places, and not frozen."
        return [Refused("label-freezing", words, help)]
    return []
