"""Round the batches that hold a lot: their labels and last days, the dishes made of them, the plans
that may serve them."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Literal, Protocol

from generator.intake.standards import Standards
from generator.measures.words import date
from generator.resolve.joined import House
from generator.resolve.made import History, JoinedBatch
from generator.resolve.plans import JoinedPlan, JoinedShelf
from generator.sheet.label_questions import Asked, PartDay
from generator.sheet.labelling import NoDate, date_mark, last_day
from generator.sheet.sheet import Sheet
from generator.sheet.tracing import Graph, Holding, Match, Traced
from generator.sheet.walked import Walk

NOT_KEPT = ("hot", "by-time")
"""The kinds of dates of what is gone on the day it is made."""
DayFrom = Literal["label", "computed", "at the latest", "not known"]


class Dated(Protocol):
    """What the last day of a batch is worked out of."""

    @property
    def sheets(self) -> Mapping[str, Sheet]: ...

    @property
    def history(self) -> History: ...


@dataclass(frozen=True)
class _Known:
    """The sheets by which what was made already is dated."""

    sheets: Mapping[str, Sheet]
    history: History


class Recorded(Protocol):
    """What tracing reads of a manual."""

    @property
    def history(self) -> History: ...

    @property
    def house(self) -> House: ...

    @property
    def standards(self) -> Standards: ...

    @property
    def walks(self) -> dict[str, Walk]: ...

    @property
    def known(self) -> Mapping[str, Sheet]: ...

    @property
    def plans(self) -> dict[str, JoinedPlan]: ...


@dataclass(frozen=True)
class LastDay:
    """The last day of a batch, None where it isn't known, and who says so: its label, the standard
    of today, or that at the latest, as far as its own days go. What may be frozen can be there
    until ``frozen_until``."""

    day: datetime.date | None
    by: DayFrom
    frozen_until: datetime.date | None = None

    @property
    def of_all(self) -> datetime.date | None:
        """The last day on which any of it may be there; None where nobody knows."""
        return max(self.day, self.frozen_until or self.day) if self.day is not None else None


@dataclass(frozen=True)
class Affected:
    """A batch that holds a lot or may, with its name and its last day."""

    holding: Holding
    name: str
    last: LastDay

    @property
    def batch(self) -> JoinedBatch:
        return self.holding.batch


@dataclass(frozen=True)
class AffectedDish:
    """A formula the lot is in, or may be: ``recorded`` where a batch of it is among those that
    hold it; else it is made of one, and nobody wrote down a batch of it."""

    formula: str
    name: str
    recorded: bool


@dataclass(frozen=True)
class AffectedPlan:
    """A plan that may serve it, and why, in words."""

    plan: str
    name: str
    why: tuple[str, ...]


@dataclass(frozen=True)
class Recall:
    """All about one match: what was traced, the batches with their days, dishes and plans; other
    numbers that may be the same lot."""

    traced: Traced
    name: str
    batches: tuple[Affected, ...]
    dishes: tuple[AffectedDish, ...]
    plans: tuple[AffectedPlan, ...]
    alike: tuple[Match, ...]


def graph_of(manual: Recorded) -> Graph:
    """The graph of a manual's records."""
    outputs: dict[str, set[str]] = {}
    for ident, formula in manual.standards.formulas.items():
        if formula.by_product is not None:
            outputs.setdefault(formula.by_product.formula, set()).add(ident)
    lines = {
        ident: frozenset(line.joined.item for line in walk.lines)
        for ident, walk in manual.walks.items()
        if ident in manual.known
    }
    revisions = {i: one.revision for i, one in manual.standards.formulas.items() if one.revision}
    outs = {i: frozenset(found) for i, found in outputs.items()}
    known = set(manual.standards.formulas)
    for batch in manual.history.batches.values():
        known |= {batch.record.formula, *(p.used.item for p in batch.made_of if p.made_here)}
    return Graph(manual.history, lines, revisions, frozenset(known - set(lines)), outs)


def recall_of(manual: Recorded, graph: Graph, match: Match) -> Recall:
    """All that holds what a number names, and all that is to be looked for."""
    traced, dated = graph.trace(match), _Known(manual.known, manual.history)
    batches = tuple(
        Affected(one, name_of(manual, one.batch.record.formula), last_day_of(dated, one.batch))
        for one in traced.holds
    )
    dishes = tuple(_dishes(manual, match, batches))
    plans = tuple(_plans(manual, match, batches, dishes))
    name = name_of(manual, match.item)
    return Recall(traced, name, batches, dishes, plans, graph.alike(match))


def name_of(manual: Recorded, ident: str) -> str:
    """What a formula or an ingredient is called; its id where it isn't here any more."""
    held = manual.standards
    record = held.formulas.get(ident) or held.ingredients.get(ident)
    return record.name if record is not None else ident


def last_day_of(manual: Dated, batch: JoinedBatch) -> LastDay:
    """The last day a batch may be used: as its labels say, else by the standard as it is today,
    with the days of the batches it was made of."""
    record = batch.record
    sheet = manual.sheets.get(record.formula)
    dates = sheet.walk.dates if sheet is not None else None
    frozen = None
    if dates is not None and dates.frozen_days is not None:
        frozen = record.day + datetime.timedelta(days=dates.frozen_days)
    found = _last_day(manual, batch, sheet)
    return LastDay(found.day, found.by, frozen)


def _last_day(manual: Dated, batch: JoinedBatch, sheet: Sheet | None) -> LastDay:
    """The last day out of a freezer."""
    record = batch.record
    if record.use_by is not None:
        return LastDay(record.use_by, "label")
    dates = sheet.walk.dates if sheet is not None else None
    if sheet is None or dates is None:
        return LastDay(None, "not known")
    if dates.kind in NOT_KEPT:
        return LastDay(record.day, "computed")
    parts = _part_days(manual, batch, {part.item for part in dates.dated_parts})
    try:
        mark = date_mark(sheet, Asked(record.day, parts), record.day)
    except (NoDate, OverflowError):
        if dates.day is None:
            return LastDay(None, "not known")
        return LastDay(last_day(record.day, dates.day, ()), "at the latest")
    if mark.use_by is None:
        return LastDay(None, "not known")
    return LastDay(mark.use_by, "computed")


def _part_days(manual: Dated, batch: JoinedBatch, dated: set[str]) -> dict[str, PartDay]:
    """The day 1 of each dated part that was made here, by its record: the earliest of several."""
    days: dict[str, datetime.date] = {}
    for part in batch.made_of:
        for one in part.batches if part.used.item in dated else ():
            day = manual.history.batches[one].record.day
            days[part.used.item] = min(day, days.get(part.used.item, day))
    return {item: PartDay(day) for item, day in days.items()}


def _dishes(manual: Recorded, match: Match, batches: Iterable[Affected]) -> Iterator[AffectedDish]:
    """The formulas of the batches, then those that are made of them by the standards, at any
    depth."""
    recorded = list(dict.fromkeys(one.batch.record.formula for one in batches))
    if match.made_here and match.item not in recorded:
        recorded.append(match.item)
    for ident in recorded:
        yield AffectedDish(ident, name_of(manual, ident), True)
    seen, due = set(recorded), list(recorded)
    while due:
        part = due.pop(0)
        for ident, walk in manual.walks.items():
            if ident not in seen and part in walk.formula.sub_formulas:
                seen.add(ident)
                due.append(ident)
                yield AffectedDish(ident, name_of(manual, ident), False)


def _plans(
    manual: Recorded,
    match: Match,
    batches: tuple[Affected, ...],
    dishes: tuple[AffectedDish, ...],
) -> Iterator[AffectedPlan]:
    """The plans with such a batch on the shelf, or that serve such a dish while one may be used."""
    for plan in manual.plans.values():
        why = [*_on_shelf(plan, match, batches, dishes), *_served(manual, plan, batches, dishes)]
        if why:
            yield AffectedPlan(plan.id, plan.plan.name, tuple(dict.fromkeys(why)))


def _on_shelf(
    plan: JoinedPlan,
    match: Match,
    batches: tuple[Affected, ...],
    dishes: tuple[AffectedDish, ...],
) -> Iterator[str]:
    """What on a plan's shelf is such a batch, and what may be: nobody can tell by its day alone, or
    no batch of it is recorded."""
    unrecorded = {match.item} if not match.records else set[str]()
    unrecorded |= {dish.formula for dish in dishes if not dish.recorded}
    for one in plan.shelf:
        mine = [batch for batch in batches if batch.batch.record.formula == one.item]
        found = {batch.batch.record.lot: _is_there(one, batch) for batch in mine}
        yield from (f"{one.item} {lot} is on its shelf" for lot, said in found.items() if said)
        if one.item in unrecorded or None in found.values():
            yield f"{one.item} is on its shelf: look at its lot"


def _is_there(one: JoinedShelf, batch: Affected) -> bool | None:
    """Whether what is on a shelf is of a batch, by the day it was made, or by its last day as the
    labels say; None where the day on the shelf doesn't settle it: the label of what was frozen or
    opened has another than the batch's record."""
    if one.made is not None:
        return one.made == batch.batch.record.day
    if one.use_by is not None and one.use_by == batch.last.day:
        return True
    before = one.use_by is not None and one.use_by < batch.batch.record.day
    return False if before else None


def _served(
    manual: Recorded,
    plan: JoinedPlan,
    batches: tuple[Affected, ...],
    dishes: tuple[AffectedDish, ...],
) -> Iterator[str]:
    """The dishes it serves that are made of such a batch, on a day on which one may be used."""
    spans = _spans(manual, batches)
    for served in plan.dishes:
        day = served.due.date()
        if served.formula not in {dish.formula for dish in dishes}:
            continue
        if any(
            first <= day and (last is None or day <= last)
            for first, last in spans.get(served.formula, ())
        ):
            yield f"it serves {served.formula} on {date(day)}"


def _spans(
    manual: Recorded, batches: tuple[Affected, ...]
) -> Mapping[str, list[tuple[datetime.date, datetime.date | None]]]:
    """By each formula that a batch may be in: from which day, and until which that batch may be
    used, None where nobody knows. What is made of it in turn may be kept longer: it has no end."""
    found: dict[str, list[tuple[datetime.date, datetime.date | None]]] = {}
    for one in batches:
        record = one.batch.record
        found.setdefault(record.formula, []).append((record.day, one.last.of_all))
        seen, due = {record.formula}, [record.formula]
        while due:
            part = due.pop()
            for ident, walk in manual.walks.items():
                if ident not in seen and part in walk.formula.sub_formulas:
                    seen.add(ident)
                    due.append(ident)
                    kept = walk.dates is None or walk.dates.kind not in NOT_KEPT
                    last = None if kept else one.last.of_all
                    found.setdefault(ident, []).append((record.day, last))
    return found
