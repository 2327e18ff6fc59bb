"""Where house limits are asked for: at a step, at the end of the work, at the door."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from generator.measures.temperature import Temperature
from generator.records.ingredient import Ingredient
from generator.reference.row_kinds import CookRow, CoolRow, DateRow, HoldRow, ReceiveRow, ReheatRow
from generator.resolve.joined import House
from generator.rules.basics.context import EndContext, StepContext
from generator.rules.basics.limit import Option
from generator.rules.basics.product import Component, Product
from generator.rules.cold.holding import held_cold, hot_at_step
from generator.rules.cold.schedules import cooling_row
from generator.rules.heat.cooking import law_options
from generator.rules.heat.reheating import reheat_options, reheat_rows
from generator.rules.heat.roast import GROUP as ROAST
from generator.rules.house.house_limits import Found, Spot, any_here, find
from generator.rules.house.house_rows import LawRows


def at_step(context: StepContext, hazards: frozenset[str]) -> Found | None:
    """The house limits at a step whose code limits are of ``hazards``; None where there are
    none."""
    house, step = context.house, context.step
    if not any_here(house, context.formula, step):
        return None
    law = {h: rows for h in sorted(hazards) if (rows := _at_step(context, h)) is not None}
    if not law:
        return None
    because = None
    if "cook" in law:
        options = law_options(context)
        because = tuple(c.name for c in options[1]) if options is not None else None
    return find(Spot(house, context.before, context.formula, step, because), law)


def _at_step(context: StepContext, hazard: str) -> LawRows | None:
    match hazard:
        case "cook":
            return _cook(context)
        case "reheat":
            return _reheat(context)
        case "cool":
            return _cooling(cooling_row(context))
        case "hot_hold":
            return _value(hot_at_step(context))
        case "cold_hold":
            return _value(held_cold(context.house))
        case _:
            return None


def _cook(context: StepContext) -> LawRows | None:
    """The rows a cooking step may go by; those of its group and of the roast chart fall away."""
    pack, found = context.house.pack, law_options(context)
    if found is None:
        return None
    group, _, options = found
    kinds = {*pack.members(group), ROAST}
    ids = [
        i
        for i, r in pack.rows_of(CookRow)
        if r.group in kinds and r.bound == "min" and r.applies != "to-order"
    ]
    return LawRows(pack.row(CookRow, options[0].row), tuple(ids), "min", group, _pairs(options))


def _reheat(context: StepContext) -> LawRows | None:
    """The rows of reheating here; all but those of its time fall away."""
    rows = reheat_rows(context)
    if not rows:
        return None
    own, chart = reheat_options(context)
    gone = tuple(i for i, r in context.house.pack.rows_of(ReheatRow) if r.bound != "max")
    return LawRows(rows[0][1], gone, "min", None, _pairs((*own, *chart)))


def _pairs(options: tuple[Option, ...]) -> tuple[tuple[Temperature, Fraction], ...]:
    """Core temperatures, each with the seconds it is held."""
    return tuple((o.figure.value, o.hold_s or Fraction(0)) for o in options)


def _cooling(found: tuple[str, CoolRow] | None) -> LawRows | None:
    if found is None:
        return None
    ident, row = found
    stages = tuple(
        (s.to, s.within.seconds, s.counts_from == "stage-before")
        for s in row.stages
        if not s.advised
    )
    clock = row.clock_from.value if row.clock_from is not None else None
    return LawRows(row, (ident,), stages=stages, clock=clock)


def _value(found: tuple[str, HoldRow | ReceiveRow] | None) -> LawRows | None:
    if found is None or found[1].bound is None:
        return None
    ident, row = found
    return LawRows(row, (ident,), row.bound or "max", value=row.value)


def at_end(context: EndContext, cold: bool, dated: bool) -> Found | None:
    """The house limits for holding the finished food (where the code's limit is: ``cold``) and
    for its days (``dated``)."""
    house = context.house
    if not any_here(house, context.formula):
        return None
    law: dict[str, LawRows] = {}
    rows = _value(held_cold(house)) if cold else None
    if rows is not None:
        law["cold_hold"] = rows
    days = _days(house) if dated else None
    if days is not None:
        law["date"] = days
    return find(Spot(house, context.product, context.formula), law) if law else None


def _days(house: House) -> LawRows | None:
    rows = house.pack.rows_of(DateRow)
    for ident, row in rows:
        if row.days is not None and row.day_one == "preparation":
            return LawRows(row, (ident,), days=row.days)
    return next((LawRows(row, ()) for _, row in rows if row.words), None)


def at_shelf(
    house: House,
    item: str,
    facts: Ingredient,
    hazard: str,
    found: tuple[str, HoldRow | ReceiveRow | DateRow],
) -> Found | None:
    """The house limits for an ingredient at the door, on the shelf, or once it is opened, whose row
    of the code is ``found``: a temperature, or its days."""
    if not any_here(house, None):
        return None
    ident, row = found
    if isinstance(row, DateRow):
        rows = _days(house)
    else:
        rows = _value((ident, row)) if row.value else None
    part = Component(
        item,
        facts.name,
        Fraction(0),
        facts.species,
        facts.state,
        facts.form,
        facts.tcs,
        facts.allergens,
    )
    spot = Spot(house, Product((part,)))
    result = find(spot, {hazard: rows}) if rows is not None else None
    if result is None:
        return None
    about = frozenset({item})
    return replace(result, findings=tuple(replace(f, about=about) for f in result.findings))
