"""A figure that is measured and lifts a limit is held to what can be: `records.figures`."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from conftest import compute, edit
from test_acidified import pickled

from generator.files.finding import Refused
from generator.records.figures import (
    METER,
    PH_OF_FOOD,
    PH_OF_SOLUTION,
    WATER_ACTIVITY,
    Bounds,
    meant,
    read_within,
)

MEASURED = {
    # FDA, Approximate pH of Foods and Food Products (2003): the item, its lowest and highest
    "limes": (PH_OF_FOOD, "1.80", "2.00"),
    "lemon juice": (PH_OF_FOOD, "2.00", "2.60"),
    "lime juice": (PH_OF_FOOD, "2.00", "2.35"),
    "ketchup": (PH_OF_FOOD, "3.89", "3.92"),
    "cucumbers, dill pickles": (PH_OF_FOOD, "3.20", "3.70"),
    "okra, maize, ripe olives": (PH_OF_FOOD, "5.90", "7.50"),
    # University of Idaho, FCS 270, pH of some common foods
    "egg white": (PH_OF_FOOD, "7.0", "9.0"),
    # saturated salts at 25 °C (Greenspan 1977, as a museum's physicist prints them)
    "lithium chloride, potassium sulphate": (WATER_ACTIVITY, "0.113", "0.973"),
    "sodium chloride, pure water": (WATER_ACTIVITY, "0.753", "1"),
    # Food Code 4-501.114: chlorine to pH 10, iodine to pH 5
    "iodine, chlorine": (PH_OF_SOLUTION, "5", "10"),
    "meters for food": (METER, "0.02", "0.2"),
}


@pytest.mark.parametrize("name", MEASURED)
def test_what_is_published_is_read(name: str) -> None:
    bounds, *figures = MEASURED[name]
    assert [read_within(bounds)(figure) for figure in figures] == [Fraction(f) for f in figures]


@pytest.mark.parametrize(
    ("bounds", "typed", "offered"),
    [
        (PH_OF_FOOD, "0.41", ["4.1"]),
        (PH_OF_FOOD, "0.042", ["4.2"]),
        (PH_OF_FOOD, "41", ["4.1"]),
        (PH_OF_FOOD, "0.91", ["9.1"]),  # a water activity, may be
        (PH_OF_FOOD, "0", []),
        (WATER_ACTIVITY, "0.072", ["0.72"]),
        (WATER_ACTIVITY, "0.091", ["0.91"]),
        (WATER_ACTIVITY, "9.1", ["0.91"]),
        (WATER_ACTIVITY, "91", ["0.91"]),  # percent of relative humidity
        (WATER_ACTIVITY, "4.1", ["0.41"]),  # a pH, may be
        (WATER_ACTIVITY, "0", []),
        (METER, "0", []),
        (METER, "0.001", ["0.01"]),
        (METER, "4", ["0.4"]),
        (PH_OF_SOLUTION, "0.8", ["8"]),
        (PH_OF_SOLUTION, "80", ["8"]),
    ],
)
def test_what_cannot_be_is_refused(bounds: Bounds, typed: str, offered: list[str]) -> None:
    with pytest.raises(Refused) as refused:
        read_within(bounds)(typed)
    assert refused.value.code == "figure-implausible"
    assert list(refused.value.write) == offered
    for fix in offered:
        assert read_within(bounds)(fix) == Fraction(fix)


@pytest.mark.parametrize("bounds", [PH_OF_FOOD, WATER_ACTIVITY, METER, PH_OF_SOLUTION])
def test_nothing_is_offered_that_is_refused(bounds: Bounds) -> None:
    """By hand, every figure of a thousandth from 0 to 100."""
    for thousandth in range(0, 100_000, 7):
        figure = Fraction(thousandth, 1000)
        if not bounds.least <= figure <= bounds.most:
            for one in meant(bounds, figure):
                assert bounds.least <= Fraction(one) <= bounds.most


@pytest.mark.parametrize(
    ("facts", "refused"),
    [
        ("acidified: {ph: 4.0, meter: 0.1, record: pH log}", False),
        ("acidified: {ph: 0.41, meter: 0.1, record: pH log}", True),
        ("acidified: {ph: 4.0, meter: 0, record: pH log}", True),
        ("acidified: {ph: 4.0, meter: 0.1, water_activity: 0.91, record: pH log}", False),
        ("acidified: {ph: 4.0, meter: 0.1, water_activity: 0.091, record: pH log}", True),
        ("acidified: {ph: 4.0, meter: 0.1, water_activity: 4.0, record: pH log}", True),
        ("not_tcs: {reason: Dry, document: Report 26-114, water_activity: 0.72}", False),
        ("not_tcs: {reason: Dry, document: Report 26-114, water_activity: 0.072}", True),
        ("not_tcs: {reason: Dry, document: Report 26-114, water_activity: 72}", True),
    ],
)
def test_a_formula_with_such_a_figure_is_not_computed(
    kitchen: Path, facts: str, refused: bool
) -> None:
    manual = pickled(kitchen, facts=facts)
    found = [f for f in manual.errors if f.code == "figure-implausible"]
    assert bool(found) == refused, [f.message for f in manual.errors]
    assert not refused or "sour-rice" not in manual.sheets


@pytest.mark.parametrize(
    ("criterion", "figure", "believed"),
    [
        ("acidity", "4.1", True),
        ("acidity", "0.41", False),
        ("acidity", "0.91", False),
        ("water-activity", "0.85", True),
        ("water-activity", "0.085", False),
        ("water-activity", "4.1", False),
    ],
)
def test_a_pack_without_air_is_held_to_its_own_measure(
    kitchen: Path, criterion: str, figure: str, believed: bool
) -> None:
    edit(
        kitchen,
        "formulas/pork-bake.yaml",
        "keeps: {cold: 5 days}",
        f"keeps: {{cold: 5 days}}\nwithout_air: {{criterion: {criterion}, measured: {figure}, "
        "record: Log 4}",
    )
    edit(kitchen, "processes/baked.yaml", "  - do: chill", "  - do: vacuum-pack\n  - do: chill")
    said = " ".join(f"{f.message} {f.help}" for f in compute(kitchen).findings)
    assert ("can't be the" in said or "above the" in said) != believed, said


@pytest.mark.parametrize(
    ("accuracy", "refused"),
    [("1 °C", False), ("0.1 °C", False), ("0.2 °F", False), ("0.01 °C", True), ("0 °C", True)],
)
def test_no_probe_is_as_exact_as_that(kitchen: Path, accuracy: str, refused: bool) -> None:
    old = "reads: [°C, °F], accuracy: 1 °C"
    edit(kitchen, "equipment/house.yaml", old, f"reads: [°C, °F], accuracy: {accuracy}")
    codes = [f.code for f in compute(kitchen).errors]
    assert ("figure-implausible" in codes) == refused, codes
