"""What a whole load does to what it is in, and the food then: as words and as JSON."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from generator.cli.predicted import as_number, minutes_of, never_words
from generator.heat.chilling import Verdict, judged
from generator.heat.exchange import Exchange
from generator.heat.prediction import Prediction
from generator.heat.ranges import Range
from generator.measures.about import degrees, time_words
from generator.measures.temperature import Degree
from generator.measures.words import NARROW, listed, plain
from generator.sheet.heat_case import FormulaCase
from generator.sheet.heat_load import OF_ITS_PLATE, OVER, Load, can_be_known, load_of, missing_of
from generator.sheet.sheet import Sheet

_LIFTS = 0.5
"""Below so many °C a load does nothing to what it is in that matters."""
_BACK = 0.5


@dataclass(frozen=True)
class Reached:
    """A temperature to reach in the course that the load makes, s; of a stage of the law its limit
    and what the band means."""

    celsius: float
    seconds: Range
    within: float | None
    verdict: Verdict | None


@dataclass(frozen=True)
class LoadPrediction:
    """A load, and what it reaches then: the early end is as if nothing warmed or cooled."""

    load: Load
    reached: tuple[Reached, ...]

    @property
    def matters(self) -> bool:
        return abs(self.load.off[0]) >= _LIFTS


def loads_of(asked: FormulaCase, sheet: Sheet, alone: Prediction) -> tuple[LoadPrediction, ...]:
    """The loads of a sheet's batches, one for each weight that goes in at a time; ``alone`` is the
    food in a medium that stays as it is."""
    slow = max((t.seconds.high for t in alone.targets), default=0.0)
    likely = max((t.seconds.likely for t in alone.targets), default=0.0)
    seconds = 2 * (slow if math.isfinite(slow) else likely)
    if not math.isfinite(seconds) or seconds <= 0:
        return ()
    found: dict[float, LoadPrediction] = {}
    for batch in sheet.batches:
        load = load_of(asked, batch, alone.targets, seconds)
        if load is not None and load.kilos not in found:
            found[load.kilos] = LoadPrediction(
                load, () if load.beyond else tuple(_reached(asked, load, alone))
            )
    return tuple(found.values())


def _reached(asked: FormulaCase, load: Load, alone: Prediction) -> Iterator[Reached]:
    """Its early end is as if the medium stayed as it is; a stage after another counts from its
    end."""
    pairs = zip(alone.targets, load.reached, strict=True)
    times = [Range(min(t.seconds.low, r.low), r.likely, r.high) for t, r in pairs]
    if not asked.deadlines:
        yield Reached(alone.targets[-1].celsius, times[-1], None, None)
    for stage in judged(asked.case, asked.deadlines, times) if asked.deadlines else ():
        deadline = stage.deadline
        yield Reached(deadline.celsius, stage.seconds, deadline.seconds, stage.verdict)


# -- words ----------------------------------------------------------------------------------------

_VERDICTS: dict[Verdict, str] = {
    "likely passes": "likely passes",
    "likely fails": "likely fails",
    "too close": "too close to call: probe it",
}


def load_lines(
    asked: FormulaCase, loads: tuple[LoadPrediction, ...], unit: Degree
) -> Iterator[str]:
    """A sentence or two a load; what is missing where none can be told."""
    yield from _not_known(asked)
    for one in loads:
        head = f"A load of {_kilos(one.load.kilos)}: "
        yield head + _medium_words(asked, one, unit)
        if one.matters and not one.load.beyond:
            yield from (_reached_words(r, unit) for r in one.reached)
    if loads and loads[0].load.beside is not None:
        yield from _measured_words(loads)
    elif loads and asked.place.kind != "ice-bath":
        share = plain(Fraction(round(100 * OF_ITS_PLATE)))
        yield (
            f"Its machine is taken to do {share}{NARROW}% of its plate. Walls, shelves, a door and "
            "other food aren't counted."
        )


def _not_known(asked: FormulaCase) -> Iterator[str]:
    """That nothing is known of its load, and by which keys it would be."""
    if asked.kind not in ("chill", "cook"):
        return
    missing = missing_of(asked)
    if missing:
        keys = listed([f"`{key}`" for key in missing], "or")
        yield f"{_UNKNOWN[_sort(asked)]} isn't known: {asked.place.name} has no {keys}."
    elif not can_be_known(asked):
        yield f"{_UNKNOWN[_sort(asked)]} isn't known."


def _measured_words(loads: tuple[LoadPrediction, ...]) -> Iterator[str]:
    if all(one.load.beyond for one in loads):
        return
    yield (
        "It goes by the load that was measured (`pull_up`): twice the heat lifts it twice as far. "
        "Food that is in it already isn't counted."
    )


_UNKNOWN = {
    "ice": "Whether its ice lasts",
    "cold": "How far the load lifts it",
    "hot": "How far the load cools it",
}


def _sort(asked: FormulaCase) -> str:
    if asked.kind == "cook":
        return "hot"
    return "ice" if asked.place.kind == "ice-bath" else "cold"


def _medium_words(asked: FormulaCase, one: LoadPrediction, unit: Degree) -> str:
    load = one.load
    if load.beyond:
        return (
            "that is more heat than was measured (`pull_up`), so how far it lifts "
            f"{asked.place.name} isn't known. Measure a load like it, or chill less at a time."
        )
    sort, (off, _) = _sort(asked), load.off
    if sort == "ice":
        return _ice_words(load, unit)
    what = asked.place.name
    if not one.matters:
        return f"{what} stays as {'cold' if sort == 'cold' else 'hot'} as it is."
    held = asked.held_at if asked.held_at is not None else load.held_at
    back = load.exchange.back_after(load.held_at, _BACK)
    verb = "gets to" if sort == "cold" else "falls to"
    lasts = "" if load.in_water or load.beside is not None else f" for {time_words(OVER)}"
    when = (
        "and isn't back by then" if back is None else f"and is back after about {time_words(back)}"
    )
    return f"{what} {verb} about {degrees(round(held + off), unit)}{lasts}, {when}."


def _ice_words(load: Load, unit: Degree) -> str:
    assert isinstance(load.exchange, Exchange)
    gone = load.exchange.ice_gone()
    if gone is None:
        left = load.exchange.ice[-1]
        return f"its ice lasts; about {_kilos(left)} are left."
    warm, _ = load.off
    words = f"its ice is gone after about {time_words(gone)}"
    if warm < _LIFTS:
        return f"{words}: have more of it ready."
    return f"{words}, and the water gets to {degrees(round(warm), unit)}. Add ice before that."


def _reached_words(one: Reached, unit: Degree) -> str:
    band = one.seconds
    if math.isinf(band.likely):
        return f"  Then {degrees(one.celsius, unit)}: {never_words(band)}."
    last = "perhaps never" if math.isinf(band.high) else time_words(band.high)
    words = (
        f"  Then {degrees(one.celsius, unit)}: about {time_words(band.likely)} "
        f"({time_words(band.low)} to {last})"
    )
    return f"{words}." if one.verdict is None else f"{words}; {_VERDICTS[one.verdict]}."


def _kilos(kilos: float) -> str:
    return f"{plain(Fraction(round(10 * kilos), 10), 1)}{NARROW}kg"


# -- numbers --------------------------------------------------------------------------------------


def load_record(asked: FormulaCase, one: LoadPrediction) -> dict[str, Any]:
    """A load as JSON: minutes count from when it comes in. Of one that brings far more heat than
    was measured nothing is known but that."""
    load = one.load
    off, seconds = load.off
    held = asked.held_at if asked.held_at is not None else load.held_at
    back = load.exchange.back_after(load.held_at, _BACK)
    moved = load.exchange
    icy = isinstance(moved, Exchange) and moved.ice[0] > 0
    gone = moved.ice_gone() if isinstance(moved, Exchange) and icy else None
    record = {
        "kg": as_number(load.kilos),
        "held_at_c": as_number(held),
        "heat_beside_the_measured": None if load.beside is None else as_number(load.beside),
        "furthest_c": as_number(held + off),
        "course_c": [
            [as_number(t / 60), as_number(held + load.scale * (c - load.held_at))]
            for t, c in load.exchange.course.points
        ],
        "furthest_after_min": as_number(seconds / 60),
        "back_after_min": None if back is None else as_number(back / 60),
        "ice_gone_after_min": None if gone is None else as_number(gone / 60),
        "reached": [
            {
                "to_c": as_number(r.celsius),
                "min": minutes_of(r.seconds),
                "limit_min": None if r.within is None else as_number(r.within / 60),
                "verdict": r.verdict,
            }
            for r in one.reached
        ],
    }
    unknown = ("furthest_c", "furthest_after_min", "back_after_min")
    return record | dict.fromkeys(unknown) | {"course_c": []} if load.beyond else record
