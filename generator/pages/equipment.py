"""The house's equipment on one page: what it can do, where it is, what is done with it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from generator.indexes.uses import equipment_uses, scale_uses
from generator.measures.kilos import kilos
from generator.measures.rounding import significant
from generator.measures.units import Units
from generator.measures.words import NARROW, counted, listed, plain
from generator.pages.navigation import KITCHEN
from generator.pages.page import Heading, Page, make_page
from generator.records.equipment import (
    Cold,
    Equipment,
    Machine,
    Places,
    Scale,
    Thermometer,
    Vessel,
)
from generator.resolve.vessels import volume_ml
from generator.sheet.manual import Manual
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
        used = "The kitchen’s probe for core temperatures." if record == manual.house.probe else ""
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


def facts_of(record: Equipment, units: Units) -> list[tuple[str, str]]:
    """The figures of a piece of equipment, each with its word."""
    if isinstance(record, Scale):
        return _scale(record, units)
    if isinstance(record, Thermometer):
        return _probe(record)
    if isinstance(record, Vessel):
        return _vessel(record)
    rows: list[tuple[str, str]] = []
    if isinstance(record, Cold):
        rows.append(("Air", str(record.air)))
    if isinstance(record, Machine | Cold):
        if record.capacity:
            rows.append(("At most", f"{kilos(record.capacity.value)} at a time"))
        if record.minimum:
            rows.append(("At least", kilos(record.minimum.value)))
    if isinstance(record, Machine | Cold) and record.places is not None:
        rows.append(("Places", _places(record.places)))
    if isinstance(record, Machine) and record.bowl:
        rows.append(("Bowl", litres(record.bowl.value)))
    return [*rows, *_of_heat(record)]


def _of_heat(record: Equipment) -> list[tuple[str, str]]:
    """What it says of its heat, as written."""
    if not isinstance(record, Machine | Cold):
        return []
    said = (("Power", record.power), ("Water", record.water))
    rows = [(word, value.text) for word, value in said if value is not None]
    if isinstance(record, Cold) and record.ice is not None:
        rows.append(("Ice", record.ice.text))
    return rows


def _scale(scale: Scale, units: Units) -> list[tuple[str, str]]:
    factor = units.by_name[scale.division.unit].factor
    step = f"{plain(scale.division.value / factor)}{NARROW}{scale.division.unit}"
    rows = [
        ("Division", f"{step} steps"),
        ("Accuracy", f"±{fine(scale.accuracy.value)}"),
        ("Capacity", f"{kilos(scale.capacity.value)}, the container with it"),
    ]
    if scale.minimum:
        rows.append(("Minimum load", fine(scale.minimum.value)))
    if scale.tare:
        rows.append(("Tare", f"its container weighs {kilos(scale.tare.value)}"))
    return rows


def _probe(probe: Thermometer) -> list[tuple[str, str]]:
    off = str(probe.accuracy)
    rows = [("Reads", listed([unit for unit in probe.reads])), ("Accuracy", f"±{off}")]
    if probe.measures != "food":
        return [*rows, ("For", probe.measures)]
    return [
        *rows,
        (
            "So read",
            f"{off} more than a limit that must be hot, {off} less than one that must be cold",
        ),
    ]


def _places(places: Places) -> str:
    """How many fills or pieces go in at a time, by what they are in."""
    words = [f"{count} of {ident}" for ident, count in places.vessels.items()]
    words += [f"{places.each} in no vessel"] if places.each is not None else []
    if places.any is not None:
        words.append(f"{places.any} of anything else" if words else str(places.any))
    return listed(words)


def _vessel(vessel: Vessel) -> list[tuple[str, str]]:
    inside = vessel.inside
    sides = [(name, getattr(inside, name)) for name in ("diameter", "length", "width", "depth")]
    rows = [("Inside", ", ".join(f"{name} {a.text}" for name, a in sides if a is not None))]
    full = _room(vessel)
    if full is not None:
        how = "filled" if vessel.shape == "casing" else "to the brim"
        rows.append(("Volume", f"about{NARROW}{litres(significant(full))} {how}"))
    if vessel.headspace is not None:
        rows.append(("Headspace", f"{vessel.headspace.text} stays empty at the top"))
        if inside.depth is not None and vessel.shape != "casing":
            rest = _room(vessel, vessel.headspace.value)
            if rest is not None:
                rows.append(("Fill to", f"about{NARROW}{litres(significant(rest))}"))
    if vessel.capacity:
        rows.append(("Holds", f"at most {kilos(vessel.capacity.value)}"))
    if vessel.count is not None:
        rows.append(("In the house", counted(vessel.count, "piece")))
    return rows


def _room(vessel: Vessel, headspace: Fraction = Fraction(0)) -> Fraction | None:
    """The millilitres a vessel holds, ``headspace`` mm at its top left empty; None where its sides
    don't say."""
    inside = vessel.inside
    sides = (inside.diameter, inside.length, inside.width, inside.depth)
    diameter, length, width, depth = (a.value if a is not None else None for a in sides)
    below = depth - headspace if depth is not None else None
    return volume_ml(vessel.shape, diameter, length, width, below)


def fine(grams: Fraction) -> str:
    """A weight as fine as it is given: 0.02 g is not 0 g."""
    return kilos(grams) if grams >= 1000 else f"{plain(grams)}{NARROW}g"


def litres(ml: Fraction) -> str:
    """A volume in litres from one litre on, else in millilitres."""
    if ml >= 1000:
        return f"{plain(ml / 1000)}{NARROW}l"
    return f"{plain(ml)}{NARROW}ml"
