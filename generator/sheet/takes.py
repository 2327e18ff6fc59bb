"""What the machine or cold place of a step takes at a time: in weight, in its bowl, in places."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from fractions import Fraction

from generator.files.finding import Finding, Refused, Severity
from generator.measures.kilos import kilos
from generator.measures.rounding import total
from generator.measures.words import NARROW, listed, plain
from generator.records.equipment import Cold, Machine
from generator.rules.basics.product import Product
from generator.sheet.lots import Lot, lots_of
from generator.sheet.volumes import CLOSE, Bulk, bulk_of
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
    ``places`` is how many fills or pieces go in at a time. Where the food gains weight in the
    machine, ``most`` is so much less, that what comes out goes in; ``out`` is that weight for each
    gram that goes in. ``beside`` are pieces of other lines with each that takes a place."""

    ident: str
    name: str
    where: str
    most: Fraction | None
    least: Fraction | None
    room: Room | None
    by_bowl: bool
    written: str
    places: int | None = None
    out: Fraction = Fraction(1)
    beside: Fraction = Fraction(0)

    @property
    def places_in_all(self) -> int:
        """Its places, those for pieces of other lines counted in."""
        return math.ceil((self.places or 0) * (1 + self.beside))

    @property
    def said(self) -> str:
        """What is said of the most, in a refusal."""
        if self.by_bowl:
            return "its bowl has room for"
        return "it takes" if self.out == 1 else "it takes of what gains weight in it"


def takes_of(walk: Walk, walked: WalkedStep) -> Takes | None:
    """What the machine or cold place of a step takes; None where the step has none.

    Raises Refused if the least it needs doesn't fit in its bowl.
    """
    return walk.once("takes", walked.step.number, lambda: _takes(walk, walked))


def _takes(walk: Walk, walked: WalkedStep) -> Takes | None:
    lot = lots_of(walk).get(walked.step.number)  # what is counted of the food that comes to it
    step = walked.step
    unit = step.machine or step.cold
    name = step.step.with_ or step.step.in_
    if unit is None or name is None or "cleans" in step.effects or not walked.before.mass:
        return None
    out = walked.grows
    most, written = _most_of(unit, out)
    least = unit.minimum.value if unit.minimum else None
    where = f"{unit.name}, step {step.number}"
    room = _room(walk, walked, step.machine, out)
    places, beside = places_for(unit, lot), lot.beside if lot is not None else Fraction(0)
    takes = Takes(name, unit.name, where, most, least, room, False, written, places, out, beside)
    if room is None or (most is not None and most <= room.most_g):
        return takes
    _refuse_too_small(room, least, where)
    return replace(takes, most=room.most_g, by_bowl=True)


def _most_of(unit: Machine | Cold, out: Fraction) -> tuple[Fraction | None, str]:
    """The most that goes in, of what grows to ``out`` of it there, and its capacity as written."""
    return (unit.capacity.value / out, unit.capacity.text) if unit.capacity else (None, "")


def places_for(unit: Machine | Cold, lot: Lot | None) -> int | None:
    """How many of what is counted go into a machine at a time, where it says so."""
    if unit.places is None or lot is None:
        return None
    places = unit.places.of(lot.vessel)
    if places is None or not lot.beside:
        return places
    return math.floor(places / (1 + lot.beside))  # each piece with those that lie beside it


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


def _room(walk: Walk, walked: WalkedStep, machine: Machine | None, out: Fraction) -> Room | None:
    if machine is None or machine.bowl is None or not walked.before.mass:
        return None
    weighed = _by_the_litre(walk, walked)
    bulk = weighed or bulk_of(walked.before)
    if not bulk.ml:
        return None
    share = machine.fill_level if machine.fill_level is not None else Fraction(1)
    usable = machine.bowl.value * share
    air = _air_at(walk, walked, machine)
    ml = bulk.ml
    if out > 1:  # what is in the bowl at the end, water it took up counted as such
        ml = max(ml, bulk_of(walked.after).ml * out * walked.before.mass / walked.after.mass)
    per_g = ml / walked.before.mass * (1 + air)
    words = _room_words(machine, usable, air)
    makes = walk.formula.formula.makes
    if weighed is not None and makes is not None and makes.litre is not None:
        words += f"; one litre of the mix weighs {makes.litre.text}"
    return Room(usable, usable / per_g, per_g, bulk, words)


def _air_at(walk: Walk, walked: WalkedStep, machine: Machine) -> Fraction:
    """The air in the mix at a step, as a share of its own volume."""
    makes = walk.formula.formula.makes
    if makes is None or machine.kind not in _WHIPS or is_filled(walk, walked):
        return Fraction(0)
    return makes.overrun or Fraction(0)


def _room_words(machine: Machine, usable: Fraction, air: Fraction) -> str:
    """A bowl, how full it may be, and the air that goes in."""
    assert machine.bowl is not None
    words = litres_words(machine.bowl.value)
    if machine.fill_level is not None:
        words += f", worked to {plain(machine.fill_level * 100)}{NARROW}%: {litres_words(usable)}"
    return words + (f"; with {plain(air * 100)}{NARROW}% overrun" if air else "")


def _by_the_litre(walk: Walk, walked: WalkedStep) -> Bulk | None:
    """The room the mix takes up by the litre of it that was weighed, once all of it is together;
    None where none was, or where some of it isn't in yet.

    A litre was weighed of what is filled. What is lost until then is room more, of the lightest
    liquid at most; what is still gained is none less than its share.
    """
    makes = walk.formula.formula.makes
    if makes is None or makes.litre is None:
        return None
    mix = next((s.after for s in walk.steps if s.step.number == walk.filled_at), walk.end)
    if _what_is_in(walked.before) != _what_is_in(mix) or not mix.mass:
        return None
    mass, per_g = walked.before.mass, 1000 / makes.litre.value
    if mass >= mix.mass:
        return Bulk(mix.mass * per_g + (mass - mix.mass) * CLOSE)
    return Bulk(max(mass * per_g, mix.mass * per_g - (mix.mass - mass)))


def _what_is_in(product: Product) -> set[tuple[str, str]]:
    return {(c.part, c.item) for c in product.components if c.grams}


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
        if step.effects & {"fills", "cooks"} or step.yields is not None or walked.left:
            return ""  # what is in hand then weighs something else
    return ""


@dataclass(frozen=True)
class Handed:
    """What goes into a machine of what earlier steps gave, beside lines weighed at its step: the
    ``grams`` at factor 1, and the ``words`` of where it comes from."""

    grams: Fraction
    words: str


def handed_at(walk: Walk, walked: WalkedStep) -> Handed | None:
    """What earlier steps hand a machine beside what is weighed for it there; None where either is
    missing."""
    own = [ln.grams for ln in walk.lines if ln.joined.part in walked.step.parts]
    grams = walked.before.mass - total(own)
    come = sorted({one.number for one in walked.step.comes})
    if not own or grams <= 0 or not come:
        return None
    before = {c.part for c in walked.before.components} - set(walked.step.parts)
    if all(weighed_for(walk, part) == walked.step.id for part in before):
        return None  # their lines say it
    return Handed(grams, f"{'step' if len(come) == 1 else 'steps'} {listed(list(map(str, come)))}")


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
    lots = lots_of(walk)
    for walked in walk.steps:
        unit, lot = walked.step.machine or walked.step.cold, lots.get(walked.step.number)
        if unit is None or unit.places is None or "cleans" in walked.step.effects:
            continue
        if places_for(unit, lot) is None:
            found.append(_idle_places(walk, walked, unit.name, lot is None))
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
