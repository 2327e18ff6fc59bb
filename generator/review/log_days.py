"""The days a log is of, against the day it is judged on and the day its standard began."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, replace

from generator.review.readings import ReadingLog
from generator.review.results import Judged


@dataclass(frozen=True)
class Days:
    """The day a log is judged on, and the revision whose limit it is judged by with the day it
    began; None for what has no revision."""

    as_of: datetime.date
    revision: int | None = None
    effective: datetime.date | None = None


def days_doubted(log: ReadingLog, days: Days) -> str:
    """What is wrong with the days a log is of, as sentences; "" if nothing is.

    A reading can't be of a day that is still to come. One of a day before the revision began was of
    food made by another, whose limit may be another.
    """
    instants = [r.at.astimezone(log.zone) for s in log.series for r in s.readings]
    if not instants:
        return ""
    first, last = min(instants), max(instants)
    words = []
    if last.date() > days.as_of:
        words.append(
            f"The log goes on to {last:%Y-%m-%d %H:%M}, but it is judged on {days.as_of}. Either "
            f"the logger's clock or that day is wrong."
        )
    if days.effective is not None and first.date() < days.effective:
        words.append(
            f"The log begins on {first.date()}, revision {days.revision} on {days.effective}. The "
            f"food was made by an earlier revision: judge it by the standards of that day."
        )
    return " ".join(words)


def judged_by_day(judged: Judged, log: ReadingLog, days: Days) -> Judged:
    """A verdict with what is wrong with the days of its log: a pass is none any more, whatever else
    was found stays."""
    words = days_doubted(log, days)
    if not words:
        return judged
    if judged.verdict != "pass":
        return replace(judged, why=f"{judged.why} {words}")
    probes = tuple(
        replace(p, verdict="cannot tell", met_row="", why=f"{p.why} But: {words}")
        for p in judged.probes
    )
    return replace(judged, verdict="cannot tell", why=words, probes=probes)
