"""A pass that a probe off by its accuracy would have missed: said with its doubt wherever a verdict
is, by one rule. The page asks for the limit with the accuracy on top; who read less than that
passed by the limit alone.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import assert_never

from generator.measures.rounding import to_side
from generator.measures.temperature import Degree, Temperature, TemperatureDifference
from generator.measures.words import duration, plain
from generator.review.readings import ReadingLog, Series
from generator.review.results import Judged
from generator.review.verdicts import NOTHING_AROUND, Around, judge
from generator.rules.basics.limit import (
    STRICT_SIDE,
    CoolingLimit,
    Figure,
    HeatingLimit,
    KeepingLimit,
    Probed,
)

OFF_BY: Mapping[str, TemperatureDifference] = {}
"""No probe but the kitchen's own, whose accuracy is in each figure."""


@dataclass(frozen=True)
class Near:
    """A ``probe`` that passes only if it is exact, and ``asked``: what it would have to read by its
    accuracy, in words."""

    probe: str
    asked: str

    @property
    def words(self) -> str:
        """As it goes beside a verdict."""
        return f"{self.probe}: it passes only if the probe is exact; {self.asked}."


def within_error(
    log: ReadingLog,
    judged: Judged,
    around: Around = NOTHING_AROUND,
    off_by: Mapping[str, TemperatureDifference] = OFF_BY,
) -> tuple[Near, ...]:
    """The probes of a log that pass its limit, and don't with the accuracy of the probe on top;
    none where it isn't passed. ``off_by`` is that of probes which aren't the kitchen's own, by
    their names in the log."""
    if judged.verdict != "pass":
        return ()
    found = (_near(series, log, judged, around, off_by.get(series.probe)) for series in log.series)
    return tuple(near for near in found if near is not None)


def _near(
    series: Series,
    log: ReadingLog,
    judged: Judged,
    around: Around,
    off: TemperatureDifference | None,
) -> Near | None:
    """The doubt of one probe, off by so much (None: the kitchen's own), or None: of a cooling by
    its stages and the cold after them, then by the start of its clock."""
    alone, limit, unit = replace(log, series=(series,)), judged.limit, log.unit
    strict = _strict(limit, unit, off)
    cold = _read(around.cold, unit, off) if around.cold is not None else None
    beside = replace(around, cold=cold) if isinstance(limit, CoolingLimit) else around
    result = judge(alone, strict, judged.longest_gap_s, beside).probes[0]
    if result.verdict != "pass":
        late = next((n for n, s in enumerate(result.stages) if s.verdict != "pass"), None)
        return Near(series.probe, _asked(strict, unit, late, off))
    if isinstance(strict, CoolingLimit) and strict.clock is not None:
        clock = _read(strict.clock, unit, off)
        sooner = replace(strict, clock=clock)
        if judge(alone, sooner, judged.longest_gap_s, beside).verdict != "pass":
            start = f"{plain(clock.value.in_unit(unit))} {unit}"
            words = f"its time may count from {start} on the probe"
            return Near(series.probe, words)
    return None


def _asked(
    strict: Probed,
    unit: Degree,
    late: int | None,
    by: TemperatureDifference | None,
) -> str:
    """What is asked for, of a cooling by the first stage that is missed so."""
    figure, within = strict.figure, ""
    if isinstance(strict, CoolingLimit) and late is not None and late < len(strict.stages):
        stage = strict.stages[late]
        figure, within = stage.figure, f" within {duration(stage.within_s)}"
    value = f"{plain(figure.value.in_unit(unit))} {unit}{within}"
    return f"the page asks for {value}" if by is None else f"it may be off by {by}: {value} is sure"


def _strict(limit: Probed, unit: Degree, off: TemperatureDifference | None) -> Probed:
    """The limit with each figure as the probe must read it, in the scale of the log."""

    def read(figure: Figure) -> Figure:
        return _read(figure, unit, off)

    match limit:
        case HeatingLimit():
            options = tuple(replace(o, figure=read(o.figure)) for o in limit.options)
            return replace(limit, figure=read(limit.figure), options=options)
        case CoolingLimit():
            stages = tuple(replace(s, figure=read(s.figure)) for s in limit.stages)
            finish = read(limit.finish) if limit.finish is not None else None
            return replace(limit, stages=stages, finish=finish)
        case KeepingLimit():
            return replace(limit, figure=read(limit.figure))
        case _:
            assert_never(limit)


def _read(figure: Figure, unit: Degree, off: TemperatureDifference | None) -> Figure:
    """A figure at which the probe must read it."""
    value = figure.read_at(unit) if off is None else _off(figure, unit, off)
    return replace(figure, value=Temperature.of(value, unit))


def _off(figure: Figure, unit: Degree, by: TemperatureDifference) -> Fraction:
    """A figure with a probe's own accuracy on top, whole degrees on the strict side."""
    exact, off = figure.value.in_unit(unit), by.in_unit(unit)
    return to_side(exact + off if figure.bound == "min" else exact - off, STRICT_SIDE[figure.bound])
