"""What a finished formula is made of: its lines' contents through its steps, with what each loses.

Which way a loss leaves is concluded from the step and the food, never from the verb. Where heat or
air takes it, it is water. Where work leaves some in a machine, it is the mixture. Where it may be
fat, juice or pickle as well as water (meat and fish in the heat, frying, what is soaked, drained or
thawed), it isn't known, and only bounds remain.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction

from generator.composition.balance import Balance, Leaves, mixed
from generator.composition.contents import Contents, contents_of
from generator.composition.nutrients import labelled
from generator.records.ingredient import Ingredient
from generator.resolve.joined import House
from generator.rules.basics.product import Product
from generator.sheet.walked import Leftover, Walk, WalkedStep
from generator.sheet.weighing import WeighedLine

SODIUM = "salt-of-sodium"
_DRAWN = frozenset({"takes-off", "drains", "soaks", "brines", "injects", "thaws", "slacks"})
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
_IN_A_LIQUID = frozenset({"in-water"})
_LATEST = 32
_NO_FLESH = ("none", "egg")
_PARTS = frozenset({"divides", "cuts", "slices", "fills"})
"""What shares a mixture out as it is."""


@dataclass(frozen=True)
class Made:
    """What a finished formula is made of, at factor 1; each thing in it with the source of its
    composition, "" where it has none; and what is at each step, by its number, before the step
    takes from it or adds to it."""

    balance: Balance
    sources: tuple[tuple[str, str], ...]
    at: Mapping[int, Balance] = field(default_factory=dict)


class MadeBy(Mapping[str, Made]):
    """What each formula is made of once it is finished, by its id: each worked out when it is first
    asked for, after those that it is made of. ``labelled``: with all that a label asks for, which
    nothing else does, and without what is at each step.

    What others are made of is kept, and the latest of the rest: whoever asks twice for one asks
    soon, and thousands take much room.
    """

    def __init__(self, house: House, walks: Mapping[str, Walk], *, labelled: bool = False) -> None:
        self._house, self._walks = house, walks
        self._labelled = labelled
        self._found: dict[str, Made] = {}
        self._taken = {one for walk in walks.values() for one in walk.formula.sub_formulas}
        self._latest: deque[str] = deque()
        self._known: dict[str, Contents] = {}

    def __getitem__(self, formula: str) -> Made:
        waiting = [formula]
        while waiting:
            ident = waiting[-1]
            needs = self._walks[ident].formula.sub_formulas
            first = [one for one in needs if one not in self._found]
            waiting += first
            if not first:
                waiting.pop()
                self._work_out(ident)
        return self._found[formula]

    def _work_out(self, ident: str) -> None:
        if ident not in self._found:
            walk = self._walks[ident]
            mixing = _Mixing(self._house, walk, self._found, self._known, self._labelled)
            self._found[ident] = _made_of(walk, mixing)
            if ident not in self._taken:
                self._latest.append(ident)
        if len(self._latest) > _LATEST:
            del self._found[self._latest.popleft()]

    def __iter__(self) -> Iterator[str]:
        return iter(self._walks)

    def __len__(self) -> int:
        return len(self._walks)


def _made_of(walk: Walk, mixing: _Mixing) -> Made:
    for walked in walk.steps:
        mixing.take_step(walked)
    last, left = walk.steps[-1].step.number, walk.formula.formula.ends_as
    finished = mixing.streams[last, left].whole()
    return Made(finished, tuple(dict.fromkeys(mixing.sources)), mixing.at)


def contents_in(house: House, facts: Ingredient) -> Contents:
    """What an ingredient is made of, its foodstuff looked up."""
    stuff = house.library.foodstuffs.get(facts.foodstuff or "")
    return contents_of(facts, stuff.composition if stuff is not None else None)


def labelled_in(house: House, facts: Ingredient) -> Contents:
    """What an ingredient is made of, with what a label asks for."""
    stuff = house.library.foodstuffs.get(facts.foodstuff or "")
    table, sugars = (stuff.composition, stuff.sugars) if stuff is not None else (None, None)
    return labelled(contents_in(house, facts), facts, table, sugars)


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


@dataclass(frozen=True)
class _Mixture:
    """What goes through the steps together: parts still ``apart``, what went through a loss
    already, and whether it was filled or packed by then."""

    apart: Mapping[str, Balance] = field(default_factory=dict)
    mixed: Balance = field(default_factory=Balance)
    closed: bool = False

    def whole(self) -> Balance:
        """All of it together."""
        found = self.mixed
        for part in self.apart.values():
            found = found.joined(part) if found.grams else part
        return found

    def joined(self, other: _Mixture) -> _Mixture:
        """Two streams that meet."""
        apart = dict(self.apart)
        for part, balance in other.apart.items():
            apart[part] = apart[part].joined(balance) if part in apart else balance
        mixed = self.mixed.joined(other.mixed) if self.mixed.grams else other.mixed
        return _Mixture(apart, mixed, self.closed or other.closed)

    def without(self, grams: Fraction, leaves: Leaves, name: str) -> _Mixture:
        """All of it mixed, without so many grams."""
        return _Mixture({}, self.whole().minus(grams, leaves, name), self.closed)


class _Mixing:
    """The mixing under way: parts that wait for their step, and the streams that steps gave, by
    the step's number and the name of what stayed behind there."""

    def __init__(
        self,
        house: House,
        walk: Walk,
        others: Mapping[str, Made],
        known: dict[str, Contents],
        labelled: bool,
    ) -> None:
        contents, self._by_step = labelled_in if labelled else contents_in, not labelled
        self.sources: list[tuple[str, str]] = []
        parts: dict[str, list[tuple[str, Contents, Fraction]]] = {}
        for line in walk.lines:
            facts, item = line.joined.ingredient, line.joined.item
            if item not in known:
                known[item] = (
                    contents(house, facts) if facts is not None else others[item].balance.contents
                )
            brought = line.joined.name, known[item], line.grams
            parts.setdefault(line.joined.part, []).append(brought)
            self.sources.append((line.joined.name, source_of(house, line)))
        self.waiting = {part: mixed(items) for part, items in parts.items()}
        self.streams: dict[tuple[int, str], _Mixture] = {}
        self.at: dict[int, Balance] = {}

    def take_step(self, walked: WalkedStep) -> None:
        """The next step: what comes to it, what stays behind there, what is lost or gained."""
        step = walked.step
        stream = _Mixture()
        for come in step.comes:
            stream = stream.joined(self.streams[come.number, come.name if come.left else ""])
        own = {part: self.waiting.pop(part) for part in step.parts if part in self.waiting}
        stream = stream.joined(_Mixture(own))
        for left in walked.left:
            stream = self._left_behind(walked, left, stream)
        if self._by_step:
            self.at[step.number] = stream.whole()
        stream = _yielding(walked, stream)
        closed = stream.closed or bool(step.effects & {"fills", "packs"})
        self.streams[step.number, ""] = replace(stream, closed=closed)

    def _left_behind(self, walked: WalkedStep, left: Leftover, stream: _Mixture) -> _Mixture:
        """A stream without what stays behind of it, which is a stream of its own. A pickle that
        the meat doesn't take up stays as it was; of what drains nobody knows what is in it, unless
        food is divided."""
        number = walked.step.number
        parts = {c.part for c in left.product.components if c.grams}
        key = (number, left.name)
        if left.cover is not None and left.taken_up is not None and parts <= stream.apart.keys():
            kept = left.taken_up / left.cover if left.cover else Fraction(1)
            apart = dict(stream.apart)
            self.streams[key] = _Mixture({p: apart[p].times(1 - kept) for p in parts})
            for part in parts:
                apart[part] = apart[part].times(kept)
            return replace(stream, apart=apart)
        name = f"what step {number} leaves behind"
        grams, whole = left.product.mass, stream.whole()
        said = walked.step.step.leaves.get(left.name)
        alike = said is not None and said.of is None and walked.step.effects & _PARTS
        leaves: Leaves = "mixture" if alike else "unknown"
        own = whole.minus(max(whole.grams - grams, Fraction(0)), leaves, name)
        self.streams[key] = _Mixture({}, own, stream.closed)
        return stream.without(grams, leaves, name)


def _yielding(walked: WalkedStep, stream: _Mixture) -> _Mixture:
    """A stream by what a step loses or gains of it, at the middle of a range."""
    found = walked.step.yields
    if found is None or found.mean == 1:
        return stream
    grams = stream.whole().grams * (found.mean - 1)
    if grams > 0:
        name = f"what step {walked.step.number} gains"
        gained = stream.whole().plus(grams, _takes_up_water(walked), name)
        return _Mixture({}, gained, stream.closed)
    name = f"what step {walked.step.number} loses"
    leaves = leaves_by(walked, stream.closed)
    if leaves == "unknown" and _as_juice(walked):
        leaves = "juice"
    return stream.without(-grams, leaves, name)


def _as_juice(walked: WalkedStep) -> bool:
    """Whether what runs out is fat, and juice as strong as the food's own at the most: of meat or
    fish in dry heat. In water or fat more of what is dissolved may go over than its share."""
    effects = walked.step.effects
    return bool(effects & _HEATED) and not effects & (_DRAWN | _IN_A_LIQUID)


def _takes_up_water(walked: WalkedStep) -> bool:
    """Whether what a step gains is water: soaked, or cooked in it. What that water was salted with
    is an ingredient, or isn't counted."""
    machine = walked.step.machine
    wet = machine is not None and machine.kind in ("kettle", "pot", "bath", "pressure-cooker")
    return wet or bool(walked.step.effects & {"in-water", "soaks"})


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
