"""Every source the manual's numbers rest on, and what rests on each."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import partial
from typing import Any, Literal

from generator.indexes.uses import cautions_raised
from generator.records.ingredient import Ingredient
from generator.reference.packs import Pack
from generator.reference.rows import SourceRecord
from generator.rules.basics.check_points import check_readings
from generator.rules.basics.limit import DoseLimit, Limit, NotCovered, ShareLimit
from generator.rules.cures.salting import SOURCES as SALT_SOURCES
from generator.sheet.composed import SODIUM
from generator.sheet.dough_day import SOURCES as WATER_SOURCES
from generator.sheet.doughs import SOURCES as DOUGH_SOURCES
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet
from generator.sheet.weighing import unit_weights_of
from generator.views.tables import length_table, mass_table, spoon_table

Kind = Literal[
    "formula", "ingredient", "cautions", "allergens", "conversions", "glossary", "pack", "equipment"
]
TEMPERATURE_SCALES = "nist-sp-811"


@dataclass(frozen=True)
class Rest:
    """What rests on a source: a formula's, an ingredient's or a rule pack's page by its id, or a
    page of its own.

    ``what`` says in a word or two what is taken from it.
    """

    kind: Kind
    id: str
    what: str


@dataclass
class SourceUse:
    """One source: its key and record, or for the kitchen's own source the text alone."""

    key: str
    record: SourceRecord | None
    text: str = ""
    rests: dict[Rest, None] = field(default_factory=dict)


class _Gathered:
    """Sources by key as they are found; titles that the rules carry are led back to keys."""

    def __init__(self, manual: Manual) -> None:
        self.known = manual.library.sources
        self.by_title = {source.named: key for key, source in self.known.items()}
        self.found: dict[str, SourceUse] = {}

    def add(self, key: str, kind: Kind, ident: str, what: str) -> None:
        if not key:
            return
        key = self.by_title.get(key, key)
        record = self.known.get(key)
        use = self.found.setdefault(key, SourceUse(key, record, "" if record else key))
        use.rests.setdefault(Rest(kind, ident, what))


def sources_used(manual: Manual) -> tuple[SourceUse, ...]:
    """Every source this manual draws on, in the order of ``shared/sources.yaml``, then the
    kitchen's own (a pack, a data sheet, weighed here) by their words."""
    gathered = _Gathered(manual)
    for sheet in manual.sheets.values():
        of_it = partial(_of_sheet, manual, sheet)
        for key, what in manual.keeping.part(sheet, "sources", of_it, read=_read):
            gathered.add(key, "formula", sheet.id, what)
    for ident, facts in manual.standards.ingredients.items():
        _of_ingredient(gathered, manual, ident, facts)
    for raised in cautions_raised(manual):
        gathered.add(manual.library.cautions[raised.id].source, "cautions", "", raised.name)
    _of_the_house(gathered, manual)
    order = {key: number for number, key in enumerate(manual.library.sources)}
    return tuple(
        sorted(
            gathered.found.values(), key=lambda u: (order.get(u.key, len(order)), u.text.lower())
        )
    )


def _of_ingredient(gathered: _Gathered, manual: Manual, ident: str, facts: Ingredient) -> None:
    """What a measure of it weighs, its own limits, its composition."""
    for weight in unit_weights_of(manual.house, facts):
        gathered.add(weight.source, "ingredient", ident, "what a measure weighs")
    for limit in manual.shelves[ident].limits:
        for key in limit.source.read_in:
            gathered.add(key, "ingredient", ident, limit.source.clause)
    stuff = manual.library.foodstuffs.get(facts.foodstuff or "")
    if facts.composition is not None:
        gathered.add(facts.composition.source, "ingredient", ident, "composition")
    elif stuff is not None and stuff.composition.any_stated:
        gathered.add(stuff.source, "ingredient", ident, "composition")


def _of_the_house(gathered: _Gathered, manual: Manual) -> None:
    """What a probe must read here, the packs in force, allergens, units and terms."""
    house = manual.house
    if house.kitchen.altitude is not None:
        for reading in check_readings(house.library, house.kitchen.altitude):
            gathered.add(reading.basis.source, "equipment", "", "what a probe must read")
    for pack in (house.pack, *([house.additives] if house.additives else [])):
        _of_pack(gathered, pack)
    gathered.add(house.allergens.source, "allergens", "", "the list of allergens")
    for row in (*spoon_table(house.units), *mass_table(house.units), *length_table(house.units)):
        gathered.add(row.source, "conversions", "", "units")
    gathered.add(TEMPERATURE_SCALES, "conversions", "", "°C and °F")
    for term in house.library.glossary.terms.values():
        gathered.add(term.source or "", "glossary", "", term.term)
    for other in house.library.glossary.other_names.values():
        gathered.add(other.source or "", "glossary", "", other.name)


def _of_pack(gathered: _Gathered, pack: Pack) -> None:
    """A rule pack's own source, and the copies its rows were read in."""
    gathered.add(pack.facts.source, "pack", pack.id, "the rules as a whole")
    for held in pack.rows.values():
        for key in held.read_in:
            gathered.add(key, "pack", pack.id, held.clause)


def _of_sheet(manual: Manual, sheet: Sheet) -> list[tuple[str, str]]:
    """What a formula draws on, each source with what is taken from it: its limits, its dates, how
    its species are classed, and what its measures weigh."""
    return list(dict.fromkeys(_drawn_on(manual, sheet)))


def _drawn_on(manual: Manual, sheet: Sheet) -> Iterator[tuple[str, str]]:
    """The same, as often as it is drawn on."""
    for limit in sheet.walk.limits:
        what = limit.source.clause or "critical limits"
        yield from ((key, what) for key in _keys_of(manual, limit))
    yield from _of_its_dates(manual, sheet)
    if sheet.walk.salting is not None:
        yield from ((key, "how salty it comes out") for key in SALT_SOURCES)
    yield from _of_its_composition(manual, sheet)
    yield from _of_its_animals(manual, sheet)
    yield from ((line.weighed.source, "weights of measures") for line in sheet.walk.lines)


def _of_its_dates(manual: Manual, sheet: Sheet) -> Iterator[tuple[str, str]]:
    """How long it keeps."""
    dated = sheet.walk.dates.source if sheet.walk.dates is not None else None
    if dated is not None:
        keys = [manual.house.pack.facts.source, *dated.read_in]
        yield from ((key, dated.clause or "use-by") for key in keys)


def _of_its_animals(manual: Manual, sheet: Sheet) -> Iterator[tuple[str, str]]:
    """How its species are classed."""
    for component in sheet.walk.end.components:
        definition = manual.house.pack.definitions.get(component.species or "")
        if definition is not None:
            yield from ((key, "how its animal food is classed") for key in definition.read_in)


def _of_its_composition(manual: Manual, sheet: Sheet) -> Iterator[tuple[str, str]]:
    """What it is made of, and a dough's figures."""
    yield SODIUM, "what is in 100 g of it"
    if manual.dough(sheet.id) is not None:
        yield from ((key, "bakers' percentages") for key in DOUGH_SOURCES)
    if sheet.formula.formula.dough is not None:
        yield from ((key, "water of the dough") for key in WATER_SOURCES)


def _read(found: Any) -> list[tuple[str, str]]:
    return [(key, what) for key, what in found]


def _keys_of(manual: Manual, limit: Limit) -> tuple[str, ...]:
    """The sources of a limit: its pack's, unless no pack covers it, and those its row was read
    in."""
    house = manual.house
    pack = house.additives if isinstance(limit, DoseLimit | ShareLimit) else house.pack
    if pack is None or isinstance(limit, NotCovered):
        return limit.source.read_in
    return (pack.facts.source, *limit.source.read_in)
