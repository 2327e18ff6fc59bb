"""Plans joined: which formula each dish is, what its amount counts, when it is served; what is on
the shelf."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from generator.files.finding import Finding, Place, Refused, Severity
from generator.measures.amounts import Amount
from generator.measures.words import date
from generator.records.makes import Makes
from generator.records.plan import Plan, PlannedDish, Shelved
from generator.records.size import Size
from generator.resolve.formulas import size_in_own_words, words_for_sizes
from generator.resolve.joined import JoinedFormula
from generator.resolve.names import Names

_BATCHES = re.compile(r"batch(?:es)?")


@dataclass(frozen=True)
class JoinedDish:
    """A dish of a plan: ``size`` of a formula by its id, or so many ``batches`` of its usual size,
    ready at ``due``; ``text`` is its amount as typed."""

    formula: str
    size: Size
    batches: int
    due: datetime.datetime
    text: str


@dataclass(frozen=True)
class JoinedShelf:
    """What is on the shelf: an ingredient's ``amount``, or a ``size`` of a formula; ``place`` is
    where it is written."""

    item: str
    amount: Amount
    size: Size | None
    made: datetime.date | None
    use_by: datetime.date | None
    place: Place


@dataclass(frozen=True)
class JoinedPlan:
    """A plan with all it names. ``about`` are the formulas its dishes need by name, ``sound`` that
    nothing is wrong with it."""

    id: str
    plan: Plan
    dishes: tuple[JoinedDish, ...]
    shelf: tuple[JoinedShelf, ...]
    sound: bool

    @property
    def formulas(self) -> tuple[str, ...]:
        """The ids of the formulas it serves, once each."""
        return tuple(dict.fromkeys(dish.formula for dish in self.dishes))


def join_plans(
    names: Names, joined: Mapping[str, JoinedFormula], as_of: datetime.date
) -> dict[str, JoinedPlan]:
    """Every plan with its names joined; what is wrong goes to the findings."""
    return {
        i: _Joining(names, joined, as_of, i, p).plan() for i, p in names.standards.plans.items()
    }


@dataclass
class _Joining:
    """One plan on its way."""

    names: Names
    joined: Mapping[str, JoinedFormula]
    as_of: datetime.date
    ident: str
    record: Plan

    def plan(self) -> JoinedPlan:
        before = len(self.names.findings)
        self._clash()
        dishes = tuple(self._dishes())
        self._twice(dishes)
        shelf = tuple(self._shelf())
        failed = any(f.is_error for f in self.names.findings[before:])
        found = tuple(dish for _, dish in dishes)
        sound = not failed and len(found) == len(self.record.dishes)
        return JoinedPlan(self.ident, self.record, found, shelf, sound)

    def report(
        self,
        code: str,
        severity: Severity,
        place: Place,
        words: str,
        help: str,
        write: tuple[str, ...] = (),
    ) -> None:
        about = frozenset({f"plan:{self.ident}"})
        self.names.findings.append(Finding(code, severity, words, place, help, write, about=about))

    def _clash(self) -> None:
        """A plan called as a formula or an ingredient is."""
        held = self.names.standards
        for kind, records in (
            ("a formula", held.formula_files),
            ("an ingredient", held.ingredients),
        ):
            if self.ident in records:
                words = f"`{self.ident}` is a plan and {kind}."
                help = "An id may be used once only. Rename the plan's file."
                self.report("id-twice", "error", self.record.place(), words, help)

    def _dishes(self) -> Iterator[tuple[PlannedDish, JoinedDish]]:
        """The dishes that can be planned: of a formula that is known, at a time that is said."""
        late: list[PlannedDish] = []
        for dish in self.record.dishes:
            due = self._due(dish)
            if not self._known(dish) or due is None:
                continue
            if due.date() < self.as_of:
                late.append(dish)
            formula = self.joined.get(dish.dish)
            size: Size | None = dish.amount
            if formula is not None:
                size = self._size(dish, formula.formula.makes)
            if size is not None:
                batches = _batches(size, formula)
                yield dish, JoinedDish(dish.dish, size, batches, due, _typed(dish))
        if late:
            self._past(late)

    def _past(self, late: list[PlannedDish]) -> None:
        """Dishes whose day is over: they are not planned any more."""
        first = late[0]
        whole = len(late) == len(self.record.dishes)
        which = "Every day of this plan" if whole else f"The day of {len(late)} of its dishes"
        words = f"{which} is past on {date(self.as_of)}. Nothing is ordered for it."
        place = first.place("day") if first.day is not None else self.record.place("day")
        self.report("plan-day-past", "note", place, words, "Write the days to come.")

    def _known(self, dish: PlannedDish) -> bool:
        held = self.names.standards
        if dish.dish in held.formula_files:
            return True
        card = held.cards.get(dish.dish)
        if card is not None:
            words = f"`{dish.dish}` is a card. Each of its endings is a formula of its own."
            place = dish.place("dish")
            fixes = tuple(place.fixed(one) for one in card.endings)
            self.report("plan-dish-unknown", "error", place, words, "Name the ending.", fixes)
            return False
        if dish.dish in held.ingredients:
            words = f"`{dish.dish}` is an ingredient. A plan serves what is made here."
            help = "Name a formula. What is only bought is in no plan."
            self.report("plan-dish-unknown", "error", dish.place("dish"), words, help)
            return False
        known = list(held.formula_files)
        about = f"plan:{self.ident}"
        self.names.unknown(
            "plan-dish-unknown", "formula", dish.dish, dish.place("dish"), known, about
        )
        return False

    def _due(self, dish: PlannedDish) -> datetime.datetime | None:
        """When it is served; None, and a finding, where the day or the hour isn't said."""
        day, at = dish.day or self.record.day, dish.at or self.record.at
        missing = [key for key, said in (("day", day), ("at", at)) if said is None]
        if day is None or at is None:
            keys = " and ".join(f"`{key}`" for key in missing)
            self.report(
                "plan-when-missing",
                "error",
                dish.place(),
                f"When is {dish.dish} served? {keys} {'is' if len(missing) == 1 else 'are'} "
                "missing.",
                "Write it for this dish, or at the top for every dish that gives none.",
            )
            return None
        return datetime.datetime.combine(day, at)

    def _size(self, dish: PlannedDish, makes: Makes | None) -> Size | None:
        """The amount in the formula's own words; None, and a finding, where it makes no such."""
        if _counts_batches(dish.amount) and "batch" not in words_for_sizes(makes)[0]:
            return dish.amount
        try:
            size = size_in_own_words(makes, dish.amount)
            if size.kind == "portions" and not _has_portions(makes):
                raise Refused(
                    "portion-missing",
                    "This formula doesn't say what a portion is.",
                    "Write it under `makes` as `portion`, or plan a weight or batches.",
                )
            if size.by_volume:
                raise Refused(
                    "size-unreadable", "A plan takes no base by volume.", "Write its weight."
                )
        except Refused as refused:
            words = f"{dish.dish}: {refused.message}"
            self.report("plan-amount", "error", dish.place("amount"), words, refused.help)
            return None
        return size

    def _twice(self, dishes: tuple[tuple[PlannedDish, JoinedDish], ...]) -> None:
        """A dish that comes twice for the same hour: both are made, and it is asked about."""
        seen: set[tuple[str, datetime.datetime]] = set()
        for dish, one in dishes:
            key = (one.formula, one.due)
            if key in seen:
                self.report(
                    "plan-dish-twice",
                    "warning",
                    dish.place("dish"),
                    f"{dish.dish} is served twice at the same hour. Both are made.",
                    "Put both amounts in one line, or delete one of them.",
                )
            seen.add(key)

    def _shelf(self) -> Iterator[JoinedShelf]:
        held = self.names.standards
        for one in self.record.on_shelf:
            formula = one.item in held.formula_files
            if not formula and one.item not in held.ingredients:
                known = [*held.formula_files, *held.ingredients]
                about = f"plan:{self.ident}"
                what = "ingredient or formula"
                place = one.place("item")
                self.names.unknown("plan-shelf-unknown", what, one.item, place, known, about)
                continue
            if not self._dated(one, formula):
                continue
            size = None
            if formula:
                size = self._shelf_size(one)
                if size is None:
                    continue
            place = one.place("item")
            yield JoinedShelf(one.item, one.amount, size, one.made, one.use_by, place)

    def _dated(self, one: Shelved, formula: bool) -> bool:
        """Whether the days of what is on the shelf can be so."""
        if one.made is not None and not formula:
            words = f"{one.item} is bought: it has no day on which it was made."
            help = "Write `use_by` for the day on its pack, and delete `made`."
            self.report("plan-shelf-day", "error", one.key_place("made"), words, help)
            return False
        if one.made is not None and one.made > self.as_of:
            words = f"{one.item}: made on {date(one.made)}, and today is {date(self.as_of)}."
            help = "What is still to be made isn't on the shelf: it isn't counted."
            self.report("plan-shelf-day", "warning", one.place("made"), words, help)
            return False
        if one.made is not None and one.use_by is not None and one.use_by < one.made:
            words = f"{one.item}: its last day is before the day it was made."
            self.report("plan-shelf-day", "error", one.place("use_by"), words, "Check the days.")
            return False
        if formula and one.made is None and one.use_by is None:
            words = f"{one.item}: on which day was it made? Without a day it isn't counted."
            help = "Write `made`, or `use_by` as its label says."
            self.report("plan-shelf-undated", "warning", one.place(), words, help)
            return False
        return True

    def _shelf_size(self, one: Shelved) -> Size | None:
        """How much of a formula is on the shelf, as a size; None, and a finding where the amount is
        none it makes; None alone where the formula itself can't be read."""
        formula = self.joined.get(one.item)
        if formula is None:
            return None
        kind = _counts_as(one.amount, formula.formula.makes)
        if kind is not None:
            return Size(kind, one.amount.value, one.amount.text)
        words = f"`{one.amount.text}` of {one.item} can't be weighed."
        counts = ", ".join(sorted(_countable(formula.formula.makes)))
        help = f"Write its weight, or count {counts}." if counts else "Write its weight."
        self.report("plan-amount", "error", one.place("amount"), words, help)
        return None


def _counts_as(amount: Amount, makes: Makes | None) -> Literal["yield", "fills", "portions"] | None:
    """What an amount of a formula counts: its weight, its fills or its portions; None for none of
    them."""
    if amount.kind == "mass":
        return "yield"
    if amount.kind != "count" or amount.unit not in _countable(makes):
        return None
    return "fills" if amount.unit in words_for_sizes(makes)[0] else "portions"


def _countable(makes: Makes | None) -> set[str]:
    """The words by which a formula can be counted."""
    fills, portions = words_for_sizes(makes)
    found = fills if makes is not None and makes.fills else set[str]()
    return found | (portions if _has_portions(makes) else set[str]())


def _typed(dish: PlannedDish) -> str:
    """An amount as typed, or as its kind says it."""
    size = dish.amount
    if size.kind in ("fills", "portions"):
        return f"{size.value} {size.text}"
    return size.text


def _counts_batches(size: Size) -> bool:
    return size.kind == "fills" and _BATCHES.fullmatch(size.text) is not None


def _batches(size: Size, formula: JoinedFormula | None) -> int:
    """How many batches of its usual size are asked for; 0 where a size is, or where the formula
    calls one of its fills a batch."""
    makes = formula.formula.makes if formula is not None else None
    own = words_for_sizes(makes)[0]
    return int(size.value) if _counts_batches(size) and size.text not in own else 0


def _has_portions(makes: Makes | None) -> bool:
    """Whether a formula says what a portion is."""
    if makes is None:
        return False
    said = (makes.portions, makes.slice, makes.piece)
    return makes.by_portions or (makes.fills and any(one is not None for one in said))
