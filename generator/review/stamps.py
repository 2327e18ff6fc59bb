"""Dates and times as loggers write them: read only one way, or asked about, never guessed."""

from __future__ import annotations

import datetime
import re
from typing import Any, Literal

from generator.files.finding import Refused

Order = Literal["day-first", "month-first"]
ORDERS: tuple[Order, ...] = ("day-first", "month-first")

_ZONE = r"\s*(?P<zone>Z|[+-]\d{2}:?\d{2})?"
_CLOCK = (
    r"(?P<hour>\d{1,2})(?:[:.]|\s?[hH]\s?)(?P<minute>\d{2})"
    r"(?:[:.](?P<second>\d{2})(?:[.,](?P<part>\d{1,6}))?)?"
    r"(?:\s*(?P<half>[AaPp])\.?[Mm]\.?)?"
)
_YEAR_FIRST = re.compile(
    r"(?P<year>\d{4})([-/.])(?P<month>\d{1,2})\2(?P<day>\d{1,2})(?:[T ]|,\s*)\s*" + _CLOCK + _ZONE,
    re.ASCII,
)
_YEAR_LAST = re.compile(
    r"(?P<one>\d{1,2})([-/.])(?P<two>\d{1,2})\2(?P<year>\d{4})(?:[T ]|,\s*)\s*" + _CLOCK + _ZONE,
    re.ASCII,
)
_YEAR_SHORT = re.compile(
    r"(?P<one>\d{1,2})([-/.])(?P<two>\d{1,2})\2(?P<three>\d{2})(?:[T ]|,\s*)\s*" + _CLOCK + _ZONE,
    re.ASCII,
)
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_NAMED = re.compile(
    r"(?:(?P<day>\d{1,2})[-/. ]\s*(?P<name>[A-Za-z]{3,9})|"
    r"(?P<name2>[A-Za-z]{3,9})[-/. ]\s*(?P<day2>\d{1,2})),?[-/. ]\s*(?P<year>\d{4})"
    r"(?:[T ]|,\s*)\s*" + _CLOCK + _ZONE,
    re.ASCII,
)
"""A month by its English name: 26-Nov-2026, Nov 26, 2026."""
_MONTH_NAMES = re.compile(
    "jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?|"
    "sept?(?:ember)?|oct(?:ober)?|nov(?:ember)?|dec(?:ember)?"
)
_PLAIN = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(?::\d\d)?", re.ASCII)
"""The form most loggers write, which needs no taking apart."""
_LONGEST = 40
WRITE_IT = "Write it as in 2026-11-25 14:05."
ASK = "Say which: --dates day-first or --dates month-first."
ASK_YEAR = f"{ASK} Or write the year in full, as in 2026-11-25 14:05."


class Stamps:
    """Reads the stamps of one log.

    ``order`` is what the person said of dates that end in their year; None: not said. A date that
    can be read both ways is then asked about. ``at_odds`` gathers what only the whole log shows:
    dates of both orders, hours with and without AM or PM. ``half_day`` stays true while the hours
    may be those of a clock of twelve hours.
    """

    def __init__(self, order: Order | None = None) -> None:
        self.order = order
        self.seen: dict[str, int] = {}
        self.half_day = True

    def read(self, text: str, line: int) -> datetime.datetime:
        """The stamp on a line, with its zone if it has one.

        Raises Refused: ``reading-time`` for what is no date and time, ``reading-dates`` for a date
        that can be read both ways.
        """
        if _PLAIN.fullmatch(text) and "1970" <= text[:4] <= "2199":
            try:
                stamp = datetime.datetime.fromisoformat(text)
            except ValueError:
                pass  # said below
            else:
                if "whole" not in self.seen:
                    self.seen["whole"] = line
                if not 1 <= stamp.hour <= 12:
                    self.half_day = False
                return stamp
        part = _parts(text)
        if "three" in part:
            year, month, day = self._short(part, text, line)
        else:
            year = int(part["year"])
            month, day = self._month_and_day(part, text, line)
        if not 1970 <= year <= 2199:
            raise Refused("reading-time", f"`{text}`: the year can't be right.", WRITE_IT)
        hour = self._hour(int(part["hour"]), part["half"], text, line)
        if part["zone"]:
            self.half_day = False
        micro = int((part["part"] or "").ljust(6, "0") or 0)
        try:
            return datetime.datetime(
                year,
                month,
                day,
                hour,
                int(part["minute"]),
                int(part["second"] or 0),
                micro,
                _zone(part["zone"], text),
            )
        except ValueError:
            words = f"`{text}`: there is no such day or hour."
            raise Refused("reading-time", words, WRITE_IT) from None

    def _month_and_day(self, part: dict[str, str | None], text: str, line: int) -> tuple[int, int]:
        if part.get("month") is not None:
            return int(part["month"] or 0), int(part["day"] or 0)
        one, two = int(part["one"] or 0), int(part["two"] or 0)
        order = self.order
        if order is None and one != two:
            if one <= 12 and two <= 12:
                words = f"`{text}`: is the day or the month first?"
                raise Refused("reading-dates", words, ASK)
            order = "day-first" if one > 12 else "month-first"
            self.seen.setdefault(order, line)
        return (two, one) if order == "day-first" else (one, two)

    def _short(self, part: dict[str, str], text: str, line: int) -> tuple[int, int, int]:
        """Year, month and day of a date with a year of two digits, which may be at either
        end."""
        one, two, three = int(part["one"]), int(part["two"]), int(part["three"])
        orders = {
            order: (2000 + three, month, day)
            for order, month, day in (("day-first", two, one), ("month-first", one, two))
            if 1 <= month <= 12 and 1 <= day <= 31
        }
        if self.order is not None:
            day, month = (one, two) if self.order == "day-first" else (two, one)
            return 2000 + three, month, day
        year_first = len(part["one"]) == 2 and 1 <= two <= 12 and 1 <= three <= 31
        if year_first or len(set(orders.values())) != 1:
            words = f"`{text}`: which is the day, which the month and which the year?"
            raise Refused("reading-dates", words, ASK_YEAR)
        if len(orders) == 1:
            self.seen.setdefault(next(iter(orders)), line)
        return next(iter(orders.values()))

    def _hour(self, hour: int, half: str | None, text: str, line: int) -> int:
        self.seen.setdefault("half" if half else "whole", line)
        if half or not 1 <= hour <= 12:
            self.half_day = False
        if not half:
            return hour
        if not 1 <= hour <= 12:
            words = f"`{text}`: with AM or PM the hour is 1 to 12."
            raise Refused("reading-time", words, WRITE_IT)
        return hour % 12 + (12 if half in "Pp" else 0)

    def ask_once(self, line: int) -> bool:
        """Whether the order of dates is asked for the first time: one answer settles them all."""
        first = "asked" not in self.seen
        self.seen.setdefault("asked", line)
        return first

    def at_odds(self) -> tuple[str, int] | None:
        """What the stamps of the whole log contradict each other in, and a line that shows it."""
        pairs = (
            (ORDERS, "Some dates have the day first, others the month"),
            (("half", "whole"), "Some hours say AM or PM, others don't"),
        )
        for (one, two), words in pairs:
            if one in self.seen and two in self.seen:
                first, second = sorted((self.seen[one], self.seen[two]))
                return f"{words}: lines {first} and {second}.", second
        return None


def _parts(text: str) -> dict[str, Any]:
    """The parts of a stamp. Raises Refused for what is none."""
    if len(text) <= _LONGEST:
        for form in (_YEAR_FIRST, _YEAR_LAST, _YEAR_SHORT):
            match = form.fullmatch(text)
            if match is not None:
                return match.groupdict()
        match = _NAMED.fullmatch(text)
        name = (match["name"] or match["name2"]).casefold() if match is not None else ""
        if match is not None and _MONTH_NAMES.fullmatch(name):
            part = match.groupdict()
            month = str(_MONTHS.index(name[:3]) + 1)
            return {**part, "month": month, "day": part["day"] or part["day2"]}
    raise Refused("reading-time", f"`{text[:_LONGEST]}` is not a date and time.", WRITE_IT)


def _zone(text: str | None, stamp: str) -> datetime.tzinfo | None:
    if text is None:
        return None
    if text == "Z":
        return datetime.UTC
    hours, minutes = int(text[1:3]), int(text[-2:])
    if hours > 14 or minutes > 59:
        raise Refused("reading-time", f"`{stamp}`: there is no such zone.", WRITE_IT)
    offset = datetime.timedelta(hours=hours, minutes=minutes)
    return datetime.timezone(-offset if text[0] == "-" else offset)
