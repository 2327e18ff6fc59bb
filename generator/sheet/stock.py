"""Lots of one formula: what is on the shelf and what is made, who uses how much of which, and how
long each may be used.

What is demanded is a weight of the finished food, or whole portions, fills or pieces of it. Where
a yield varies its low end counts: nobody is to go without. Exact.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import combinations_with_replacement
from typing import Literal

from generator.reference.row_kinds import DateRow
from generator.rules.basics.context import Dates
from generator.scaling.batch import Figures
from generator.sheet.label_questions import Frozen
from generator.sheet.labelling import days_with, last_day
from generator.sheet.prep_times import PrepTimes, back_from, times_of
from generator.sheet.sheet import Batch, Sheet
from generator.sheet.walked import Walk

Counting = Literal["weight", "portions", "fills", "pieces"]
Made = Sequence[tuple[Batch, int]]
"""Batches with how many of each."""


@dataclass(frozen=True)
class Need:
    """What is needed of a formula at an hour: ``grams`` of it, or ``count`` whole ones of so many
    grams each. ``earliest`` is the earliest day 1 that what is used may have, None for any;
    ``into`` names what it goes into, and ``user`` is the number of that run; empty and 0 where it
    is served."""

    due: datetime.datetime
    grams: Fraction
    counting: Counting = "weight"
    count: int = 0
    earliest: datetime.date | None = None
    into: str = ""
    user: int = 0

    @property
    def unit_g(self) -> Fraction:
        """What one of those counted weighs, in grams."""
        return self.grams / self.count if self.count else Fraction(0)

    def part(self, count: int, grams: Fraction) -> Need:
        """So much of it: whole ones, or grams of a weight."""
        if self.counting == "weight":
            return replace(self, grams=grams)
        return replace(self, count=count, grams=self.unit_g * count)

    def without(self, used: Need) -> Need | None:
        """What is left of it to be met; None for nothing."""
        if self.counting == "weight":
            rest = self.grams - used.grams
            return replace(self, grams=rest) if rest > 0 else None
        left = self.count - used.count
        return self.part(left, Fraction(0)) if left > 0 else None


def lean(walk: Walk) -> Figures:
    """A formula's figures at the low end of a yield that varies."""
    return walk.least or walk.figures


def made_g(walk: Walk, batch: Batch) -> Fraction:
    """What a batch yields at least, in grams of finished food that can be served."""
    return lean(walk).yielded * batch.factor


def units_of(walk: Walk, batch: Batch, counting: Counting) -> int:
    """How many whole ones a batch makes."""
    pieces = lean(walk).pieces
    many = {
        "portions": batch.yields.portions,
        "fills": batch.yields.fills,
        "pieces": math.floor(pieces * batch.factor) if pieces is not None else None,
    }
    return many.get(counting) or 0


def unit_of(walk: Walk, counting: Counting) -> Fraction:
    """What one of those counted weighs, in grams of finished food; 0 where none is made."""
    figures = lean(walk)
    each = Fraction(0)
    if counting == "pieces" and figures.pieces:
        each = figures.yielded / figures.pieces
    elif counting == "fills" and figures.fills:
        each = figures.yielded / figures.fills
    elif counting == "portions" and figures.portion is not None:
        each = figures.portion
    elif counting == "portions" and figures.fills and figures.per_fill:
        each = figures.yielded / figures.fills / figures.per_fill
    return each


def covers(walk: Walk, made: Made, uses: Iterable[Need]) -> bool:
    """Whether batches cover all uses, each counted one whole and out of one batch.

    A weight may be made up of what several batches leave; it breaks no more whole ones than it
    weighs, begun ones counted.
    """
    total = sum((made_g(walk, batch) * n for batch, n in made), Fraction(0))
    used = Fraction(0)
    for use in uses:
        if use.counting != "weight":
            whole = sum(units_of(walk, batch, use.counting) * n for batch, n in made)
            if whole - math.ceil(used / use.unit_g) < use.count:
                return False
        used += use.grams
        if used > total:
            return False
    return True


_LAST = 4
"""Of how many batches the sizes are chosen anew; those before them are of the largest size."""


def batches_for(sheet: Sheet, uses: Sequence[Need]) -> Made:
    """Batches of the kitchen's own sizes that cover all uses: as few as do, and of these ways the
    one with the least left over, where all but the last four are of the largest size. Empty where
    no size makes a whole one of what is counted."""
    walk = sheet.walk
    sizes = sorted(sheet.batches, key=lambda batch: made_g(walk, batch), reverse=True)
    count = _fewest(walk, sizes[0], uses) if sizes else 0
    if not count:
        return ()
    chosen = min(count, _LAST)
    ways = [
        _grouped(len(sizes), count - chosen, last)
        for last in combinations_with_replacement(range(len(sizes)), chosen)
    ]
    grams = [made_g(walk, batch) for batch in sizes]
    totals = [sum((grams[at] * n for at, n in way), Fraction(0)) for way in ways]
    for total in sorted(set(totals)):
        for way, made in zip(ways, totals, strict=True):
            batches = tuple((sizes[at], n) for at, n in way)
            if made == total and covers(walk, batches, uses):
                return batches
    return ((sizes[0], count),)


def _fewest(walk: Walk, largest: Batch, uses: Sequence[Need]) -> int:
    """How many batches of the largest size cover all uses; 0 where none does."""
    asked, each = sum((use.grams for use in uses), Fraction(0)), made_g(walk, largest)
    if not each:
        return 0
    count = max(1, math.ceil(asked / each))
    for counting in {use.counting for use in uses} - {"weight"}:
        whole = units_of(walk, largest, counting)
        if not whole:
            return 0
        many = sum(use.count for use in uses if use.counting == counting)
        count = max(count, math.ceil(Fraction(many, whole)))
    while not covers(walk, ((largest, count),), uses):
        count += 1
    return count


def _grouped(sizes: int, largest: int, last: tuple[int, ...]) -> list[tuple[int, int]]:
    """How many of each size, the largest first, which there are so many of before the ``last``."""
    counts = [(at, last.count(at) + (largest if at == 0 else 0)) for at in range(sizes)]
    return [(at, many) for at, many in counts if many]


@dataclass(frozen=True)
class Keeping:
    """How long a formula keeps: ``days`` of its own, day 1 the first; by part, by its id, those of
    the parts whose own day counts. ``kept`` is false for what is made for each service;
    ``dated`` says that it, or what it is made from on its way, may be on the shelf by its label."""

    kept: bool
    days: int = 0
    parts: tuple[tuple[str, int], ...] = ()
    dated: bool = True


_AT_ONCE = frozenset({"serves", "holds-hot", "holds-by-time", "displays"})
"""What is done last to food that is eaten then: what it was kept on its way the walk has judged."""


def keeping_of(sheet: Sheet) -> Keeping:
    """How long food of a sheet keeps once its last step is done, as its date mark counts. What is
    served then, and what has no figure of its own, isn't kept: it is made for each service. On
    which day it is taken out of the colder of two places isn't known: as if on day 1."""
    walk, dates = sheet.walk, sheet.walk.dates
    if dates is None or walk.undercooked or dates.kind in ("hot", "by-time"):
        return Keeping(False, dated=False)
    if walk.steps[-1].step.effects & _AT_ONCE or walk.course.state == "hot":
        return Keeping(False, dated=dates.day is not None)
    if sheet.formula.formula.eaten_frozen and dates.frozen_days is not None:
        return Keeping(True, dates.frozen_days + 1)
    return _by_its_days(dates)


def _by_its_days(dates: Dates) -> Keeping:
    """How long food keeps by its own days and those of its parts."""
    if dates.day is None:
        return Keeping(False, dated=False)

    def counted_of(name: str, day: int = dates.day) -> int:
        days = days_with(dates, day, name)
        return min(dates.moved_days or days, days)

    parts = tuple((p.item, counted_of(p.name)) for p in dates.dated_parts)
    return Keeping(True, counted_of(""), parts)


Fresh = tuple[datetime.date, datetime.date | None]
"""The day 1 that counts, and the last day; None for what isn't kept."""
Freshest = Callable[[str, datetime.datetime], Fresh]
"""The same of the freshest a made-ahead formula can be at an hour, by its id."""


@dataclass
class Lot:
    """So much of a formula that is used as one: from the shelf (``sheet`` tells only which), or
    made. ``day_one`` is None where it isn't known."""

    sheet: Sheet
    day_one: datetime.date | None
    last: datetime.date | None
    total_g: Fraction
    uses: list[Need] = field(default_factory=list)

    @property
    def used_g(self) -> Fraction:
        return sum((use.grams for use in self.uses), Fraction(0))

    @property
    def left_g(self) -> Fraction:
        return self.total_g - self.used_g

    def may_serve(self, need: Need) -> bool:
        """Whether its days let it be used for what is needed."""
        if self.last is None or need.due.date() > self.last:
            return False
        return need.earliest is None or (self.day_one is not None and self.day_one >= need.earliest)

    def give(self, need: Need) -> Need | None:
        """Use of it what there is; what is left to be met."""
        count = math.floor(self.left_g / need.unit_g) if need.unit_g else 0
        use = need.part(min(count, need.count), min(self.left_g, need.grams))
        if use.grams <= 0 or not self.may_serve(need):
            return need
        self.uses.append(use)
        return need.without(use)


@dataclass
class Run:
    """Batches of a formula that are made together, ready at the hour of the first use.

    ``day_one`` and ``last`` are the days that count once its parts are planned, too; what isn't
    kept has no last. ``sound`` says that its uses are within its days.
    """

    sheet: Sheet
    keeping: Keeping
    freshest: Freshest
    uses: list[Need]
    made: Made
    times: PrepTimes
    sound: bool = True
    number: int = 0
    day_one: datetime.date | None = None
    last: datetime.date | None = None

    @property
    def ready(self) -> datetime.datetime:
        return min(use.due for use in self.uses)

    @property
    def start(self) -> datetime.datetime:
        return back_from(self.ready, self.times.whole_s)

    @property
    def own_day(self) -> datetime.date:
        """The day 1 of the food itself: never later than it may be."""
        return back_from(self.ready, self.times.day_one_s).date()

    @property
    def frozen(self) -> tuple[Frozen, ...]:
        """Its stays in a freezer on the way, which the law doesn't count (3-501.18(A)(1))."""
        dates = self.sheet.walk.dates
        rows = (row for _, row in self.sheet.house.pack.rows_of(DateRow))
        if dates is None or (dates.law_day is not None and all(r.frozen != "pauses" for r in rows)):
            return ()
        stays = self.times.frozen_before_ready()
        return tuple(
            Frozen(back_from(self.ready, begins).date(), back_from(self.ready, ends).date())
            for begins, ends in stays
        )

    @property
    def total_g(self) -> Fraction:
        walk = self.sheet.walk
        return sum((made_g(walk, batch) * n for batch, n in self.made), Fraction(0))

    @property
    def used_g(self) -> Fraction:
        return sum((use.grams for use in self.uses), Fraction(0))

    @property
    def left_g(self) -> Fraction:
        return self.total_g - self.used_g

    @property
    def until(self) -> datetime.date:
        """The last day it is used on."""
        return max(use.due for use in self.uses).date()

    def fresh(self) -> Fresh:
        """Its day 1 and its last day, its parts as fresh as they can be made."""
        return self.dated(self._part)

    def dated(self, part_day: Callable[[str], datetime.date]) -> Fresh:
        """Its day 1 and its last day, by the day 1 of each dated part, as a date mark counts them:
        the earliest governs."""
        if not self.keeping.kept:
            return self.own_day, None
        day_one, stays = self.own_day, self.frozen
        last = last_day(day_one, self.keeping.days, stays)
        for item, days in self.keeping.parts:
            part = part_day(item)
            day_one, last = min(day_one, part), min(last, last_day(part, days, stays))
        return day_one, last

    def _part(self, item: str) -> datetime.date:
        """The day 1 of a dated part: of one made ahead the freshest it can be; a bought pack is
        opened for this run."""
        for line in self.sheet.walk.lines:
            if line.joined.item == item and line.joined.formula is not None:
                taken = back_from(self.ready, self.times.taken_in_s(line.joined.part))
                return min(self.own_day, self.freshest(line.joined.formula, taken)[0])
        return self.own_day

    def in_time(self) -> bool:
        """Whether every use is within its days, and what isn't kept is used when it is ready."""
        day_one, last = self.fresh()
        if last is None:
            return len({use.due for use in self.uses}) == 1
        late = any(use.earliest is not None and day_one < use.earliest for use in self.uses)
        return self.until <= last and not late

    def earliest_of(self, item: str) -> datetime.date | None:
        """The earliest day 1 a part may have, so that all of this is used within its days."""
        days = dict(self.keeping.parts).get(item)
        if days is None:
            return None
        asked = [use.earliest for use in self.uses if use.earliest is not None]
        return max([first_day(self.until, days), *asked])

    def with_need(self, need: Need) -> Run:
        """The run with one use more, enlarged as far as it takes."""
        return run_for(self.sheet, self.keeping, self.freshest, [*self.uses, need])

    def room_for(self, need: Need) -> Need | None:
        """How much of a need its batches cover beside their uses; None for nothing."""
        most = need.part(need.count, min(need.grams, self.left_g))
        if need.counting != "weight":
            whole = sum(units_of(self.sheet.walk, b, need.counting) * n for b, n in self.made)
            free = whole - math.ceil(self.used_g / need.unit_g) if need.unit_g else 0
            most = need.part(max(0, min(need.count, free)), Fraction(0))
        if most.grams <= 0:
            return None
        wider = replace(self, uses=[*self.uses, most])
        return most if wider.in_time() and covers_all(wider) else None


def covers_all(run: Run) -> bool:
    """Whether a run's batches cover its uses."""
    return covers(run.sheet.walk, run.made, run.uses)


def run_for(sheet: Sheet, keeping: Keeping, freshest: Freshest, uses: list[Need]) -> Run:
    """The run that covers all uses; without batches where no size of the kitchen's does."""
    made = batches_for(sheet, uses)
    return Run(sheet, keeping, freshest, uses, made, times_of(sheet.walk, made))


def first_day(last: datetime.date, days: int) -> datetime.date:
    """The day 1 of food whose ``last`` of so many days is known: ``last_day`` the other way."""
    return last - datetime.timedelta(days=days - 1)


def runs_for(
    sheet: Sheet, shelf: Sequence[Lot], needs: Iterable[Need], freshest: Freshest
) -> list[Run]:
    """The runs that meet all needs of a formula, after what is on the shelf.

    In the order of the hours: first the shelf, the soonest last day first; then what earlier runs
    leave; then a larger last run, if all of it keeps; then a run of its own.
    """
    keeping = keeping_of(sheet)
    runs: list[Run] = []
    for need in sorted(_merged(needs), key=lambda n: (n.due, n.into)):
        rest: Need | None = need
        for lot in sorted(shelf, key=lambda one: one.last or datetime.date.max):
            rest = lot.give(rest) if rest is not None else None
        for run in runs:
            used = run.room_for(rest) if rest is not None else None
            if rest is not None and used is not None:
                run.uses.append(used)
                rest = rest.without(used)
        if rest is not None:
            _make(sheet, keeping, freshest, runs, rest)
    for run in runs:
        run.uses = _merged(run.uses)
    return runs


def _merged(uses: Iterable[Need]) -> list[Need]:
    """The needs, those for the same hour that go into the same in one."""
    found: dict[Need, Need] = {}
    for use in uses:
        key = replace(use, grams=Fraction(0), count=0)
        known = found.get(key)
        if known is not None:
            use = replace(use, grams=use.grams + known.grams, count=use.count + known.count)
        found[key] = use
    return list(found.values())


def _make(sheet: Sheet, keeping: Keeping, freshest: Freshest, runs: list[Run], rest: Need) -> None:
    """Make what is missing: in the last run, or in one more."""
    if runs and runs[-1].sound:
        wider = runs[-1].with_need(rest)
        if wider.made and wider.in_time():
            runs[-1] = wider
            return
    run = run_for(sheet, keeping, freshest, [rest])
    runs.append(replace(run, sound=bool(run.made) and run.in_time()))
