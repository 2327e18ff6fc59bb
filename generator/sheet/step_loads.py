"""A machine's loads at its step, and how they follow the loads of the machine before: where food
goes through several machines, each load is taken on as it comes out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Literal

from generator.measures.basis import Basis
from generator.records.effects import HEATS
from generator.scaling.loads import Counted, Loads, queued, taken_on
from generator.sheet.lots import Lot
from generator.sheet.takes import Takes
from generator.sheet.waiting import Waits, all_at_once
from generator.sheet.walk import Walk, WalkedStep


@dataclass(frozen=True)
class StepLoads:
    """A machine's loads at one step. ``bound_by`` says what caps a load: the machine's
    ``capacity``, its ``bowl``, its ``places``, or nothing (empty); ``volume_ml`` is one load's
    volume where there is a bowl; ``assumed`` names what has no measure, where it is more than a
    pinch. ``each_s`` is how long one load takes, in seconds, where the step says it; ``waits`` how
    the others stand until their turn, one after another. ``open_ended``: the machine makes loads of
    every larger batch, too. ``handed_g`` is what each of several equal loads takes of what the
    earlier steps ``handed_from`` gave, beside what is weighed for it; 0 for none. ``soonest_s`` is
    how long one takes at least, ``may_wait_s`` how long a load may wait, ``wait_s`` how long it
    waits at most where it comes by loads itself, and ``by_load`` that each goes through the
    machine's next step, too, before another goes in."""

    step: str
    equipment: str
    name: str
    loads: Loads
    bound_by: Literal["", "most", "bowl", "places"] = ""
    volume_ml: Fraction | None = None
    basis: Basis = field(default_factory=Basis)
    assumed: tuple[str, ...] = ()
    each_s: Fraction | None = None
    waits: Waits = ""
    open_ended: bool = True
    heats: bool = False
    handed_g: Fraction = Fraction(0)
    handed_from: str = ""
    soonest_s: Fraction | None = None
    may_wait_s: Fraction | None = None
    wait_s: Fraction | None = None
    by_load: bool = False

    @property
    def in_all_s(self) -> Fraction | None:
        """How long the machine is busy with all loads, in seconds."""
        return self.each_s * self.loads.count if self.each_s is not None else None

    @property
    def longest_wait_s(self) -> Fraction | None:
        """How long a load waits for its turn at most, in seconds."""
        return self.wait_s if self.wait_s is not None else self.behind_s

    @property
    def behind_s(self) -> Fraction | None:
        """How long the loads behind the first one take, in seconds."""
        return self.each_s * (self.loads.count - 1) if self.each_s is not None else None


def take_on(
    walk: Walk,
    walked: WalkedStep,
    found: list[StepLoads],
    takes: Takes,
    factor: Fraction,
    whole: Counted | None,
    lots: Mapping[int, Lot],
) -> None:
    """Puts the loads of the last step found, and of the one it follows, as they are taken on;
    ``lots`` are those of the walk."""
    number = follows(walk, walked, lots)
    ids = [one.step.id for one in walk.steps if one.step.number == number]
    for index, up in enumerate(found[:-1]):
        if up.step in ids:
            up, one = _followed(up, found[-1], takes, walked.before.mass * factor, whole)
            found[index], found[-1] = up, one


def _followed(
    up: StepLoads, one: StepLoads, takes: Takes, grams: Fraction, whole: Counted | None
) -> tuple[StepLoads, StepLoads]:
    """A step's loads, and those of the machine before, of which each is taken on as it comes out:
    the step's are then parts of them, and a load waits at most for those that came before it. Where
    that can't be, the food of all loads is together before this step."""
    if up.loads.count == 1 or one.loads.count == 1:
        return up, one
    bounds = (takes.most, takes.least, takes.places)
    loads = taken_on(whole, grams, up.loads.count, bounds, one.loads.called)
    if loads is None:
        return replace(up, heats=False), one
    if up.equipment != one.equipment:
        queue = _queueing(up, _in_loads(one, loads))
        return (replace(up, heats=False), one) if _too_long(queue) else (up, queue)
    return _through_both(up, one) if loads == one.loads else (replace(up, heats=False), one)


def _too_long(one: StepLoads) -> bool:
    """Whether a load waits longer than it may."""
    wait, most = one.longest_wait_s, one.may_wait_s
    return wait is not None and most is not None and wait > most


def _in_loads(one: StepLoads, loads: Loads) -> StepLoads:
    """A step with other loads, and what follows from their weight."""
    volume = one.volume_ml * loads.grams / one.loads.grams if one.volume_ml is not None else None
    handed = one.handed_g * one.loads.count / loads.count
    return replace(one, loads=loads, volume_ml=volume, handed_g=handed)


def _queueing(up: StepLoads, one: StepLoads) -> StepLoads:
    """Loads that come from another machine, one after another, with how long one waits at most."""
    if up.soonest_s is None or one.each_s is None:
        return one
    parts = one.loads.count // up.loads.count + (one.loads.count % up.loads.count > 0)
    wait = queued(up.loads.count, up.soonest_s, parts, one.each_s)
    return replace(one, wait_s=wait, waits=one.waits if wait else "")


def _through_both(up: StepLoads, one: StepLoads) -> tuple[StepLoads, StepLoads]:
    """Loads that go through two steps of one machine: each through both, where the others wait in
    the cold, so that they may."""
    if up.waits not in ("", "cold") or up.each_s is None or one.each_s is None:
        return replace(up, heats=False), one
    wait = (up.loads.count - 1) * (up.each_s + one.each_s)
    up = replace(up, by_load=True, wait_s=wait)
    return up, replace(one, wait_s=Fraction(0), waits="")


def follows(walk: Walk, walked: WalkedStep, lots: Mapping[int, Lot]) -> int:
    """The number of the machine's step before, that heats the food, and from which each load may be
    taken on to this one; 0 where there is none, or the food is together in between. ``lots`` is
    what is counted at the walk's steps (``lots_of``)."""
    number, by_number = walked.step.number, {one.step.number: one for one in walk.steps}
    if all_at_once(walk, number):
        return 0
    for step in reversed((*walk.formula.before(number), walked.step)):
        before = by_number.get(step.number)
        if before is None or len(step.comes) > 1 or step.effects & _GATHERS:
            return 0
        if step.number != number and (step.machine or step.cold) is not None:
            taken = step.effects & HEATS and _counted_alike(lots, step.number, number)
            return step.number if taken else 0
    return 0


def _counted_alike(lots: Mapping[int, Lot], one: int, other: int) -> bool:
    """Whether two steps don't count unlike things: of nine legs out of a bath no two tubs of six
    are full."""
    counted = {lots[number].one for number in (one, other) if number in lots}
    return len(counted) < 2


_GATHERS = frozenset({"stores", "displays", "holds-hot", "pools", "waits", "divides"})
"""Where the food of all loads is together."""
