"""The statement of a formula's ingredients: what went in and stayed, the heaviest first, what is
made ahead or bought ready-made with its own ingredients in brackets.

Weights are those that were weighed in, less what stayed behind in a pickle or was poured off
(21 CFR 101.4(a)(1); Regulation (EU) No 1169/2011, Article 18(1)). By the law of the European Union
added water counts by what is left of it in the finished food (Annex VII, part A, point 1). Of what
a step pours off without saying of what, nobody knows what it was: all counts as weighed in, and the
statement says so.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from generator.records.ingredient import Allergen, Ingredient
from generator.records.label_law import LabelLaw
from generator.resolve.joined import House, JoinedLine
from generator.sheet.sheet import allergens_of
from generator.sheet.walked import Walk, WalkedStep

SMALL = Fraction(2, 100)
"""Ingredients of this share or less may stand in any order (21 CFR 101.4(a)(2)); under it, in the
European Union (Annex VII, part A, point 6)."""
_WATER = Fraction(99, 100)
"""What is water by its composition from this share on."""
WATER = "water"
_POURED = frozenset({"drains", "soaks", "brines", "takes-off"})
"""What a step with one of these loses is poured off or taken off."""
_NOT_TOUCHED = ("hot-holding",)
"""Machines that food stands in, in a vessel of its own."""


@dataclass(frozen=True)
class Stated:
    """One ingredient of the statement: ``grams`` of it at factor 1, ``share`` of all that went in,
    ``of_finished`` of the finished weight. ``inside`` is what it is made of here, ``says`` what its
    own label says it is made of; ``water`` that it is added water, ``quid`` that its share is
    asked for; ``small`` that it may stand in any order behind the others; ``unsaid`` that it is a
    cure and what it is made of isn't all stated."""

    item: str
    name: str
    grams: Fraction
    share: Fraction
    of_finished: Fraction
    allergens: tuple[Allergen, ...]
    inside: tuple[Stated, ...] = ()
    says: tuple[str, ...] = ()
    water: bool = False
    quid: bool = False
    small: bool = False
    unsaid: bool = False


@dataclass(frozen=True)
class Shared:
    """Equipment that food of this formula touches and that also handles an allergen it has none of:
    the machine's or vessel's name, and each allergen with the formulas that bring it."""

    equipment: str
    allergens: tuple[tuple[Allergen, tuple[str, ...]], ...]


@dataclass(frozen=True)
class Statement:
    """The statement of a formula: its ingredients in order, and the equipment it shares. ``lost``
    is whether it weighs less than went in; ``poured`` are the steps, with their numbers, that pour
    off nobody says what; ``unsaid`` the cures of which it isn't all stated what they are made of.
    """

    law: LabelLaw
    ingredients: tuple[Stated, ...]
    allergens: tuple[Allergen, ...]
    shared: tuple[Shared, ...]
    lost: bool
    poured: tuple[tuple[int, str], ...]
    unsaid: tuple[str, ...] = ()


class Statements(Mapping[str, tuple[Stated, ...]]):
    """The ingredients of each formula, by its id, each worked out once after those in it."""

    def __init__(self, house: House, walks: Mapping[str, Walk], law: LabelLaw) -> None:
        self._house, self._walks, self.law = house, walks, law
        self._found: dict[str, tuple[Stated, ...]] = {}

    def __getitem__(self, formula: str) -> tuple[Stated, ...]:
        waiting = [formula]
        while waiting:
            ident = waiting[-1]
            first = [i for i in self._walks[ident].formula.sub_formulas if i not in self._found]
            waiting += first
            if not first:
                waiting.pop()
                if ident not in self._found:
                    self._found[ident] = self._stated(self._walks[ident])
        return self._found[formula]

    @functools.cached_property
    def brought(self) -> Brought:
        """What every formula brings to the equipment that its food touches."""
        return brought_by(self._walks)

    def __iter__(self) -> Iterator[str]:
        return iter(self._walks)

    def __len__(self) -> int:
        return len(self._walks)

    def _stated(self, walk: Walk) -> tuple[Stated, ...]:
        """The ingredients of one formula, what is the same of several parts as one, the heaviest
        first; of the same weight, in the order they are weighed."""
        lines = {line.joined.item: line for line in reversed(walk.lines)}
        stated = [self._one(walk, line.joined) for line in reversed(lines.values())]
        dry = [one for one in stated if not one.water]
        water = [one for one in stated if one.water]
        held = [*dry, *self._left_of_water(walk, dry, water)]
        return _in_order(held, walk.end.mass, self.law.water_left)

    def _one(self, walk: Walk, line: JoinedLine) -> Stated:
        """The ingredient of a line, with all of it that other lines bring."""
        facts, grams = line.ingredient, staying(walk, line.item)
        cure, whole = of_a_cure(facts) if facts is not None else ((), True)
        return Stated(
            line.item,
            _as_eaten(walk, line),
            grams,
            Fraction(0),
            Fraction(0),
            facts.allergens if facts is not None else (),
            self._inside(line.item, grams) if facts is None else (),
            (facts.contains_ingredients or cure) if facts is not None else (),
            facts is not None and is_water(self._house, facts),
            line.item in walk.formula.formula.quid,
            unsaid=not whole,
        )

    def _inside(self, formula: str, grams: Fraction) -> tuple[Stated, ...]:
        """What is in a formula made ahead, for so many grams of what went into it and stayed."""
        inside = self._found[formula]
        total = sum((one.grams for one in inside), Fraction(0))
        return tuple(_times(one, grams / total) for one in inside) if total else ()

    def _left_of_water(self, walk: Walk, dry: list[Stated], water: list[Stated]) -> list[Stated]:
        """All water as one, under its usual name; by the law of the European Union what is left of
        it: the finished food less all the other ingredients."""
        if not water:
            return []
        grams = sum((one.grams for one in water), Fraction(0))
        if self.law.water_left:
            others = sum((one.grams for one in dry), Fraction(0))
            grams = min(max(walk.end.mass - others, Fraction(0)), grams)
        asked = any(one.quid for one in water)
        return [replace(water[0], item=WATER, name="Water", grams=grams, quid=asked)]


def poured_off(walk: Walk) -> tuple[tuple[int, str], ...]:
    """The steps of a formula, by number and name, that pour off or take off something and don't say
    of what."""
    return tuple(
        (walked.step.number, walked.step.verb)
        for walked in walk.steps
        if walked.step.effects & _POURED
        and walked.step.yields is not None
        and walked.step.yields.mean < 1
    )


def staying(walk: Walk, item: str) -> Fraction:
    """The grams of an ingredient or made-ahead formula that were weighed in and stay in the
    finished food, at factor 1."""
    return sum(
        (c.grams for c in walk.end.components if (c.came or c.item) == item),
        Fraction(0),
    )


_RAW_WORD = re.compile(
    r"(?:[\s,]+\(?|^|\()(?:raw|uncooked|unpasteuri[sz]ed)\b\)?(?=[\s,)]|$)[\s,]*", re.IGNORECASE
)


def _as_eaten(walk: Walk, line: JoinedLine) -> str:
    """An ingredient's name on the statement: without its word for raw where this formula cooks all
    of it, "Goat milk" of "Raw goat milk" in a cheese of heated milk."""
    facts = line.ingredient
    inside = [c for c in walk.end.components if (c.came or c.item) == line.item and c.grams]
    if facts is None or facts.state != "raw" or not inside or not all(c.cooked for c in inside):
        return line.name
    name = _RAW_WORD.sub(" ", line.name).strip(" ,")
    return name[:1].upper() + name[1:] if name else line.name


_ALL = Fraction(1)


def of_a_cure(facts: Ingredient) -> tuple[tuple[str, ...], bool]:
    """What a cure is made of by what is stated of it, the most first, where its own label's words
    aren't: common salt, and the nitrite it names; and whether that is all of it. Its nitrate may be
    of sodium or of potassium, and what makes a plant's nitrite isn't nitrite alone."""
    if facts.function != "cure" or facts.contains_ingredients:
        return (), True
    nitrite, salt = facts.nitrite or Fraction(0), facts.salt or Fraction(0)
    if nitrite == _ALL:
        return (), True  # one substance: its name is all there is to say
    named = "" if facts.nitrite_from == "vegetable" else facts.nitrite_from.replace("-", " ")
    parts = sorted(((salt, "salt"), (nitrite, named)), reverse=True)
    found = tuple(name for share, name in parts if share and name)
    return found, bool(named) and salt + nitrite == _ALL and not facts.nitrate


def _unsaid(stated: Iterable[Stated]) -> Iterator[str]:
    """The cures of which it isn't all stated what they are made of, also within what is made
    ahead."""
    for one in stated:
        if one.unsaid:
            yield one.name
        yield from _unsaid(one.inside)


def is_water(house: House, facts: Ingredient) -> bool:
    """Whether an ingredient is water, or ice, by its foodstuff, its name or its composition."""
    if facts.foodstuff in ("water-tap", "ice"):
        return True
    if any(one.food == WATER for one in house.library.known_names.of_names((facts.name,))):
        return True
    stuff = house.library.foodstuffs.get(facts.foodstuff or "")
    shares = facts.composition or (stuff.composition if stuff is not None else None)
    return shares is not None and shares.water is not None and shares.water.low >= _WATER


def _in_order(
    stated: Iterable[Stated], finished: Fraction, by_finished: bool
) -> tuple[Stated, ...]:
    """Ingredients with their shares, the heaviest first; what is all gone is none. ``by_finished``:
    what is small is so by its share of the finished food, below 2 %, and not of all that went
    in."""
    held = [one for one in stated if one.grams]
    total = sum((one.grams for one in held), Fraction(0))
    found = []
    for one in sorted(held, key=lambda one: -one.grams):
        share = one.grams / total
        of_finished = one.grams / finished if finished else Fraction(0)
        small = of_finished < SMALL if by_finished else share <= SMALL
        found.append(replace(one, share=share, of_finished=of_finished, small=small))
    return tuple(found)


def _times(one: Stated, factor: Fraction) -> Stated:
    inside = tuple(_times(part, factor) for part in one.inside)
    return replace(one, grams=one.grams * factor, inside=inside)


def allergens_in(one: Stated) -> tuple[Allergen, ...]:
    """The allergens of an ingredient and of all that it is made of."""
    inside = (a for part in one.inside for a in allergens_in(part))
    return tuple(dict.fromkeys((*one.allergens, *inside)))


def _touched(walk: Walk) -> Iterator[tuple[str, WalkedStep]]:
    """Each machine and vessel that food touches at a step of a formula, by its name; what is washed
    there touches nothing."""
    for walked in walk.steps:
        step = walked.step
        if "cleans" in step.effects:
            continue
        if step.machine is not None and step.machine.kind not in _NOT_TOUCHED:
            yield step.machine.name, walked
        if step.vessel is not None:
            yield step.vessel.name, walked


def _with_made_ahead(walks: Mapping[str, Walk], formula: str) -> tuple[str, ...]:
    """A formula and all that is made ahead for it, by their ids."""
    found, waiting = {formula: None}, [formula]
    while waiting:
        new = [i for i in walks[waiting.pop()].formula.sub_formulas if i not in found]
        found |= dict.fromkeys(new)
        waiting += new
    return tuple(found)


Brought = Mapping[str, Mapping[Allergen, Mapping[str, str]]]
"""The allergens brought to each machine and vessel, by its name, with the names of the formulas
that bring them, by their ids."""


def brought_by(walks: Mapping[str, Walk]) -> Brought:
    """What every formula brings to the equipment that its food touches."""
    found: dict[str, dict[Allergen, dict[str, str]]] = {}
    for ident, walk in walks.items():
        for name, walked in _touched(walk):
            for allergen in _in_there(walked):
                by = found.setdefault(name, {}).setdefault(allergen, {})
                by[ident] = walk.formula.formula.name
    return found


def shared_equipment(
    walks: Mapping[str, Walk], brought: Brought, formula: str
) -> tuple[Shared, ...]:
    """The machines and vessels that a formula's food touches, and that of what is made ahead for
    it, where other formulas bring allergens that it has none of."""
    own = {a for c in walks[formula].end.components for a in c.allergens}
    family = _with_made_ahead(walks, formula)
    mine = dict.fromkeys(name for one in family for name, _ in _touched(walks[one]))
    found = ((name, _of_others(brought.get(name, {}), own, formula)) for name in mine)
    return tuple(_shared(name, by) for name, by in found if by)


def _of_others(
    brought: Mapping[Allergen, Mapping[str, str]], own: set[Allergen], formula: str
) -> dict[Allergen, tuple[str, ...]]:
    """The allergens that other formulas bring, each with their names."""
    found = {
        allergen: tuple(dict.fromkeys(name for ident, name in by.items() if ident != formula))
        for allergen, by in brought.items()
        if allergen not in own
    }
    return {allergen: names for allergen, names in found.items() if names}


def _shared(equipment: str, by: Mapping[Allergen, Iterable[str]]) -> Shared:
    return Shared(equipment, tuple((a, tuple(by[a])) for a in sorted(by, key=str)))


def _in_there(walked: WalkedStep) -> dict[Allergen, None]:
    """The allergens that are in the food of a step."""
    return {a: None for c in walked.before.components for a in c.allergens}


def statement_of(
    house: House, walks: Mapping[str, Walk], stated: Statements, formula: str
) -> Statement:
    """The whole statement of a formula; ``stated`` holds the ingredients by the law in force."""
    walk = walks[formula]
    items = {line.joined.item for line in walk.lines}
    return Statement(
        stated.law,
        stated[formula],
        allergens_of(house, walks[formula]),
        shared_equipment(walks, stated.brought, formula),
        walk.end.mass < sum((staying(walk, item) for item in items), Fraction(0)),
        poured_off(walk),
        tuple(dict.fromkeys(_unsaid(stated[formula]))),
    )
