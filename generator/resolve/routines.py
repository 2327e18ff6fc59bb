"""Process specs that stand alone: the stations and the equipment they name."""

from __future__ import annotations

from generator.records.equipment import Cold, Machine, Thermometer
from generator.records.routine import Check
from generator.resolve.names import Names


def check_routines(names: Names) -> None:
    """What the routines name is there, and of the kind that is meant."""
    known = names.standards.stations
    for ident, routine in names.standards.routines.items():
        about = f"process:{ident}"
        place = routine.place("station")
        for station in routine.station:
            if station not in known:
                names.unknown("station-unknown", "station", station, place, known, about)
        if len(set(routine.station)) < len(routine.station):
            words = "A station is named twice."
            names.error("station-twice", place, words, "Name each station once.", about)
        for check in routine.checks:
            _equipment(names, check, about)


def _equipment(names: Names, check: Check, about: str) -> None:
    place = check.place("with")
    if check.check in ("ice-point", "boiling-point"):
        names.equipment(check.with_, place, Thermometer, "thermometer", about)
    elif check.with_ is not None and check.check is not None:
        names.equipment(check.with_, place, Machine, "machine", about)
    if check.check == "cold":
        what = "refrigerator, chiller or freezer"
        names.equipment(check.in_, check.place("in"), Cold, what, about)
