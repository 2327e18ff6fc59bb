"""What the records of batches say of a formula: yields measured beside those assumed, in the order
of the days. Nothing here changes a weight: it proposes the line to paste."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from generator.files.finding import Finding, Place
from generator.intake.standards import RECORD
from generator.measures.individuals import Individuals, individuals
from generator.measures.words import NARROW, counted, date, plain
from generator.records.yields import StepYield
from generator.resolve.made import History, JoinedBatch
from generator.sheet.walked import Walk

WHOLE = ""
"""The step of a series that is of no one step: what a whole batch made of all that was weighed."""


@dataclass(frozen=True)
class YieldPoint:
    """One batch's yield: after over before, and the two in grams as they are typed."""

    record: str
    lot: str
    day: datetime.date
    before: str
    after: str
    share: Fraction
    place: Place


@dataclass(frozen=True)
class YieldSeries:
    """The yields of one step of a formula, or of the whole of it (``step`` empty), by day, with
    their chart. ``assumed`` is what the standard reckons with now, ``stated`` whether it says so at
    the step; ``tests`` yield tests it has already. ``others`` counts batches of other revisions,
    which aren't in it."""

    step: str
    verb: str
    points: tuple[YieldPoint, ...]
    chart: Individuals
    assumed: Fraction
    stated: bool
    tests: int = 0
    has_tests: bool = False
    others: int = 0

    @property
    def words(self) -> str:
        """Measured beside assumed, and what isn't counted."""
        return f"{self.measured}; {self.not_counted}" if self.others else self.measured

    @property
    def measured(self) -> str:
        """Measured beside assumed: "assumed 85 %, measured 82.1 % in 14 batches"."""
        return (
            f"assumed {_percent(self.assumed)}, measured {_percent(self.chart.mean)} in "
            f"{counted(len(self.points), 'batch', 'batches')}"
        )

    @property
    def not_counted(self) -> str:
        """That batches of other revisions aren't in it, in words."""
        return f"{counted(self.others, 'batch', 'batches')} of other revisions not counted"

    @property
    def lines(self) -> tuple[str, ...]:
        """The lines to paste into the formula, so that it reckons with what was measured, without
        those keys that are there already; none for the whole, which follows from its steps."""
        if self.step == WHOLE:
            return ()
        tests = [
            f"{{date: {p.day.isoformat()}, before: {_typed(p.before)}, after: {_typed(p.after)}}}"
            for p in self.points
        ]
        if self.tests:
            return tuple(f"- {test}" for test in tests)
        of_step = f"{self.step}: [{', '.join(tests)}]"
        return (of_step,) if self.has_tests else (f"yield_tests: {{{of_step}}}",)

    @property
    def goes(self) -> str:
        """Where the lines go."""
        if self.tests:
            return f"under its `yield_tests`, behind those of `{self.step}`"
        return "under its `yield_tests`" if self.has_tests else "into the formula"


def _typed(weight: str) -> str:
    """A weight inside braces: YAML would part it at a comma."""
    return f'"{weight}"' if "," in weight else weight


def _percent(share: Fraction) -> str:
    return f"{plain(share * 100, 1)}{NARROW}%"


def histories(history: History, walks: Mapping[str, Walk]) -> dict[str, tuple[YieldSeries, ...]]:
    """Of every formula walked that has records with weights: its series, that of the whole last."""
    by_formula: dict[str, list[JoinedBatch]] = {}
    for batch in history.batches.values():
        by_formula.setdefault(batch.record.formula, []).append(batch)
    found = {
        ident: tuple(_series(walks[ident], batches))
        for ident, batches in by_formula.items()
        if ident in walks
    }
    return {ident: series for ident, series in found.items() if series}


def _series(walk: Walk, batches: list[JoinedBatch]) -> Iterator[YieldSeries]:
    """The series of one formula, steps in their order, of the batches made by the revision in
    force: another revision may cut, cook or drain otherwise. Those are counted, no more."""
    current = walk.formula.formula.revision
    others = [batch for batch in batches if batch.record.revision != current]
    batches = [batch for batch in batches if batch.record.revision == current]
    yield from _of_steps(walk, _by_step(batches), _by_step(others))
    whole = _wholes(walk, batches)
    if whole and walk.figures.total:
        chart = individuals([p.share for p in whole])
        assumed = walk.figures.finished / walk.figures.total
        more = len(_wholes(walk, others))
        yield YieldSeries(WHOLE, "", tuple(whole), chart, assumed, True, others=more)


_Points = dict[str, list[YieldPoint]]


def _of_steps(walk: Walk, points: _Points, before: _Points) -> Iterator[YieldSeries]:
    """The series of each step with ``points``; ``before`` are those of other revisions."""
    has_tests = bool(walk.formula.formula.yield_tests)
    for step in walk.formula.steps:
        if step.id in points:
            mine = tuple(points[step.id])
            chart = individuals([p.share for p in mine])
            found = step.yields or StepYield(Fraction(1), Fraction(1), Fraction(1))
            stated = step.yields is not None
            yield YieldSeries(
                *(step.id, step.verb, mine, chart, found.mean, stated, found.tests, has_tests),
                others=len(before.get(step.id, ())),
            )


def _wholes(walk: Walk, batches: list[JoinedBatch]) -> list[YieldPoint]:
    """The yields of whole batches, of those that were weighed whole."""
    return [p for p in (_whole(walk, batch) for batch in batches) if p is not None]


def _by_step(batches: list[JoinedBatch]) -> dict[str, list[YieldPoint]]:
    """What steps made of their weight, by step, in the order of the days."""
    points: dict[str, list[YieldPoint]] = {}
    for batch in batches:
        for number, one in enumerate(batch.record.weights):
            point = YieldPoint(
                batch.id,
                batch.record.lot,
                batch.record.day,
                one.before.text,
                one.after.text,
                one.after.value / one.before.value,
                batch.record.place("weights", number, "after"),
            )
            points.setdefault(one.step, []).append(point)
    return points


def _whole(walk: Walk, batch: JoinedBatch) -> YieldPoint | None:
    """What a batch weighed in the end over all that went in; None where either isn't known: each
    line of the formula must have been weighed."""
    record = batch.record
    weighed = {used.item for used in record.used if used.weight is not None}
    needed = {line.joined.item for line in walk.lines if line.grams}
    unweighed = any(used.weight is None for used in record.used)
    if record.made is None or unweighed or not needed <= weighed:
        return None
    grams = sum((u.weight.value for u in record.used if u.weight is not None), Fraction(0))
    if not grams:
        return None
    return YieldPoint(
        batch.id,
        record.lot,
        record.day,
        f"{plain(grams, grouped=False)} g",
        record.made.text,
        record.made.value / grams,
        record.place("made"),
    )


def drift_findings(found: Mapping[str, tuple[YieldSeries, ...]]) -> Iterator[Finding]:
    """A warning for each series whose last batch drifts: what was once, and is over, is on the
    page."""
    for ident, all_series in found.items():
        for one in all_series:
            chart, last = one.chart, one.points[-1]
            if not chart.drifts_now or chart.low is None or chart.high is None:
                continue
            what = f"`{one.step}` of {ident}" if one.step else f"All of {ident}"
            where = f"{_percent(chart.low)} to {_percent(chart.high)}"
            signals = chart.signals[len(chart.values) - 1]
            why = f"outside {where}"
            if "outside" not in signals:
                why = "the 8th in a row on one side of the mean, or more"
                if "run" not in signals:
                    why = "a jump from the batch before that is too large to be chance"
            words = (
                f"{what} yielded {_percent(last.share)} on {date(last.day)}: {why}. The mean of "
                f"{counted(len(one.points), 'batch', 'batches')} is {_percent(chart.mean)}."
            )
            help = "What was different? Weigh the next one too. Write the cause under `deviations`."
            about = frozenset({f"{RECORD}{last.record}"})
            yield Finding("yield-drift", "warning", words, last.place, help, about=about)
