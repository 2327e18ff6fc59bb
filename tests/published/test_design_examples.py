"""`design` against published worked examples: designs.csv, and the doses of curing.csv backwards."""

from __future__ import annotations

import csv
import json
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from commands import run
from conftest import demo_alone

HERE = Path(__file__).parent
with (HERE / "designs.csv").open(encoding="utf-8", newline="") as lines:
    ROWS = list(csv.DictReader(lines))
with (HERE / "curing.csv").open(encoding="utf-8", newline="") as lines:
    CURING = {row["id"]: row for row in csv.DictReader(lines)}


def published(key: str) -> dict[str, Fraction]:
    return {row["answer"]: Fraction(row["figure"]) for row in ROWS if row["id"] == key}


def designed(*words: str) -> dict[str, Any]:
    done = run(demo_alone(), "design", *words, "--format", "json")
    assert done.returncode == 0, done.stderr
    record: dict[str, Any] = json.loads(done.stdout)
    return record


def exact(record: dict[str, Any]) -> dict[str, float]:
    return {line["ingredient"]: line["exact_g"] for line in record["lines"]}


MIXES = {
    "GOFF-1713": (
        "cream: fat 32 %, serum 9 %",
        "milk: fat 3.5 %, serum 9 %",
        "condensed: msnf 28 %, sugar 40 %",
    ),
    "GOFF-1714": (
        "cream: fat 30 %, serum 9 %",
        "milk: fat 4 %, serum 9 %",
        "condensed: fat 8 %, msnf 20 %, sugar 42 %",
    ),
}


@pytest.mark.parametrize("key", MIXES)
def test_a_mix_by_the_serum_point(key: str) -> None:
    """Goff rounds each step to 10 g in 100 kg before the next; the whole answer is exact here, so
    the two may be 50 g apart."""
    wanted = ("--fat", "14%", "--msnf", "10%", "--sugar", "15%", "--total", "100kg")
    made_of = [word for food in MIXES[key] for word in ("--from", food)]
    record = designed(
        "mix",
        *wanted,
        *made_of,
        "--from",
        "sucrose: sugar 100 %",
        "--with",
        "stabilizer: solids 100 %=0.5%",
    )
    answer = published(key)
    for name, grams in exact(record).items():
        assert abs(grams / 1000 - float(answer[name])) < 0.05, name
    assert sum(exact(record).values()) == pytest.approx(100_000, abs=1e-6)
    # Goff takes the milk's solids from its fat and 9 % of its serum, as here.
    assert record["solids_pct"] == pytest.approx(float(answer["total solids"]), abs=0.01)
    assert record["fat_pct"] == pytest.approx(14, abs=0.01)


@pytest.mark.parametrize(
    ("key", "foods", "fat"),
    [
        ("SQUARE-MILK", ("milk: fat 3.9 %", "skimmed: fat 0 %"), "2.6%"),
        ("SQUARE-MEAT", ("belly: fat 30 %", "mince: fat 12 %"), "20%"),
    ],
)
def test_pearsons_square(key: str, foods: tuple[str, str], fat: str) -> None:
    answer = published(key)
    record = designed("blend", "--fat", fat, "--from", foods[0], "--from", foods[1])
    grams, parts = exact(record), sum(answer.values())
    for name, many in answer.items():
        assert grams[name] == pytest.approx(float(10_000 * many / parts))
    # The same blend by adding the other food to what there is of the one.
    (first, _), (second, _) = answer.items()
    more = designed(
        "blend",
        "--fat",
        fat,
        "--have",
        f"{foods[0]}={grams[first]:.6f}g".replace(" %=", " %="),
        "--add",
        foods[1],
    )
    assert exact(more)[second] == pytest.approx(grams[second], rel=1e-5)


def test_the_pickle_of_the_handbooks_page_19() -> None:
    """Its published dose and salt asked for give its published pickle, on the same meat. The salt
    in the meat is 13.2816 g in 1200 g of meat and 120 g of pickle."""
    answer = published("PICKLE-1266")
    salt = answer["salt in the meat"] / (1200 + 120) * 100
    record = designed(
        "pickle",
        "--meat",
        "pork: fat 10 %=1200g",
        "--pump",
        "10%",
        "--salt",
        f"{float(salt):.6f}%",
        "--cure",
        "cure: nitrite 5.88 %, salt 94.12 %",
        "--nitrite",
        f"{float(answer['nitrite']):.4f}ppm",
        "--station",
        "meat-room",
    )
    grams = exact(record)
    assert grams["cure"] / 120 == pytest.approx(32 / 1266, rel=1e-5)
    assert grams["salt-fine"] / 120 == pytest.approx(110 / 1266, rel=1e-3)


DRY = {"EX-DRY-200": "dry", "EX-DRY-150": "dry", "EX-COMM-25LB": "comminuted", "EX-32": "bacon-dry"}


@pytest.mark.parametrize("key", DRY)
def test_a_dose_on_the_meat_backwards(key: str) -> None:
    """The published ppm asked for give the published cure. Skin counts as left on in bacon, so its
    example stands for a belly without it: the green weight is a ninth more here."""
    row = CURING[key]
    unit = {"g": 1.0, "oz": 453.59237 / 16}[row["mass_unit"]]
    meat, strength = float(row["meat_mass"]) * unit, float(row["nitrite_fraction_of_cure"])
    skin = 0.9 if DRY[key].startswith("bacon") else 1
    record = designed(
        "cure",
        "--meat",
        f"pork: fat 10 %={meat / skin:.7f}g",
        "--salt",
        "3%",
        "--cure",
        f"cure: nitrite {strength * 100} %",
        "--nitrite",
        f"{row['answer_ppm']}ppm",
        "--as",
        DRY[key],
        "--station",
        "meat-room",
    )
    mass = float(row["cure_or_nitrite_mass"]) * unit
    assert exact(record)["cure"] == pytest.approx(mass, rel=1e-6)


def test_immersion_at_balance_backwards() -> None:
    """Method two, p. 22: 10 g of nitrite in 10 kg of pickle on 40 kg of meat are 200 ppm."""
    row = CURING["EX-IMM-M2"]
    nitrite, pickle = float(row["cure_or_nitrite_mass"]), float(row["pickle_mass"])
    salt = 2.0  # percent of meat and liquid; the pickle is liquid, salt and nitrite
    liquid = (pickle - nitrite - salt / 100 * float(row["meat_mass"])) / (1 + salt / 100)
    record = designed(
        "brine",
        "--food",
        f"pork: fat 10 %={row['meat_mass']}g",
        "--liquid",
        f"{liquid:.7f}g",
        "--salt",
        f"{salt}%",
        "--cure",
        "nitrite: nitrite 100 %",
        "--nitrite",
        "200ppm",
        "--station",
        "meat-room",
    )
    assert exact(record)["nitrite"] == pytest.approx(nitrite, rel=1e-6)
    assert record["nitrite_ppm"] <= 200
