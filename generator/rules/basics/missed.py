"""What to do when a limit is missed, with its figures: "Above 20 °C after 2 h: reheat to 75 °C
once".

The words are in ``hazards.yaml``. In braces are the figures of the limit at hand: ``{below}``
and ``{above}`` what the page asks the probe for, ``{reading}`` the same with its hold, ``{time}``
the most time, ``{reheat}`` the reheating figure, ``{ph}``, ``{most}`` and ``{least}`` a dose. A
piece between two ``|`` whose figure the limit doesn't have is left out.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import assert_never

from generator.measures.temperature import Degree, Temperature
from generator.measures.words import NARROW, duration, plain
from generator.reference.row_kinds import ReheatRow
from generator.reference.rows import HazardWords
from generator.resolve.joined import House
from generator.rules.basics.limit import (
    STRICT_SIDE,
    AcidityLimit,
    CoolingLimit,
    DoseLimit,
    Figure,
    HeatingLimit,
    InWords,
    KeepingLimit,
    Limit,
    NotCovered,
    Probed,
    ShareLimit,
    TimeLimit,
    figure_of,
)

_FIGURE = re.compile(r"\{(below|above|reading|time|reheat|ph|most|least)\}")
_IN_GENERAL = {
    "below": "the limit",
    "above": "the limit",
    "time": "the time allowed",
    "reading": "the limit",
    "reheat": "its limit for reheating",
    "ph": "the limit",
    "most": "the limit",
    "least": "the least",
}
"""What means a figure where many limits share the words, on a log."""


def missed_words(house: House, limit: Limit, words: HazardWords | None, unit: Degree) -> str:
    """What to do when ``limit`` is missed, its figures in ``unit`` as its page asks for them."""
    text = limit.if_missed
    if not text and words is not None:
        if isinstance(limit, CoolingLimit) and words.if_missed_stage:
            return _by_stage(house, limit, words, unit)
        text = words.if_missed_in_words if isinstance(limit, InWords) else words.if_missed
    return _filled(text, _figures(house, limit, unit, text))


def in_general(words: HazardWords, reheat: str = "") -> str:
    """The same without figures, for a log of many foods; ``reheat`` is the figure of reheating,
    which all foods of a kitchen share (see ``reheating_figure``)."""
    general = {**_IN_GENERAL, "reheat": reheat or _IN_GENERAL["reheat"]}
    if words.if_missed_stage:
        first = _filled(words.if_missed_stage, {**general, "time": "the first time"})
        return f"{first} {_filled(words.if_missed, {**general, 'time': 'the last time'})}"
    return _filled(words.if_missed, general)


def _filled(text: str, figures: dict[str, str]) -> str:
    """The pieces of ``text`` whose figures are there, filled in."""
    reported = []
    for piece in text.split("|"):
        names = [match[1] for match in _FIGURE.finditer(piece)]
        if all(figures.get(name) for name in names):
            reported.append(_FIGURE.sub(lambda m: figures[m[1]], piece).strip())
    return " ".join(reported)


def _by_stage(house: House, limit: CoolingLimit, words: HazardWords, unit: Degree) -> str:
    """A cooling: each deadline with its figure; at the last it is over."""
    figures = _figures(house, limit, unit, f"{words.if_missed_stage} {words.if_missed}")
    reported = []
    for stage in limit.stages:
        last = stage is limit.stages[-1]
        if stage.advised:
            continue  # no limit: its note says what it is
        reads = stage.figure.read_at(unit)
        if last and limit.finish is None:
            reads = min(reads, _asked(house, limit, stage.figure, unit))
        time = duration(stage.within_s) + (" of that" if stage.after_stage else "")
        own = {**figures, "above": _degrees(reads, unit), "time": time}
        reported.append(_filled(words.if_missed if last else words.if_missed_stage, own))
    return " ".join(reported)


def _asked(house: House, limit: Probed, figure: Figure, unit: Degree) -> Fraction:
    """What the page asks for: the law's figure on the probe, or the chef's where that is
    stricter."""
    law, own = figure.read_at(unit), house.kitchen.temperature
    asked = Temperature.of(limit.read, own).rounded(unit, STRICT_SIDE[limit.bound])
    return max(law, asked) if limit.bound == "min" else min(law, asked)


def _figures(house: House, limit: Limit, unit: Degree, text: str) -> dict[str, str]:
    """The figures a text may ask for; that of reheating is looked up only where it does."""
    own = _of_kind(house, limit, unit)
    return {"reheat": reheating_figure(house, unit), **own} if "reheat" in text else own


def _of_kind(house: House, limit: Limit, unit: Degree) -> dict[str, str]:
    """The figures the limit has itself."""
    match limit:
        case HeatingLimit():
            reach = limit.reach
            return {**_reading(house, limit, unit), **_time(reach.within_s if reach else None)}
        case KeepingLimit():
            lasts = limit.lasts
            return {**_reading(house, limit, unit), **_time(lasts.most_s if lasts else None)}
        case CoolingLimit():
            return _reading(house, limit, unit)
        case TimeLimit():
            return _time(limit.lasts.most_s)
        case AcidityLimit():
            return {"ph": plain(limit.ph.read)}
        case DoseLimit():
            doses = {"most": limit.most_ppm, "least": limit.least_ppm}
            return {k: f"{plain(v)}{NARROW}ppm" for k, v in doses.items() if v is not None}
        case InWords() | NotCovered() | ShareLimit():
            return {}
        case _:
            assert_never(limit)


def _reading(house: House, limit: Probed, unit: Degree) -> dict[str, str]:
    reads = _degrees(_asked(house, limit, limit.figure, unit), unit)
    hold = None if isinstance(limit, CoolingLimit) else limit.hold_s
    return {
        "below" if limit.bound == "min" else "above": reads,
        "reading": f"{reads} for {duration(hold)}" if hold else reads,
    }


def _time(most_s: Fraction | None) -> dict[str, str]:
    return {"time": duration(most_s, days=False)} if most_s else {}


def _degrees(value: Fraction, unit: Degree) -> str:
    return f"{plain(value)}{NARROW}{unit}"


def reheating_figure(house: House, unit: Degree) -> str:
    """What the probe must read to be sure of the strictest general row for reheating; empty without
    one."""
    rows = [
        row
        for _, row in house.pack.rows_of(ReheatRow)
        if row.value is not None and row.bound == "min" and row.applies is None
    ]
    if not rows:
        return ""
    row = max(rows, key=lambda r: r.value.celsius if r.value is not None else Fraction(0))
    assert row.value is not None
    figure = figure_of(row.value, row.printed, "min", house.probe.accuracy)
    return _degrees(figure.read_at(unit), unit)
