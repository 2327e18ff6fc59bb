"""Times as a cook writes them, exact in seconds."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from generator.files.finding import Refused
from generator.measures.fractions import mixed
from generator.measures.marks import decimal_mark, decimal_sign, figure_of, refuse_point, typed_line
from generator.measures.words import duration

_SECONDS = {
    "s": 1,
    "sec": 1,
    "secs": 1,
    "second": 1,
    "seconds": 1,
    "min": 60,
    "mins": 60,
    "minute": 60,
    "minutes": 60,
    "h": 3600,
    "hr": 3600,
    "hrs": 3600,
    "hour": 3600,
    "hours": 3600,
    "day": 86400,
    "days": 86400,
    "d": 86400,
    "week": 604800,
    "weeks": 604800,
}
_PIECE = re.compile(
    r"(?:(?P<whole>\d{1,3})\s*(?P<vulgar>[½¼¾])|(?P<only>[½¼¾])"
    r"|(?:(?P<int>\d{1,3})\s+)?(?P<top>\d{1,3})/(?P<bottom>\d{1,3})"
    r"|(?P<decimal>\d{1,5}(?:\.\d{1,3}|,\d{1,3})?))"
    r"\s*(?P<unit>[A-Za-z]{1,8})\.?\s*(?:and\s+)?",
    re.ASCII,
)


def _figure(match: re.Match[str]) -> Fraction | None:
    """The figure before a unit of time, or None for a division by nothing."""
    if match["decimal"]:
        if decimal_mark() == "point" and len(match["decimal"].partition(",")[2]) > 2:
            return None  # thousands, perhaps
        return figure_of(match["decimal"])
    try:
        return mixed(match)
    except ZeroDivisionError:
        return None


@dataclass(frozen=True)
class Time:
    """A length of time: exact seconds, and as typed."""

    seconds: Fraction
    text: str = ""

    def __str__(self) -> str:
        return duration(self.seconds)


def read_time(text: str) -> Time:
    """``90 min``, ``1 h 30 min``, ``17 s``, ``4 days``. Raises Refused for anything else."""
    typed = typed_line(text)
    if len(typed) <= 40:
        refuse_point(typed)
        seconds = _seconds(typed)
        if seconds is not None:
            return Time(seconds, typed)
        raise _no_time(typed)
    raise _unreadable(typed)


def _seconds(typed: str) -> Fraction | None:
    """Figures with their units, the larger unit first, in seconds; None for anything else."""
    position, total, last = 0, Fraction(0), 10**9
    while position < len(typed):
        match = _PIECE.match(typed, position)
        if match is None:
            return None
        size, figure = _SECONDS.get(match["unit"].lower()), _figure(match)
        if figure is None or size is None or size >= last:
            return None
        total += figure * size
        position, last = match.end(), size
    return total if typed else None


def _no_time(typed: str) -> Refused:
    """Why a text is no time, with the times it may mean."""
    if re.fullmatch(rf"\d+(?:\{decimal_sign()}\d+)?", typed):
        return Refused(
            "time-without-unit",
            f"{typed} of what: seconds, minutes, hours?",
            "A time needs its unit.",
            [f"{typed} s", f"{typed} min", f"{typed} h"],
        )
    clock = re.fullmatch(r"(\d{1,2}):(\d{2})", typed)
    if clock:
        first, second = int(clock[1]), int(clock[2])
        return Refused(
            "time-unreadable",
            f"`{typed}` may be hours and minutes or minutes and seconds.",
            "Name the units.",
            [f"{first} h {second} min", f"{first} min {second} s"],
        )
    if typed.lower().startswith("over"):
        return Refused(
            "time-unreadable",
            f"`{typed}` is a different time in every kitchen.",
            "Write the hours, as in 12 h.",
        )
    if (spoken := _spoken(typed)) is not None:
        return Refused(
            "time-unreadable", f"`{typed}` is not a time.", "Write it in figures.", [spoken]
        )
    return _unreadable(typed)


_NUMBERS = {
    word: figure
    for figure, words in enumerate(
        ("a an one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"), 1
    )
    for word in words.split()
}
_HALVES = {
    "half an hour": "30 min",
    "half hour": "30 min",
    "a half hour": "30 min",
    "quarter of an hour": "15 min",
    "a quarter of an hour": "15 min",
    "three quarters of an hour": "45 min",
    "an hour and a half": "1 h 30 min",
    "one and a half hours": "1 h 30 min",
    "half a minute": "30 s",
    "half a day": "12 h",
}
_SPOKEN = re.compile(r"([a-z]+) (seconds?|minutes?|mins?|hours?|days?|weeks?)")


def _spoken(typed: str) -> str | None:
    """The time that words say, in figures; None for any other words."""
    words = re.sub(r"[\s-]+", " ", typed.lower()).strip()
    if words in _HALVES:
        return _HALVES[words]
    said = _SPOKEN.fullmatch(words)
    figure = _NUMBERS.get(said[1]) if said is not None else None
    return f"{figure} {said[2]}" if said is not None and figure is not None else None


def _unreadable(typed: str) -> Refused:
    return Refused(
        "time-unreadable",
        f"`{typed[:40]}` is not a time.",
        "Write a figure and its unit, as in 45 min, 1 h 30 min or 4 days.",
    )
