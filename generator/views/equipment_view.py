"""What a scale, a thermometer, a machine or a vessel says of itself, as page and paper show it."""

from __future__ import annotations

from fractions import Fraction

from generator.measures.kilos import kilos
from generator.measures.rounding import significant
from generator.measures.units import Units
from generator.measures.words import NARROW, counted, date, duration, listed, plain
from generator.records.equipment import (
    Cold,
    Equipment,
    FailedCheck,
    LastCheck,
    Machine,
    Places,
    Scale,
    Thermometer,
    Vessel,
)
from generator.resolve.vessels import volume_ml


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
    if scale.last_check is not None:
        off = scale.last_check.off_by
        rows.append(_checked(scale.last_check, fine(off.value) if off is not None else ""))
    return [*rows, *_check_every(scale)]


def _check_every(item: Scale | Thermometer) -> list[tuple[str, str]]:
    """How often it is checked, where that is written."""
    every = item.check_every
    return [("Check every", duration(every.seconds))] if every is not None else []


def _checked(check: LastCheck, off: str) -> tuple[str, str]:
    """When it was last checked, and how far it was off where that is written."""
    return "Last check", f"{date(check.date)}, off by {off}" if off else date(check.date)


def _failed(check: FailedCheck) -> str:
    """When a check failed, how far it was off, and since when what it read is in doubt."""
    since = (
        f"right on {date(check.right_on)}" if check.right_on is not None else "never known right"
    )
    return f"{date(check.date)}, off by {check.off_by}, {since}"


def _probe(probe: Thermometer) -> list[tuple[str, str]]:
    off = str(probe.accuracy)
    rows = [("Reads", listed([unit for unit in probe.reads])), ("Accuracy", f"±{off}")]
    check = probe.last_check
    if check is not None:
        rows.append(_checked(check, str(check.off_by) if check.off_by is not None else ""))
    rows += _check_every(probe)
    if probe.failed_checks:
        rows.append(("Failed checks", "; ".join(map(_failed, probe.failed_checks))))
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
