"""Hot water, dish machines, food at the door and in the cold, probes in ice and in boiling water, a
power cut: what each is held to.

Food Code 4-501.110 to .112, 4-703.11, 3-202.11, 3-501.16, 4-203.11; authorities' guidance on power
cuts. A kind of machine or food that isn't named counts as the strictest.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from generator.measures.rounding import to_side
from generator.measures.words import duration
from generator.records.equipment import Equipment, Thermometer
from generator.records.routine import Check
from generator.reference.row_kinds import HoldRow, PowerCutRow, ReceiveRow, WarewashRow
from generator.resolve.joined import House
from generator.rules.basics.check_points import CheckReading, check_readings
from generator.rules.basics.context import source_of
from generator.rules.basics.limit import Source, figure_of
from generator.rules.routine.readings import (
    Fault,
    Found,
    Reading,
    Warmth,
    label_source,
    lasting,
    lasting_law,
    law_of,
    temperature,
    warmths,
)


def _ware(house: House, *applies: str) -> list[WarewashRow]:
    return [r for _, r in house.pack.rows_of(WarewashRow) if r.applies in applies]


def hot_water(house: House, check: Check) -> Found:
    """Water that sanitises by immersion: how hot, how long."""
    found = Found()
    rows = _ware(house, "hot-water")
    held = [*warmths(house, *rows), *_of_label(check)]
    if not held:
        found.why = _none_held(house)
        return found
    found.readings.append(temperature(house, "Water", held, check, found.faults))
    for row in rows:
        if row.hold is not None:
            law = ((lasting_law(row.hold.seconds), source_of(house, row)),)
            found.readings.append(lasting("Stays in", row.hold.seconds, law))
    return found


def _of_label(check: Check) -> list[Warmth]:
    """The least temperature of a maker's label or plate."""
    if check.label is None or check.label.at is None:
        return []
    return [Warmth(check.label.at, None, "min", label_source(check.label))]


def _none_held(house: House) -> str:
    return f"No row for it is held in {house.pack.facts.name}."


_WASHES = ("stationary-single", "stationary-dual", "conveyor-single", "conveyor-multi")


def dish_machine(house: House, check: Check) -> Found:
    """A dish machine: its wash water, its rinse, and the surface of what comes out."""
    found = Found()
    if check.of is None:
        found.faults.append(
            Fault(
                "machine-kind-missing",
                "Which kind of dish machine is it? Until that is stated the strictest applies.",
                f"Its plate says so. Write `of:` {', '.join(_WASHES)} or chemical.",
                severity="warning",
            )
        )
    if not _ware(house, "wash-chemical") and not _of_label(check):
        found.why = _none_held(house)
        return found
    kinds = [check.of] if check.of is not None else _WASHES
    _water(house, check, "Wash water", [f"wash-{kind}" for kind in kinds], found)
    if check.of == "chemical":
        _chemical_rinse(house, check, found)
        return found
    _rinse(house, check, found)
    words = "by an indicator that keeps the highest reading"
    _water(house, check, "Surface", ["surface"], found, words)
    return found


def _water(
    house: House, check: Check, name: str, rows: list[str], found: Found, words: str = ""
) -> None:
    """A reading held to rows alone: the chef's figure and the plate's are the rinse's."""
    held = warmths(house, *_ware(house, *rows))
    if held:
        alone = check.model_copy(update={"at": None})
        found.readings.append(temperature(house, name, held, alone, found.faults, words))


def _chemical_rinse(house: House, check: Check, found: Found) -> None:
    """The rinse of a machine that sanitises with a chemical: the plate's figure, else the chef's;
    how strong it is is a check of its own."""
    held = _of_label(check)
    if not held and check.at is not None:
        held = warmths(house, *_ware(house, "wash-chemical"))
    if held:
        found.readings.append(temperature(house, "Rinse", held, check, found.faults))


def _rinse(house: House, check: Check, found: Found) -> None:
    """The rinse as it enters the manifold, between the least and the most; the plate's if that is
    hotter."""
    least = "rinse-stationary-single" if check.of == "stationary-single" else "rinse-other"
    label = _of_label(check)
    held = [*warmths(house, *_ware(house, least, "rinse-most")), *label]
    most = next((r for r in held if r.bound == "max"), None)
    if most is not None and any(most.value < r.value for r in label):
        found.faults.append(
            Fault(
                "check-too-lax",
                f"The rinse may be at most {most.value}.",
                "Read the plate again.",
                "label",
                source=f"{most.source.document}, {most.source.clause}",
            )
        )
    found.readings.append(temperature(house, "Rinse", held, check, found.faults))


def receiving(house: House, check: Check) -> Found:
    """Food at the door: a reading for each kind, or for the one that is named."""
    found = Found()
    rows = [
        r
        for _, r in house.pack.rows_of(ReceiveRow)
        if r.value is not None and check.of in (None, r.applies)
    ]
    for row in rows:
        name = row.food[:1].upper() + row.food[1:]
        found.readings.append(temperature(house, name, warmths(house, row), check, found.faults))
    if not rows:
        found.why = _none_held(house)
    return found


def kept_cold(house: House, check: Check) -> Found:
    """Food kept cold: as cold as any food must be."""
    rows = [
        r
        for _, r in house.pack.rows_of(HoldRow, "cold_hold")
        if r.measured == "core" and r.group is None and r.applies is None
    ]
    return _kept(house, check, rows)


def kept_hot(house: House, check: Check) -> Found:
    """Food kept hot: as hot as any food must be."""
    rows = [
        r
        for _, r in house.pack.rows_of(HoldRow, "hot_hold")
        if r.group is None and r.applies is None
    ]
    return _kept(house, check, rows)


def _kept(house: House, check: Check, rows: list[HoldRow]) -> Found:
    found = Found()
    held = warmths(house, *rows)
    if held:
        found.readings.append(temperature(house, "Food", held, check, found.faults))
    else:
        found.why = _none_held(house)
    return found


def probe_check(house: House, check: Check, equipment: Mapping[str, Equipment]) -> Found:
    """A thermometer in stirred ice, or in boiling water at the kitchen's altitude: what it may
    read, its accuracy counted. Without the altitude there is no figure for boiling water."""
    found = Found()
    named = equipment.get(check.with_ or "")
    probe = named if isinstance(named, Thermometer) else house.probe
    altitude = house.kitchen.altitude
    boils = check.check == "boiling-point"
    if boils and altitude is None:
        found.faults.append(
            Fault(
                "altitude-missing",
                "Water boils cooler the higher the kitchen lies, and its altitude isn't stated.",
                "Write `altitude` in kitchen.yaml, as in altitude: 260 m. Or use check: ice-point.",
                "check",
            )
        )
        return found
    name = "Boiling water" if boils else "Ice and water"
    reading = next((r for r in check_readings(house.library, altitude) if r.name == name), None)
    if reading is None:
        found.why = "The kitchen's altitude is beyond the table held here."
        return found
    unit = house.kitchen.temperature if house.kitchen.temperature in probe.reads else probe.reads[0]
    exact, off = reading.reads.in_unit(unit), probe.accuracy.in_unit(unit)
    least, most = (
        to_side((exact - off) * 10, "up") / 10,
        to_side((exact + off) * 10, "down") / 10,
    )
    law = ((f"{reading.reads}, give or take {probe.accuracy}", _nature(reading)),)
    found.readings.append(Reading(probe.name, "temperature", unit, least, most, law))
    return found


def _nature(reading: CheckReading) -> Source:
    return Source(reading.basis.source, "", reading.basis.rule, (), standing="nature")


def power_cut(house: House, check: Check) -> Found:
    """Food without power: what it may not pass for longer than a time."""
    found = Found()
    for _, row in house.pack.rows_of(PowerCutRow):
        source = source_of(house, row)
        one = Warmth(row.value, None, row.bound, source)
        figure = figure_of(one.value, one.printed, one.bound, house.probe.accuracy)
        words, _ = law_of(one, figure)
        time = duration(row.within.seconds)
        read = figure.read_at(house.kitchen.temperature)
        found.readings.append(
            Reading(
                row.food[:1].upper() + row.food[1:],
                "temperature",
                house.kitchen.temperature,
                read if row.bound == "min" else None,
                read if row.bound == "max" else None,
                ((f"{words}, or thrown away after {time}", source),),
                (figure,),
                Fraction(row.within.seconds),
                row.words,
            )
        )
    if not found.readings:
        found.why = _none_held(house)
    return found
