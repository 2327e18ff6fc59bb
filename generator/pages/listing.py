"""Home and station pages: which formulas there are, and whether they are current."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import Any

from generator.files.finding import total_words
from generator.measures.kilos import kilos
from generator.measures.words import NARROW, counted, plain
from generator.pages.page import Page, make_page
from generator.pages.plan import planned_at, plans_to_come
from generator.resolve.due_checks import due_checks
from generator.resolve.joined import House
from generator.sheet.manual import Manual, Stopped
from generator.sheet.sheet import Sheet
from generator.views.equipment_view import fine
from generator.views.limit_view import Chip, at_a_glance, limit_view
from generator.views.routine_view import routines_at
from generator.views.status_view import status_of
from generator.views.uris import (
    ALLERGENS,
    CAUTIONS,
    CHANGED,
    CONVERSIONS,
    EQUIPMENT_INDEX,
    FINDINGS,
    GLOSSARY,
    HOME,
    INGREDIENT_INDEX,
    PLAN_INDEX,
    PROCESS_INDEX,
    REGISTER,
    SOURCES,
    TAGS,
    Link,
    formula_uri,
    link,
    process_uri,
    station_uri,
)


@dataclass(frozen=True)
class StepChips:
    """The limits of one step at a glance, under what is done there."""

    verb: str
    chips: tuple[Chip, ...]


@dataclass(frozen=True)
class FormulaItem:
    """One formula in a list."""

    name: str
    href: str
    status: str
    reversed: bool
    rest: str
    limits: tuple[StepChips, ...]


@dataclass(frozen=True)
class StationItem:
    """One station with its formulas."""

    id: str
    name: str
    about: str
    href: str
    formulas: tuple[FormulaItem, ...]


def _item(manual: Manual, sheet: Sheet, start: str) -> FormulaItem:
    status = status_of(sheet)
    chips = partial(_step_chips, sheet)
    return FormulaItem(
        sheet.name,
        link(start, formula_uri(sheet.formula.formula.home, sheet.id)),
        status.word,
        status.reversed,
        status.rest,
        manual.keeping.part(sheet, "chips", chips, _chips_written, _chips_read),
    )


def _chips_written(steps: tuple[StepChips, ...]) -> Any:
    return [[s.verb, [[c.figure, c.words, c.other] for c in s.chips]] for s in steps]


def _chips_read(steps: Any) -> tuple[StepChips, ...]:
    return tuple(StepChips(verb, tuple(Chip(*one) for one in chips)) for verb, chips in steps)


def _step_chips(sheet: Sheet) -> tuple[StepChips, ...]:
    """The limits of a formula, step by step; those at its end are of storing it."""
    walk = sheet.walk
    found: list[StepChips] = []
    by_step = [(walked.step.verb, walked.limits) for walked in walk.steps]
    for verb, limits in (*by_step, ("Store", walk.store)):
        views = [limit_view(sheet.house, limit) for limit in limits]
        chips = dict.fromkeys(chip for view in views for chip in at_a_glance(view))
        if chips:
            found.append(StepChips(verb, tuple(chips)))
    return tuple(found)


def _stopped_item(stopped: Stopped, start: str) -> FormulaItem:
    errors = counted(len(stopped.findings), "error")
    href = link(start, formula_uri(stopped.station, stopped.id))
    return FormulaItem(stopped.name, href, "Not computed", True, errors, ())


def _items(manual: Manual, station: str, start: str) -> tuple[FormulaItem, ...]:
    items = [
        _item(manual, s, start)
        for s in manual.sheets.values()
        if station in s.formula.formula.station
    ]
    items += [_stopped_item(s, start) for s in manual.stopped.values() if s.station == station]
    return tuple(sorted(items, key=lambda item: item.name.lower()))


def home_pages(manual: Manual) -> list[Page]:
    """The home page: formulas by station."""
    house = manual.house
    stations = tuple(
        StationItem(
            ident,
            station.name,
            station.about,
            link(HOME, station_uri(ident)),
            _items(manual, ident, HOME),
        )
        for ident, station in house.stations.items()
    )
    trouble = total_words(manual.errors) if manual.errors else ""
    return [
        make_page(
            HOME,
            house.kitchen.name,
            "",
            "home.html",
            keeping=manual.keeping,
            edit="standards/kitchen.yaml",
            stations=stations,
            count=counted(len(manual.sheets), "formula"),
            document=house.pack.facts.document,
            adopted=house.kitchen.code.adopted_by,
            trouble=trouble,
            overdue=[d for d in due_checks(manual.standards) if d.is_overdue(manual.as_of)],
            equipment_href=link(HOME, EQUIPMENT_INDEX),
            findings_href=link(HOME, FINDINGS),
            register_href=link(HOME, REGISTER),
            allergens_href=link(HOME, ALLERGENS),
            changed_href=link(HOME, CHANGED),
            plans=plans_to_come(manual, HOME),
            shared=_shared(manual),
        )
    ]


def _shared(manual: Manual) -> tuple[tuple[str, tuple[Link, ...]], ...]:
    """What the whole kitchen shares, by section."""
    kitchen = [
        Link("Processes", link(HOME, PROCESS_INDEX), "the steps that formulas share"),
        Link("Ingredients", link(HOME, INGREDIENT_INDEX), "facts, measures, where each is used"),
        Link("Equipment", link(HOME, EQUIPMENT_INDEX), "scales, probes, machines, vessels, cold"),
        Link("Plans", link(HOME, PLAN_INDEX), "what is served when, and what follows from it"),
    ]
    standards = manual.standards
    specs = {**standards.processes, **standards.routines}
    there = (specs, standards.ingredients, standards.equipment, manual.plans)
    control = (
        Link(
            "Register of limits",
            link(HOME, REGISTER),
            "every critical limit, by what the probe must read",
        ),
        Link("Allergens", link(HOME, ALLERGENS), "what each formula contains"),
        Link("Cautions", link(HOME, CAUTIONS), "every danger, warning, caution and notice"),
    )
    reference = (
        Link("Conversions", link(HOME, CONVERSIONS), "spoons, cups, weights, temperatures"),
        Link("Glossary", link(HOME, GLOSSARY), "what the words mean here"),
        Link("Sources", link(HOME, SOURCES), "what the figures rest on"),
        Link("Tags", link(HOME, TAGS), "formulas by station, process, allergen, method, status"),
    )
    return (
        ("Control", control),
        ("Kitchen", tuple(item for item, records in zip(kitchen, there, strict=True) if records)),
        ("Reference", reference),
    )


def station_pages(manual: Manual) -> list[Page]:
    """The front page of every station: its formulas, scales and machines."""
    house = manual.house
    return [
        make_page(
            station_uri(ident),
            station.name,
            ident,
            "station.html",
            keeping=manual.keeping,
            edit=f"standards/stations/{ident}.yaml",
            about=station.about,
            formulas=_items(manual, ident, station_uri(ident)),
            scales=_scales(house, ident),
            machines=_machines(manual, ident),
            planned=planned_at(manual, ident),
            routines=[
                Link(r.routine.name, link(station_uri(ident), process_uri(r.id)), r.routine.about)
                for r in routines_at(manual, ident)
            ],
            register_href=link(station_uri(ident), REGISTER),
            document=house.pack.facts.document,
            adopted=house.kitchen.code.adopted_by,
        )
        for ident, station in house.stations.items()
    ]


def _to_piece(station: str, ident: str) -> str:
    return f"{link(station_uri(station), EQUIPMENT_INDEX)}#{ident}"


def _scales(house: House, station: str) -> list[Link]:
    rows = []
    for ident, scale in house.scales:
        if not scale.is_elsewhere(station):
            factor = house.units.by_name[scale.division.unit].factor
            step = f"{plain(scale.division.value / factor)}{NARROW}{scale.division.unit}"
            words = (
                f"reads {step}, ±{fine(scale.accuracy.value)}, up to {kilos(scale.capacity.value)}"
            )
            rows.append(Link(scale.name, _to_piece(station, ident), words))
    return rows


def _machines(manual: Manual, station: str) -> list[Link]:
    rows: list[Link] = []
    for ident, equipment in manual.standards.equipment.items():
        most, least = getattr(equipment, "capacity", None), getattr(equipment, "minimum", None)
        if not equipment.is_at(station) or (most is None and least is None):
            continue
        words = [f"at most {kilos(most.value)}"] if most else []
        words += [f"at least {kilos(least.value)}"] if least else []
        rows.append(Link(equipment.name, _to_piece(station, ident), ", ".join(words)))
    return rows
