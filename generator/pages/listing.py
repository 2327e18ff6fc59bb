"""Home and station pages: which formulas there are, and whether they are current."""

from __future__ import annotations

from dataclasses import dataclass

from generator.finding import total_words
from generator.joined import House
from generator.manual import Manual, Stopped
from generator.measures.words import NARROW, counted, plain
from generator.pages.formula import status_of
from generator.pages.limit_view import limit_view
from generator.pages.page import Chip, Page, link, make_page
from generator.pages.uris import CONTROL, FINDINGS, HOME, REGISTER, formula_uri, station_uri
from generator.scaling.loads import kilos
from generator.sheet import Sheet


@dataclass(frozen=True)
class FormulaItem:
    """One formula in a list."""

    name: str
    href: str
    status: str
    reversed: bool
    rest: str
    chips: tuple[Chip, ...]


@dataclass(frozen=True)
class StationItem:
    """One station with its formulas."""

    id: str
    name: str
    about: str
    href: str
    formulas: tuple[FormulaItem, ...]


def _item(sheet: Sheet, start: str) -> FormulaItem:
    status = status_of(sheet)
    limits = [limit_view(sheet.house, lm) for lm in sheet.walk.limits]
    chips = tuple(chip for view in limits for chip in view.chips)
    return FormulaItem(
        sheet.name, link(start, formula_uri(sheet.formula.formula.station, sheet.id)), status.word,
        status.reversed, status.rest, chips,
    )  # fmt: skip


def _stopped_item(stopped: Stopped, start: str) -> FormulaItem:
    errors = counted(len(stopped.findings), "error")
    href = link(start, formula_uri(stopped.station or CONTROL, stopped.id))
    return FormulaItem(stopped.name, href, "Not computed", True, errors, ())


def _items(manual: Manual, station: str, start: str) -> tuple[FormulaItem, ...]:
    items = [
        _item(s, start) for s in manual.sheets.values() if s.formula.formula.station == station
    ]
    items += [_stopped_item(s, start) for s in manual.stopped.values() if s.station == station]
    return tuple(sorted(items, key=lambda item: item.name.lower()))


def home_pages(manual: Manual) -> list[Page]:
    """The home page: formulas by station."""
    house = manual.house
    if house is None:
        return []
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
            HOME, house.kitchen.name, "", "home.html", edit="standards/kitchen.yaml", stations=stations,
            count=counted(len(manual.sheets), "formula"), document=house.pack.facts.document,
            adopted=house.kitchen.code.adopted_by, trouble=trouble, findings_href=link(HOME, FINDINGS),
            register_href=link(HOME, REGISTER),
        )
    ]  # fmt: skip


def station_pages(manual: Manual) -> list[Page]:
    """The front page of every station: its formulas, scales and machines."""
    house = manual.house
    if house is None or manual.standards is None:
        return []
    return [
        make_page(
            station_uri(ident), station.name, ident, "station.html", edit=f"standards/stations/{ident}.yaml",
            about=station.about, formulas=_items(manual, ident, station_uri(ident)),
            scales=_scales(house, ident), machines=_machines(manual, ident),
            register_href=link(station_uri(ident), REGISTER), document=house.pack.facts.document,
            adopted=house.kitchen.code.adopted_by,
        )
        for ident, station in house.stations.items()
    ]  # fmt: skip


def _scales(house: House, station: str) -> list[tuple[str, str]]:
    rows = []
    for _, scale in house.scales:
        if scale.at in (None, station):
            factor = house.units.by_name[scale.division.unit].factor
            step = f"{plain(scale.division.value / factor)}{NARROW}{scale.division.unit}"
            words = (
                f"reads {step}, ±{kilos(scale.accuracy.value)}, up to {kilos(scale.capacity.value)}"
            )
            rows.append((scale.name, words))
    return rows


def _machines(manual: Manual, station: str) -> list[tuple[str, str]]:
    rows: list[tuple[str, str]] = []
    assert manual.standards is not None
    for equipment in manual.standards.equipment.values():
        most, least = getattr(equipment, "most", None), getattr(equipment, "least", None)
        if equipment.at != station or (most is None and least is None):
            continue
        words = [f"at most {kilos(most.value)}"] if most else []
        words += [f"at least {kilos(least.value)}"] if least else []
        rows.append((equipment.name, ", ".join(words)))
    return rows
