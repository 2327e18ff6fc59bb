"""Published worked examples of lethality, put to the rule that `review` and `predict` count by: the
temperature runs straight between readings, ∫ 10^((T - Tref)/z) dt. Information, never a pass.
"""

from __future__ import annotations

import csv
import datetime
import math
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from each_row import each_row

from generator.measures.temperature import Temperature
from generator.review.log_reduction import REFERENCE_C, Z_C, equivalent_minutes
from generator.review.readings import Reading

HERE = Path(__file__).parent
START = datetime.datetime(2026, 1, 1, tzinfo=datetime.UTC)


def equivalent(points: Sequence[tuple[float, float]], reference_c: float, z_c: float) -> float:
    """Minutes at the reference of a course of (min, °C)."""
    readings = [
        Reading(START + datetime.timedelta(minutes=t), Temperature.of(Fraction(c), "°C"), 0)
        for t, c in points
    ]
    return equivalent_minutes(readings, Fraction(10**9), reference_c, z_c)


def held(celsius: float, minutes: float, reference_c: float, z_c: float) -> float:
    return equivalent([(0, celsius), (minutes, celsius)], reference_c, z_c)


def test_a_sum_of_lethal_rates_is_never_less_than_straight_lines() -> None:
    """FAO, the canning of fishery products, trapezoidal integration, as quoted on a page: rates read
    each 5 min, 0 at 25 min, 0.776 at 60 min, 1.342 in all between them, 2.925 in the whole process.
    So 8.65 min (printed 8.6) until the steam is off, 14.625 (printed 14.6) in all. A course with
    these sums, whose rate grows by one factor: straight lines of temperature give a little less,
    so nothing is credited that the published rule doesn't credit."""
    ratio = 1.534  # six rates below 0.776, each less by it, sum up to 1.342
    rates = [0.776 / ratio**n for n in range(6, 0, -1)]
    assert sum(rates) == pytest.approx(1.342, abs=2e-3)
    published = 5 * (sum(rates) + (0 + 0.776) / 2)
    assert published == pytest.approx(8.65, abs=0.03)
    course = [(25.0, 80.0)] + [
        (30 + 5.0 * n, 121.1 + 10 * math.log10(rate)) for n, rate in enumerate([*rates, 0.776])
    ]
    ours = equivalent(course, 121.1, 10.0)
    assert 0.95 * published <= ours <= published
    flat = [held(121.1 + 10 * math.log10(rate), 5, 121.1, 10.0) for rate in (*rates, 0.776)]
    cooling = held(121.1 + 10 * math.log10(2.925 - 1.342 - 0.776), 5, 121.1, 10.0)
    assert sum(flat) + cooling == pytest.approx(14.6, abs=0.03)  # each rate held for 5 min


def test_log_reductions_of_a_held_temperature() -> None:
    """Geankoplis, 3rd edition, Example 9.12-3: 9 min at 150 °F with D 0.6 min are 15 tenfold
    reductions, 1e15."""
    at = (150 - 32) / 1.8
    assert 10 ** (held(at, 9, at, 5.0) / 0.6) == pytest.approx(1e15, rel=1e-9)
    assert held(at - 5, 90, at, 5.0) / 0.6 == pytest.approx(15)


def meat_rows(logs: str, seconds_only: bool = False) -> list[tuple[float, float]]:
    """°F and seconds of the table; the printed zeros are no times."""
    with (HERE / "lethality_fsis.csv").open(encoding="utf-8", newline="") as lines:
        rows = [r for r in csv.DictReader(lines) if r["id"].startswith(f"FSIS-MEAT-{logs}-")]
    found = [(float(r["temp_F"]), float(r["time_seconds"])) for r in rows]
    return [(f, s) for f, s in found if s > 0 and (f >= 146 or not seconds_only)]


@pytest.mark.parametrize(
    ("logs", "seconds_only", "z_f", "worst", "rms"),
    [
        ("6.5", False, 10.01, 0.102, 0.039),
        ("7.0", False, 10.02, 0.048, 0.022),
        ("6.5", True, 10.12, 0.017, None),
        ("7.0", True, 10.15, 0.019, None),
    ],
)
def test_the_meat_table_follows_one_z(
    logs: str, seconds_only: bool, z_f: float, worst: float, rms: float | None
) -> None:
    """USDA FSIS, Appendix A, the table for meat: a straight line through log time."""
    rows = meat_rows(logs, seconds_only)
    warm, seconds = (np.array(x) for x in zip(*rows, strict=True))
    slope, level = np.polyfit(warm, np.log10(seconds), 1)
    off = seconds / 10 ** (slope * warm + level) - 1
    assert -1 / slope == pytest.approx(z_f, abs=0.01)
    assert np.abs(off).max() == pytest.approx(worst, abs=0.003)
    if rms is not None:
        assert math.sqrt(float(np.mean(off**2))) == pytest.approx(rms, abs=0.002)


@pytest.mark.parametrize(
    ("logs", "at_146", "least", "most"), [("6.5", 169, 0.994, 1.131), ("7.0", 182, 0.969, 1.055)]
)
def test_rows_of_the_meat_table_are_alike_by_the_rule(
    logs: str, at_146: int, least: float, most: float
) -> None:
    """Each row, counted by the rule with z 10 °F at 146 °F, is what the row at 146 °F is, within
    what rounding to minutes does."""
    reference = (146 - 32) / 1.8
    ratios = [
        held((f - 32) / 1.8, s / 60, reference, 10 / 1.8) / (at_146 / 60)
        for f, s in meat_rows(logs)
    ]
    assert min(ratios) == pytest.approx(least, abs=2e-3)
    assert max(ratios) == pytest.approx(most, abs=2e-3)


@each_row(
    ("celsius", "printed", "by_z"),
    [(60, 45, 43.09), (65, 10, 9.283), (70, 2, 2.0), (75, 0.5, 0.431), (80, 0.1, 0.0928)],
)
def test_equivalents_of_70_degrees_for_2_minutes(
    celsius: float, printed: float, by_z: float
) -> None:
    """The list of the United Kingdom's agencies is z 7.5 °C, rounded up: what is printed is never
    less than the rule asks."""
    each = held(celsius, 1, REFERENCE_C, Z_C)
    assert 2 / each == pytest.approx(by_z, rel=2e-3)
    assert 1 - 1e-9 <= printed * each / 2 <= 1.17


MINUTES = "129 100 77 60 46 36 28 22 17 13 10 7.9 6.3 5 4 3.2 2.5 2 1.6 1.3 1"
SPORES = {80 + n: float(minutes) for n, minutes in enumerate(MINUTES.split())}


@pytest.mark.parametrize(
    ("first", "last", "z_c", "off"), [(80, 90, 9.05, 1.5), (90, 100, 10.07, 2.1)]
)
def test_the_table_for_spores_has_two_slopes(first: int, last: int, z_c: float, off: float) -> None:
    """Food Standards Agency, vacuum packing training, module 3: equivalents of 90 °C for 10 min
    against spores of non-proteolytic C. botulinum (Chilled Food Association, 2006). One z doesn't
    give both halves."""
    rows = {c: m for c, m in SPORES.items() if first <= c <= last}
    warm, minutes = np.array(list(rows)), np.array(list(rows.values()))
    slope, level = np.polyfit(warm, np.log10(minutes), 1)
    assert -1 / slope == pytest.approx(z_c, abs=0.02)
    worst = 100 * np.abs(10 ** (slope * warm + level) / minutes - 1).max()
    assert worst == pytest.approx(off, abs=0.6)
    other = 90 + (90 - first if first < 90 else 90 - last)
    assert abs(SPORES[other] * held(other, 1, 90.0, z_c) / 10 - 1) > 0.08
