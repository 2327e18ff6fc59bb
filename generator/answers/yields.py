"""Measured yields as JSON."""

from __future__ import annotations

from typing import Any

from generator.answers.numbers import number
from generator.measures.individuals import RULE, SOURCE
from generator.sheet.history import YieldPoint, YieldSeries


def yields_record(found: tuple[YieldSeries, ...]) -> list[dict[str, Any]]:
    """The series of one formula: by step, the whole last; figures in percent of the weight that
    came to the step."""
    return [_series(one) for one in found]


def _series(one: YieldSeries) -> dict[str, Any]:
    chart = one.chart
    spread = chart.spread
    return {
        "step": one.step or None,
        "batches": len(one.points),
        "of_other_revisions": one.others,
        "assumed_pct": number(one.assumed * 100),
        "stated_at_step": one.stated,
        "mean_pct": number(chart.mean * 100),
        "spread_pct": spread * 100 if spread is not None else None,
        "mean_moving_range_pct": _percent(chart.mean_range),
        "lower_limit_pct": _percent(chart.low),
        "upper_limit_pct": _percent(chart.high),
        "moving_range_limit_pct": _percent(chart.range_high),
        "drifts_now": chart.drifts_now,
        "values": [_point(p, chart.signals.get(n, ())) for n, p in enumerate(one.points)],
        "to_paste": list(one.lines),
        "paste_where": one.goes if one.lines else None,
        "basis": {
            "inputs": {"batches": len(one.points), "moving ranges": len(chart.ranges)},
            "rule": RULE,
            "source": SOURCE,
        },
    }


def _percent(share: Any) -> int | float | None:
    return number(share * 100) if share is not None else None


def _point(point: YieldPoint, signals: tuple[str, ...]) -> dict[str, Any]:
    return {
        "record": point.record,
        "lot": point.lot,
        "day": point.day.isoformat(),
        "yield_pct": number(point.share * 100),
        "signals": list(signals),
    }
