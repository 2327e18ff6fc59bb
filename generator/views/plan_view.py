"""The order of a plan in words and figures, the same for page, paper and text: what is made when
and where, bought, labelled, left over, and what can't be done."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from generator.measures.kilos import kilos
from generator.measures.words import NARROW, counted, date, duration, listed, plain
from generator.records.makes import Makes
from generator.resolve.plans import JoinedDish
from generator.sheet.order import Label, OnShelf, Order, Problem, clock
from generator.sheet.prep_times import TimedStep, loads_of_machines
from generator.sheet.sheet import Sheet
from generator.sheet.shopping import Bought
from generator.sheet.stock import Need, Run

_WEEK = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_LEAST = Fraction(1)
"""Grams: what is left below it no scale of a kitchen shows."""


class Day(str):
    """A day in words, "Sun 6 Dec 2026"; empty for none."""

    __slots__ = ()

    @property
    def short(self) -> str:
        """The same within its year: "Sun 6 Dec"."""
        return self.rpartition(NARROW)[0].replace(" ", NARROW)


@dataclass(frozen=True)
class When:
    """An hour as people read it: its day, and ``clock`` as "3:00"."""

    day: Day
    clock: str


@dataclass(frozen=True)
class DishView:
    """A dish to come: ``amount`` as typed, and when it is served."""

    formula: str
    name: str
    amount: str
    due: When


@dataclass(frozen=True)
class UseView:
    """What a run is for: ``into`` the name of what takes it in, empty where it is served; ``count``
    whole ones in words, empty where it goes by weight."""

    due: When
    into: str
    count: str
    weight: str


@dataclass(frozen=True)
class SizeView:
    """``count`` batches of one size: its ``label``, how many times the formula as written it is,
    and each machine's loads of one batch, as step, name and count."""

    count: int
    label: str
    factor: str
    loads: tuple[tuple[str, str, str], ...]

    @property
    def words(self) -> str:
        return f"{self.count} × {self.label}"

    @property
    def in_loads(self) -> tuple[tuple[str, str, str], ...]:
        """The machines that take it in more than one load."""
        return tuple(one for one in self.loads if not one[2].startswith(f"1{NARROW}"))


@dataclass(frozen=True)
class MadeView:
    """A run: so many batches of a formula, ready together. ``status`` is empty for a standard in
    force; ``last`` is empty for what isn't kept; ``loads`` are machines with more than one;
    ``untimed`` steps have no time known, which counts as none; ``cant``: it can't be done as it is
    planned."""

    formula: str
    name: str
    station: str
    status: str
    sizes: tuple[SizeView, ...]
    start: When
    ready: When
    day_one: Day
    last: Day
    made: str
    used: str
    left: str
    loads: tuple[str, ...]
    uses: tuple[UseView, ...]
    untimed: tuple[str, ...]
    cant: bool

    @property
    def batches(self) -> str:
        return listed([size.words for size in self.sizes])


@dataclass(frozen=True)
class StepTime:
    """A step and when it starts: ``time`` is empty where none is known; ``all_loads`` are in it."""

    clock: str
    id: str
    number: int
    verb: str
    time: str
    all_loads: bool


@dataclass(frozen=True)
class Work:
    """The steps of one run that start on one day."""

    made: MadeView
    steps: tuple[StepTime, ...]


@dataclass(frozen=True)
class StationDay:
    """What one station does on one day, in the order it starts."""

    station: str
    name: str
    date: datetime.date
    day: Day
    work: tuple[Work, ...]


@dataclass(frozen=True)
class BuyView:
    """An ingredient to buy, as purchased. ``packs`` is empty where no pack is known; ``comes``: it
    isn't bought, it is there, as tap water; ``days`` says how much is for which day; ``missing`` is
    empty where the shelf holds all of it."""

    item: str
    name: str
    packs: str
    missing: str
    needs: str
    on_shelf: str
    bought: str
    left: str
    first: Day
    days: tuple[tuple[Day, str], ...]
    comes: bool

    @property
    def words(self) -> str:
        """How much to buy: whole packs, or a weight."""
        return self.packs or self.missing

    @property
    def basis(self) -> tuple[str, ...]:
        """What its amount rests on, where that is more than the amount: what is needed and on the
        shelf, what is bought and left, how much is for which day."""
        found = [f"needs {self.needs}"] if self.packs or self.on_shelf else []
        found += [f"{self.on_shelf} from the shelf"] if self.on_shelf else []
        found += [f"{self.bought} bought"] if self.packs else []
        found += [f"{self.left} left"] if self.left else []
        several = self.days if len(self.days) > 1 or self.packs else ()
        return (*found, *(f"{day.short}: {weight}" for day, weight in several))

    @property
    def group(self) -> str:
        """Under which head of the list it is."""
        if self.comes:
            return "Not bought"
        return "In packs" if self.packs else "By weight"

    @property
    def note(self) -> str:
        """What is said beside it: what of the packs is needed, or that no pack is known."""
        if self.comes:
            return "not bought"
        return f"needs {self.missing}" if self.packs else "its packs aren't known"


@dataclass(frozen=True)
class ShelfView:
    """What is on the shelf: ``past`` its ``last`` day, or used on some ``days``."""

    item: str
    name: str
    there: str
    used: str
    left: str
    last: Day
    past: bool
    days: tuple[Day, ...]

    @property
    def words(self) -> str:
        """What of it is used, and what is left."""
        if self.past:
            if not self.last:
                return "not counted: its last day isn't known"
            return f"past its day ({self.last}). Don't use it"
        if not self.used:
            return "not used"
        return f"{self.used} used, {f'{self.left} left' if self.left else 'all used'}"


@dataclass(frozen=True)
class LabelView:
    """So ``many`` labels: one for ``each`` fill or batch; ``use_by`` is empty where the day it is
    frozen sets it."""

    formula: str
    name: str
    many: str
    each: str
    made: Day
    use_by: Day

    @property
    def dated(self) -> str:
        return f"use by {self.use_by}" if self.use_by else "dated as it is frozen"


@dataclass(frozen=True)
class LeftView:
    """What whole batches leave, of the day it is ``ready``, or whole packs, where it is empty."""

    name: str
    ready: Day
    weight: str
    last: Day


@dataclass(frozen=True)
class PlanView:
    """All of an order. ``sheets`` are those of what is made, each once, in the order it starts;
    ``past`` counts dishes whose day is over."""

    id: str
    name: str
    note: str
    problems: tuple[Problem, ...]
    past: str
    dishes: tuple[DishView, ...]
    made: tuple[MadeView, ...]
    days: tuple[StationDay, ...]
    shelf: tuple[ShelfView, ...]
    buy: tuple[BuyView, ...]
    labels: tuple[LabelView, ...]
    left: tuple[LeftView, ...]
    sheets: tuple[Sheet, ...]

    @property
    def to_buy(self) -> tuple[BuyView, ...]:
        """What is missing; the rest is all on the shelf."""
        return tuple(one for one in self.buy if one.missing)

    @property
    def bought(self) -> tuple[tuple[str, tuple[BuyView, ...]], ...]:
        """What is missing, under its heads: in packs, by weight, not bought."""
        heads = ("In packs", "By weight", "Not bought")
        found = ((head, tuple(o for o in self.to_buy if o.group == head)) for head in heads)
        return tuple((head, rows) for head, rows in found if rows)


def plan_view(order: Order) -> PlanView:
    """An order in words and figures, in the decimal mark and weights in force."""
    sheets = tuple({run.sheet.id: run.sheet for run in order.runs}.values())
    past = len(order.past)
    cant = {one.run for one in order.problems}
    views = {run.number: _made(run, run.number in cant) for run in order.runs}
    return PlanView(
        order.plan.id,
        order.plan.plan.name,
        order.plan.plan.note,
        order.problems,
        counted(past, "dish", "dishes") if past else "",
        tuple(_dish(one, sheets) for one in sorted(order.dishes, key=lambda one: one.due)),
        tuple(views[run.number] for run in order.runs),
        tuple(_days(order, views)),
        tuple(map(_shelved, order.shelf)),
        tuple(map(_bought, order.shopping)),
        tuple(map(_label, order.labels)),
        tuple(_left(order)),
        sheets,
    )


def day_words(day: datetime.date) -> Day:
    """A day with its weekday: "Sun 6 Dec 2026"."""
    return Day(f"{_WEEK[day.weekday()]} {date(day)}")


def prep_rows(order: Order) -> list[tuple[str, datetime.date, Run, list[TimedStep]]]:
    """Each run's steps of each day, by station and day, in the order they start."""
    rows: dict[tuple[str, datetime.date, int], tuple[Run, list[TimedStep]]] = {}
    for run in order.runs:
        for one in run.times.steps if run.made else ():
            key = (run.sheet.formula.formula.home, one.start(run.ready).date(), run.number)
            rows.setdefault(key, (run, []))[1].append(one)
    found = [(station, day, run, steps) for (station, day, _), (run, steps) in rows.items()]
    return sorted(found, key=lambda row: (row[0], row[1], row[3][0].start(row[2].ready)))


def _when(hour: datetime.datetime) -> When:
    return When(day_words(hour.date()), clock(hour))


def _last(day: datetime.date | None) -> Day:
    return day_words(day) if day is not None else Day()


def _dish(dish: JoinedDish, sheets: tuple[Sheet, ...]) -> DishView:
    name = next((one.name for one in sheets if one.id == dish.formula), dish.formula)
    return DishView(dish.formula, name, dish.text, _when(dish.due))


def _made(run: Run, cant: bool) -> MadeView:
    sheet = run.sheet
    verbs = {walked.step.id: walked.step.verb for walked in sheet.walk.steps}
    sizes = tuple(
        SizeView(
            count,
            batch.label,
            plain(batch.factor, 3),
            tuple(
                (verbs.get(one.step, one.step), one.name, counted(one.loads.count, "load"))
                for one in batch.step_loads
            ),
        )
        for batch, count in run.made
    )
    loads = [
        f"{name}: {counted(many, 'load')}"
        for name, many in loads_of_machines(run.sheet.walk, run.made)
        if many > 1
    ]
    return MadeView(
        sheet.id,
        sheet.name,
        sheet.formula.formula.home,
        sheet.status if sheet.status != "current" else "",
        sizes,
        _when(run.start),
        _when(run.ready),
        _last(run.day_one),
        _last(run.last),
        kilos(run.total_g),
        kilos(run.used_g),
        kilos(run.left_g) if run.left_g else "",
        tuple(dict.fromkeys(loads)),
        tuple(_use(use, sheet.formula.formula.makes) for use in run.uses),
        tuple(verbs.get(step.id, step.id) for step in run.times.untimed),
        cant,
    )


def _use(use: Need, makes: Makes | None) -> UseView:
    count = counted(use.count, *_called(use, makes)) if use.count else ""
    return UseView(_when(use.due), use.into, count, kilos(use.grams))


def _called(use: Need, makes: Makes | None) -> tuple[str, str | None]:
    """What whole ones are called, one and many."""
    if use.counting == "fills" and makes is not None:
        return makes.unit, makes.plural
    if use.counting == "portions":
        one = makes.portion_unit if makes is not None else ""
        return one or "portion", (
            makes.portion_units or None
        ) if makes is not None and one else None
    return "piece", None


def _days(order: Order, views: dict[int, MadeView]) -> Iterator[StationDay]:
    """The work of each station and day: day by day, the stations by name."""
    found: dict[tuple[datetime.date, str], tuple[str, list[Work]]] = {}
    for station, day, run, steps in prep_rows(order):
        name = run.sheet.house.stations[station].name
        _, work = found.setdefault((day, station), (name, []))
        work.append(Work(views[run.number], tuple(_step(run, one) for one in steps)))
    for (day, station), (name, work) in sorted(
        found.items(), key=lambda one: (one[0][0], one[1][0], one[0][1])
    ):
        yield StationDay(station, name, day, day_words(day), tuple(work))


def _step(run: Run, one: TimedStep) -> StepTime:
    verb = next(
        (w.step.verb for w in run.sheet.walk.steps if w.step.id == one.step.id), one.step.id
    )
    time = duration(one.seconds) if one.seconds is not None else ""
    start = clock(one.start(run.ready))
    return StepTime(start, one.step.id, one.step.number, verb, time, one.by_loads)


def _bought(one: Bought) -> BuyView:
    packs = listed([f"{count} × {amount.text}" for amount, count in one.packs or ()])
    return BuyView(
        one.item,
        one.name,
        packs,
        kilos(one.missing) if one.missing else "",
        kilos(one.needs),
        kilos(one.on_shelf) if one.on_shelf else "",
        kilos(one.bought) if not one.comes else "",
        kilos(one.left) if one.packs and one.left else "",
        _last(one.first),
        tuple((day_words(day), kilos(grams)) for day, grams in one.days),
        one.comes,
    )


def _shelved(one: OnShelf) -> ShelfView:
    return ShelfView(
        one.item,
        one.name,
        kilos(one.there),
        kilos(one.used) if one.used else "",
        kilos(one.left) if one.left else "",
        _last(one.last),
        one.past,
        tuple(map(day_words, one.days)),
    )


def _label(one: Label) -> LabelView:
    return LabelView(
        one.formula,
        one.name,
        counted(one.many, "label"),
        one.each or "batch",
        day_words(one.made),
        _last(one.use_by),
    )


def _left(order: Order) -> Iterator[LeftView]:
    """What whole batches and whole packs leave, as far as a scale shows it."""
    for run in order.runs:
        if run.left_g >= _LEAST:
            ready = day_words(run.ready.date())
            yield LeftView(run.sheet.name, ready, kilos(run.left_g), _last(run.last))
    for one in order.shopping:
        if one.packs and one.left >= _LEAST:
            yield LeftView(one.name, Day(), kilos(one.left), Day())
