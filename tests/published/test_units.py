"""Units and temperatures against NIST figures, pint's own registry and GNU units."""

from __future__ import annotations

import csv
import math
import os
import shutil
import subprocess
from fractions import Fraction
from pathlib import Path

import pint
import pytest
from each_row import each_row

from generator.measures.temperature import Temperature, TemperatureDifference
from generator.measures.units import household_sets, load_units

HERE = Path(__file__).parent
SHARED = HERE.parents[1] / "shared"


def table(name: str) -> dict[str, dict[str, str]]:
    with (HERE / name).open(encoding="utf-8", newline="") as lines:
        return {row["id"]: row for row in csv.DictReader(lines)}


NIST = table("units_nist.csv")
US = load_units(SHARED, "us")
IMPERIAL = load_units(SHARED, "imperial")
AUSTRALIAN = load_units(SHARED, "australian")
METRIC = load_units(SHARED, "metric")


def as_printed(value: Fraction, printed: str) -> Fraction:
    """``value`` rounded half-up to the decimals of ``printed``."""
    scale = 10 ** len(printed.partition(".")[2])
    return Fraction(math.floor(value * scale + Fraction(1, 2)), scale)


# Published row → the unit and how many of it.
EXACT = {
    "US-GAL": ("gal", 1),
    "US-QT": ("qt", 1),
    "US-PT": ("pt", 1),
    "US-CUP": ("cup", 1),
    "US-GILL": ("cup", Fraction(1, 2)),
    "US-FLOZ": ("fl oz", 1),
    "US-TBSP": ("tbsp", 1),
    "US-TSP": ("tsp", 1),
    "US-DASH": ("tsp", Fraction(1, 8)),
    "LB": ("lb", 1),
    "OZ": ("oz", 1),
}
ROUNDED = {
    "HB44-CUP": ("cup", 1),
    "SP430-TSP": ("tsp", 1),
    "SP430-TBSP": ("tbsp", 1),
    "SP430-FLOZ": ("fl oz", 1),
    "SP430-QCUP": ("cup", Fraction(1, 4)),
    "SP430-GILL": ("cup", Fraction(1, 2)),
    "SP430-CUP": ("cup", 1),
    "SP430-PT": ("pt", 1),
    "SP430-QT": ("qt", 1),
}


def test_no_published_unit_is_left_out() -> None:
    units = {
        key
        for key, row in NIST.items()
        if row["quantity"] in ("volume", "mass") and row["basis"] == "seen"
    }
    label = {key for key in NIST if key.startswith("LBL-")}
    others = {"AU-TBSP", "UK-TBSP-OLD", "US-TBSP-BAD"}
    assert units == set(EXACT) | set(ROUNDED) | label | others


@each_row("key", EXACT)
def test_exact(key: str) -> None:
    name, count = EXACT[key]
    unit = US.by_name[name]
    assert unit.factor * count == Fraction(NIST[key]["value_mL"] or NIST[key]["value_g"])
    assert unit.kind == NIST[key]["quantity"]


@each_row("key", ROUNDED)
def test_rounded_for_kitchens(key: str) -> None:
    name, count = ROUNDED[key]
    printed = NIST[key]["value_mL"]
    assert as_printed(US.by_name[name].factor * count, printed) == Fraction(printed)


@each_row("key", [key for key in NIST if key.startswith("LBL-")])
def test_label_conventions_are_not_kitchen_measures(key: str) -> None:
    name = {"fluid ounce": "fl oz", "cup": "cup", "tablespoon": "tbsp", "teaspoon": "tsp"}
    unit = US.by_name[name.get(NIST[key]["unit"], "oz")]
    printed = Fraction(NIST[key]["value_mL"] or NIST[key]["value_g"])
    assert unit.factor != printed
    assert abs(unit.factor - printed) / printed < Fraction(1, 50)


def test_other_countries_spoons() -> None:
    assert AUSTRALIAN.by_name["tbsp"].factor == Fraction(NIST["AU-TBSP"]["value_mL"])
    assert AUSTRALIAN.by_name["tbsp"].factor == 4 * AUSTRALIAN.by_name["tsp"].factor
    sets = [load_units(SHARED, name) for name in household_sets(SHARED)]
    spoons = {units.by_name["tbsp"].factor for units in sets}
    assert not spoons & {Fraction(NIST[key]["value_mL"]) for key in ("UK-TBSP-OLD", "US-TBSP-BAD")}


@pytest.mark.parametrize(("key", "name"), [("RATIO-FLOZ", "fl oz"), ("RATIO-GAL", "gal")])
def test_us_in_imperial(key: str, name: str) -> None:
    ratio = US.by_name[name].factor / IMPERIAL.by_name[name].factor
    printed = NIST[key]["value_other"]
    assert as_printed(ratio, printed) == Fraction(printed)


@each_row("key", [key for key in NIST if key.endswith(("-DOZ", "-CASE"))])
def test_egg_classes(key: str) -> None:
    count, unit = NIST[key]["value_other"].split()[:2]
    printed = NIST[key]["value_g"]
    assert as_printed(Fraction(count) * US.by_name[unit].factor, printed) == Fraction(printed)


POINTS = [key for key in NIST if key.startswith(("F-", "C-"))]


@each_row("key", POINTS)
def test_temperature_points(key: str) -> None:
    row = NIST[key]
    if key.startswith("F-"):
        temperature = Temperature.of(row["value_degF"], "°F")
        assert as_printed(temperature.in_unit("°C"), row["value_degC"]) == Fraction(
            row["value_degC"]
        )
        assert temperature.in_unit("°F") == Fraction(row["value_degF"])
        exact = temperature.in_unit("°C") == Fraction(row["value_degC"])
        assert exact == (row["exact"] == "yes")
    else:
        temperature = Temperature.of(row["value_degC"], "°C")
        assert temperature.in_unit("°F") == Fraction(row["value_degF"])


def test_difference() -> None:
    figure = NIST["DELTA"]["value_other"].removesuffix(" degrees F")
    assert TemperatureDifference(Fraction(1)).in_unit("°F") == Fraction(figure)
    accuracy = table("thermometer_accuracy.csv")
    in_c = Fraction(accuracy["TH-FC-C"]["tolerance_C"])
    in_f = Fraction(accuracy["TH-FC-F"]["tolerance_F"])
    # The two rules are apart: neither is the other one converted.
    assert TemperatureDifference(in_c).in_unit("°F") < in_f


# Two oracles that share no code path with units.yaml.
PINT = {"lb": "pound", "oz": "ounce", "fl oz": "fluid_ounce", "tbsp": "tablespoon"}
PINT |= {"tsp": "teaspoon", "cup": "cup", "pt": "pint", "qt": "quart", "gal": "gallon"}
PINT_IMPERIAL = {name: f"imperial_{PINT[name]}" for name in ("fl oz", "cup", "pt", "qt", "gal")}
REGISTRY = pint.UnitRegistry()


@each_row("name", PINT)
def test_pint_agrees(name: str) -> None:
    unit = US.by_name[name]
    theirs = REGISTRY.Quantity(1, PINT[name]).to("g" if unit.kind == "mass" else "ml").magnitude
    assert float(unit.factor) == pytest.approx(theirs, rel=1e-12)


@each_row("name", PINT_IMPERIAL)
def test_pint_agrees_on_imperial(name: str) -> None:
    theirs = REGISTRY.Quantity(1, PINT_IMPERIAL[name]).to("ml").magnitude
    assert float(IMPERIAL.by_name[name].factor) == pytest.approx(theirs, rel=1e-12)


GNU = [
    ("us", "lb", "lb"),
    ("us", "oz", "oz"),
    ("us", "cup", "uscup"),
    ("us", "tbsp", "ustablespoon"),
    ("us", "tsp", "usteaspoon"),
    ("us", "fl oz", "usfloz"),
    ("us", "pt", "uspint"),
    ("us", "qt", "usquart"),
    ("us", "gal", "usgallon"),
    ("imperial", "cup", "brcup"),
    ("imperial", "tbsp", "brtablespoon"),
    ("imperial", "tsp", "brteaspoon"),
    ("imperial", "fl oz", "brfloz"),
    ("imperial", "pt", "brpint"),
    ("imperial", "qt", "brquart"),
    ("imperial", "gal", "brgallon"),
    ("metric", "cup", "metriccup"),
    ("metric", "tbsp", "brtablespoon"),
    ("metric", "tsp", "brteaspoon"),
    ("australian", "cup", "metriccup"),
    ("australian", "tbsp", "australiatablespoon"),
    ("australian", "tsp", "australiateaspoon"),
]


@pytest.mark.parametrize(("set_name", "name", "theirs"), GNU)
def test_gnu_units_agrees(set_name: str, name: str, theirs: str) -> None:
    program = shutil.which("units")
    if program is None:
        if os.environ.get("REQUIRE_ALL") == "1":
            pytest.fail("GNU units is not installed")
        pytest.skip("GNU units is not installed")
    unit = load_units(SHARED, set_name).by_name[name]
    base = "g" if unit.kind == "mass" else "ml"
    answer = subprocess.run(
        [program, "-t", "-d", "16", f"1 {theirs}", base],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "LC_ALL": "C"},
    ).stdout
    assert float(unit.factor) == pytest.approx(float(answer), rel=1e-13)


def test_every_measure_of_every_set_is_checked() -> None:
    for set_name in household_sets(SHARED):
        units = load_units(SHARED, set_name)
        checked = {name for where, name, _ in GNU if where == set_name} - {"lb", "oz"}
        household = {"tsp", "tbsp", "fl oz", "cup", "pt", "qt", "gal"}
        assert checked == {name for name in household if not units.by_name[name].missing}
