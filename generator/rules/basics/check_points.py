"""What a probe must read in stirred ice and in boiling water at a kitchen's altitude."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from generator.measures.amounts import Amount
from generator.measures.basis import Basis
from generator.measures.rounding import half_up
from generator.measures.temperature import Temperature
from generator.measures.words import plain
from generator.reference.library import Library

MM_PER_FOOT = Fraction("304.8")
"""NIST Handbook 44, appendix C: the foot is 0.3048 m exactly."""


@dataclass(frozen=True)
class CheckReading:
    """One check point: what the probe must read, and how the figure came about."""

    name: str
    reads: Temperature
    basis: Basis


def check_readings(library: Library, altitude: Amount | None) -> tuple[CheckReading, ...]:
    """The ice point, and the boiling point at ``altitude`` (a length; None: not known, left out).

    Between two rows of the published table the boiling point is interpolated in a straight line and
    rounded to 0.1 °F; from row to row the fall is even to 0.1 °F per 1000 ft. An altitude beyond
    the table gives no boiling point. Source: ``shared/check-points.yaml``.
    """
    found: list[CheckReading] = []
    for point in library.check_points.values():
        if point.feet is None:
            rule = "stirred ice and water, whatever the altitude"
            basis = Basis((), rule, library.source_title(point.source))
            found.append(CheckReading("Ice and water", point.reads, basis))
    boiling = None if altitude is None else _boiling(library, altitude)
    return (*found, boiling) if boiling is not None else tuple(found)


def boiling_point(library: Library, altitude: Amount | None) -> Temperature | None:
    """Where water boils without pressure at ``altitude`` (a length); not stated: at sea level, the
    hottest it can be.

    None beyond the table. Source: ``shared/check-points.yaml``.
    """
    if altitude is None:
        rows = [p.reads for p in library.check_points.values() if p.feet == 0]
        return rows[0] if rows else None
    found = _boiling(library, altitude)
    return found.reads if found is not None else None


def _boiling(library: Library, altitude: Amount) -> CheckReading | None:
    feet = altitude.value / MM_PER_FOOT
    rows = sorted(
        (Fraction(p.feet), p.reads, p.source)
        for p in library.check_points.values()
        if p.feet is not None
    )
    for (low, hot, source), (high, cool, _) in pairwise(rows):
        if low <= feet <= high:
            above, below = hot.in_unit("°F"), cool.in_unit("°F")
            exact = above + (below - above) * (feet - low) / (high - low)
            reads = Temperature.of(half_up(exact, Fraction(1, 10)), "°F")
            between = f"between {plain(low)} ft ({hot}) and {plain(high)} ft ({cool})"
            basis = Basis(
                (("Altitude", f"{altitude.text}, {plain(feet, 0)} ft"),),
                f"a straight line {between}; weather changes it by a degree or two",
                library.source_title(source),
            )
            return CheckReading("Boiling water", reads, basis)
    return None
