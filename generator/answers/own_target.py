"""The kitchen's own target beside the law: a log that meets the one may miss the other."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from generator.files.finding import Refused
from generator.measures.temperature import Temperature
from generator.records.target import Target, read_target
from generator.review.readings import ReadingLog
from generator.review.results import Judged
from generator.review.verdicts import judge
from generator.rules.basics.limit import CoolingLimit, Figure, HeatingLimit, Hold, KeepingLimit


def own_target(judged: Judged) -> Target | None:
    """The target of a limit's step with a temperature of its own; None without one."""
    text = judged.limit.target
    try:
        target = read_target(text) if text else None
    except Refused:
        return None  # the words of a limit that has none
    return target if target is not None and target.degrees is not None else None


def target_missed(log: ReadingLog, judged: Judged) -> list[str]:
    """Which probes that pass the limit miss the kitchen's own target or the page's row, in a
    sentence each."""
    if judged.verdict != "pass":
        return []
    target = own_target(judged)
    if target is None:
        return _row_missed(log, judged)
    assert target.coolest is not None and target.warmest is not None
    words = f"the kitchen's own target, {target.text}, was missed"
    limit = judged.limit
    if isinstance(limit, CoolingLimit):
        return _not_so_cold(log, target.warmest, words)
    low = limit.bound == "min"
    figure = _at(limit.figure, target.coolest if low else target.warmest)
    if isinstance(limit, HeatingLimit):
        row = limit.hold.asked_s if limit.hold is not None else Fraction(0)
        own_time = target.hold.shortest if target.hold is not None else Fraction(0)
        seconds = max(row, own_time)  # as the page asks
        own = replace(limit, options=(), figure=figure, hold=Hold(seconds, seconds), reach=None)
        return _missed(log, judged, own, words)
    if not _stricter(figure, limit.figure):
        return []
    return _missed(log, judged, replace(limit, figure=figure), words)


def _row_missed(log: ReadingLog, judged: Judged) -> list[str]:
    """Another row than the page's may be the one that was met."""
    limit = judged.limit
    if not isinstance(limit, HeatingLimit) or len(limit.options) < 2:
        return []
    page = replace(limit, options=(), reach=None)
    return _missed(log, judged, page, "the row on the page was missed, but the law was met")


def _missed(
    log: ReadingLog, judged: Judged, limit: HeatingLimit | KeepingLimit, words: str
) -> list[str]:
    found = judge(log, limit, judged.longest_gap_s).probes
    return [f"{p.probe}: {words}. {p.why}" for p in found if p.verdict != "pass"]


def _not_so_cold(log: ReadingLog, most: Temperature, words: str) -> list[str]:
    coldest = {
        s.probe: min((r.temperature for r in s.readings), key=lambda t: t.celsius)
        for s in log.series
        if s.readings
    }
    return [
        f"{probe}: {words}. The coldest reading was {cold}."
        for probe, cold in coldest.items()
        if cold > most
    ]


def _at(figure: Figure, value: Temperature) -> Figure:
    c, f = value.in_unit("°C"), value.in_unit("°F")
    return replace(figure, value=value, shown_c=c, shown_f=f)


def _stricter(one: Figure, other: Figure) -> bool:
    if one.bound == "min":
        return other.value < one.value
    return one.value < other.value
