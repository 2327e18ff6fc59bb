"""What must be bought: as purchased, less what is on the shelf, in whole packs."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from generator.files.finding import Finding, Refused
from generator.intake.standards import Standards
from generator.measures.amounts import Amount
from generator.measures.words import listed, with_verb
from generator.records.ingredient import NOT_BOUGHT, Ingredient
from generator.resolve.joined import House
from generator.resolve.plans import JoinedPlan, JoinedShelf
from generator.scaling.packs import packs_for
from generator.scaling.weights import to_grams
from generator.sheet.weighing import unit_weights_of


@dataclass(frozen=True)
class Bought:
    """An ingredient on the shopping list, all in grams as purchased: what the plan ``needs``, what
    of it is ``on_shelf``, what is ``missing``; the ``packs`` with how many of each, None where no
    pack is entered that can be weighed; ``first`` is the day it is first missing, ``days`` how much
    of what is missing is for each day. ``comes``: it isn't bought, it is there, as tap water."""

    item: str
    name: str
    needs: Fraction
    on_shelf: Fraction
    missing: Fraction
    packs: tuple[tuple[Amount, int], ...] | None
    bought: Fraction
    first: datetime.date | None
    days: tuple[tuple[datetime.date, Fraction], ...]
    comes: bool = False

    @property
    def left(self) -> Fraction:
        """What is left of whole packs, in grams."""
        return self.bought - self.missing


@dataclass
class ShelfLot:
    """So much of an ingredient on the shelf, in grams, and its last day, if it has one."""

    item: str
    name: str
    grams: Fraction
    last: datetime.date | None
    uses: list[tuple[datetime.date, Fraction]] = field(default_factory=list)

    @property
    def left_g(self) -> Fraction:
        return self.grams - sum((grams for _, grams in self.uses), Fraction(0))

    def give(self, day: datetime.date, grams: Fraction) -> Fraction:
        """Use of it what there is, if its day isn't past; what is left to be met."""
        used = min(grams, self.left_g)
        if used <= 0 or (self.last is not None and day > self.last):
            return grams
        self.uses.append((day, used))
        return grams - used


Needed = Mapping[str, Iterable[tuple[datetime.date, Fraction]]]
"""By ingredient: the day it is taken in, and how many grams as purchased."""


def shopping_list(
    house: House, ingredients: Mapping[str, Ingredient], shelf: list[ShelfLot], needed: Needed
) -> tuple[Bought, ...]:
    """What must be bought of each ingredient, in the order of their names. The shelf is used in the
    order of the days, of the soonest last day first."""
    found = [_bought(house, item, ingredients[item], shelf, needed[item]) for item in needed]
    return tuple(sorted(found, key=lambda one: (one.name.casefold(), one.item)))


def _bought(
    house: House,
    item: str,
    facts: Ingredient,
    shelf: list[ShelfLot],
    needed: Iterable[tuple[datetime.date, Fraction]],
) -> Bought:
    mine = sorted(
        (lot for lot in shelf if lot.item == item), key=lambda lot: lot.last or datetime.date.max
    )
    missing: dict[datetime.date, Fraction] = {}
    needs = Fraction(0)
    for day, grams in sorted(needed):
        rest, needs = grams, needs + grams
        for lot in mine:
            rest = lot.give(day, rest)
        if rest:
            missing[day] = missing.get(day, Fraction(0)) + rest
    total = sum(missing.values(), Fraction(0))
    comes = facts.packs == NOT_BOUGHT
    packs = None if comes else _packs(house, facts, total)
    bought = sum((grams * n for _, grams, n in packs), Fraction(0)) if packs is not None else total
    return Bought(
        item,
        facts.name,
        needs,
        needs - total,
        total,
        tuple((amount, n) for amount, _, n in packs) if packs is not None else None,
        bought,
        min(missing, default=None),
        tuple(sorted(missing.items())),
        comes,
    )


def _packs(
    house: House, facts: Ingredient, missing: Fraction
) -> list[tuple[Amount, Fraction, int]] | None:
    """Packs with what one weighs and how many are bought; None where none can be weighed."""
    sizes: list[tuple[Amount, Fraction]] = []
    for amount in facts.packs:
        try:
            sizes.append((amount, pack_g(house, facts, amount)))  # type: ignore[arg-type]
        except Refused:
            continue  # reported by pack_findings
    if not sizes:
        return None
    counts = packs_for(missing, tuple(grams for _, grams in sizes))
    return [(amount, grams, n) for (amount, grams), n in zip(sizes, counts, strict=True) if n]


def pack_g(house: House, facts: Ingredient, amount: Amount) -> Fraction:
    """What an amount of an ingredient weighs, in grams. Raises Refused for a volume or a count that
    nothing weighs."""
    return to_grams(amount, unit_weights_of(house, facts), facts.name).grams


def pack_findings(house: House, ingredients: Mapping[str, Ingredient]) -> list[Finding]:
    """A warning for each pack that can't be weighed: it isn't bought by."""
    found: list[Finding] = []
    for facts in ingredients.values():
        if not isinstance(facts.packs, tuple):
            continue
        failed: dict[str, Refused] = {}
        for amount in facts.packs:
            try:
                pack_g(house, facts, amount)
            except Refused as refused:
                failed[amount.text] = refused
        if failed:
            packs = listed([f"`{text}`" for text in failed])
            help = next(iter(failed.values())).help
            words = f"{facts.name}: what a pack of {packs} weighs isn't known. It is left out."
            found.append(Finding("pack-unweighed", "warning", words, facts.place("packs"), help))
    return found


def shelf_findings(
    house: House, standards: Standards, plans: Mapping[str, JoinedPlan]
) -> list[Finding]:
    """What is wrong with ingredients on the shelf: an amount that nothing weighs, and what needs
    the cold without its last day."""
    found: list[Finding] = []
    for plan in plans.values():
        for one in plan.shelf:
            finding = _shelf_finding(house, standards.ingredients.get(one.item), one)
            if finding is not None:
                about = frozenset({f"plan:{plan.id}"})
                severity, code, words, help = finding
                found.append(Finding(code, severity, words, one.place, help, about=about))  # type: ignore[arg-type]
    return found


def _shelf_finding(
    house: House, facts: Ingredient | None, one: JoinedShelf
) -> tuple[str, str, str, str] | None:
    if facts is None:
        return None
    try:
        pack_g(house, facts, one.amount)
    except Refused as refused:
        return "error", "plan-amount", refused.message, refused.help
    if facts.tcs and one.use_by is None:
        words = (
            f"{with_verb(facts.name, 'needs')} the cold, and its last day isn't said. It isn't "
            "counted."
        )
        return "warning", "plan-shelf-undated", words, "Write `use_by` as its pack or label says."
    return None


def shelf_lot(house: House, facts: Ingredient, one: JoinedShelf) -> ShelfLot | None:
    """An ingredient on the shelf as a lot; None for what isn't counted, as ``shelf_findings``
    says."""
    if facts.tcs and one.use_by is None:
        return None
    try:
        return ShelfLot(one.item, facts.name, pack_g(house, facts, one.amount), one.use_by)
    except Refused:
        return None
