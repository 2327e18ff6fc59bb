"""Receiving: how warm or cold an ingredient may be when it comes in. Food Code 3-202.11."""

from __future__ import annotations

from dataclasses import dataclass, replace

from generator.files.finding import Finding
from generator.measures.basis import Basis
from generator.records.ingredient import Ingredient
from generator.reference.row_kinds import ReceiveRow
from generator.resolve.joined import House
from generator.rules.basics.context import both, cited, source_of
from generator.rules.basics.house_rule import Spoken
from generator.rules.basics.limit import InWords, KeepingLimit, figure_of
from generator.rules.basics.product import RAW_STATES
from generator.rules.cold.plants import needs_as_it_comes, plant_of
from generator.rules.house.house_limits import reported_of
from generator.rules.house.house_spots import at_shelf

OWN_FIGURE = "Its figure is in that law, not here. Write it on the receiving log."


@dataclass(frozen=True)
class Receiving:
    """What holds at the door for one ingredient: its limit, which is in words where the row sets no
    figure (frozen food is frozen; milk goes by a law of its own), and what else is looked at, in
    the code's own short words."""

    item: str
    name: str
    arrives: str
    limit: InWords | KeepingLimit
    words: tuple[str, ...]
    assumed: str = ""
    findings: tuple[Finding, ...] = ()
    house_limits: Spoken = frozenset()


def needs_cold(house: House, item: str, facts: Ingredient) -> bool:
    """Whether an ingredient needs temperature control as it comes in; not what is sealed until it
    is opened."""
    plant = plant_of(item, facts, house.library.plants)
    return not facts.sealed and (facts.tcs or needs_as_it_comes(plant, house.pack))


def shell_eggs(house: House, facts: Ingredient) -> bool:
    """Whether an ingredient is raw eggs in their shells, whose air the code speaks of.

    Not stated to be intact they count as eggs out of the shell, which are kept as any other food:
    41 °F in the food asks for more than 45 °F in the air. The same goes for a state that isn't
    stated.
    """
    return _egg(house, facts) and facts.state == "raw" and facts.form == "intact"


def _egg(house: House, facts: Ingredient) -> bool:
    found = house.pack.definitions.get(facts.species or "")
    return found is not None and found.group_as == "egg"


def by_own_law(house: House, facts: Ingredient) -> ReceiveRow | None:
    """The row that lets an ingredient come in by a law of its own; None where it goes by the code's
    figure, whatever it states: hot food, frozen food, raw eggs, and what may be one."""
    raw_egg = _egg(house, facts) and facts.state in RAW_STATES
    if not facts.own_law or facts.species is None or raw_egg or facts.arrives in ("hot", "frozen"):
        return None
    found = house.pack.row_for(ReceiveRow, "own-law")
    return found[1] if found is not None else None


def receiving(house: House, item: str, facts: Ingredient) -> Receiving | None:
    """The receiving rule of an ingredient; None for food that needs no temperature control as it
    comes, or where the pack in force holds no receiving rows.

    An arrival that isn't stated counts as chilled, the strictest. Raw shell eggs go by the air of
    what they come in. ``limit.read`` is in the kitchen's unit, the probe's accuracy taken off (or,
    for hot food, put on).
    """
    if not needs_cold(house, item, facts):
        return None
    arrives = facts.arrives or "chilled"
    found = house.pack.row_for(ReceiveRow, _kind(house, facts, arrives))
    if found is None:
        return None
    _, row = found
    own = by_own_law(house, facts)
    limit = _by_law(house, item, facts, row, own)
    always = house.pack.row_for(ReceiveRow, "any")
    words = (always[1].words,) if always is not None and always[1].words else ()
    assumed = "" if facts.arrives else "How it arrives isn't stated. It counts as chilled."
    received = Receiving(item, facts.name, arrives, limit, words, assumed)
    if own is None and row.value is None:
        return received
    return _by_house_limit(house, facts, found, received)


def _by_law(
    house: House, item: str, facts: Ingredient, row: ReceiveRow, own: ReceiveRow | None
) -> InWords | KeepingLimit:
    """The limit of a row, or of a law of its own (``own``); in words where it sets no figure."""
    if own is not None:
        reported = f"{own.words.rstrip('.')}: {facts.own_law.rstrip('.')}."
        missed = "Warmer than that law says? Send it back."
        return _in_words(house, item, facts, own, reported, missed, OWN_FIGURE)
    if row.value is None:
        missed = "Thawed, or ice from thawing and freezing again? Send it back."
        return _in_words(house, item, facts, row, row.words, missed)
    return _limit(house, item, facts, row)


def _by_house_limit(
    house: House, facts: Ingredient, found: tuple[str, ReceiveRow], received: Receiving
) -> Receiving:
    """What holds at the door with the kitchen's own limit counted in. One has nothing to be held
    against in a law that isn't held: the general row counts."""
    item = received.item
    ours = at_shelf(house, item, facts, "receive", found)
    if ours is None:
        return received
    limit = received.limit
    if "receive" in ours.rules:
        mine = ours.house.pack.row_for(ReceiveRow, found[1].applies or "")
        assert mine is not None, "a house limit replaces the code's row"
        limit = reported_of(_limit(ours.house, item, facts, mine[1]), ours.rules["receive"], limit)
    return replace(received, limit=limit, findings=ours.findings, house_limits=ours.touched)


def law_without_use(house: House, item: str, facts: Ingredient) -> tuple[Finding, ...]:
    """What is said of an `own_law` that changes nothing, so that nobody relies on it."""
    cold = needs_cold(house, item, facts)
    if not facts.own_law or (cold and by_own_law(house, facts) is not None):
        return ()
    row = house.pack.row_for(ReceiveRow, "own-law")
    if not cold:
        why = "it needs no temperature control as it arrives"
    elif row is None:
        why = "the rules in force here say nothing about receiving"
    elif facts.arrives in ("hot", "frozen"):
        why = f"it arrives {facts.arrives}, and the code has its own rule for that"
    elif facts.species is None:
        why = "its species isn't stated, and the code's rule is for raw eggs"
    else:
        why = "the code's rule is for raw eggs: in their shells, by the air round them"
    return (
        Finding(
            "own-law-unused",
            "warning",
            f"{facts.name}: `own_law` changes nothing: {why}.",
            facts.place("own_law"),
            "Delete it, or fix the facts beside it.",
            source=cited(house, row[1]) if row else "",
            about=frozenset({item}),
        ),
    )


def _kind(house: House, facts: Ingredient, arrives: str) -> str:
    if arrives in ("hot", "frozen"):
        return arrives
    return "eggs" if shell_eggs(house, facts) else "cold"


def _in_words(
    house: House,
    item: str,
    facts: Ingredient,
    row: ReceiveRow,
    words: str,
    missed: str,
    note: str = "",
) -> InWords:
    source = source_of(house, row)
    basis = Basis((("In it", f"{facts.name}: {row.food}"),), row.words, source.words)
    return InWords(
        id=f"{item}/receive",
        step="receive",
        number=0,
        verb="Receive",
        hazard="receive",
        bound="max",
        source=source,
        because=(facts.name,),
        group=row.food,
        basis=basis,
        note=note,
        words=words,
        if_missed=missed,
    )


def _limit(house: House, item: str, facts: Ingredient, row: ReceiveRow) -> KeepingLimit:
    assert row.value is not None and row.bound is not None
    accuracy, unit = house.probe.accuracy, house.kitchen.temperature
    figure = figure_of(row.value, row.printed, row.bound, accuracy)
    source = source_of(house, row)
    shown = both(row.value, figure.shown_c, figure.shown_f)
    inputs = [("In it", f"{facts.name}: {row.food}"), ("Probe", f"reads to ±{accuracy}")]
    own = house.pack.row_for(ReceiveRow, "own-law")
    if own is not None and row.bound == "max" and row.measured != "air":
        inputs.append(("Except", f"{own[1].food}: {own[1].words} ({own[1].clause})"))
    side = "or hotter" if row.bound == "min" else "or colder"
    return KeepingLimit(
        id=f"{item}/receive",
        step="receive",
        number=0,
        verb="Receive",
        hazard="receive",
        bound=row.bound,
        source=source,
        figure=figure,
        read=figure.asked(unit, None),
        because=(facts.name,),
        group=row.food,
        basis=Basis(tuple(inputs), f"{row.food}: {shown} {side}", source.words),
        probe="the air it comes in" if row.measured == "air" else "",
        measured=row.measured,
    )
