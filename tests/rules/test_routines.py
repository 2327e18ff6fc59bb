"""Process specs that stand alone: what a check is held to. Figures are worked out by hand from the
rows in tests/published/warewashing.csv: °F to °C exactly, ± 1 °C of the probe, up for a least and
down for a most.
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from conftest import compute, edit, lay
from each_row import each_row

from generator.files.finding import Refused
from generator.measures.marks import written_with
from generator.measures.strengths import Strength, read_strength
from generator.rules.routine.readings import Reading
from generator.sheet.manual import Manual


@pytest.fixture
def kitchen(tmp_path: Path) -> Path:
    return lay("base", tmp_path)


def of(kitchen: Path, check: str) -> dict[str, Reading]:
    """The readings of one check, by name."""
    path = kitchen / "standards/processes/round.yaml"
    path.write_text(f"name: Round\nstation: pass\nchecks:\n  - {{{check}}}\n", encoding="utf-8")
    manual = compute(kitchen)
    assert isinstance(manual, Manual)
    if "round" not in manual.routines:
        return {}
    return {r.name: r for r in manual.routines["round"].checks[0].readings}


def codes(kitchen: Path) -> list[tuple[str, str]]:
    return [(f.severity, f.code) for f in compute(kitchen).findings]


def ends(reading: Reading) -> tuple[Fraction | None, Fraction | None]:
    return reading.least, reading.most


# 120 °F is 48.9 °C, 100 °F 37.8, 75 °F 23.9, 55 °F 12.8: with 1 °C of the probe 49.9, 38.8, 24.9, 13.8.
@pytest.mark.parametrize(
    ("typed", "strength", "heat", "ph"),
    [
        ("strength: 25 to 40 ppm", (25, 40), 50, 10),
        ("strength: 49 to 60 ppm", (49, 60), 50, 10),
        ("strength: 50 to 100 ppm", (50, 100), 39, 10),
        ("strength: 50 to 100 ppm, ph: 10", (50, 100), 39, 10),
        ("strength: 50 to 100 ppm, ph: 8.5", (50, 100), 39, 10),
        ("strength: 50 to 100 ppm, ph: 8", (50, 100), 25, 8),
        ("strength: 100 ppm", (100, 200), 14, 10),
        ("strength: 200 mg/L, ph: 6", (200, 200), 14, 10),
        ("strength: 40 ppm, at: 55 °C", (40, 200), 55, 10),
    ],
)
def test_chlorine(kitchen: Path, typed: str, strength: tuple[int, int], heat: int, ph: int) -> None:
    """The weakest it may be sets the warmth; a pH that isn't stated the strictest column."""
    found = of(kitchen, f"check: sanitiser, of: chlorine, {typed}")
    assert ends(found["Strength"]) == strength
    assert ends(found["Temperature"]) == (heat, None)
    assert ends(found["pH"]) == (None, ph)
    assert ends(found["Stays on"]) == (10, None)


def test_iodine_has_a_range_of_its_own_and_the_labels_ph(kitchen: Path) -> None:
    found = of(kitchen, "check: sanitiser, of: iodine")
    assert ends(found["Strength"]) == (Fraction(25, 2), 25)
    assert ends(found["Temperature"]) == (21, None)  # 68 °F is 20 °C
    assert ends(found["pH"]) == (None, 5)
    assert ends(found["Stays on"]) == (30, None)
    label = "label: {document: A label, ph: 7, contact: 60 s}"
    found = of(kitchen, f"check: sanitiser, of: iodine, ph: 6, {label}")
    assert ends(found["pH"]) == (None, 7)
    assert ends(found["Stays on"]) == (60, None)
    assert of(kitchen, "check: sanitiser, of: iodine, ph: 6") == {}


def test_the_label_only_asks_for_more(kitchen: Path) -> None:
    """Its warmth, strength and pH stand where they are stricter, and never where they are laxer."""
    warm = "label: {document: A label, strength: 50 to 150 ppm, at: 45 °C, ph: 7}"
    found = of(kitchen, f"check: sanitiser, of: chlorine, strength: 60 ppm, {warm}")
    assert ends(found["Strength"]) == (60, 150)
    assert ends(found["Temperature"]) == (46, None)
    assert ends(found["pH"]) == (None, 7)
    lax = "label: {document: A label, strength: 10 to 900 ppm, at: 5 °C, ph: 12}"
    found = of(kitchen, f"check: sanitiser, of: chlorine, strength: 60 ppm, {lax}")
    assert ends(found["Strength"]) == (60, 200)
    assert ends(found["Temperature"]) == (39, None)
    assert ends(found["pH"]) == (None, 10)


def test_what_the_code_leaves_to_the_label(kitchen: Path) -> None:
    label = "label: {document: A label, strength: 150 to 400 ppm}"
    found = of(kitchen, f"check: sanitiser, of: quat, {label}")
    assert ends(found["Strength"]) == (150, 400)
    assert ends(found["Temperature"]) == (25, None)  # 75 °F
    assert ends(found["Hardness of the water"]) == (None, 500)
    other = of(kitchen, f"check: sanitiser, of: other, {label}")
    assert set(other) == {"Strength", "Stays on"}
    assert [s.standing for s in other["Strength"].sources] == ["label"]


@pytest.mark.parametrize(
    ("kind", "wash", "least"),
    [
        # 165 °F is 73.9 °C, 150 °F 65.6, 160 °F 71.1, 180 °F 82.2; the most, 194 °F, is 90.
        ("of: stationary-single", 75, 75),
        ("of: stationary-dual", 67, 84),
        ("of: conveyor-single", 73, 84),
        ("of: conveyor-multi", 67, 84),
        ("", 75, 84),
    ],
)
def test_dish_machines(kitchen: Path, kind: str, wash: int, least: int) -> None:
    """One that isn't named is held to the strictest of all of them, and asked about."""
    found = of(kitchen, f"check: dish-machine, {kind}".rstrip(", "))
    assert ends(found["Wash water"]) == (wash, None)
    assert ends(found["Rinse"]) == (least, 89)
    assert ends(found["Surface"]) == (73, None)
    asked = ("warning", "machine-kind-missing")
    assert (asked in codes(kitchen)) == (not kind)


def test_a_plate_makes_the_rinse_hotter(kitchen: Path) -> None:
    plate = "label: {document: Its plate, at: 85 °C}"
    found = of(kitchen, f"check: dish-machine, of: stationary-dual, {plate}")
    assert ends(found["Rinse"]) == (86, 89)
    assert ends(found["Wash water"]) == (67, None)


def test_hot_water_and_food(kitchen: Path) -> None:
    found = of(kitchen, "check: hot-water")
    assert ends(found["Water"]) == (79, None)  # 171 °F is 77.2 °C
    assert ends(found["Stays in"]) == (30, None)
    assert ends(of(kitchen, "check: cold, in: cold-room")["Food"]) == (None, 4)
    assert ends(of(kitchen, "check: cold, at: 2 °C")["Food"]) == (None, 2)
    assert ends(of(kitchen, "check: hot")["Food"]) == (59, None)
    came = of(kitchen, "check: receiving")
    assert sorted(r.most or r.least or 0 for r in came.values()) == [4, 6, 59]
    assert [r.most for r in of(kitchen, "check: receiving, of: eggs").values()] == [6]


def test_a_probe_in_ice_and_in_boiling_water(kitchen: Path) -> None:
    assert ends(of(kitchen, "check: ice-point")["Pocket probe"]) == (-1, 1)
    edit(kitchen, "kitchen.yaml", "probe: probe", "probe: probe\naltitude: 5000 ft")
    found = of(kitchen, "check: boiling-point")["Pocket probe"]
    assert ends(found) == (94, 96)  # 203 °F at 5,000 ft is 95 °C
    edit(kitchen, "kitchen.yaml", "altitude: 5000 ft", "altitude: 20000 ft")
    assert of(kitchen, "check: boiling-point") == {}
    assert ("error", "not-covered") in codes(kitchen)


def test_a_power_cut_throws_food_away_in_time(kitchen: Path) -> None:
    found = of(kitchen, "check: power-cut")
    assert {n: (r.least, r.most, r.within_s) for n, r in found.items()} == {
        "Cold food": (None, 4, 14400),
        "Cold food that has warmed": (None, 9, 7200),
        "Hot food": (56, None, 7200),
        "Frozen food that has thawed": (None, 4, 14400),
    }
    assert {s.standing for r in found.values() for s in r.sources} == {"guidance"}


def test_where_the_law_has_no_row_only_a_label_helps(kitchen: Path) -> None:
    code = "{model: us-food-code, edition: 2022, adopted_by: Port Sable Health Rule 9}"
    england = "{model: uk-england, edition: 2013, adopted_by: Port Sable}"
    edit(kitchen, "kitchen.yaml", code, england)
    for check in ("sanitiser, of: chlorine, strength: 100 ppm", "hot-water", "dish-machine"):
        assert of(kitchen, f"check: {check}") == {}
        assert ("error", "not-covered") in codes(kitchen)
    label = "label: {document: A label, strength: 100 to 200 ppm, contact: 30 s}"
    found = of(kitchen, f"check: sanitiser, of: chlorine, {label}")
    assert ends(found["Strength"]) == (100, 200)
    assert set(found) == {"Strength", "Stays on"}


def test_no_error_of_a_routine_stops_a_formula(kitchen: Path) -> None:
    before = compute(kitchen)
    assert isinstance(before, Manual)
    assert of(kitchen, "check: sanitiser") == {}
    after = compute(kitchen)
    assert isinstance(after, Manual) and set(after.sheets) == set(before.sheets)
    assert after.errors and not after.stopped


@pytest.mark.parametrize(
    ("typed", "least", "most"),
    [
        ("200 ppm", 200, None),
        ("50 to 100 ppm", 50, 100),
        ("50 ppm to 100 ppm", 50, 100),
        ("12.5–25 mg/L", Fraction(25, 2), 25),
    ],
)
def test_strengths_are_read(typed: str, least: Fraction, most: Fraction | None) -> None:
    assert read_strength(typed) == Strength(Fraction(least), most)


@each_row(
    ("typed", "code"),
    [
        ("200", "strength-without-unit"),
        ("0.02 %", "strength-unreadable"),
        ("0 ppm", "strength-unreadable"),
        ("100 to 50 ppm", "range-doubtful"),
        ("9" * 60 + " ppm", "strength-unreadable"),
        ("a cap a bucket", "strength-unreadable"),
    ],
)
def test_strengths_that_say_nothing(typed: str, code: str) -> None:
    with pytest.raises(Refused) as refused:
        read_strength(typed)
    assert refused.value.code == code


def test_a_decimal_comma() -> None:
    with written_with("comma"):
        assert read_strength("12,5 to 25 ppm").least == Fraction(25, 2)
        with pytest.raises(Refused) as refused:
            read_strength("12.5 ppm")
        assert refused.value.code == "decimal-mark"
