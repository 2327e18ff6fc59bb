"""Ranges as a cook writes them, kept as their two ends: ``36 to 40 min``, ``4–6 min``, ``2-4 °C``.

No single figure is to be had of a range: a rule asks the end that is the worse for it.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeVar

from generator.files.finding import Refused
from generator.measures.marks import figure_of, refuse_point, typed_line
from generator.measures.temperature import Temperature, read_temperature
from generator.measures.times import read_time
from generator.measures.words import NARROW, duration, duration_figure, plain

_T = TypeVar("_T")
_ABOUT = re.compile(r"(?:about|ca\.?|circa|approx\.?|approximately|around|~)\s*", re.IGNORECASE)
_BETWEEN = re.compile(r"(.*?[^\s–—-])\s*(?:\bto\b|–|—|(?<=[0-9½¼¾A-Za-z°])\s*-)\s*(\S.*)")
_OPEN = re.compile(
    r"^(?:from|at least|at most|up to|over|under|more than|less than|min\.?|max\.?|[<>≥≤])"
    r"\s*(?=[0-9½¼¾])"
    r"|(?<=[A-Za-z])\s*(?:or more|or less|or longer|and more|at least|at most|\+)$"
    r"|^(?:to|–|—)\s+|\s*(?:\bto|–|—|-)$",
    re.IGNORECASE,
)
_BARE = re.compile(r"[-−]?[0-9½¼¾./,\s]+")


@dataclass(frozen=True)
class Span:
    """A length of time with two ends in exact seconds, which are one where one figure was typed;
    and as typed."""

    shortest: Fraction
    longest: Fraction
    text: str = ""

    @staticmethod
    def of(seconds: Fraction) -> Span:
        """One length of time."""
        return Span(seconds, seconds)

    @property
    def is_range(self) -> bool:
        return self.shortest != self.longest

    def __str__(self) -> str:
        about = "about " if _ABOUT.match(self.text) else ""
        if not self.is_range:
            return f"{about}{duration(self.shortest)}"
        first, unit = duration_figure(self.shortest)
        last, other = duration_figure(self.longest)
        if unit == other and " " not in f"{first}{last}":
            return f"{about}{first} to {last}{NARROW}{unit}"
        return f"{about}{duration(self.shortest)} to {duration(self.longest)}"


def read_span(text: str) -> Span:
    """``45 min``, ``36 to 40 min``, ``4–6 min``, ``50 min to 1 h``, ``about 5 min``.

    Raises Refused for anything else: an open end, ends in the wrong order, ends that are one.
    """
    typed = typed_line(text)
    bare = _ABOUT.sub("", typed, count=1) if _ABOUT.match(typed) else typed
    ends = _ends(bare, typed, _time_units)
    if ends is None:
        seconds = read_time(bare).seconds
        return Span(seconds, seconds, typed)
    shortest, longest = (one.seconds for one in _both(ends, typed, read_time))
    _ordered(shortest, longest, typed, ends, shortest > longest)
    return Span(shortest, longest, typed)


def _time_units(end: str) -> str:
    """The first unit of an end, for the other one that has none."""
    found = re.search(r"[A-Za-z]+", end)
    return found[0] if found else ""


@dataclass(frozen=True)
class TemperatureSpan:
    """A temperature with two ends, which are one where one figure was typed; and as typed.

    ``final`` is the second of a first and a final temperature, ``250 °C then 200 °C``.
    """

    coolest: Temperature
    warmest: Temperature
    text: str = ""
    final: Temperature | None = None

    @staticmethod
    def of(temperature: Temperature) -> TemperatureSpan:
        """One temperature."""
        return TemperatureSpan(temperature, temperature, str(temperature))

    @property
    def is_range(self) -> bool:
        return self.coolest.celsius != self.warmest.celsius

    def __str__(self) -> str:
        if not self.is_range:
            return str(self.coolest)
        if self.final is not None:
            first = self.coolest if self.final == self.warmest else self.warmest
            return f"{first}, then {self.final}"
        figure = str(self.coolest).removesuffix(f"{NARROW}{self.coolest.unit}")
        return f"{figure} to {self.warmest}"


def read_temperatures(text: str) -> TemperatureSpan:
    """``74 °C``, ``31 to 32 °C``, ``2–4 °C``, ``-20 to -18 °C``, ``250 °C, then 200 °C``.

    Raises Refused for anything else: an open end, two scales, ends in the wrong order or one.
    """
    typed = typed_line(text)
    parted = _THEN.fullmatch(typed)
    if parted is not None:
        return _first_and_final(typed, parted[1], parted[2])
    ends = _ends(typed, typed, _scale)
    if ends is None:
        one = read_temperature(typed)
        return TemperatureSpan(one, one, typed)
    coolest, warmest = _both(ends, typed, read_temperature)
    if coolest.unit != warmest.unit:
        raise Refused(
            "range-doubtful",
            f"`{typed[:40]}` has two scales.",
            "Write both ends in one, as in 31 to 32 °C.",
        )
    _ordered(coolest, warmest, typed, ends, warmest < coolest)
    return TemperatureSpan(coolest, warmest, typed)


@dataclass(frozen=True)
class Humidity:
    """The relative humidity of air, in percent, with two ends that may be one."""

    lowest: Fraction
    highest: Fraction

    def __str__(self) -> str:
        if self.lowest == self.highest:
            return f"{plain(self.lowest)}{NARROW}%"
        return f"{plain(self.lowest)} to {plain(self.highest)}{NARROW}%"


_HUMIDITY = re.compile(
    r"(\d{1,3}(?:[.,]\d)?)\s*%?(?:\s*(?:to|–|—|-)\s*(\d{1,3}(?:[.,]\d)?))?\s*%"
    r"(?:\s*(?:rh|relative humidity))?",
    re.IGNORECASE,
)


def read_humidity(text: str) -> Humidity:
    """``75 %``, ``70 to 75 %``, ``80–85 % RH``: above 0 % and at most 100 %. Raises Refused."""
    typed = typed_line(text)
    refuse_point(typed[:40])
    found = _HUMIDITY.fullmatch(typed) if len(typed) <= 40 else None
    if found is None:
        raise Refused(
            "humidity-unreadable",
            f"`{typed[:40]}` is not a relative humidity.",
            "Write percent, as in 75 % or 70 to 75 %.",
            [f"{typed} %"] if re.fullmatch(r"\d{1,3}", typed) and int(typed) <= 100 else [],
        )
    lowest = figure_of(found[1])
    highest = figure_of(found[2]) if found[2] else lowest
    if not 0 < lowest <= 100 or not 0 < highest <= 100:
        raise Refused(
            "humidity-unreadable",
            f"`{typed}`: air holds between 0 and 100 %.",
            "Check the figure.",
        )
    if found[2]:
        _ordered(lowest, highest, typed, (f"{found[1]} %", f"{found[2]} %"), lowest > highest)
    return Humidity(lowest, highest)


_THEN = re.compile(r"(.+?),?\s+(?:and\s+)?then\s+(.+)", re.IGNORECASE)


def _first_and_final(typed: str, first: str, final: str) -> TemperatureSpan:
    """A temperature that changes on the way: every rule asks the worse of the two. Raises
    Refused."""
    if _THEN.fullmatch(final):
        raise Refused(
            "range-doubtful",
            f"`{typed[:60]}` has more than two temperatures.",
            "Two are allowed, as in 250 °C, then 200 °C. Make each of the others a step.",
        )
    ends = (f"{first} {_scale(final)}".strip() if _BARE.fullmatch(first) else first, final)
    one, other = _both(ends, typed, read_temperature)
    if one.unit != other.unit or one == other:
        words = "has two scales" if one.unit != other.unit else "is the same twice"
        raise Refused(
            "range-doubtful", f"`{typed[:40]}` {words}.", "As in 250 °C, then 200 °C.", ()
        )
    coolest, warmest = sorted((one, other), key=lambda t: t.celsius)
    return TemperatureSpan(coolest, warmest, typed, other)


def _scale(end: str) -> str:
    """The scale of an end, for the other one that has none."""
    found = re.search(r"(?:°|º|deg(?:rees?)?)?\s*[CcFf]\w*$", end)
    return found[0] if found else ""


def _ends(bare: str, typed: str, unit_of: Callable[[str], str]) -> tuple[str, str] | None:
    """The two ends of a range, each with a unit; None for what is no range. Raises Refused for a
    range with one end."""
    if len(typed) > 60:
        return None
    if _OPEN.search(bare):
        figure = _OPEN.sub("", bare).strip()
        raise Refused(
            "range-doubtful",
            f"`{typed[:40]}` has one end only.",
            "Write both ends, as in 4 to 6 min, or one figure.",
            [figure] if re.search(r"[0-9½¼¾]\s*[A-Za-z°º]", figure) else [],
        )
    found = _BETWEEN.fullmatch(bare)
    if found is None:
        return None
    first, last = found[1].strip(), found[2].strip()
    if _BARE.fullmatch(first):
        first = f"{first} {unit_of(last)}".strip()
    return first, last


def _both(ends: tuple[str, str], typed: str, read: Callable[[str], _T]) -> tuple[_T, _T]:
    """Both ends read. What is refused of one is refused with fixes for the whole. Raises
    Refused."""
    try:
        return read(ends[0]), read(ends[1])
    except Refused as refused:
        fixes: list[str] = []
        if refused.code.endswith("-without-unit"):
            fixes = [f"{typed} {fix.removeprefix(ends[0]).strip()}" for fix in refused.write]
        elif refused.code == "decimal-mark":
            fixes = [re.sub(r"(?<=[0-9])\.(?=[0-9])", ",", typed)]
        raise Refused(refused.code, refused.message, refused.help, fixes) from None


def _ordered(first: _T, last: _T, typed: str, ends: tuple[str, str], reversed_: bool) -> None:
    """Raises Refused for a range whose ends are in the wrong order, or one."""
    if first == last:
        words, fix = f"`{typed[:40]}`: both ends are the same.", ends[1]
        raise Refused("range-doubtful", words, "Write one figure.", [fix])
    if reversed_:
        words = f"`{typed[:40]}`: the smaller end comes first."
        raise Refused("range-doubtful", words, "", [f"{ends[1]} to {ends[0]}"])
