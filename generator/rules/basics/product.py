"""The product's state as it goes through the steps."""

from __future__ import annotations

import functools
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal, TypeVar

from generator.measures.rounding import total
from generator.records.ingredient import Allergen, Ingredient
from generator.reference.row_kinds import ReducedOxygenRow

RAW_STATES = (None, "raw")
_EITHER = ("stuffed", "cooked", "hot", "filled", "by_time", "plants_heated", "mixed")
"""What counts of both once it is so of one."""

if TYPE_CHECKING:
    from dataclasses import replace

    changed = replace  # what it is given is held to the fields
else:
    _T = TypeVar("_T")

    def changed(record: _T, /, **fields: Any) -> _T:
        """A component or a product with other ``fields``, or the same one where none is another:
        ``dataclasses.replace`` sets every field of dozens anew, dozens of times a step."""
        held = record.__dict__
        for name, value in fields.items():
            if held[name] is not value:
                break
        else:
            return record
        known = record.__dataclass_fields__
        if len(held) != len(known):  # what was worked out of it isn't the other's
            held = {name: held[name] for name in known}
        other = object.__new__(type(record))
        other.__dict__.update(held, **fields)
        return other


@dataclass(frozen=True)
class CureFacts:
    """What curing asks of an ingredient beside its nitrite: which salt that is, nitrate and
    erythorbate or ascorbate as shares of its weight, and whether a belly's skin is off."""

    nitrite_from: str = "sodium-nitrite"
    nitrate: Fraction = Fraction(0)
    erythorbate: Fraction = Fraction(0)
    skin: str = ""


NO_CURE = CureFacts()
_ALL = Fraction(1)
"""The share that is left of what nothing was lost of."""


_NAMES_WHAT_ISNT = re.compile(r"\b(?:free|no|not|non|without)\b")


@functools.lru_cache(4096)
def words_of(ident: str) -> tuple[str, ...]:
    """An id in words: one more name, as a kitchen may call its food in another language. None of an
    id that says what isn't in it, ``soy-free-crumble``."""
    words = ident.replace("-", " ")
    return () if _NAMES_WHAT_ISNT.search(words) else (words,)


@dataclass(frozen=True)
class Component:
    """One ingredient in the product: ``grams`` at factor 1, its facts, whether cooked since.

    ``species`` is None where not stated. ``through`` names the made-ahead formula it came in by,
    ``stuffed`` says that it was stuffed there and is raw still, ``chilled`` that it was heated
    there or bought ready to eat, needs temperature control, and is cold when it comes in. ``room``
    is how many ml a gram of it takes up by its measures, None where none is known. ``parasites`` is
    what its ingredient says frees it of parasites, ``freed`` that a step of freezing did. ``plant``
    is the kind of plant food where its treatment decides whether it needs the cold, ``cut`` that it
    was cut. ``to_order`` says that it is an egg in its shell, broken for one guest's order;
    ``heated`` that it was heated here, in whatever formula; ``packed`` that it is ready to eat as a
    plant packed it. ``roast`` is the id of the formula it was cooked in by the roast chart, as the
    roast or the crust on it, as long as that is whole. ``no_air`` says that it is in a pack without
    air, not opened yet; None, that it may be. ``whole_muscle`` is the record that says it is
    whole-muscle, intact beef, ``seared`` that it was cooked on its surface as such a steak: it is
    raw still. ``came`` is the id of the made-ahead formula on whose line it came here, ``spent``
    that it was with meat or fish there, so that a cure has done its work. ``cured_roast`` is the
    word of its ingredient that it comes as a whole cured roast, ``whole`` the word of its line that
    each piece is one whole roast, ``pieces`` that it is cut, filled or portioned and not, or no
    longer, known to be. ``part`` is the formula's part it was weighed in, ``salt`` and ``water``
    are shares of its weight, water None where its composition isn't known. ``comes`` is how warm it
    comes in, ``comes_stated`` whether that is said of it, ``out_s`` the seconds it had been between
    cold and hot by then. ``ambient`` says that it comes in as warm as the room, and is no
    seasoning; ``by_time`` that it was held by time already, ``aged_s`` the seconds it was kept
    ready to eat by then, ``stood_s`` those of them it was between cold and hot before it was
    heated up again. ``boils`` says that it is fat or sugar, which get hotter than boiling water,
    ``dried`` that it is dried milk, egg, meat or fish, which needs the cold again once it is wet,
    ``fish`` that the pack classes it so: finfish, crustaceans and molluscs, ``served`` that it came
    in by a formula whose last step serves it. ``held`` is what it weighs here over its grams, by
    all that was lost and gained since. ``facts`` is its ingredient's record, ``acid`` says that it
    is vinegar or another acid, ``flour`` that it is raw flour, which no step heated in a formula
    made ahead. ``sour`` says that it was cooked, and needs no cold for being acidified in a formula
    made ahead (``kept``), or that this is over: food that needs the cold came to it. ``papered``
    says that it was heated in a formula made ahead, which needs no cold by a document on file.
    ``boiled`` says how long kidney beans were boiled in formulas made ahead, and whether other food
    with a poison of its own was made safe there; ``grown`` where seeds
    lay wet until they sprouted, here or in a formula made ahead. ``wet_s`` says for how many
    seconds raw plant food stood wet and warm in formulas made ahead; None where nothing wetted it.
    ``opened`` says whether it was cut or ground in a formula made ahead.
    """

    item: str
    name: str
    grams: Fraction
    species: str | None
    state: str | None
    form: str | None
    tcs: bool
    allergens: tuple[Allergen, ...]
    cooked: bool = False
    through: str = ""
    organ: str = ""
    function: str = ""
    nitrite: Fraction = Fraction(0)
    cure: CureFacts = NO_CURE
    part: str = ""
    salt: Fraction = Fraction(0)
    water: Fraction | None = None
    stuffed: bool = False
    chilled: bool = False
    room: Fraction | None = None
    parasites: str = ""
    freed: bool = False
    plant: str = ""
    cut: bool = False
    to_order: bool = False
    heated: bool = False
    packed: bool = False
    roast: str = ""
    no_air: bool | None = False
    whole_muscle: str = ""
    seared: bool = False
    comes: Literal["frozen", "cold", "between", "hot"] = "cold"
    comes_stated: bool = False
    out_s: Fraction = Fraction(0)
    ambient: bool = False
    by_time: bool = False
    aged_s: Fraction = Fraction(0)
    stood_s: Fraction = Fraction(0)
    whole: bool = False
    pieces: bool = False
    cured_roast: bool = False
    boils: Literal["", "fat", "sugar"] = ""
    dried: bool = False
    fish: bool = False
    served: bool = False
    came: str = ""
    spent: bool = False
    held: Fraction = _ALL
    facts: Ingredient | None = field(default=None, compare=False, repr=False)
    acid: bool = False
    flour: bool = False
    sour: Literal["", "kept", "over"] = ""
    papered: bool = False
    boiled: Literal["", "briefly", "through"] = ""
    grown: Literal["", "here", "before"] = ""
    wet_s: Fraction | None = None
    opened: Literal["", "cut", "ground"] = ""

    @property
    def names(self) -> tuple[str, ...]:
        """All it is called: its name, its id in words, and the other names of its record."""
        others = self.facts.other_names if self.facts is not None else ()
        return (self.name, *words_of(self.item), *others)

    @property
    def weight(self) -> Fraction:
        """What it weighs here, in grams: ``grams`` is what was weighed in."""
        return self.grams if self.held is _ALL else self.grams * self.held

    @property
    def cures(self) -> bool:
        """Whether it is a cure that has met no meat in a formula made ahead."""
        return self.function == "cure" and not self.spent

    @property
    def freed_or_stated(self) -> bool:
        """Whether freezing freed it of parasites, here or as its ingredient says; live shellfish
        are under laws of their own."""
        return self.freed or self.parasites not in ("", "molluscan-shellfish")

    @property
    def raw_animal(self) -> bool:
        """Raw food of an animal, or of a species not stated, and not cooked yet."""
        return self.species != "none" and self.state in RAW_STATES and not self.cooked


@dataclass(frozen=True)
class Product:
    """What is being made: its components, its mass at factor 1 in grams, what was done to it.

    ``acidified`` says why it needs no temperature control any more; empty if it wasn't acidified.

    ``air_days`` is how long the law lets it keep once packed without air; None if it isn't.
    ``air_row`` is the row it is then kept by, where that is colder than other food is kept.
    ``by_time`` says that it was held by time alone: it is served or discarded, never kept.
    ``plants_heated`` says that moist plant food in it was heated, though not by a step that cooks,
    ``mixed`` that streams met of which one was cooked and another wasn't, and nothing cooked it
    since.
    """

    components: tuple[Component, ...] = ()
    mass: Fraction = Fraction(0)
    stuffed: bool = False
    cooked: bool = False
    hot: bool = False
    frozen: bool = False
    filled: bool = False
    air_days: int | None = None
    air_row: ReducedOxygenRow | None = None
    acidified: str = ""
    by_time: bool = False
    plants_heated: bool = False
    mixed: bool = False

    def take(self, parts: tuple[Component, ...]) -> Product:
        """The product with more parts in it."""
        mass = self.mass + total(c.weight for c in parts) if parts else self.mass
        stuffed = self.stuffed or any(c.stuffed for c in parts)
        sour = "" if any(c.tcs or c.raw_animal for c in parts) else self.acidified
        by_time = self.by_time or any(c.by_time for c in parts)
        return changed(
            self,
            components=self.components + parts,
            mass=mass,
            stuffed=stuffed,
            acidified=sour,
            by_time=by_time,
        )

    def turned(self) -> tuple[Component, ...]:
        """What came acidified from a formula made ahead and now needs the cold with the rest."""
        if not self.needs_cold:
            return ()
        return tuple(_turned(c) for c in self.components if c.sour == "kept")

    def with_turned(self) -> Product:
        """The product with what is no longer kept by its acid needing the cold itself."""
        if not self.turned():
            return self
        done = tuple(_turned(c) if c.sour == "kept" else c for c in self.components)
        return changed(self, components=done)

    def join(self, other: Product) -> Product:
        """The product with another stream in it: whatever either asks for is asked for still. What
        was chilled after it was heated is cold food made before."""
        joined = changed(
            self, **{flag: getattr(self, flag) or getattr(other, flag) for flag in _EITHER}
        )
        packed = [p for p in (self, other) if p.air_days is not None]
        air = min(packed, key=lambda p: p.air_days or 0, default=self)
        return changed(
            joined,
            components=(*self.set_by(), *other.set_by()),
            mass=self.mass + other.mass,
            frozen=self.frozen and other.frozen,
            air_days=air.air_days,
            air_row=air.air_row,
            acidified=self._sour_with(other),
            mixed=joined.mixed or self.cooked != other.cooked,
        )

    def _sour_with(self, other: Product) -> str:
        """Why both together need no temperature control: one is acidified, and the other is too or
        never needed any."""
        sour = all(p.acidified or not p.needs_cold for p in (self, other))
        return (self.acidified or other.acidified) if sour else ""

    def set_by(self) -> tuple[Component, ...]:
        """Its components as they are heated again, or go into something else: heated and cold
        since, they are chilled food."""
        if self.hot or not self.tcs:
            return self.components
        return tuple(
            changed(c, chilled=True) if c.heated or self._warmed(c) else c for c in self.components
        )

    def _warmed(self, component: Component) -> bool:
        """Whether it is plant food of a product that was heated by a step that doesn't cook."""
        plant = component.state in RAW_STATES and not component.raw_animal
        return self.plants_heated and plant

    def part_of(self, shares: Mapping[str, Fraction]) -> Product:
        """So large a share of each part in it, 0 of those not named: what all of it touched is in
        all of it."""
        parts = tuple(
            changed(c, grams=c.grams * shares.get(c.part, Fraction(0))) for c in self.components
        )
        return changed(self, components=parts, mass=total(c.weight for c in parts))

    def keep(self, parts: frozenset[str], share: Fraction) -> Product:
        """The product with only so large a share of some parts in it: the rest is left behind."""
        return self.part_of(
            {c.part: share if c.part in parts else Fraction(1) for c in self.components}
        )

    def weighing(self, share: Fraction) -> Product:
        """The product once it weighs so large a share of what it weighed."""
        held = tuple(changed(c, held=c.held * share) for c in self.components)
        return changed(self, components=held, mass=self.mass * share)

    def with_form(self, form: str) -> Product:
        """All raw pieces in it given a form: comminuted, tenderised, injected."""
        formed = tuple(
            changed(c, form=form) if c.raw_animal and c.form != "comminuted" else c
            for c in self.components
        )
        return changed(self, components=formed)

    def heated(self) -> Product:
        """The product after a cooking limit: everything in it cooked, and hot. What came cold is
        asked for its reheating still."""
        done = tuple(changed(c, cooked=True, heated=True) for c in self.components)
        return changed(self, components=done, cooked=True, hot=True, mixed=False)

    def reheated(self) -> Product:
        """The product after a reheating limit: nothing in it is cold any more."""
        done = tuple(changed(c, heated=True, chilled=False) for c in self.components)
        return changed(self, components=done)

    def part_heated(self) -> Product:
        """The product after a heating in part: raw still, and warm."""
        done = tuple(changed(c, heated=True, chilled=False) for c in self.components)
        return changed(self, components=done)

    def roasted(self, formula: str) -> Product:
        """The product once it is a whole roast cooked by the roast chart in a formula, by its
        id."""
        return changed(self, components=tuple(changed(c, roast=formula) for c in self.components))

    def divided(self) -> Product:
        """The product once it was cut, sliced or portioned: no whole roast any more."""
        if not any(c.roast for c in self.components):
            return self
        return changed(self, components=tuple(changed(c, roast="") for c in self.components))

    @property
    def whole_roast(self) -> bool:
        """Whether it is a roast cooked by the roast chart, whole, with nothing else put to it
        since."""
        roasts = {c.roast for c in self.components}
        return len(roasts) == 1 and "" not in roasts

    def seared(self) -> Product:
        """The product after its raw meat was cooked on the surface as a steak: raw inside, and
        hot."""
        done = tuple(changed(c, seared=True) if c.raw_animal else c for c in self.components)
        return changed(self, components=done)

    def packed(self, no_air: bool) -> Product:
        """The product packed without air, or taken out of such packs."""
        done = tuple(changed(c, no_air=no_air) for c in self.components)
        return changed(self, components=done)

    def freed(self) -> Product:
        """The product after freezing long enough against parasites."""
        done = tuple(changed(c, freed=True) for c in self.components)
        return changed(self, components=done)

    def made_ready(self) -> Product:
        """The product once a process with a plan on file, fermenting or drying, made what is raw in
        it ready to eat."""
        done = tuple(
            changed(c, state="ready-to-eat") if c.raw_animal else c for c in self.components
        )
        return changed(self, components=done)

    @cached_property
    def raw_animals(self) -> tuple[Component, ...]:
        """The components that still need cooking by the code."""
        return tuple(c for c in self.components if c.raw_animal)

    @property
    def wet(self) -> bool:
        """Whether anything moist is in it: all of it isn't dry goods, sugar and fat."""
        return any(c.form != "dry" and not c.boils and not c.dried for c in self.components)

    @property
    def cures_in_it(self) -> bool:
        """Whether a cure that holds nitrite was put in with the rest here."""
        return any(c.cures and c.nitrite for c in self.components)

    @property
    def only_seared(self) -> bool:
        """Whether all that is raw in it are steaks cooked on their surface, which are served so."""
        return bool(self.raw_animals) and all(c.seared for c in self.raw_animals)

    @property
    def ready_to_eat(self) -> bool:
        """Nothing raw of an animal in it: plant food counts as ready to eat, washed or cooked."""
        return bool(self.components) and not self.raw_animals

    @property
    def eaten_as_it_is(self) -> bool:
        """Ready to eat, or raw fish freed of parasites by freezing, which the code counts as ready
        to eat (Food Code 1-201.10, "Ready-to-eat food", (2)(a))."""
        raw = [c for c in self.raw_animals if not (c.fish and c.freed_or_stated)]
        return bool(self.components) and not raw

    @cached_property
    def tcs(self) -> bool:
        """Needs time and temperature control: any part does, or plant food was heated; not once it
        was acidified by the rules."""
        heated = self.cooked or self.plants_heated
        return not self.acidified and (heated or any(c.tcs for c in self.components))

    @property
    def needs_cold(self) -> bool:
        """Whether it needs the cold now: by time and temperature control, or as raw food of an
        animal."""
        return self.tcs or (not self.acidified and bool(self.raw_animals))

    @property
    def from_ambient(self) -> bool:
        """Whether it is ready to eat and put together with food as warm as the room:
        3-501.14(B). What its acid kept at room temperature counts with raw food too."""
        return any(c.ambient and (self.ready_to_eat or c.sour == "over") for c in self.components)


def _turned(component: Component) -> Component:
    return changed(component, tcs=True, sour="over")
