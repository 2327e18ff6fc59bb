"""What a probe must read in ice and in boiling water."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from generator.measures.rounding import to_side
from generator.measures.words import NARROW, plain
from generator.records.equipment import Thermometer
from generator.resolve.joined import House
from generator.rules.basics.check_points import check_readings
from generator.views.limit_view import basis_rows


@dataclass(frozen=True)
class CheckView:
    """One check of a probe: in what, the number it must read and its unit, what else will do, and
    the rows of "why?"."""

    at: str
    number: str
    unit: str
    within: str
    basis: tuple[tuple[str, str], ...]

    @property
    def figure(self) -> str:
        """What it must read: "0 °C"."""
        return f"{self.number}{NARROW}{self.unit}"


def probe_checks(house: House, probe: Thermometer) -> Iterator[CheckView]:
    """What a probe must read in stirred ice and in boiling water at the kitchen's altitude, in the
    kitchen's scale and give or take its accuracy; nothing where no altitude is stated."""
    altitude = house.kitchen.altitude
    if altitude is None:
        return
    unit = house.kitchen.temperature
    if unit not in probe.reads:
        unit = probe.reads[0]
    for reading in check_readings(house.library, altitude):
        exact, off = reading.reads.in_unit(unit), probe.accuracy.in_unit(unit)
        # To the strict side of what the accuracy allows: a probe just outside it is never let pass.
        least, most = (
            to_side((exact - off) * 10, "up") / 10,
            to_side((exact + off) * 10, "down") / 10,
        )
        within = f"from {plain(least)} to {plain(most)}{NARROW}{unit} will do"
        basis = basis_rows(reading.basis)
        yield CheckView(reading.name, plain(exact, 1), unit, within, basis)
