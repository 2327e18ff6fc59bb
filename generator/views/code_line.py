"""The source's own figure, as it is beneath the figure of a limit."""

from __future__ import annotations

from typing import assert_never

from generator.measures.temperature import Degree
from generator.measures.words import NARROW, duration, plain
from generator.rules.basics.context import hold_words
from generator.rules.basics.in_words import limit_words, shown
from generator.rules.basics.limit import (
    CoolingLimit,
    Figure,
    HeatingLimit,
    InWords,
    KeepingLimit,
    Lasts,
    Law,
    TimeLimit,
)

ADVISED = ", advised"
"""Behind the time of a stage that is no limit."""
BEFORE_PACKED = "before it is packed"
"""Behind the figure a cooling goes on to, in no set time."""


def code_line(limit: Law | TimeLimit) -> tuple[str, str]:
    """The figure in its own unit, which the page sets in bold, and the rest of the line."""
    match limit:
        case InWords():
            return "", limit.words
        case TimeLimit():
            return limit_words(limit), ""
        case CoolingLimit():
            return _code_stages(limit)
        case HeatingLimit():
            first, rest = _in_own_unit(limit.figure)
            stood = f", then {duration(limit.stand.row_s)} covered" if limit.stand else ""
            return first, f"{rest}{hold_words(limit.row_hold_s)}{stood}"
        case KeepingLimit():
            first, rest = _in_own_unit(limit.figure)
            solid = f" until solid, then {shown(limit.stored)}" if limit.stored else ""
            return first, f"{rest}{solid}{hold_words(limit.row_hold_s)}{_most(limit.lasts)}"
        case _:
            assert_never(limit)


def _in_own_unit(figure: Figure) -> tuple[str, str]:
    """A figure in its unit of record, and the other scale behind it."""
    unit = figure.value.unit
    other: Degree = "°C" if unit == "°F" else "°F"
    first = f"{plain(figure.value.in_unit(unit))}{NARROW}{unit}"
    return first, f" ({plain(figure.shown(other))}{NARROW}{other})"


def _most(lasts: Lasts | None) -> str:
    if lasts is None:
        return ""
    stay = f", never above {shown(lasts.never_above)}" if lasts.never_above is not None else ""
    return f", {duration(lasts.most_s, days=False)} at most{stay}"


def _code_stages(limit: CoolingLimit) -> tuple[str, str]:
    parts = []
    for number, stage in enumerate(limit.stages):
        last = " in all" if number and number == len(limit.stages) - 1 else ""
        if stage.after_stage:
            last = " more"
        if stage.advised:
            last = ADVISED
        parts.append(f"to {shown(stage.figure)} in {duration(stage.within_s)}{last}")
    if limit.finish is not None:
        parts.append(f"to {shown(limit.finish)} {BEFORE_PACKED}")
    if limit.clock is not None:
        return shown(limit.clock), " " + ", ".join(parts)
    return "", ", ".join(parts)
