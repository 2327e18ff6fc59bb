"""The individuals chart against the worked example of NIST/SEMATECH.

NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2 "Individuals Control Charts"
(itl.nist.gov/div898/handbook/pmc/section3/pmc322.htm): the flow rate of 10 batches. Its data and
results were read in four public copies of the page that agree, not on the page itself.
The handbook's limits use 3/1.128; 2.66 and 3.267 are that and D4 as tables print them for n = 2
(2.66: Pyzdek, Handbook for Quality Management, ch. 9, p. 172). Eight in a row on one side of the
centre line: the Western Electric run rules as StatSoft's glossary lists them.
"""

from __future__ import annotations

import random
from fractions import Fraction

import pytest

from generator.measures.individuals import OUT, RANGE_OUT, individuals

FLOW = ["49.6", "47.6", "49.9", "51.3", "47.8", "51.2", "52.6", "52.4", "53.6", "52.1"]
RANGES = ["2.0", "2.3", "1.4", "3.5", "3.4", "1.4", "0.2", "1.2", "1.5"]
MEAN, MEAN_RANGE, UPPER, LOWER = "50.81", "1.8778", "55.8041", "45.8159"


def test_the_handbooks_flow_rates() -> None:
    chart = individuals([Fraction(v) for v in FLOW])
    assert chart.ranges == tuple(Fraction(r) for r in RANGES)
    assert chart.mean == Fraction(MEAN)
    assert chart.mean_range is not None and chart.low is not None and chart.high is not None
    assert round(chart.mean_range, 4) == Fraction(MEAN_RANGE)
    for mine, theirs in ((chart.high, UPPER), (chart.low, LOWER)):
        # The table's 2.66 is 3/1.128 rounded to two places: at most 0.0006 apart, times MR̄.
        assert abs(mine - Fraction(theirs)) <= Fraction("0.0006") * chart.mean_range
    assert chart.signals == {}


def test_the_tables_factors_are_those_of_the_normal_distribution() -> None:
    """E2 = 3/d2 and D4 = 1 + 3·d3/d2, with d2 = 1.128 and d3 = 0.853 for n = 2 (tables: from
    memory)."""
    assert abs(OUT - 3 / Fraction("1.128")) < Fraction("0.0005")
    assert abs(RANGE_OUT - (1 + 3 * Fraction("0.853") / Fraction("1.128"))) < Fraction("0.002")


def test_a_value_outside_is_named_and_where() -> None:
    values = [Fraction(v) for v in (80, 81, 80, 79, 80, 81, 80, 60)]
    chart = individuals([*values[:-1], Fraction(80)])
    assert chart.signals == {}
    chart = individuals(values)
    assert "outside" in chart.signals[7] and chart.drifts_now
    back = individuals([*values, Fraction(80)])
    assert "outside" in back.signals[7] and "range" in back.signals[8]


@pytest.mark.parametrize("run", [7, 8, 9])
def test_eight_in_a_row_on_one_side_are_a_drift(run: int) -> None:
    """Alternately 0 and 2 would be none; so many of 2 behind as many of 0 are one from the 8th."""
    values = [Fraction(0)] * run + [Fraction(2)] * run
    found = [n for n, signals in individuals(values).signals.items() if "run" in signals]
    first = list(range(7, run))
    assert found == [*first, *(n + run for n in first)]


def test_a_value_on_the_mean_ends_a_run() -> None:
    values = [Fraction(v) for v in (2, 2, 2, 2, 1, 2, 2, 2, 2, 0, 0, 0, 0, 1, 0, 0, 0, 0)]
    assert individuals(values).mean == 1
    assert all("run" not in s for s in individuals(values).signals.values())


def test_one_value_has_no_limits_and_two_alike_have_no_width() -> None:
    alone = individuals([Fraction(3)])
    assert (alone.mean, alone.low, alone.high, alone.spread) == (3, None, None, None)
    alike = individuals([Fraction(3), Fraction(3)])
    assert (alike.low, alike.high, alike.signals) == (3, 3, {})
    with pytest.raises(ValueError, match="needs a value"):
        individuals([])


def test_random_charts_against_sums_by_hand() -> None:
    """Integers, so that nothing is rounded: every figure by its definition, in floats."""
    rng = random.Random(322)
    for _ in range(200):
        values = [rng.randint(60, 100) for _ in range(rng.randint(2, 40))]
        chart = individuals([Fraction(v) for v in values])
        mean = sum(values) / len(values)
        ranges = [abs(values[i] - values[i - 1]) for i in range(1, len(values))]
        wide = 2.66 * sum(ranges) / len(ranges)
        assert float(chart.mean) == pytest.approx(mean)
        assert float(chart.high or 0) == pytest.approx(mean + wide)
        assert float(chart.low or 0) == pytest.approx(mean - wide)
        spread = (sum((v - mean) ** 2 for v in values) / (len(values) - 1)) ** 0.5
        assert chart.spread == pytest.approx(spread)
        for n, value in enumerate(values):
            near = abs(abs(value - mean) - wide) < 1e-9
            outside = "outside" in chart.signals.get(n, ())
            assert near or outside == (abs(value - mean) > wide)
            side = [(v > mean) - (v < mean) for v in values[max(0, n - 7) : n + 1]]
            run = "run" in chart.signals.get(n, ())
            assert run == (n >= 7 and len(set(side)) == 1 and side[0] != 0)
