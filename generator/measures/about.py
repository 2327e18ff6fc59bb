"""Predicted figures as people read them: rounded to what they are worth."""

from __future__ import annotations

import math
from fractions import Fraction

from generator.measures.rounding import significant
from generator.measures.temperature import Degree
from generator.measures.words import NARROW, duration, plain


def degrees(celsius: float, unit: Degree = "°C") -> str:
    """A temperature in the unit people read, to a tenth."""
    shown = celsius if unit == "°C" else celsius * 1.8 + 32
    return f"{plain(Fraction(shown).limit_denominator(1000), 1)}{NARROW}{unit}"


def time_words(seconds: float) -> str:
    """A time of two figures or so: to the second below a minute, to 10 s below ten, to the minute
    below three hours, then to 5 minutes."""
    if math.isinf(seconds):
        return "never"
    if seconds < 60:
        return f"{plain(significant(Fraction(seconds).limit_denominator(10**6), 2))}{NARROW}s"
    for under, step in ((600, 10), (3 * 3600, 60), (10**12, 300)):
        if seconds < under:
            return duration(Fraction(round(seconds / step) * step), days=False)
    return duration(Fraction(round(seconds)), days=False)


def to_offer(seconds: Fraction) -> Fraction:
    """The longest time up to ``seconds``, in seconds, that a cook would write: to the quarter of an
    hour from an hour on, to 5 minutes from a quarter on, else to the minute. What is offered in
    place of a time that is too long is never longer than what is left; 0 where that is no
    minute."""
    for least, step in ((3600, 900), (900, 300)):
        if seconds >= least:
            return Fraction(seconds // step * step)
    return Fraction(seconds // 60 * 60)
