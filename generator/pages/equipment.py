"""The house's equipment on one page: what it can do, where it is, what is done with it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from generator.indexes.uses import equipment_uses, scale_uses
from generator.measures.words import counted
from generator.pages.navigation import KITCHEN
from generator.pages.page import Heading, Page, make_page
from generator.records.equipment import (
    Cold,
    Equipment,
    Machine,
    Scale,
    Thermometer,
    Vessel,
)
from generator.sheet.manual import Manual
from generator.views.equipment_view import facts_of
from generator.views.probe_view import CheckView, probe_checks
from generator.views.uris import EQUIPMENT_INDEX, Link, formula_uri, link, station_uri

_HEAT = {
    "still": "still oven",
    "convection": "convection oven",
    "high-humidity": "high-humidity oven",
}
# No id ends in a hyphen, so no piece of equipment is called like its group.
_GROUPS: tuple[tuple[str, str, type[Equipment]], ...] = (
    ("scales-", "Scales", Scale),
    ("probes-", "Probes", Thermometer),
    ("machines-", "Machines", Machine),
    ("vessels-", "Vessels", Vessel),
    ("cold-", "Cold", Cold),
)


@dataclass(frozen=True)
class PieceView:
    """One piece of equipment: ``stands`` are its stations, or the house without an address."""

    id: str
    name: str
    kind: str
    stands: tuple[Link, ...]
    note: str
    rows: tuple[tuple[str, str], ...]
    uses: tuple[Link, ...]
    used: str
    checks: tuple[CheckView, ...] = ()


@dataclass(frozen=True)
class GroupView:
    """The pieces of one group."""

    id: str
    name: str
    pieces: tuple[PieceView, ...]


def equipment_pages(manual: Manual) -> list[Page]:
    """One page for the house, by kind."""
    if not manual.standards.equipment:
        return []
    uses = _links(manual)
    groups: list[GroupView] = []
    for ident, name, kind in _GROUPS:
        pieces = tuple(
            _piece(manual, i, record, uses.get(i, ()))
            for i, record in manual.standards.equipment.items()
            if isinstance(record, kind)
        )
        if pieces:
            groups.append(GroupView(ident, name, pieces))
    headings = tuple(Heading(g.id, g.name) for g in groups)
    return [
        make_page(
            EQUIPMENT_INDEX,
            "Equipment",
            KITCHEN,
            "equipment.html",
            keeping=manual.keeping,
            headings=headings,
            groups=groups,
            counted=counted(len(manual.standards.equipment), "piece"),
            probe=manual.house.probe.name,
            sign=manual.house.kitchen.temperature,
        )
    ]


def _links(manual: Manual) -> dict[str, tuple[Link, ...]]:
    """By piece: the formulas it is used for, each with its steps."""
    found: dict[str, dict[str, list[str]]] = {}
    for ident, uses in equipment_uses(manual).items():
        for use in uses:
            steps = found.setdefault(ident, {}).setdefault(use.formula, [])
            steps.append(f"step {use.number}, {use.verb}")
    for ident, formulas in scale_uses(manual).items():
        found.setdefault(ident, {}).update({f: ["weigh"] for f in formulas})
    return {
        ident: tuple(_link(manual, formula, steps) for formula, steps in by_formula.items())
        for ident, by_formula in found.items()
    }


def _link(manual: Manual, formula: str, steps: Iterable[str]) -> Link:
    sheet = manual.sheets[formula]
    uri = formula_uri(sheet.formula.formula.home, formula)
    return Link(sheet.name, link(EQUIPMENT_INDEX, uri), "; ".join(steps))


def _piece(manual: Manual, ident: str, record: Equipment, uses: tuple[Link, ...]) -> PieceView:
    stations = manual.house.stations
    stands = tuple(
        Link(stations[s].name, link(EQUIPMENT_INDEX, station_uri(s)))
        if s in stations
        else Link(s, "")
        for s in record.station
    ) or (Link("the house", ""),)
    kind = record.kind.replace("-", " ")
    if isinstance(record, Machine) and record.heat:
        kind = _HEAT[record.heat]
    used = f"Used for {counted(len(uses), 'formula')}" if uses else "No formula uses it."
    if isinstance(record, Thermometer):
        used = "The kitchen's probe for core temperatures." if record == manual.house.probe else ""
    checks = tuple(probe_checks(manual.house, record)) if isinstance(record, Thermometer) else ()
    return PieceView(
        ident,
        record.name,
        kind,
        stands,
        record.note,
        tuple(facts_of(record, manual.house.units)),
        uses,
        used,
        checks,
    )
