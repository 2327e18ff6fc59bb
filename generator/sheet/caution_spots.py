"""Where a caution is raised: what its trigger asks of a step, of the food there and of the formula.

A trigger asks for few of the things it may ask for: which those are is worked out once a caution.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from generator.records.effects import HEATS, AtHand
from generator.reference.cautions import Caution, When
from generator.resolve.joined import House, JoinedStep
from generator.rules.basics.fate import fate_of
from generator.rules.basics.product import RAW_STATES, Component, Product
from generator.rules.basics.raw_milk import raw_milk_in
from generator.rules.basics.said import any_of
from generator.sheet.raw_plant_states import RAW_PLANTS
from generator.sheet.walk import Walk, WalkedStep
from generator.sheet.weighing import WeighedLine

_FINE = Fraction(1, 10)
_NOTHING = Product()


@dataclass(frozen=True)
class Beside:
    """What is at a step beside its food: what can hurt, the kinds of machine it may be done on, and
    whether its own takes raw food in one formula and ready-to-eat food in another."""

    at_hand: frozenset[AtHand]
    machines: frozenset[str]
    shared: bool


@dataclass(frozen=True)
class Spot:
    """A step as every caution looks at it."""

    house: House
    walk: Walk
    walked: WalkedStep
    at: Callable[[int], Beside]
    """What is beside the food at a step, by its number."""

    @property
    def beside(self) -> Beside:
        return self.at(self.walked.step.number)

    @cached_property
    def step(self) -> JoinedStep:
        return self.walked.step

    @cached_property
    def product(self) -> Product:
        """The food at the step: while it is cleaned there is none."""
        return _NOTHING if "cleans" in self.walked.step.effects else self.walked.before

    @cached_property
    def place(self) -> str:
        """The kind of cold place it is done in; empty for none."""
        return self.step.cold.kind if self.step.cold is not None else ""

    @cached_property
    def _states(self) -> dict[str, bool]:
        return {}

    def is_in(self, word: str) -> bool:
        """Whether the food is in a state, by its word: looked at once for all cautions."""
        states = self._states
        if word not in states:
            states[word] = _state(word, self.product, self.walk, self.step)
        return states[word]


def raised_at(house: House, caution: Caution, spots: Iterable[Spot]) -> list[WalkedStep]:
    """The steps that raise a caution."""
    checks = house.once("caution", caution, lambda: _asked_by(caution.when))
    when, found = caution.when, []
    for spot in spots:
        for check in checks:
            if not check(when, spot):
                break
        else:
            found.append(spot.walked)
    return found


_Check = Callable[[When, Spot], bool]


def _asked_by(when: When) -> tuple[_Check, ...]:
    """What a trigger asks, of all it may ask: the checks of the keys that it gives."""
    fields = When.model_fields
    return tuple(
        check for key, check in _CHECKS.items() if getattr(when, key) != fields[key].default
    )


def _may_be_cased(step: JoinedStep) -> bool:
    """Whether food may be in a casing once a step is done: it fills one, or doesn't say what it
    fills. What is only shaped, with no vessel, is filled into nothing."""
    if step.vessel is not None:
        return step.vessel.shape == "casing"
    return not ("joins" in step.effects and "stuffs" not in step.effects)


def _does(when: When, spot: Spot) -> bool:
    """Whether a step does one of the effects. One that only cools counts where it doesn't say in
    what: else the depth of that is looked at instead."""
    does = spot.step.effects.intersection(when.does)
    return bool(does) and (does != {"cools"} or spot.step.vessel is None)


def _deep(when: When, spot: Spot) -> bool:
    return when.deeper_than is None or _depth(spot.step) > when.deeper_than.value


def _depth(step: JoinedStep) -> Fraction:
    """How deep the food is in the step's vessel, in mm: its depth, or a casing's diameter."""
    if step.vessel is None:
        return Fraction(0)
    inside = step.vessel.inside
    measure = inside.diameter if step.vessel.shape == "casing" else inside.depth
    return measure.value if measure is not None else Fraction(0)


def _raw_of(when: When, spot: Spot) -> bool:
    """Whether raw food of an animal is there of a group of the pack's."""
    raw, definitions = spot.product.raw_animals, spot.house.pack.definitions
    classes = {definitions[c.species].group_as for c in raw if c.species in definitions}
    if any(c.species is None for c in raw):
        classes.add("poultry")  # not stated counts as the strictest
    return bool(classes & set(when.raw))


def _cured(when: When, spot: Spot) -> bool:
    return any(c.function == "cure" for c in spot.product.components) == when.cured


def _lines(spot: Spot) -> list[WeighedLine]:
    """The lines that are taken in at the step."""
    parts = spot.step.parts
    return [ln for ln in spot.walk.lines if ln.joined.part in parts]


def _functions(when: When, spot: Spot) -> bool:
    """Whether ingredients do such a thing in the food of a step: those of its lines, and a cure
    from a cure mix or a pickle made ahead."""
    of_lines = {ln.joined.ingredient.function for ln in _lines(spot) if ln.joined.ingredient}
    if not of_lines.isdisjoint(when.function):
        return True
    parts = spot.step.parts
    return "cure" in when.function and any(
        c.cures and c.part in parts for c in spot.product.components
    )


def _scales(when: When, spot: Spot) -> bool:
    return bool(_lines(spot)) and any(s.division.value <= _FINE for _, s in spot.house.scales)


def _named(when: When, spot: Spot) -> bool:
    """Whether a name of what is in it has a word that is asked."""
    return any(_has_word(when.named, c.name) for c in spot.product.components)


def _called(when: When, spot: Spot) -> bool:
    """Whether one of the formula's own names has a word that is asked."""
    formula = spot.walk.formula.formula
    return any(_has_word(when.called, name) for name in (formula.name, *formula.other_names))


@functools.lru_cache(4096)
def _has_word(words: tuple[str, ...], name: str) -> bool:
    """Whether a name has one of some words: each step asks of the same food again."""
    return any_of(words).search(name) is not None


def _ends(when: When, spot: Spot) -> bool:
    """Whether the finished food is as it is asked."""
    end = spot.walk.end
    states = {
        "raw-animal": bool(end.raw_animals),
        "ready-to-eat": end.ready_to_eat,
        "undercooked": spot.walk.undercooked,
        "raw-milk": fate_of(spot.walk.formula).eaten and bool(raw_milk_in(spot.house, end)),
    }
    return any(states[word] for word in when.end)


_CHECKS: dict[str, _Check] = {
    "does": _does,
    "at_hand": lambda when, spot: not spot.beside.at_hand.isdisjoint(when.at_hand),
    "machine": lambda when, spot: not spot.beside.machines.isdisjoint(when.machine),
    "in_": lambda when, spot: spot.place in when.in_,
    "not_in": lambda when, spot: spot.place not in when.not_in,
    "shared_machine": lambda when, spot: spot.beside.shared,
    "casing": lambda when, spot: _may_be_cased(spot.step),
    "deeper_than": _deep,
    "species": lambda when, spot: any(c.species in when.species for c in spot.product.raw_animals),
    "organ": lambda when, spot: any(c.organ in when.organ for c in spot.product.raw_animals),
    "allergens": lambda when, spot: any(c.allergens for c in spot.product.components),
    "cured": _cured,
    "raw": _raw_of,
    "end": _ends,
    "state": lambda when, spot: any(map(spot.is_in, when.state)),
    "function": _functions,
    "scales": _scales,
    "named": _named,
    "called": _called,
}
"""What each key of a trigger asks of a step, of the food there, of the formula."""


def _state(word: str, product: Product, walk: Walk, step: JoinedStep) -> bool:
    if word == "raw":
        return bool(product.raw_animals)
    if word == "comminuted":
        return any(c.form == "comminuted" for c in product.raw_animals)
    if word == "ready-to-eat":
        return product.ready_to_eat
    if word == "finished":
        return _finished(product, walk, step)
    if word in RAW_PLANTS:
        return RAW_PLANTS[word](product, walk)
    if word == "open":
        return not any(c.no_air for c in product.components)
    return bool(getattr(product, word))


def _finished(product: Product, walk: Walk, step: JoinedStep) -> bool:
    """Whether it is eaten as it is: ready, or served raw by its own word, and not heated again."""
    later = walk.formula.since(step.number)
    heated = any(s.effects & (HEATS - {"heats"}) for s in later)
    ready = product.ready_to_eat or walk.undercooked
    return ready and not heated and any(map(_eaten, product.components))


def _eaten(component: Component) -> bool:
    """Whether a component is more than a seasoning out of a jar: what hands touch here somebody
    eats."""
    raw = component.state in RAW_STATES and component.form != "dry"
    of_animal = component.species != "none"
    return raw or component.tcs or component.heated or component.cooked or of_animal
