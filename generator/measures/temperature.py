"""Temperature and temperature difference: two types that can't be mixed up.

Kept exact in degrees Celsius; ``unit`` is the one it was written in. The scale formulas are those
of NIST SP 811 (2008), B.8: °C = (°F − 32)/1.8; a difference of 1 °C is one of 1.8 °F.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from generator.files.finding import Refused
from generator.measures.marks import as_written, decimal_mark, figure_of, refuse_point, typed_line
from generator.measures.rounding import Side, to_side
from generator.measures.words import NARROW, plain

Degree = Literal["°C", "°F"]
_FACTOR = Fraction(9, 5)
_ABSOLUTE_ZERO = Fraction("-273.15")
_PATTERN = re.compile(
    r"(?P<sign>[-−]?)(?P<number>\d{1,4}(?:\.\d{1,4}|,\d{1,4})?)\s*(?:°|º|deg(?:rees?)?)?\s*(?P<unit>[CcFf])"
    r"(?:elsius|ahrenheit)?",
    re.ASCII,
)
_BARE = re.compile(r"([-−]?\d+(?:[.,]\d+)?)\s*(?:°|º|deg(?:rees?)?)?", re.ASCII)


@dataclass(frozen=True, order=False)
class TemperatureDifference:
    """A difference of temperatures, exact in °C."""

    celsius: Fraction
    unit: Degree = "°C"

    def in_unit(self, unit: Degree) -> Fraction:
        """The difference in ``unit``."""
        return self.celsius if unit == "°C" else self.celsius * _FACTOR

    def __str__(self) -> str:
        return f"{plain(self.in_unit(self.unit))}{NARROW}{self.unit}"


@dataclass(frozen=True, order=False)
class Temperature:
    """A temperature, exact in °C, and the unit it was written in."""

    celsius: Fraction
    unit: Degree = "°C"

    @staticmethod
    def of(value: Fraction | int | str, unit: Degree) -> Temperature:
        """A temperature from a figure in ``unit``. Raises ValueError below absolute zero."""
        figure = Fraction(value)
        celsius = figure if unit == "°C" else (figure - 32) / _FACTOR
        if celsius < _ABSOLUTE_ZERO:
            raise ValueError("below absolute zero")
        return Temperature(celsius, unit)

    def in_unit(self, unit: Degree) -> Fraction:
        """The figure in ``unit``, exact."""
        return self.celsius if unit == "°C" else self.celsius * _FACTOR + 32

    def swapped(self) -> Temperature:
        """The same figure in the other scale: 74 °F for 74 °C, as a slip of the pen has it."""
        return Temperature.of(self.in_unit(self.unit), "°F" if self.unit == "°C" else "°C")

    def rounded(self, unit: Degree, side: Side) -> Fraction:
        """The figure in ``unit`` as a whole degree on the given side."""
        return to_side(self.in_unit(unit), side)

    def __add__(self, other: TemperatureDifference) -> Temperature:
        return Temperature(self.celsius + other.celsius, self.unit)

    def __sub__(self, other: TemperatureDifference) -> Temperature:
        return Temperature(self.celsius - other.celsius, self.unit)

    def __lt__(self, other: Temperature) -> bool:
        return self.celsius < other.celsius

    def __le__(self, other: Temperature) -> bool:
        return self.celsius <= other.celsius

    def __str__(self) -> str:
        return f"{plain(self.in_unit(self.unit), 2)}{NARROW}{self.unit}"


def read_temperature(text: str) -> Temperature:
    """A temperature as a cook writes it: ``74 °C``, ``74C``, ``165 degF``, ``-18 °C``.

    Raises Refused for anything else.
    """
    typed = typed_line(text)
    refuse_point(typed[:40])
    match = _PATTERN.fullmatch(typed) if len(typed) <= 40 else None
    if match and _doubtful(match["number"]):
        match = None
    if match:
        unit: Degree = "°C" if match["unit"] in "Cc" else "°F"
        value = figure_of(match["number"]) * (-1 if match["sign"] else 1)
        try:
            return Temperature.of(value, unit)
        except ValueError:
            raise Refused(
                "temperature-impossible",
                f"{typed} is colder than anything can be.",
                "Check the sign.",
            ) from None
    bare = _BARE.fullmatch(typed) if len(typed) <= 40 else None
    if bare:
        figure = as_written(bare[1].replace(",", "."))
        raise Refused(
            "temperature-without-unit",
            f"{typed}: degrees of which scale?",
            "A temperature needs its scale.",
            [f"{figure} °C", f"{figure} °F"],
        )
    raise Refused(
        "temperature-unreadable",
        f"`{typed[:40]}` is not a temperature.",
        "Write a figure and its scale, as in 4 °C or 350 °F.",
    )


def _doubtful(number: str) -> bool:
    """Three digits behind a comma may be thousands, where the decimal mark is a point."""
    return decimal_mark() == "point" and len(number.partition(",")[2]) > 2


def read_difference(text: str) -> TemperatureDifference:
    """A difference such as a probe's accuracy: ``1 °C``, ``2 °F``, ``±0.5 °C``. Raises Refused."""
    try:
        reading = read_temperature(text.strip().lstrip("±+ "))
    except Refused as refused:
        if refused.code != "temperature-unreadable":
            raise
        raise Refused(
            refused.code, refused.message, "Write how far it may be off, as in 1 °C or 2 °F."
        ) from None
    value = reading.in_unit(reading.unit)
    if value < 0:
        raise Refused(
            "difference-negative",
            f"`{text}`: a difference can't be below zero.",
            "Leave the sign out.",
        )
    celsius = value if reading.unit == "°C" else value / _FACTOR
    return TemperatureDifference(celsius, reading.unit)
