"""The food in its vessel as a body: how deep it is there, and a piece without a vessel as a slab.

Raises Refused for what isn't stated, with what is missing.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from generator.files.finding import Refused, clipped
from generator.heat.bodies import Body, brick, cylinder, slab
from generator.heat.constituents import Composition, unfrozen
from generator.measures.amounts import read_amount
from generator.measures.words import with_verb
from generator.records.equipment import Cold, Equipment, Vessel
from generator.sheet.sheet import Sheet


@dataclass(frozen=True)
class Filled:
    """Food in its vessel: the body, how deep it is, m, the body at another depth, and the deepest
    it can be; a casing has no depth, and a piece of food without a vessel is a slab. ``packed``: it
    was packed without air by then."""

    vessel: Vessel | None
    body: Body
    depth: float | None = None
    at: Callable[[float], Body] | None = None
    most: float = 0.0
    packed: bool = False
    vessel_id: str | None = None

    @property
    def closed(self) -> bool:
        """Whether nothing gets at the food but heat: a casing, a bag, a pack."""
        held = self.vessel
        tight = held is not None and (held.shape == "casing" or held.moisture_tight)
        return self.packed or tight


def filled(
    sheet: Sheet,
    number: int,
    equipment: Mapping[str, Equipment],
    typed: str | None,
    depth: str | None,
    food: Composition,
) -> Filled:
    """The food of a step in the vessel that is ``typed``, or the step's own; as deep as typed, as
    its weight makes it, or up to the headspace. Raises Refused."""
    held = vessel_at(sheet, number, equipment, typed)
    if held is None:
        if depth is None:
            raise _vessel_missing(sheet, equipment)
        thick = _length(depth, sheet)
        return Filled(None, slab(thick), thick, slab, 10 * thick)
    ident = next((i for i, e in equipment.items() if e is held), None)
    if held.shape == "casing":
        if depth is not None:
            raise Refused("depth-of-casing", f"{held.name} is a casing: it has no depth.")
        body = cylinder(_side(held, "diameter") / 2, _side(held, "length"))
        return Filled(held, body, vessel_id=ident)
    at, most = _SHAPED[held.shape](held), _side(held, "depth")
    deep = _depth(sheet, held, depth, most, food)
    packed = any("packs-without-air" in one.effects for one in sheet.formula.steps[:number])
    return Filled(held, at(deep), deep, at, most, packed, ident)


def vessel_at(
    sheet: Sheet, number: int, equipment: Mapping[str, Equipment], typed: str | None
) -> Vessel | None:
    """What the food is in: what is named, the step's own, or the last it was put in before; None
    where nothing says."""
    if typed is not None:
        found = named(equipment, typed, "vessel")
        assert isinstance(found, Vessel)
        return found
    for joined in reversed(sheet.formula.steps[:number]):
        if joined.vessel is not None:
            return joined.vessel
    return None


_OFFERED = ("box", "cylinder", "casing")
"""Pans before pots and jars, and these before casings: food is cooled and held in pans."""


def _vessel_missing(sheet: Sheet, equipment: Mapping[str, Equipment]) -> Refused:
    vessels = {i: e for i, e in equipment.items() if isinstance(e, Vessel)}
    known = sorted(vessels, key=lambda ident: _OFFERED.index(vessels[ident].shape))
    return Refused(
        "vessel-missing",
        f"Nothing says what {with_verb(sheet.name, 'is')} in.",
        "Write `vessel` at the step, or name one with --vessel. For a piece of food without one, "
        "write how thick it is with --depth.",
        [*(f"--vessel {ident}" for ident in known[:3]), "--depth 30mm"],
    )


def named(equipment: Mapping[str, Equipment], typed: str, word: str) -> Equipment:
    """A vessel or a chiller by its id. Raises Refused."""
    kind = Vessel if word == "vessel" else Cold
    fit = {i: e for i, e in equipment.items() if isinstance(e, kind)}
    found = fit.get(typed)
    if found is None:
        near = difflib.get_close_matches(typed, fit, n=1)
        help = f"Did you mean {near[0]}?" if near else f"Known: {', '.join(fit)}."
        raise Refused("equipment-unknown", f"There is no {word} `{clipped(typed)}`.", help)
    return found


def _side(vessel: Vessel, name: str) -> float:
    """An inside measure, m. Raises Refused where it isn't stated."""
    side = getattr(vessel.inside, name)
    if side is None:
        raise Refused(
            "vessel-measure-missing",
            f"{vessel.name} has no inside {name}.",
            "Measure it. Write it under `inside`.",
        )
    return float(side.value) / 1000


def _box(vessel: Vessel) -> Callable[[float], Body]:
    length, width = _side(vessel, "length"), _side(vessel, "width")
    return lambda depth: brick(length, width, depth)


def _upright(vessel: Vessel) -> Callable[[float], Body]:
    radius = _side(vessel, "diameter") / 2
    return lambda depth: cylinder(radius, depth)


_SHAPED = {"box": _box, "cylinder": _upright}


def _length(typed: str, sheet: Sheet) -> float:
    amount = read_amount(typed, sheet.house.units, pieces=False)
    if amount.kind != "length" or amount.value <= 0:
        raise Refused("depth-unreadable", f"`{clipped(typed)}` is no depth.", "As in 40 mm.")
    return float(amount.value) / 1000


def _depth(
    sheet: Sheet, vessel: Vessel, typed: str | None, most: float, food: Composition
) -> float:
    """How deep the food is, m: as typed; by the weight of a fill; or up to the headspace."""
    if typed is not None:
        deep = _length(typed, sheet)
        if deep > most:
            raise Refused(
                "depth-too-great", f"{vessel.name} is {1000 * most:g} mm deep.", "Name another."
            )
        return deep
    headspace = float(vessel.headspace.value) / 1000 if vessel.headspace is not None else 0.0
    brim = most - headspace
    makes = sheet.formula.formula.makes
    if makes is None or makes.fill_weight is None or vessel is not sheet.formula.vessel:
        return brim
    return min(
        brim, float(makes.fill_weight.value) / 1000 / unfrozen(food, 20.0).density / area(vessel)
    )


def area(vessel: Vessel) -> float:
    """The floor of a box or a cylinder, m²."""
    if vessel.shape == "cylinder":
        return math.pi / 4 * _side(vessel, "diameter") ** 2
    return _side(vessel, "length") * _side(vessel, "width")
