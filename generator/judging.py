"""Readings against a critical limit: pass, fail, or cannot tell.

A probe sees the food at instants; what it did between them is only known to lie between two
readings. A verdict is *pass* if the least favourable course through the readings passes, *fail* if
the most favourable one fails, and *cannot tell* otherwise. Figures are compared exactly, whatever
scale they were read in.
"""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from generator.judged import GRAVITY, Judged, ProbeFound, ReachFound, StageFound, Word
from generator.measures.words import duration
from generator.readings import Reading, ReadingLog, Series, seconds_between
from generator.rules.context import both, hold_words
from generator.rules.limit import Figure, Limit, Stage
from generator.rules.roast import GROUP as ROAST

TIMED = frozenset({"cook", "reheat", "cool"})
JUDGED = frozenset({"cook", "reheat", "cool", "hot_hold", "cold_hold", "thaw", "receive"})
"""Hazards that readings of time and temperature can prove."""


def watched(limit: Limit) -> bool:
    """Whether the time between two readings matters: not where each stage has its deadline, nor at the
    door, where every delivery is read once."""
    return not limit.stages and limit.hazard != "receive"


def judge(
    log: ReadingLog, limit: Limit, longest_gap_s: Fraction, cooked: Figure | None = None
) -> Judged:
    """The verdict of a log on one limit of a hazard in JUDGED that holds a figure. ``cooked`` is what
    the food was cooked to before it is cooled, where cooling must begin within a time of that."""
    probes = tuple(_either(series, limit, longest_gap_s, cooked) for series in log.series)
    gaps = tuple(
        (s.probe, a, b) for s in log.series for a, b in s.gaps(longest_gap_s) if limit.hazard != "receive"
    )  # fmt: skip
    if log.clock_change:
        probes = tuple(_doubted(p, limit) for p in probes)
    verdict = _gravest([p.verdict for p in probes])
    why = next(p.why for p in probes if p.verdict == verdict)
    if verdict == "pass" and limit.measured == "surface" and _hot_enough(log, limit) < _SIDES:
        verdict, why = "cannot tell", f"{why} But both sides must read it, and the log holds one."
    return Judged(limit, verdict, why, probes, gaps, longest_gap_s)


_SIDES = 2
"""What is cooked on its surface is read on the top and on the bottom."""


def _hot_enough(log: ReadingLog, limit: Limit) -> int:
    assert limit.figure is not None
    value = limit.figure.value
    return sum(not r.temperature < value for series in log.series for r in series.readings)


def _gravest(verdicts: Sequence[Word]) -> Word:
    return min(verdicts, key=GRAVITY.index)


def _doubted(found: ProbeFound, limit: Limit) -> ProbeFound:
    """Stamps without a zone across a change of the clocks: lengths of time may be an hour off."""
    if found.verdict == "fail" and limit.hazard not in TIMED:
        return found
    why = "The clocks were changed while it ran and the times don't say their zone."
    return replace(found, verdict="cannot tell", why=why, met_row="", deviation=None)


def _either(
    series: Series, limit: Limit, longest: Fraction, cooked: Figure | None = None
) -> ProbeFound:
    """The verdict with the colder and with the warmer of two readings that disagree."""
    one = _judge(series.probe, series.lowest, limit, longest, cooked)
    if len(series.lowest) == len(series.readings):
        return one
    other = _judge(series.probe, series.highest, limit, longest, cooked)
    if one.verdict == other.verdict:
        return one
    why = "Two readings of one instant disagree, and the verdict hangs on them."
    return ProbeFound(series.probe, "cannot tell", why)


def _judge(
    probe: str, readings: Sequence[Reading], limit: Limit, longest: Fraction, cooked: Figure | None
) -> ProbeFound:
    if not readings:
        return ProbeFound(probe, "cannot tell", "The probe gave no reading.")
    if limit.stages:
        return _to_the_end(_cooled(probe, readings, limit), readings, limit, cooked)
    if limit.hazard in ("cook", "reheat"):
        return _heated(probe, readings, limit, longest)
    return _kept(probe, readings, limit, longest)


# --- heated: at or above a row for its hold


@dataclass(frozen=True)
class _Span:
    """How long the food was at or above a figure: surely, and at the most (``open``: less than)."""

    sure: Fraction
    most: Fraction
    open: bool


def _spans(readings: Sequence[Reading], figure: Figure, longest: Fraction) -> list[_Span]:
    above = [not r.temperature < figure.value for r in readings]
    spans: list[_Span] = []
    index = 0
    while index < len(readings):
        if not above[index]:
            index += 1
            continue
        end = index
        while end + 1 < len(readings) and above[end + 1]:
            end += 1
        sure = run = Fraction(0)
        for a, b in zip(readings[index:end], readings[index + 1 : end + 1], strict=True):
            step = seconds_between(a.at, b.at)
            run = run + step if step <= longest else Fraction(0)
            sure = max(sure, run)
        first = readings[index - 1] if index else readings[index]
        last = readings[end + 1] if end + 1 < len(readings) else readings[end]
        most = seconds_between(first.at, last.at)
        spans.append(_Span(sure, most, index > 0 or end + 1 < len(readings)))
        index = end + 1
    pairs = zip(readings, readings[1:], above, above[1:], strict=False)
    for a, b, high, next_high in pairs:
        if not high and not next_high and seconds_between(a.at, b.at) > longest:
            spans.append(_Span(Fraction(-1), seconds_between(a.at, b.at), True))  # nobody looked
    return spans


def _heated(probe: str, readings: Sequence[Reading], limit: Limit, longest: Fraction) -> ProbeFound:
    assert limit.figure is not None
    best: ProbeFound | None = None
    chart = any(o.group == ROAST for o in limit.options)  # to which the time to get there isn't set
    rows = [(o.row, o.figure, o.hold_s, o.group != ROAST) for o in limit.options]
    rows = rows or [("", limit.figure, limit.row_hold_s, True)]
    for row, figure, hold, in_time in rows:
        spans = _spans(readings, figure, longest)
        need = hold or Fraction(0)
        held = max((s.sure for s in spans), default=Fraction(-1))
        most = max((s.most for s in spans), default=Fraction(0))
        words = both(figure.value, figure.shown_c, figure.shown_f) + hold_words(need)
        if held >= need:
            met = ProbeFound(probe, "pass", f"It met {words}.", row, held, most)
            found = _in_time(met, readings, figure, limit) if in_time else met
            if found.verdict == "pass" or not chart:
                return found
        elif any(s.most > need or (s.most == need and not s.open) for s in spans):
            why = f"It may have met {words}; the readings stand too far apart to tell."
            found = ProbeFound(probe, "cannot tell", why, "", max(held, Fraction(0)), most)
        else:
            hottest = max(readings, key=lambda r: r.temperature.celsius)
            why = f"It was never at {words}; the hottest reading was {hottest.temperature}."
            if held >= 0:
                why = f"It was at {words} for {duration(held)} only."
            found = ProbeFound(
                probe, "fail", why, "", max(held, Fraction(0)), most,
                deviation=_fell(readings, figure),
            )  # fmt: skip
        if best is None or GRAVITY.index(found.verdict) > GRAVITY.index(best.verdict):
            best = found
    assert best is not None
    return best


def _in_time(
    met: ProbeFound, readings: Sequence[Reading], figure: Figure, limit: Limit
) -> ProbeFound:
    """A limit that was met, with the time it took to get there: from the first rise out of the cold
    to the first reading at the figure, or at the least from the last rise."""
    reach = limit.reach
    if reach is None:
        return met
    cold = reach.start.value
    there = next(i for i, r in enumerate(readings) if not r.temperature < figure.value)
    warm = [i for i in range(there + 1) if cold < readings[i].temperature]
    first = warm[0]
    most = seconds_between(readings[first - 1].at, readings[there].at) if first else None
    last = max((i + 1 for i in range(there) if readings[i].temperature <= cold), default=first)
    least = (
        seconds_between(readings[last].at, readings[there - 1].at) if last < there else Fraction(0)
    )
    if most is not None and most <= reach.within_s:
        return replace(met, reach=ReachFound("pass", least, most))
    words, within = f"{met.why[:-1]}, but", duration(reach.within_s)
    start = both(cold, reach.start.shown_c, reach.start.shown_f)
    if least >= reach.within_s:
        why = f"{words} took longer than {within} from {start} to get there."
        late = readings[last].at + datetime.timedelta(seconds=float(reach.within_s))
        found = ReachFound("fail", least, most)
        return replace(met, verdict="fail", why=why, met_row="", deviation=late, reach=found)
    found = ReachFound("cannot tell", least, most)
    if most is None:
        return replace(met, reach=found)
    why = f"{words} whether it got there within {within} of {start} the readings can't tell."
    return replace(met, verdict="cannot tell", why=why, met_row="", reach=found)


def _fell(readings: Sequence[Reading], figure: Figure) -> datetime.datetime:
    """The first reading below after one at the figure; else the end, where it still wasn't there."""
    reached = False
    for reading in readings:
        below = reading.temperature < figure.value
        if reached and below:
            return reading.at
        reached |= not below
    return readings[-1].at


# --- cooled: from a start to an end within a time


def _cooled(probe: str, readings: Sequence[Reading], limit: Limit) -> ProbeFound:
    """Stages count from one start, the last reading at or above it; or, where the source gives a
    stage a time of its own, from when the stage before ended."""
    begun, begun_late = readings[0], readings[0]
    known = limit.clock is None
    after = 0
    if limit.clock is not None:
        start = limit.clock.value
        hot = [i for i, r in enumerate(readings) if not r.temperature < start]
        if hot:
            known, after = True, hot[-1] + 1
            if after == len(readings):
                why = "The readings end before the food has begun to cool below the start."
                return ProbeFound(probe, "cannot tell", why)
            begun, begun_late = readings[hot[-1]], readings[after]
    found: list[StageFound] = []
    for before, stage in zip((None, *limit.stages), limit.stages, strict=False):
        if stage.after_stage and before is not None:
            found.append(_after(before, stage, readings, after))
            continue
        found.append(_stage(stage, readings, after, begun if known else None, begun_late))
    stages = tuple(found)
    verdict = _gravest([s.verdict for s in stages])
    deviation = None
    if verdict == "fail":
        failed = next(s for s in stages if s.verdict == "fail")
        deviation = begun.at + datetime.timedelta(seconds=float(failed.stage.within_s))
    return ProbeFound(
        probe, verdict, _cooled_words(stages, verdict, known), limit.group if verdict == "pass" else "",
        clock_started=begun.at if known else None, stages=stages, deviation=deviation,
    )  # fmt: skip


def _to_the_end(
    found: ProbeFound, readings: Sequence[Reading], limit: Limit, cooked: Figure | None
) -> ProbeFound:
    """Cooling that must begin within a time of cooking and go on to a figure in no set time. Neither
    fails by readings of the food: they don't show when it went into the cold, and it may be read on."""
    if limit.clock is None:
        return found
    start = limit.clock.value
    after = max((i + 1 for i, r in enumerate(readings) if not r.temperature < start), default=0)
    begun = None
    if limit.begin_s is not None and cooked is not None and after < len(readings):
        hot = [r for r in readings[:after] if not r.temperature < cooked.value]
        begun = seconds_between(hot[-1].at, readings[after].at) if hot else None
    found = replace(found, begun_s=begun)
    if found.verdict != "pass":
        return found
    end = limit.finish
    if end is not None and not any(r.temperature <= end.value for r in readings[after:]):
        words = both(end.value, end.shown_c, end.shown_f)
        why = f"{found.why} The readings end before it reached {words}, which it must before it is packed."
        return replace(found, verdict="cannot tell", why=why, met_row="")
    if limit.begin_s is not None and begun is not None and begun > limit.begin_s:
        why = (
            f"{found.why} But it took up to {duration(begun)} from the cooking temperature to the start of the clock: "
            f"whether chilling was begun within {duration(limit.begin_s)} the readings can't tell."
        )
        return replace(found, verdict="cannot tell", why=why, met_row="")
    return found


def _after(before: Stage, stage: Stage, readings: Sequence[Reading], after: int) -> StageFound:
    """A stage with a time of its own: it begins between the two readings around the figure before."""
    ended = next(
        (i for i in range(after, len(readings)) if readings[i].temperature <= before.figure.value),
        None,
    )
    if ended is None:
        return StageFound(stage, "cannot tell", Fraction(0), None)
    earliest = readings[ended - 1] if ended else None
    return _stage(stage, readings, ended, earliest, readings[ended])


def _stage(
    stage: Stage, readings: Sequence[Reading], after: int, begun: Reading | None, begun_late: Reading
) -> StageFound:  # fmt: skip
    end = stage.figure.value
    reached = next((i for i in range(after, len(readings)) if readings[i].temperature <= end), None)
    most = None
    if reached is not None and begun is not None:
        most = seconds_between(begun.at, readings[reached].at)
    still = len(readings) - 1 if reached is None else reached - 1
    least = Fraction(0)
    if still >= after:
        least = max(least, seconds_between(begun_late.at, readings[still].at))
    if most is not None and most <= stage.within_s:
        return StageFound(stage, "pass", least, most)
    late = least >= stage.within_s and still >= after and not stage.advised
    return StageFound(stage, "fail" if late else "cannot tell", least, most)


def _cooled_words(stages: Sequence[StageFound], verdict: Word, known: bool) -> str:
    told = next(s for s in stages if s.verdict == verdict)
    figure = told.stage.figure
    words = both(figure.value, figure.shown_c, figure.shown_f)
    within = duration(told.stage.within_s)
    if verdict == "fail":
        return f"It took longer than {within} to {words}."
    if verdict == "pass":
        last = stages[-1]
        assert last.most_s is not None
        return f"It reached every stage in time: the last within {duration(last.most_s)}."
    if not known:
        return (
            "No reading stands at or above the start of the clock; nobody can tell when it began."
        )
    if told.stage.advised and told.least_s is not None and told.least_s >= told.stage.within_s:
        return f"It took longer than {within} to {words}: no miss, but it is less certain that the food is safe."
    if told.most_s is None:
        return f"The readings end before it reached {words}, and before {within} were over."
    return f"It reached {words} about when the {within} were over; the readings stand too far apart to tell."


# --- kept: never beyond a figure


def _kept(probe: str, readings: Sequence[Reading], limit: Limit, longest: Fraction) -> ProbeFound:
    assert limit.figure is not None
    value = limit.figure.value
    words = both(value, limit.figure.shown_c, limit.figure.shown_f)
    low = limit.bound == "min"
    for reading in readings:
        beyond = reading.temperature < value if low else value < reading.temperature
        if beyond:
            side = "below" if low else "above"
            return ProbeFound(
                probe,
                "fail",
                f"It read {reading.temperature}, {side} {words}.",
                deviation=reading.at,
            )
    pauses = itertools.pairwise(readings)
    widest = max((seconds_between(a.at, b.at) for a, b in pauses), default=Fraction(0))
    if watched(limit) and widest > longest:
        why = (
            f"Nobody looked for {duration(widest)}; readings count up to {duration(longest)} apart."
        )
        return ProbeFound(probe, "cannot tell", why)
    return ProbeFound(probe, "pass", f"Every reading kept to {words}.", limit.group)
