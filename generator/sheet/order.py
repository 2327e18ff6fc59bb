"""The order of a plan: through every formula made ahead to what must be made, bought and labelled.

A net requirement is what is needed less what is on the shelf, from the dishes down, each formula
once all that goes into is known (the gross-to-net reckoning of material requirements planning).
Everything about a batch comes from the sheet; nothing is scaled here a second time. Exact.
"""

from __future__ import annotations

import datetime
import functools
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, Protocol

from generator.files.finding import Finding
from generator.intake.standards import Standards
from generator.measures.words import counted, date, duration, with_verb
from generator.resolve.joined import House
from generator.resolve.plans import JoinedDish, JoinedPlan, JoinedShelf
from generator.scaling.batch import Figures
from generator.sheet.ahead import counted_in
from generator.sheet.labelling import last_day
from generator.sheet.prep_times import back_from, times_of, waits_of
from generator.sheet.sheet import Batch, Sheet
from generator.sheet.shopping import Bought, ShelfLot, shelf_lot, shopping_list
from generator.sheet.stock import (
    Counting,
    Fresh,
    Keeping,
    Lot,
    Need,
    Run,
    first_day,
    keeping_of,
    lean,
    made_g,
    runs_for,
    unit_of,
)
from generator.sheet.walked import Walk
from generator.sheet.weighing import WeighedLine


class Computed(Protocol):
    """What an order reads of a manual."""

    @property
    def house(self) -> House: ...

    @property
    def standards(self) -> Standards: ...

    @property
    def sheets(self) -> dict[str, Sheet]: ...

    @property
    def walks(self) -> dict[str, Walk]: ...

    @property
    def as_of(self) -> datetime.date: ...


@dataclass(frozen=True)
class Problem:
    """Why a plan can't be carried out as it is written, and what helps; of the ``run`` of that
    number."""

    code: str
    formula: str
    words: str
    help: str
    run: int = 0


@dataclass(frozen=True)
class OnShelf:
    """What is on the shelf, in grams: what ``there`` is, what of it is ``used``; ``past``: its last
    day is over, and nothing of it is used. ``days`` are those on which it is used."""

    item: str
    name: str
    there: Fraction
    used: Fraction
    last: datetime.date | None
    past: bool
    days: tuple[datetime.date, ...]

    @property
    def left(self) -> Fraction:
        return self.there - self.used


@dataclass(frozen=True)
class Label:
    """Labels to print: so ``many`` of a formula made on a day, the last day on each, None where it
    hangs on a freezer; ``each`` is what one is for, empty where fills aren't counted: then one for
    each batch."""

    formula: str
    name: str
    many: int
    made: datetime.date
    use_by: datetime.date | None
    each: str


@dataclass(frozen=True)
class Order:
    """All that follows from a plan. ``dishes`` are those to come, ``past`` those whose day is
    over; ``runs`` are in the order they start."""

    plan: JoinedPlan
    dishes: tuple[JoinedDish, ...]
    past: tuple[JoinedDish, ...]
    runs: tuple[Run, ...]
    shopping: tuple[Bought, ...]
    shelf: tuple[OnShelf, ...]
    labels: tuple[Label, ...]
    problems: tuple[Problem, ...]


def order_of(manual: Computed, plan: JoinedPlan) -> Order:
    """The order of a plan whose formulas all have a sheet, as on the manual's day."""
    return _Cascade(manual, plan).order()


def needs_broken(manual: Computed, plan: JoinedPlan) -> tuple[str, ...]:
    """The formulas of a plan that have no sheet, by id."""
    return tuple(ident for ident in plan.formulas if ident not in manual.sheets)


def shelf_doubts(sheets: Mapping[str, Sheet], plans: Mapping[str, JoinedPlan]) -> Iterator[Finding]:
    """A warning for each batch on the shelf that isn't counted: of what isn't kept, and of what is
    made with dated parts, or is warm again in the end, where the label's day isn't written."""
    for plan in plans.values():
        for one in plan.shelf:
            sheet = sheets.get(one.item)
            if sheet is None or one.size is None:
                continue
            keeping = keeping_of(sheet)
            words, help = "", "Write `use_by` as its label says."
            if not keeping.dated:
                words = f"{with_verb(sheet.name, 'is')} made for each service. It isn't counted."
                help = "Delete it. Or write under `keeps` how long it keeps."
            elif one.use_by is None and (keeping.parts or not keeping.kept):
                words = (
                    f"{sheet.name}: its label's last day counts, and isn't said. It isn't counted."
                )
            if words:
                about = frozenset({f"plan:{plan.id}"})
                yield Finding("plan-shelf-undated", "warning", words, one.place, help, about=about)


class _Cascade:
    """One plan on its way down through what its dishes are made of."""

    def __init__(self, manual: Computed, plan: JoinedPlan) -> None:
        self.manual = manual
        self.plan = plan
        self.needs: dict[str, list[Need]] = {}
        self.bought: dict[str, list[tuple[datetime.date, Fraction]]] = {}
        self.keeping = functools.cache(self._keeping)
        self.fresh: dict[tuple[str, datetime.datetime], Fresh] = {}

    def order(self) -> Order:
        day, dishes = self.manual.as_of, self.plan.dishes
        to_come = tuple(dish for dish in dishes if dish.due.date() >= day)
        for dish in to_come:
            self.needs.setdefault(dish.formula, []).append(self._served(dish))
        lots = list(self._lots())
        runs = self._runs(lots)
        raw = list(self._raw())
        shopping = shopping_list(
            self.manual.house,
            self.manual.standards.ingredients,
            [lot for lot in raw if not self._gone(lot.last)],
            self.bought,
        )
        return Order(
            self.plan,
            to_come,
            tuple(dish for dish in dishes if dish.due.date() < day),
            tuple(runs),
            shopping,
            (*self._made_shelf(lots), *self._bought_shelf(raw)),
            tuple(_labels(runs)),
            tuple(self._problems(runs)),
        )

    def _runs(self, lots: list[tuple[JoinedShelf, Lot]]) -> list[Run]:
        """All that is made, in the order it is started: each formula once all that it goes into is
        known."""
        runs: list[Run] = []
        for ident in reversed(list(self.manual.walks)):  # what goes into others is before them
            if ident not in self.needs:
                continue
            mine = [lot for _, lot in lots if lot.sheet.id == ident and not self._over(lot)]
            for run in runs_for(self._sheet(ident), mine, self.needs[ident], self._freshest):
                runs.append(run)
                run.number = len(runs)
                self._goes_on(run)
        _date(runs, [lot for _, lot in lots])
        return sorted(runs, key=lambda run: (run.start, run.ready, run.sheet.id))

    def _sheet(self, ident: str) -> Sheet:
        return self.manual.sheets[ident]

    def _keeping(self, ident: str) -> Keeping:
        return keeping_of(self._sheet(ident))

    def _served(self, dish: JoinedDish) -> Need:
        """What a dish needs: whole portions or fills, batches, or a weight."""
        sheet = self._sheet(dish.formula)
        if dish.batches:
            return Need(dish.due, made_g(sheet.walk, sheet.batches[0]) * dish.batches)
        return _need(sheet.walk, dish.size.kind, dish.size.value, dish.due)

    def _freshest(self, ident: str, ready: datetime.datetime) -> Fresh:
        """The day 1 and the last day of one usual batch that is ready at an hour."""
        key = (ident, ready)
        if key not in self.fresh:
            sheet = self._sheet(ident)
            made = ((sheet.batches[0], 1),)
            times = times_of(sheet.walk, made)
            use = [Need(ready, Fraction(1))]
            run = Run(sheet, self.keeping(ident), self._freshest, use, made, times)
            self.fresh[key] = run.fresh()
        return self.fresh[key]

    def _goes_on(self, run: Run) -> None:
        """What a run takes in: of other formulas, and of ingredients as purchased."""
        walk = run.sheet.walk
        for line in walk.lines:
            due = back_from(run.ready, run.times.taken_in_s(line.joined.part))
            sub = line.joined.formula
            if sub is not None:
                need = self._into(run, line, sub, due)
                self.needs.setdefault(sub, []).append(need)
        for batch, many in run.made:
            for weighed in batch.lines:
                item = weighed.line.joined.item
                if weighed.line.joined.formula is None:
                    taken = run.times.taken_in_s(weighed.part)
                    day = back_from(run.ready, taken).date()
                    self.bought.setdefault(item, []).append((day, weighed.purchased_g * many))

    def _into(self, run: Run, line: WeighedLine, sub: str, due: datetime.datetime) -> Need:
        """What a line of a run needs of a formula made ahead."""
        made = self._sheet(sub).walk
        earliest, name = run.earliest_of(line.joined.item), run.sheet.name
        grams = sum((line.grams * batch.factor * n for batch, n in run.made), Fraction(0))
        counting = _counting(made, line)
        if counting == "weight":
            return Need(due, grams, earliest=earliest, into=name, user=run.number)
        each = counted_in(made, line)
        count = sum(math.ceil(each * batch.factor) * n for batch, n in run.made)
        grams = unit_of(made, counting) * count
        return Need(due, grams, counting, count, earliest, name, run.number)

    def _lots(self) -> Iterator[tuple[JoinedShelf, Lot]]:
        """The batches on the shelf, as lots of their formulas; what is of no use here too."""
        for one in self.plan.shelf:
            sheet = self.manual.sheets.get(one.item)
            if one.size is None or sheet is None:
                continue
            grams = _shelf_need(sheet.walk, one.size.kind, one.size.value)
            first, last = self._days(one, self.keeping(one.item))
            yield one, Lot(sheet, first, last, grams)

    def _days(
        self, one: JoinedShelf, keeping: Keeping
    ) -> tuple[datetime.date | None, datetime.date | None]:
        """The day 1 and the last day of a batch on the shelf. What isn't kept has neither; nor has
        what is made with dated parts, or is warm again in the end, unless its label's day is
        written: that counts all its days."""
        if not keeping.dated or ((keeping.parts or not keeping.kept) and one.use_by is None):
            return None, None
        if not keeping.kept:
            return one.made, one.use_by
        ends = [one.use_by] if one.use_by is not None else []
        if one.made is not None:
            ends.append(last_day(one.made, keeping.days, ()))
        last = min(ends)
        first = first_day(last, keeping.days)
        return (first if one.made is None else min(first, one.made)), last

    def _over(self, lot: Lot) -> bool:
        return lot.last is None or self._gone(lot.last)

    def _gone(self, last: datetime.date | None) -> bool:
        return last is not None and last < self.manual.as_of

    def _raw(self) -> Iterator[ShelfLot]:
        """The ingredients on the shelf that count."""
        for one in self.plan.shelf:
            facts = self.manual.standards.ingredients.get(one.item)
            lot = shelf_lot(self.manual.house, facts, one) if facts is not None else None
            if lot is not None:
                yield lot

    def _made_shelf(self, lots: list[tuple[JoinedShelf, Lot]]) -> Iterator[OnShelf]:
        for one, lot in lots:
            days = tuple(sorted({use.due.date() for use in lot.uses}))
            sheet, over = lot.sheet, self._over(lot)
            yield OnShelf(one.item, sheet.name, lot.total_g, lot.used_g, lot.last, over, days)

    def _bought_shelf(self, lots: list[ShelfLot]) -> Iterator[OnShelf]:
        for lot in lots:
            days = tuple(sorted({day for day, _ in lot.uses}))
            used = lot.grams - lot.left_g
            yield OnShelf(lot.item, lot.name, lot.grams, used, lot.last, self._gone(lot.last), days)

    def _problems(self, runs: list[Run]) -> Iterator[Problem]:
        """What can't be done as it is planned."""
        for run in runs:
            name, ident = run.sheet.name, run.sheet.id
            if not run.made:
                words = f"{name}: no batch size of the kitchen's makes a whole one of it."
                help = "Add a larger size to `batches`."
                yield Problem("order-no-size", ident, words, help, run.number)
            elif run.start.date() < self.manual.as_of:
                words = (
                    f"{name} must be started on {date(run.start.date())} at {clock(run.start)} to "
                    f"be ready on {date(run.ready.date())} at {clock(run.ready)}."
                )
                help = f"Today is {date(self.manual.as_of)}. Serve it later, or serve another dish."
                yield Problem("order-too-late", ident, words, help, run.number)
            elif not run.in_time() or (run.last is not None and run.until > run.last):
                yield _kept_too_short(run)
            yield from _waits_too_long(self.manual.house, run)
            if run.start.date() < run.sheet.formula.formula.effective:
                since = date(run.sheet.formula.formula.effective)
                words = f"{name} is made before its formula is in force, on {since}."
                help = "Check its `effective` day."
                yield Problem("order-not-in-force", ident, words, help, run.number)


def _date(runs: list[Run], shelf: list[Lot]) -> None:
    """The days that count of every run, those of what goes into others first: by the lots its
    parts come from."""
    used: dict[tuple[int, str], datetime.date] = {}
    for lot in shelf:
        _note(used, lot.sheet.id, lot.uses, lot.day_one)
    for run in reversed(runs):
        number, own = run.number, run.own_day
        run.day_one, run.last = run.dated(
            lambda item, number=number, own=own: min(own, used.get((number, item), own))  # type: ignore[misc]
        )
        _note(used, run.sheet.id, run.uses, run.day_one)


def _note(
    used: dict[tuple[int, str], datetime.date],
    ident: str,
    uses: list[Need],
    day_one: datetime.date | None,
) -> None:
    """Keep the earliest day 1 of a formula that each run uses."""
    for use in uses:
        if use.user and day_one is not None:
            key = (use.user, ident)
            used[key] = min(used.get(key, day_one), day_one)


def _waits_too_long(house: House, run: Run) -> Iterator[Problem]:
    """A run whose batches wait too long for their turn in a cold place."""
    for one in waits_of(house, run.sheet.walk, run.made):
        words = (
            f"{run.sheet.name}, {one.step.id}: {counted(one.many, 'run')} of {one.name}, one after "
            f"another. The last waits {duration(one.wait_s)}; {duration(one.most_s)} is the most."
        )
        help = (
            "Start each batch when there is room for it, not all at once. Or make fewer on one "
            "day, or use more places."
        )
        yield Problem("order-waits-too-long", run.sheet.id, words, help, run.number)


def _kept_too_short(run: Run) -> Problem:
    """A run that isn't good on the day it is used, however late it is made."""
    day_one, last = run.fresh()
    use = next((u.into for u in run.uses if u.into), "")
    words = f"{run.sheet.name}: day 1 is {date(day_one)} at the latest"
    words += f", its last day {date(last)}" if last is not None else ""
    words += f". It is used on {date(run.until)}"
    words += f" in {use}, which would be past its day." if use else "."
    help = "Its steps take longer than it keeps. Serve it earlier, or check `keeps` and the times."
    return Problem("order-keeps-too-short", run.sheet.id, words, help, run.number)


def clock(hour: datetime.datetime) -> str:
    """An hour as it is typed: 6:05."""
    return f"{hour.hour}:{hour.minute:02}"


def _need(walk: Walk, kind: str, value: Fraction, due: datetime.datetime) -> Need:
    """What a size means of a formula's finished food: whole ones, or grams."""
    if kind in ("portions", "fills"):
        counting: Literal["portions", "fills"] = "portions" if kind == "portions" else "fills"
        return Need(due, unit_of(walk, counting) * value, counting, int(value))
    return Need(due, _shelf_need(walk, kind, value))


def _shelf_need(walk: Walk, kind: str, value: Fraction) -> Fraction:
    """The finished grams of a size: of what is counted so many of one, of the base or of all that
    is weighed what comes of it."""
    figures: Figures = lean(walk)
    if kind == "portions":
        return unit_of(walk, "portions") * value
    if kind == "fills":
        return unit_of(walk, "fills") * value
    if kind == "yield":
        return value
    return value / (figures.base if kind == "base" else figures.total) * figures.yielded


def _counting(made: Walk, line: WeighedLine) -> Counting:
    """How a line counts what is made ahead: its pieces, its fills, or by weight."""
    if line.joined.line.amount.kind != "count":
        return "weight"
    if made.figures.pieces is not None:
        return "pieces"
    return "fills" if made.figures.fills else "weight"


def _labels(runs: list[Run]) -> Iterator[Label]:
    """The labels of each run that is kept, or that a step labels on its way, one for each fill;
    where none is counted one for each batch."""
    for run in runs:
        labelled = any("labels" in one.step.effects for one in run.times.steps)
        if not run.made or not (labelled or run.keeping.kept):
            continue
        makes = run.sheet.formula.formula.makes
        fills = makes is not None and makes.fills
        many = sum(_vessels(batch) * n if fills else n for batch, n in run.made)
        each = makes.unit if makes is not None and fills else ""
        yield Label(run.sheet.id, run.sheet.name, many, run.own_day, run.last, each)


def _vessels(batch: Batch) -> int:
    """The fills of a batch, the one that isn't full counted in."""
    yields = batch.yields
    return (yields.fills or 0) + (1 if yields.rest_g or yields.rest_pieces else 0)
