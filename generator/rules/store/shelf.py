"""What holds for an ingredient from the door on: put away, in store, once it is opened.

Food Code 3-501.14(C) and (D), 3-501.16, 3-501.17(A) and (B).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from generator.files.finding import Finding
from generator.measures.basis import Basis
from generator.measures.words import duration
from generator.records.ingredient import Ingredient
from generator.reference.packs import Pack
from generator.reference.row_kinds import CoolRow, DateRow, Held, HoldRow
from generator.resolve.joined import ConfirmedFact, House, confirmed_facts
from generator.rules.basics.context import Dates, DayOne, both, source_of
from generator.rules.basics.house_rule import Spoken
from generator.rules.basics.limit import CoolingLimit, InWords, KeepingLimit, Law, figure_of
from generator.rules.cold.cooling import stages_of
from generator.rules.cold.frozen import kept_frozen
from generator.rules.cold.holding import held_cold, held_hot
from generator.rules.house.house_limits import reported_of
from generator.rules.house.house_spots import at_shelf
from generator.rules.store.milk import not_pasteurised
from generator.rules.store.receiving import (
    Receiving,
    by_own_law,
    law_without_use,
    needs_cold,
    receiving,
    shell_eggs,
)
from generator.rules.store.undated import undated, undated_without_use

ARRIVES = "it comes in"
"""When the clock of food that came in warm starts."""
_DAY_ONE: dict[DayOne, str] = {
    "opened": "the day its container is opened",
    "prepared": "the day the seller prepared it",
}


@dataclass(frozen=True)
class Shelf:
    """An ingredient's own limits: at the door, as it is put away, in store; and how long it keeps
    once it is opened. ``limits`` are all but the date, in the order of the work."""

    item: str
    name: str
    receiving: Receiving | None
    put_away: CoolingLimit | KeepingLimit | None
    store: InWords | KeepingLimit | None
    dates: Dates | None
    findings: tuple[Finding, ...] = ()
    house_limits: Spoken = frozenset()
    confirmed: tuple[ConfirmedFact, ...] = ()

    @property
    def limits(self) -> tuple[Law, ...]:
        door = self.receiving.limit if self.receiving is not None else None
        return tuple(lm for lm in (door, self.put_away, self.store) if lm is not None)


def shelf_of(house: House, item: str, facts: Ingredient) -> Shelf:
    """The limits of one ingredient by the pack in force, with its confirmed facts; where the pack
    holds no row there is no limit."""
    return replace(_shelf(house, item, facts), confirmed=confirmed_facts(item, facts))


def _shelf(house: House, item: str, facts: Ingredient) -> Shelf:
    useless = (
        *not_pasteurised(house, item, facts),
        *law_without_use(house, item, facts),
        *undated_without_use(house, item, facts),
    )
    if not needs_cold(house, item, facts) and not facts.sealed:
        return Shelf(item, facts.name, None, None, None, None, useless)
    door = receiving(house, item, facts)
    store, findings, touched = _stored(house, item, facts)
    needs_none = undated(house.pack, facts)
    if store is not None and needs_none is not None:
        reported = f"{needs_none.words} ({needs_none.clause})"
        store = replace(store, note=f"{store.note} {reported}".strip())
    dates, more, spoken = _dated(house, item, facts)
    if door is not None:
        findings, touched = (*door.findings, *findings), touched | door.house_limits
    return Shelf(
        item,
        facts.name,
        door,
        _put_away(house, item, facts),
        store,
        dates,
        (*useless, *findings, *more),
        touched | spoken,
    )


# --- as it is put away

_PUT_IN = ("put-away", "Put away", "cold_hold", "put in at once")


def _put_away(house: House, item: str, facts: Ingredient) -> CoolingLimit | KeepingLimit | None:
    """What is asked at once: food that came in warm by a law of its own is cooled, raw eggs go into
    air that is cold enough. Food Code 3-501.14(C) and (D)."""
    if shell_eggs(house, facts) and facts.arrives not in ("hot", "frozen"):
        found = house.pack.row_for(HoldRow, "eggs-received", "cold_hold")
        if found is None:
            return None
        limit = _held(house, item, facts, found[1], *_PUT_IN)
        ours = at_shelf(house, item, facts, "cold_hold", found)
        own = ours.rules.get("cold_hold") if ours is not None else None
        if ours is None or own is None or own.standing != "stricter":
            return limit  # a variance for holding says nothing of what is put away
        mine = _house_row(house, ours.house, "cold_hold")
        return reported_of(_held(ours.house, item, facts, mine, *_PUT_IN), own, limit)
    if by_own_law(house, facts) is None:
        return None
    cooled = house.pack.row_for(CoolRow, "received-warm")
    if cooled is None or not cooled[1].stages:
        return None
    row, accuracy = cooled[1], house.probe.accuracy
    stages = stages_of(row, accuracy)
    last, source = stages[-1], source_of(house, row)
    shown = both(last.figure.value, last.figure.shown_c, last.figure.shown_f)
    inputs = (
        ("In it", f"{facts.name}: {row.food}"),
        ("Its own law", facts.own_law),
        ("Probe", f"reads to ±{accuracy}, taken off the figure"),
    )
    rule = f"{row.food}: to {shown} within {duration(last.within_s)} of coming in"
    return CoolingLimit(
        id=f"{item}/put-away/cool",
        step="put-away",
        number=0,
        verb="Put away",
        hazard="cool",
        bound="max",
        source=source,
        stages=stages,
        read=last.figure.asked(house.kitchen.temperature, None),
        because=(facts.name,),
        group=row.food,
        basis=Basis(inputs, rule, source.words),
        since=ARRIVES,
        probe="a pack from the middle of what came in",
        if_missed="Above {above} when its time is over? Throw it away.",
    )


# --- in store


def _stored(
    house: House, item: str, facts: Ingredient
) -> tuple[InWords | KeepingLimit | None, tuple[Finding, ...], Spoken]:
    """Held cold, or hot if it came in hot; raw eggs in their shells by the air. Frozen food
    stays frozen, which is a rule in words."""
    none: tuple[InWords | KeepingLimit | None, tuple[Finding, ...], Spoken] = (
        None,
        (),
        frozenset(),
    )
    if facts.arrives == "frozen":
        return kept_frozen(house, item, (facts.name,)), (), frozenset()
    how = "once it is opened" if facts.sealed else ""
    hazard: Held = "hot_hold" if facts.arrives == "hot" else "cold_hold"
    found = held_hot(house) if facts.arrives == "hot" else held_cold(house)
    if facts.arrives != "hot" and shell_eggs(house, facts):
        found = house.pack.row_for(HoldRow, "eggs", "cold_hold") or found
    if found is None:
        return none
    _, row = found
    limit = _held(house, item, facts, row, "store", "Store", hazard, how)
    ours = at_shelf(house, item, facts, hazard, found)
    if ours is None:
        return limit, (), frozenset()
    if hazard in ours.rules:
        mine = _house_row(house, ours.house, hazard)
        limit = reported_of(
            _held(ours.house, item, facts, mine, "store", "Store", hazard, how),
            ours.rules[hazard],
            limit,
        )
    return limit, ours.findings, ours.touched


def _house_row(house: House, ours: House, hazard: Held) -> HoldRow:
    """The row a house limit put among those of the code."""
    return next(r for i, r in ours.pack.rows_of(HoldRow, hazard) if i not in house.pack.rows)


def _held(
    house: House,
    item: str,
    facts: Ingredient,
    row: HoldRow,
    step: str,
    verb: str,
    hazard: str,
    how: str = "",
) -> KeepingLimit:
    assert row.value is not None and row.bound is not None
    figure = figure_of(row.value, row.printed, row.bound, house.probe.accuracy)
    source = source_of(house, row)
    shown = both(row.value, figure.shown_c, figure.shown_f)
    side = "or hotter" if row.bound == "min" else "or colder"
    inputs = (
        ("In it", f"{facts.name}: {row.food}"),
        ("Probe", f"reads to ±{house.probe.accuracy}"),
    )
    rule = f"{row.food}: {shown} {side}{f', {how}' if how else ''}"
    return KeepingLimit(
        id=f"{item}/{step}/{hazard}",
        step=step,
        number=0,
        verb=verb,
        hazard=hazard,
        bound=row.bound,
        source=source,
        figure=figure,
        read=figure.asked(house.kitchen.temperature, None),
        because=(facts.name,),
        group=row.food,
        basis=Basis(inputs, rule, source.words),
        measured=row.measured,
        probe="the air of the refrigerator it is in" if row.measured == "air" else "",
        note=_note(row, step, facts.sealed),
    )


def _note(row: HoldRow, step: str, sealed: bool) -> str:
    if step == "put-away":
        return "Put it in at once, before anything else."
    if sealed:
        return "It needs the cold once it is opened, not before."
    return "Other food in the same refrigerator has its own limit." if row.measured == "air" else ""


# --- once it is opened


def day_one_of(pack: Pack, facts: Ingredient) -> DayOne | None:
    """What day 1 of a bought ingredient is, if it has a day of its own: ready to eat, or
    pasteurised, or not stated to be raw, which counts as the strictest of both; and not on the list
    of what needs no date once it is opened (3-501.17(G)).

    The day a container is opened counts for what a plant made and packed or sealed (3-501.17(B));
    of anything else, and of what isn't stated to be so, the day it was prepared (A). A pack without
    such rows knows only the opening.
    """
    if facts.state == "raw" or undated(pack, facts) is not None:
        return None
    if facts.commercially_packed or facts.sealed or _row(pack, "opening") is None:
        return "opened"
    return "prepared"


def _row(pack: Pack, day_one: str) -> DateRow | None:
    return next((r for _, r in pack.rows_of(DateRow) if r.day_one == day_one), None)


def _dated(
    house: House, item: str, facts: Ingredient
) -> tuple[Dates | None, tuple[Finding, ...], Spoken]:
    """How long it keeps: the days of the general row, from the day that is its day 1."""
    none: tuple[Dates | None, tuple[Finding, ...], Spoken] = (None, (), frozenset())
    day_one, days = day_one_of(house.pack, facts), _row(house.pack, "preparation")
    if day_one is None or facts.arrives == "hot" or days is None or days.days is None:
        return none
    row = _row(house.pack, "opening") if day_one == "opened" else days
    if row is None:
        return none
    dates = Dates(
        "cold",
        days.days,
        days.days,
        None,
        None,
        (),
        "",
        source_of(house, row),
        marked_after_s=days.after.seconds if days.after is not None else None,
        day_one=day_one,
    )
    note = row.note if day_one == "opened" else ""
    ours = at_shelf(house, item, facts, "date", ("", days))
    if ours is None:
        return _reported(dates, "the code's", note), (), frozenset()
    rule, whose = ours.rules.get("date"), "the code's"
    if rule is not None:
        own = _row(ours.house.pack, "preparation")
        assert own is not None and own.days is not None, "a house limit of days has days"
        dates = replace(dates, day=own.days, house=rule, house_day=own.days)
        whose = "the house limit's"
    return _reported(dates, whose, note), ours.findings, ours.touched


def _reported(dates: Dates, whose: str, note: str) -> Dates:
    words = f"day {dates.day}, {whose}; day 1 is {_DAY_ONE[dates.day_one]}"
    return replace(dates, words=f"{words}. {note}" if note else words)
