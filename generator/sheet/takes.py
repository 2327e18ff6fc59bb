"""What the machine or cold place of a step takes at a time: in weight, in its bowl, in places."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from generator.files.finding import Finding, Refused, Severity
from generator.measures.kilos import kilos
from generator.measures.words import NARROW, plain
from generator.records.equipment import Cold, Machine
from generator.records.makes import Makes
from generator.sheet.volumes import Bulk, bulk_of
from generator.sheet.walked import Walk, WalkedStep


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
class Takes:
    """What a machine takes of the product at a step, in grams: ``most`` is the smaller of its own
    and what fills its ``room``, which ``by_bowl`` says; ``where`` names it in a refusal,
    ``places`` is how many fills or pieces go in at a time."""

    ident: str
    name: str
    where: str
    most: Fraction | None
    least: Fraction | None
    room: Room | None
    by_bowl: bool
    written: str
    places: int | None = None


def takes_of(walked: WalkedStep, makes: Makes | None, filled: bool) -> Takes | None:
    """What the machine or cold place of a step takes; None where the step has none. ``filled``: a
    step before it filled the food into what ``makes`` says.

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
    room = _room(walked, step.machine, makes, filled)
    places = _places(unit, makes)
    takes = Takes(name, unit.name, where, most, least, room, False, written, places)
    if room is None or (most is not None and most <= room.most_g):
        return takes
    _refuse_too_small(room, least, where)
    return replace(takes, most=room.most_g, by_bowl=True)


def _places(machine: Machine | Cold | None, makes: Makes | None) -> int | None:
    """How many of what the formula fills go into a machine at a time, where it says so."""
    if machine is None or machine.places is None or makes is None:
        return None
    return machine.places.of(makes.vessel)


def _refuse_too_small(room: Room, least: Fraction | None, where: str) -> None:
    """Raises Refused for a bowl that has no room for the least its machine needs."""
    if least is not None and least > room.most_g:
        raise Refused(
            "bowl-too-small",
            f"{where}: its least load, {kilos(least)}, takes up "
            f"{litres_words(least * room.ml_per_g)} here, "
            f"and its bowl has room for {litres_words(room.usable_ml)}.",
            "Check `bowl`, `fill_level` and `minimum`, or use a larger machine.",
        )


def in_pieces(walk: Walk, walked: WalkedStep) -> bool:
    """Whether whole pieces are what goes into the machine of a step: the line the formula counts
    is in it."""
    makes = walk.formula.formula.makes
    piece = makes.piece if makes is not None else None
    return piece is not None and any(piece in (c.item, c.came) for c in walked.before.components)


_WHIPS = frozenset({"mixer", "blender", "cutter"})
"""Machines that may beat in the air: which of them does isn't said, so it is in each of them."""


def _room(
    walked: WalkedStep, machine: Machine | None, makes: Makes | None, filled: bool
) -> Room | None:
    if machine is None or machine.bowl is None or not walked.before.mass:
        return None
    bulk = bulk_of(walked.before)
    if not bulk.ml:
        return None
    share = machine.fill_level if machine.fill_level is not None else Fraction(1)
    usable = machine.bowl.value * share
    words = litres_words(machine.bowl.value)
    if machine.fill_level is not None:
        words += f", worked to {plain(machine.fill_level * 100)}{NARROW}%: {litres_words(usable)}"
    air = makes.overrun if makes is not None and machine.kind in _WHIPS and not filled else None
    per_g = bulk.ml / walked.before.mass * (1 + (air or 0))
    if air:
        words += f"; with {plain(air * 100)}{NARROW}% overrun"
    return Room(usable, usable / per_g, per_g, bulk, words)


def litres_words(ml: Fraction) -> str:
    """Millilitres as litres in words: two digits behind the mark below ten litres."""
    return f"{plain(ml / 1000, 2 if ml < 10_000 else 1)}{NARROW}l"


def weighed_for(walk: Walk, part: str) -> str:
    """The step by whose loads a part's lines are weighed: of the machine that takes the part in,
    or, where none does, of the next one before the food is filled or cooked. Empty: they are
    weighed once for the whole batch."""
    for walked in _way_of(walk, part):
        step = walked.step
        counts = is_filled(walk, walked) and not in_pieces(walk, walked)
        if step.machine is not None and _limited(step.machine) and not counts:
            return "" if "cleans" in step.effects else step.id
        if step.effects & {"fills", "cooks"}:
            return ""
    return ""


def is_filled(walk: Walk, walked: WalkedStep) -> bool:
    """Whether the food that comes to a step is in its fills already."""
    return any(step.number == walk.filled_at for step in walk.formula.before(walked.step.number))


def _way_of(walk: Walk, part: str) -> list[WalkedStep]:
    """The steps a part goes through, from the one that takes it in."""
    first = next((s.step.number for s in walk.steps if part in s.step.parts), None)
    if first is None:
        return []
    numbers = {step.number for step in walk.formula.since(first)}
    return [walked for walked in walk.steps if walked.step.number in numbers]


def _limited(machine: Machine) -> bool:
    """Whether a machine can make loads of a batch."""
    said = (machine.capacity, machine.minimum, machine.bowl, machine.places)
    return any(one is not None for one in said)


def places_findings(walk: Walk) -> list[Finding]:
    """A machine with places at a step where nothing is counted that could go into them."""
    found: list[Finding] = []
    filled = False
    makes = walk.formula.formula.makes
    for walked in walk.steps:
        unit = walked.step.machine or walked.step.cold
        if unit is not None and unit.places is not None and "cleans" not in walked.step.effects:
            uncounted = not (filled or in_pieces(walk, walked)) or makes is None or not makes.fills
            if uncounted or _places(unit, makes) is None:
                found.append(_idle_places(walk, walked, unit.name, uncounted))
        filled = filled or "fills" in walked.step.effects
    return found


def _idle_places(walk: Walk, walked: WalkedStep, name: str, uncounted: bool) -> Finding:
    why, help = (
        "nothing is counted that goes into its places. Loads go by weight alone",
        "Fill the food before this step, or say under `makes` which `piece` is counted.",
    )
    if not uncounted:
        why, help = (
            "its places don't name what this formula is filled into. Loads go by weight alone",
            "Add it to `places`: a vessel by its id under `vessels`, else `each`.",
        )
    machine = walked.step.machine is not None
    place = walked.step.step.place("with" if machine else "in")
    about = frozenset({walk.formula.id})
    words = f"{name}, step {walked.step.number}: {why}."
    severity: Severity = "warning" if machine else "note"  # food is put by in a cold place unfilled
    return Finding("places-not-counted", severity, words, place, help, about=about)
