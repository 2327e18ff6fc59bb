"""What a finished formula is made of: its lines' contents through its steps, with what each loses.

Which way a loss leaves is concluded from the step and the food, never from the verb. Where heat or
air takes it, it is water. Where work leaves some in a machine, it is the mixture. Where it may be
fat, juice or pickle as well as water (meat and fish in the heat, frying, what is soaked, drained or
thawed), it isn't known, and only bounds remain.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from generator.composition.balance import Balance, Leaves, mixed
from generator.composition.contents import Contents, contents_of
from generator.records.ingredient import Ingredient
from generator.resolve.joined import House
from generator.rules.basics.product import Product
from generator.rules.cures.brining import share_taken_up
from generator.sheet.walked import Walk, WalkedStep
from generator.sheet.weighing import WeighedLine

SODIUM = "salt-of-sodium"
_DRAWN = frozenset({"takes-off", "soaks", "brines", "injects", "thaws", "slacks"})
"""What is poured off, drawn out or taken up is no share of the mixture."""
_HEATED = frozenset({"cooks", "part-cooks", "reheats"})
_DRIED = frozenset(
    {
        "heats",
        "holds-hot",
        "cools",
        "freezes",
        "waits",
        "raises",
        "ferments",
        "dries",
        "ages",
        "smokes",
        "displays",
        "stores",
    }
)
"""What air or gentle heat takes is water."""
_DRY_HEAT = ("oven", "microwave", "kettle", "pot", "bath", "pressure-cooker", "hot-holding")
_NO_FLESH = ("none", "egg")


@dataclass(frozen=True)
class Made:
    """What a finished formula is made of, at factor 1; each thing in it with the source of its
    composition, "" where it has none."""

    balance: Balance
    sources: tuple[tuple[str, str], ...]


def made_by(house: House, walks: Mapping[str, Walk]) -> dict[str, Made]:
    """What each formula is made of once it is finished, by its id; a formula comes after those it
    is made of."""
    found: dict[str, Made] = {}
    known: dict[str, Contents] = {}
    for ident, walk in walks.items():
        found[ident] = _made_of(house, walk, found, known)
    return found


def _made_of(
    house: House, walk: Walk, others: Mapping[str, Made], known: dict[str, Contents]
) -> Made:
    mixing = _Mixing(house, walk, others, known)
    for walked in walk.steps:
        mixing.take_step(walked)
    return Made(mixing.whole(), tuple(dict.fromkeys(mixing.sources)))


def contents_in(house: House, facts: Ingredient) -> Contents:
    """What an ingredient is made of, its foodstuff looked up."""
    stuff = house.library.foodstuffs.get(facts.foodstuff or "")
    return contents_of(facts, stuff.composition if stuff is not None else None)


def source_of(house: House, line: WeighedLine) -> str:
    """Where a line's composition comes from: a source, or that it is made here; "" if from
    nowhere."""
    facts = line.joined.ingredient
    if facts is None:
        return "made here"
    if facts.composition is not None:
        return facts.composition.source
    stuff = house.library.foodstuffs.get(facts.foodstuff or "")
    if stuff is None or not stuff.composition.any_stated:
        return "all of it, by its function" if facts.function == "salt" else ""
    number = f", food {stuff.usda}" if stuff.usda else ""
    return f"{house.library.source_title(stuff.source)}{number}"


class _Mixing:
    """The mixture under way: parts still whole, and what went through a loss already."""

    def __init__(
        self, house: House, walk: Walk, others: Mapping[str, Made], known: dict[str, Contents]
    ) -> None:
        self.sources: list[tuple[str, str]] = []
        parts: dict[str, list[tuple[str, Contents, Fraction]]] = {}
        for line in walk.lines:
            facts, item = line.joined.ingredient, line.joined.item
            if item not in known:
                known[item] = (
                    contents_in(house, facts)
                    if facts is not None
                    else others[item].balance.contents
                )
            brought = line.joined.name, known[item], line.grams
            parts.setdefault(line.joined.part, []).append(brought)
            self.sources.append((line.joined.name, source_of(house, line)))
        self.waiting = {part: mixed(items) for part, items in parts.items()}
        self.apart: dict[str, Balance] = {}
        self.mixed = Balance()
        self.closed = False

    def whole(self) -> Balance:
        """All of it together."""
        found = self.mixed
        for part in self.apart.values():
            found = found.joined(part) if found.grams else part
        return found

    def take_step(self, walked: WalkedStep) -> None:
        """The next step: what comes to it, what of a part is thrown away, what is lost."""
        for part in walked.step.parts:
            if part in self.waiting:
                self.apart[part] = self.waiting.pop(part)
        self._throw_away(walked)
        loses = walked.step.step.loses
        if loses:
            self.mixed, self.apart = self.whole(), {}
            name = f"what step {walked.step.number} loses"
            lost = self.mixed.grams * loses
            self.mixed = self.mixed.minus(lost, leaves_by(walked, self.closed), name)
        self.closed = self.closed or bool(walked.step.effects & {"fills", "packs"})

    def _throw_away(self, walked: WalkedStep) -> None:
        """What a step leaves of a part it doesn't keep all of: a pickle that isn't taken up."""
        if share_taken_up(walked.step) is None:
            return
        after = _by_part(walked.after)
        for part, grams in _by_part(walked.before).items():
            kept = after.get(part, Fraction(0)) / grams if grams else Fraction(1)
            if kept >= 1:
                continue
            if part in self.apart:
                self.apart[part] = self.apart[part].times(kept)
            else:
                name = f"what step {walked.step.number} throws away"
                self.mixed = self.mixed.minus(grams * (1 - kept), "unknown", name)


def _by_part(product: Product) -> dict[str, Fraction]:
    """The grams of each part in a product, as they went in."""
    found: dict[str, Fraction] = {}
    for component in product.components:
        found[component.part] = found.get(component.part, Fraction(0)) + component.grams
    return found


def leaves_by(walked: WalkedStep, closed: bool) -> Leaves:
    """How what a step loses leaves: as water, as the mixture, or nobody knows; ``closed``: it was
    filled or packed by then."""
    effects = walked.step.effects
    if effects & _DRAWN:
        return "unknown"
    if effects & _HEATED:
        return "water" if _only_steams(walked, closed) else "unknown"
    return "water" if effects & _DRIED else "mixture"


def _only_steams(walked: WalkedStep, closed: bool) -> bool:
    """Whether heat takes water alone: baked or boiled down without fat to drip or fry in."""
    effects, machine = walked.step.effects, walked.step.machine
    if "in-water" in effects:  # in its own liquid; what is in a casing loses to the bath
        return not closed and (not _flesh(walked.before) or _mostly_liquid(walked.before))
    dry = "bakes" in effects or (machine is not None and machine.kind in _DRY_HEAT)
    return dry and not _flesh(walked.before)


def _flesh(product: Product) -> bool:
    """Whether meat or fish is in it, from which fat and juice run."""
    return any(c.species not in _NO_FLESH for c in product.components)


def _mostly_liquid(product: Product) -> bool:
    """Whether at least half of it went in as liquid: a soup, which loses steam alone."""
    grams = sum((c.grams for c in product.components), Fraction(0))
    liquid = sum((c.grams for c in product.components if c.form == "liquid"), Fraction(0))
    return liquid * 2 >= grams
