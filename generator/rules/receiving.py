"""Receiving: how warm or cold an ingredient may be when it comes in. Food Code 3-202.11."""

from __future__ import annotations

from dataclasses import dataclass

from generator.computed import Basis
from generator.finding import Finding, Place
from generator.joined import House
from generator.records.ingredient import Ingredient
from generator.reference.rows import Row
from generator.rules.context import both, source_of
from generator.rules.house_limits import told_of
from generator.rules.house_spots import at_door
from generator.rules.limit import Limit, figure_of
from generator.rules.plants import needs_as_it_comes, plant_of


@dataclass(frozen=True)
class Receiving:
    """What holds at the door for one ingredient: its limit, or None where the row sets no figure
    (frozen food is frozen), and what else is looked at, in the code's own short words."""

    item: str
    name: str
    arrives: str
    limit: Limit | None
    words: tuple[str, ...]
    assumed: str = ""
    findings: tuple[Finding, ...] = ()
    house_limits: frozenset[Place] = frozenset()


def receiving(house: House, item: str, facts: Ingredient) -> Receiving | None:
    """The receiving rule of an ingredient; None for food that needs no temperature control, or
    where the pack in force holds no receiving rows.

    An arrival that isn't stated counts as chilled, the strictest. Raw eggs go by the air of what
    they come in. ``limit.read`` is in the kitchen's unit, the probe's accuracy taken off (or, for
    hot food, put on).
    """
    plant = plant_of(item, facts, house.library.plants)
    if not facts.tcs and not needs_as_it_comes(plant, house.pack):
        return None
    arrives = facts.arrives or "chilled"
    found = house.pack.row_for("receive", _kind(house, facts, arrives))
    if found is None:
        return None
    _, row = found
    always = house.pack.row_for("receive", "any")
    words = tuple(w for w in (row.words, always[1].words if always else "") if w)
    own = house.pack.row_for("receive", "own-law")
    assumed = "" if facts.arrives else "How it arrives isn't stated: counted as chilled."
    if row.value is None:
        return Receiving(item, facts.name, arrives, None, words, assumed)
    special = own[1] if own else None
    limit = _limit(house, item, facts, row, special)
    ours = at_door(house, item, facts, found)
    if ours is None:
        return Receiving(item, facts.name, arrives, limit, words, assumed)
    if "receive" in ours.rules:
        mine = ours.house.pack.row_for("receive", row.applies or "")
        assert mine is not None, "a house limit stands where the code's row stood"
        limit = told_of(
            _limit(ours.house, item, facts, mine[1], special), ours.rules["receive"], limit
        )
    return Receiving(item, facts.name, arrives, limit, words, assumed, ours.findings, ours.touched)


def _kind(house: House, facts: Ingredient, arrives: str) -> str:
    if arrives in ("hot", "frozen"):
        return arrives
    definition = house.pack.definitions.get(facts.species or "")
    raw = facts.state in (None, "raw")
    return "eggs" if definition is not None and definition.group_as == "egg" and raw else "cold"


def _limit(house: House, item: str, facts: Ingredient, row: Row, own: Row | None) -> Limit:
    assert row.value is not None and row.bound is not None
    accuracy, unit = house.probe.accuracy, house.kitchen.temperature
    figure = figure_of(row.value, row.printed, row.bound, accuracy)
    source = source_of(house, row)
    shown = both(row.value, figure.shown_c, figure.shown_f)
    inputs = [("In it", f"{facts.name}: {row.food}"), ("Probe", f"reads to ±{accuracy}")]
    if own is not None and row.bound == "max":
        inputs.append(("Except", f"{own.food}: {own.words} ({own.clause})"))
    side = "or hotter" if row.bound == "min" else "or colder"
    measured = "the air it comes in" if row.measured == "air" else ""
    return Limit(
        f"{item}/receive", "receive", 0, "Receive", "receive", row.bound, source, figure,
        read=figure.asked(unit, None), because=(facts.name,), group=row.food,
        basis=Basis(tuple(inputs), f"{row.food}: {shown} {side}", source.words), probe=measured,
    )  # fmt: skip
