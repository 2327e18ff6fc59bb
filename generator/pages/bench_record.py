"""What a page carries of a limit so that a phone can judge a reading by it and run its clocks.

Every figure is a whole number or a text of numerator and denominator. The figures a reading is
held against are those of the limit's box, in both scales; ``law`` is the row's own, by which
``review`` judges.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from generator.measures.temperature import Degree
from generator.measures.words import plain
from generator.pages.batch_record import exact
from generator.review.verdicts import provable
from generator.rules.basics.limit import (
    CoolingLimit,
    HeatingLimit,
    KeepingLimit,
    Limit,
    Probed,
    held_against,
    most_time,
)
from generator.rules.heat.roast import GROUP as ROAST
from generator.sheet.sheet import Sheet
from generator.views.clock_view import law_clocks
from generator.views.hottest import no_hotter
from generator.views.limit_view import LimitView, figures_in

_SCALES: tuple[Degree, Degree] = ("°C", "°F")


def bench_record(sheet: Sheet, limit: Limit, view: LimitView) -> dict[str, Any]:
    """The record of one limit: its clocks, and the figures a reading of it is held against. Empty
    for a limit that asks for neither. Beside law in words it is of what guidance advises."""
    ident, (limit,) = limit.id, held_against([limit])
    own = sheet.house.kitchen.temperature
    clocks = _clocks(limit, own)
    read = isinstance(limit, Probed) and most_time(limit) is None
    if not clocks and not read:
        return {}
    record: dict[str, Any] = {
        "id": ident,
        "no": limit.number or None,
        "name": view.done,
        "hazard": limit.hazard,
        "clocks": clocks or None,
    }
    if isinstance(limit, Probed) and read:
        record |= _figures(sheet, limit, own)
    return {key: value for key, value in record.items() if value is not None}


def _clocks(limit: Limit, own: Degree) -> list[dict[str, Any]]:
    """The limit's clocks: what starts them, what is due, after how many seconds."""
    return [
        {
            "id": clock.id,
            "do": [clock.does, clock.other],
            "at": [plain(figure) for figure in clock.reads] if clock.reads else None,
            "due": [
                [due.seconds, due.words, due.other, int(due.after), int(due.advised)]
                for due in clock.due
            ],
        }
        for clock in law_clocks(limit, own)
    ]


def _figures(sheet: Sheet, limit: Probed, own: Degree) -> dict[str, Any]:
    """What a reading is held against: the box's figures, each in °C and °F with how it is shown;
    and the law's."""
    both = zip(*(figures_in(limit, unit, own) for unit in _SCALES), strict=True)
    record: dict[str, Any] = {
        "side": limit.bound,
        "reads": [[[exact(f.value), f.number] for f in pair] for pair in both],
        "law": exact(limit.figure.value.celsius),
        "core": 1 if limit.measured == "core" else None,
        "both": 1 if limit.measured == "surface" else None,
    }
    if isinstance(limit, CoolingLimit):
        return record | {"laws": [exact(s.figure.value.celsius) for s in limit.stages]}
    judged = provable(limit)  # in a name, so that what the limit is stays known
    if not judged:
        return record
    hottest = no_hotter(sheet.house, sheet)
    return record | {
        "held": 1 if limit.hold_s else None,
        "judged": 1,
        "hottest": exact(hottest.celsius) if hottest is not None else None,
        **_rows(limit),
    }


def _rows(limit: HeatingLimit | KeepingLimit) -> dict[str, Any]:
    """The rows of law one of which a heating must meet: each in °C, with its hold in seconds, and
    whether the time it takes to get there is asked of it."""
    if isinstance(limit, KeepingLimit):
        return {"hold": exact(limit.row_hold_s) if limit.row_hold_s else None}
    law = limit.figure.value.celsius
    rows = [(o.figure.value.celsius, o.hold_s, o.group != ROAST) for o in limit.options]
    rows = rows or [(law, limit.row_hold_s, True)]
    return {
        "rows": [[exact(at), exact(hold or Fraction(0)), int(timed)] for at, hold, timed in rows],
        "reach": 1 if limit.reach is not None else None,
    }
