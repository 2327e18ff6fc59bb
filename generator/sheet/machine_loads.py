"""Each machine's loads at its step: by what it takes in weight, and by what its bowl holds."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Literal

from generator.files.finding import Finding, Refused
from generator.measures.basis import Basis
from generator.measures.kilos import kilos
from generator.measures.words import NARROW, listed, plain
from generator.records.equipment import Machine
from generator.scaling.batch import Yields
from generator.scaling.loads import Loads, equal_loads, whole_piece_loads
from generator.sheet.volumes import Bulk, bulk_of
from generator.sheet.walk import Walk, WalkedStep

_REPORTED = Fraction(1, 10)
"""From this share of the weight on, an assumed volume is reported beside the loads it sets."""


@dataclass(frozen=True)
class Room:
    """What a machine's bowl says of the product at a step: ``usable_ml`` of it may be worked,
    ``most_g`` of the product fill that."""

    usable_ml: Fraction
    most_g: Fraction
    ml_per_g: Fraction
    bulk: Bulk
    words: str


@dataclass(frozen=True)
class StepLoads:
    """A machine's loads at one step. ``bound_by`` says what caps a load: the machine's
    ``capacity``, its ``bowl``, or nothing (empty); ``volume_ml`` is one load's volume where there
    is a bowl; ``assumed`` names what has no measure, where it is more than a pinch."""

    step: str
    equipment: str
    name: str
    loads: Loads
    bound_by: Literal["", "most", "bowl"] = ""
    volume_ml: Fraction | None = None
    basis: Basis = field(default_factory=Basis)
    assumed: tuple[str, ...] = ()


def loads_of(
    walk: Walk, factor: Fraction, yields: Yields
) -> tuple[StepLoads | None, tuple[StepLoads, ...]]:
    """Each machine's loads, and the one the weighing follows: the machine that takes most before
    the product is filled or cooked. Raises Refused where no load is possible."""
    found: list[StepLoads] = []
    governing: StepLoads | None = None
    most_grams = Fraction(0)
    bulk, filled = True, False
    for walked in walk.steps:
        one = _step_loads(walked, factor, yields, walk, filled)
        if one is not None:
            found.append(one)
            grams = walked.before.mass * factor
            machine = walked.step.machine
            limited = machine is not None and (machine.capacity or machine.minimum or machine.bowl)
            if bulk and limited and grams > most_grams:
                governing, most_grams = one, grams
        if walked.step.effects & {"fills", "cooks"}:
            bulk = False
        if "fills" in walked.step.effects:
            filled = True
    return governing, tuple(found)


@dataclass(frozen=True)
class Takes:
    """What a machine takes of the product at a step, in grams: ``most`` is the smaller of its own
    and what fills its ``room``, which ``by_bowl`` says; ``where`` names it in a refusal."""

    ident: str
    name: str
    where: str
    most: Fraction | None
    least: Fraction | None
    room: Room | None
    by_bowl: bool
    written: str


def takes_of(walked: WalkedStep) -> Takes | None:
    """What the machine or cold place of a step takes; None where the step has none.

    Raises Refused if the least it needs doesn't fit in its bowl.
    """
    step = walked.step
    unit = step.machine or step.cold
    name = step.step.with_ or step.step.in_
    if unit is None or name is None or "cleans" in step.effects or not walked.before.mass:
        return None
    most, written = (unit.capacity.value, unit.capacity.text) if unit.capacity else (None, "")
    least = unit.minimum.value if unit.minimum else None
    where = f"{unit.name}, step {step.number}"
    room = _room(walked, step.machine)
    if room is None or (most is not None and most <= room.most_g):
        return Takes(name, unit.name, where, most, least, room, False, written)
    _refuse_too_small(room, least, where)
    return Takes(name, unit.name, where, room.most_g, least, room, True, written)


def _refuse_too_small(room: Room, least: Fraction | None, where: str) -> None:
    """Raises Refused for a bowl that has no room for the least its machine needs."""
    if least is not None and least > room.most_g:
        raise Refused(
            "bowl-too-small",
            f"{where}: its least load, {kilos(least)}, takes up "
            f"{_litres(least * room.ml_per_g)} here, "
            f"and its bowl has room for {_litres(room.usable_ml)}.",
            "Check `bowl`, `fill_level` and `minimum`, or use a larger machine.",
        )


def _step_loads(
    walked: WalkedStep, factor: Fraction, yields: Yields, walk: Walk, filled: bool
) -> StepLoads | None:
    takes = takes_of(walked)
    if takes is None:
        return None
    room = takes.room
    grams = walked.before.mass * factor
    if filled and yields.fills and walk.figures.fill is not None:
        loads = _loads_of_fills(takes, grams, yields, walk.figures.fill)
    else:
        loads = equal_loads(grams, takes.most, takes.least, takes.where)
    bound: Literal["", "most", "bowl"] = "most" if takes.written else ""
    if takes.by_bowl:
        bound = "bowl"
    volume = loads.grams * room.ml_per_g if room is not None else None
    assumed: tuple[str, ...] = ()
    if room is not None and room.bulk.share >= _REPORTED:
        assumed = tuple(name for name, _ in room.bulk.assumed)
    basis = _basis(takes.written, grams, loads, bound, room)
    return StepLoads(walked.step.id, takes.ident, takes.name, loads, bound, volume, basis, assumed)


def _loads_of_fills(takes: Takes, grams: Fraction, yields: Yields, fill: Fraction) -> Loads:
    """Loads of whole fills, the one that isn't full counted in; ``grams`` are those of all."""
    assert yields.fills is not None
    pieces = yields.fills + (1 if yields.rest_g else 0)
    each = grams * fill / (yields.filled_g or yields.finished_g)
    words = "its bowl has room for" if takes.by_bowl else "it takes"
    loads = whole_piece_loads(pieces, each, takes.most, takes.where, words)
    return replace(loads, grams=min(loads.grams, grams))


def _room(walked: WalkedStep, machine: Machine | None) -> Room | None:
    if machine is None or machine.bowl is None or not walked.before.mass:
        return None
    bulk = bulk_of(walked.before)
    if not bulk.ml:
        return None
    share = machine.fill_level if machine.fill_level is not None else Fraction(1)
    usable = machine.bowl.value * share
    words = _litres(machine.bowl.value)
    if machine.fill_level is not None:
        words += f", worked to {plain(machine.fill_level * 100)}{NARROW}%: {_litres(usable)}"
    per_g = bulk.ml / walked.before.mass
    return Room(usable, usable / per_g, per_g, bulk, words)


def _basis(most: str, grams: Fraction, loads: Loads, bound: str, room: Room | None) -> Basis:
    inputs = [("At this step", kilos(grams))]
    if most:
        inputs.append(("Takes", f"at most {most}"))
    if room is not None:
        inputs.append(("Bowl", room.words))
        inputs.append(
            ("One load", f"{kilos(loads.grams)}, about {_litres(loads.grams * room.ml_per_g)}")
        )
        for each in dict.fromkeys(ml for _, ml in room.bulk.assumed):
            names = listed([name for name, ml in room.bulk.assumed if ml == each])
            inputs.append(
                ("Assumed", f"{names}: {plain(each)}{NARROW}ml a gram, no measure is entered")
            )
    rule = "as few equal loads as fit"
    if loads.count == 1:
        rule = "it fits in one load"
    elif bound == "bowl":
        rule += "; the bowl sets how much goes in"
    elif bound == "most":
        rule += "; the machine's most sets how much goes in"
    return Basis(tuple(inputs), rule)


def _litres(ml: Fraction) -> str:
    return f"{plain(ml / 1000, 2 if ml < 10_000 else 1)}{NARROW}l"


def assumed_findings(walk: Walk, step_loads: tuple[StepLoads, ...]) -> list[Finding]:
    """A note where the bowl sets the loads by an assumption: a measure would settle it."""
    found: list[Finding] = []
    for one in step_loads:
        if one.bound_by != "bowl" or one.loads.count == 1 or not one.assumed:
            continue
        place = next(s.step.step.place("with") for s in walk.steps if s.step.id == one.step)
        found.append(
            Finding(
                "volume-assumed",
                "note",
                f"{one.name}: its bowl sets the loads, and the volume of {listed(one.assumed)} "
                "is assumed.",
                place,
                "Enter a volume under the ingredient's `weighs`, with its `source`. The page "
                "shows what was assumed.",
                about=frozenset({walk.formula.id}),
            )
        )
    return found
