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
    found: list[Near] = []
    for series in log.series:
        strict = _strict(judged.limit, log.unit, off_by.get(series.probe))
        alone = replace(log, series=(series,))
        result = judge(alone, strict, judged.longest_gap_s, around).probes[0]
        if result.verdict != "pass":
            late = next((n for n, s in enumerate(result.stages) if s.verdict != "pass"), None)
            found.append(Near(series.probe, _asked(strict, log.unit, late, series, off_by)))
    return tuple(found)


def _asked(
    strict: Probed,
    unit: Degree,
    late: int | None,
    series: Series,
    off_by: Mapping[str, TemperatureDifference],
) -> str:
    """What is asked for, of a cooling by the first stage that is missed so."""
    figure, within = strict.figure, ""
    if isinstance(strict, CoolingLimit) and late is not None and late < len(strict.stages):
        stage = strict.stages[late]
        figure, within = stage.figure, f" within {duration(stage.within_s)}"
    value = f"{plain(figure.value.in_unit(unit))} {unit}{within}"
    by = off_by.get(series.probe)
    return f"the page asks for {value}" if by is None else f"it may be off by {by}: {value} is sure"


def _strict(limit: Probed, unit: Degree, off: TemperatureDifference | None) -> Probed:
    """The limit with each figure as the probe must read it, in the scale of the log."""

    def read(figure: Figure) -> Figure:
        value = figure.read_at(unit) if off is None else _off(figure, unit, off)
        return replace(figure, value=Temperature.of(value, unit))

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


def _off(figure: Figure, unit: Degree, by: TemperatureDifference) -> Fraction:
    """A figure with a probe's own accuracy on top, whole degrees on the strict side."""
    exact, off = figure.value.in_unit(unit), by.in_unit(unit)
    return to_side(exact + off if figure.bound == "min" else exact - off, STRICT_SIDE[figure.bound])
