"""Curing: the rows of the pack, and every worked example run through the commands.

Rows and examples: curing.csv, whose `source` keys are in sources.csv. An example's figures are
entered as a cook would enter them, into a kitchen's files; the answer is what the command prints.
"""

from __future__ import annotations

import csv
import json
from fractions import Fraction
from pathlib import Path

import pytest
from commands import run
from conftest import ROOT, lay
from each_row import each_row
from test_cli import data
from test_curing import VARIANCE

from generator.reference.library import read_reference
from generator.reference.row_kinds import AdditiveRow
from generator.rules.cures.dosing import ION_OF_SODIUM_NITRITE, as_ion

HERE = Path(__file__).parent
with (HERE / "curing.csv").open(encoding="utf-8", newline="") as lines:
    PUBLISHED = {row["id"]: row for row in csv.DictReader(lines)}
PACK = read_reference(ROOT / "shared").packs["us-9cfr-424"]
ROWS = {
    "US-NO2-COMM": ("nitrite-comminuted",),
    "US-NO2-PUMP": ("nitrite-immersion", "nitrite-pumped"),
    "US-NO2-DRY": ("nitrite-dry",),
    "US-BACON-PUMP": ("nitrite-bacon-pumped",),
    "US-BACON-ACC": ("erythorbate-bacon-pumped",),
    "US-ACC-COMM": ("erythorbate-comminuted",),
    "US-ACC-CUT": ("erythorbate-dry", "erythorbate-pumped"),
    "US-BACON-IMM": ("nitrite-bacon-immersion",),
    "US-BACON-DRY": ("nitrite-bacon-dry",),
    "US-MIN-REFR": ("nitrite-minimum",),
}


@each_row(("key", "ident"), [(k, i) for k, ids in ROWS.items() for i in ids])
def test_a_dose_is_as_published(key: str, ident: str) -> None:
    published, row = PUBLISHED[key], PACK.rows[ident]
    assert published["basis"] == "seen" and published["use"] in ("law", "guidance")
    assert row.standing == published["use"]
    assert Fraction(row.printed_ppm) == Fraction(published["limit_ppm_mg_per_kg"])
    side = published["comparator"].split()[0]
    assert row.bound == ("min" if side == ">=" else "max")
    assert row.exact is (side == "=")
    clause = published["clause"].split(";")[0].replace("handbook p.", "handbook p. ")
    assert row.clause.startswith(clause)


ACCELERATOR = "erythorbate or ascorbate"
PICKLED = ("immersion", "pumped", "bacon-immersion", "bacon-pumped")
MEAT, PICKLE, PUMP, STRENGTH = Fraction(5000), Fraction(10_000), Fraction(1, 10), Fraction(1, 16)


def grams_for(cured_as: str, ppm: Fraction) -> Fraction:
    """The cure that brings 5 kg of meat to so many ppm, by the handbook's formulas: of the meat; of
    meat and pickle together (immersion, method two); of the pickle times the pump."""
    block = MEAT
    if cured_as in PICKLED:
        block = PICKLE / PUMP if "pumped" in cured_as else MEAT + PICKLE
    return ppm * block / 1_000_000 / STRENGTH


def doses(
    folder: Path, cured_as: str, ppm: Fraction, keeps: str = ""
) -> dict[str, dict[str, object]]:
    """What `limits` gives of a formula dosed so, by substance."""
    cure = grams_for(cured_as, ppm)
    row = {
        "nitrite_fraction_of_cure": str(float(STRENGTH)),
        "cure_or_nitrite_mass": typed(cure),
        "mass_unit": "g",
        "meat_mass": typed(MEAT),
        "pickle_mass": typed(PICKLE) if cured_as in PICKLED else "",
        "pump_fraction": typed(PUMP) if "pumped" in cured_as else "",
    }
    kitchen = laid(folder, row, cured_as, keeps=keeps)
    found = data(kitchen, "limits", "example")["limits"]
    return {lm["substance"]: lm for lm in found if lm["hazard"] == "additive"}


@pytest.mark.parametrize(
    ("key", "cured_as"),
    [
        ("US-NO2-COMM", "comminuted"),
        ("US-NO2-PUMP", "immersion"),
        ("US-NO2-PUMP", "pumped"),
        ("US-NO2-DRY", "dry"),
        ("US-BACON-PUMP", "bacon-pumped"),
        ("US-BACON-ACC", "bacon-pumped"),
        ("US-BACON-IMM", "bacon-immersion"),
        ("US-BACON-DRY", "bacon-dry"),
        ("US-MIN-REFR", "dry"),
    ],
)
def test_a_dose_comes_back_from_limits(key: str, cured_as: str, tmp_path: Path) -> None:
    """`limits` gives back each published figure with its clause; 156 is the printed 156.25."""
    published = PUBLISHED[key]
    asked = Fraction(published["limit_ppm_mg_per_kg"])
    ppm = asked if key not in ("US-BACON-ACC", "US-MIN-REFR") else Fraction(120)
    keeps = "keeps: {cold: 6 days}\n" if key == "US-MIN-REFR" else ""
    found = doses(tmp_path, cured_as, ppm, keeps)
    assert set(found) == ({"nitrite", ACCELERATOR} if cured_as == "bacon-pumped" else {"nitrite"})
    dose = found[ACCELERATOR if key == "US-BACON-ACC" else "nitrite"]
    if key == "US-MIN-REFR":
        assert dose["least_ppm"] == float(asked)
        return
    assert (dose["bound"], int(float(str(dose["value"])))) == (
        "min" if published["comparator"].startswith(">=") else "max",
        int(asked),
    )
    source = dose["source"]
    assert isinstance(source, dict) and published["clause"].startswith(source["clause"])
    assert dose["verdict"]["status"] == "meets"  # type: ignore[index]


def test_every_row_is_published() -> None:
    named = {i for ids in ROWS.values() for i in ids}
    dosed = {i for i, r in PACK.rows_of(AdditiveRow) if r.ppm is not None}
    assert dosed == named


def test_a_quarter_ounce_to_a_hundredweight() -> None:
    """Printed 156; a quarter ounce in 100 lb is 156.25 ppm exactly (1 lb is 16 oz)."""
    assert PACK.rows["nitrite-comminuted"].ppm == Fraction(1, 4) / (100 * 16) * 1_000_000


def test_skin_and_the_potassium_salt() -> None:
    assert PACK.rows["green-weight-skin-on"].factor == Fraction(
        PUBLISHED["US-SKIN"]["limit_ppm_mg_per_kg"]
    )
    assert "unchanged" in PUBLISHED["US-KNA"]["note"]
    assert "the same for both salts" in PACK.rows["potassium-salt"].words


@pytest.mark.parametrize("key", ["EU-831", "EU-832", "EU-832S"])
def test_the_ion_is_not_the_salt(key: str) -> None:
    """European limits count the ion: 80 mg/kg of it are about 120 of the sodium salt, 55 about
    82."""
    published = PUBLISHED[key]
    assert Fraction(PUBLISHED["F-NANO2"]["limit_ppm_mg_per_kg"]) == ION_OF_SODIUM_NITRITE
    salt = {"80": 120, "55": 82}[published["limit_ppm_mg_per_kg"]]
    assert f"about {salt} mg/kg NaNO2" in published["note"]
    assert round(as_ion(Fraction(salt))) == int(published["limit_ppm_mg_per_kg"])


# --- the worked examples, through the commands ---

GRAMS = {"g": Fraction(1), "oz": Fraction("28.349523125"), "lb": Fraction("453.59237")}
"""Grams of a unit: the international pound of 1959, and its sixteenth."""
CURED_AS = {
    "EX-COMM-25LB": "comminuted",
    "EX-COMM-100LB": "comminuted",
    "EX-487": "bacon-dry",
    "EX-32": "bacon-dry",
    "EX-192": "bacon-dry",
    "EX-IMM-M2": "immersion",
    "EX-PUMP-1266": "pumped",
    "EX-PICKLE-2LB": "pumped",
}
ABOVE_ITS_MAXIMUM = {"EX-487"}
EXAMPLES = [k for k in PUBLISHED if k.startswith("EX-") and k != "EX-PCT-TRAP"]


def typed(value: Fraction) -> str:
    """A figure as a cook types it."""
    return f"{float(value):.6f}".rstrip("0").rstrip(".")


def kitchen_of(folder: Path, key: str) -> Path:
    """A kitchen with one example's figures in its files."""
    return laid(folder, PUBLISHED[key], CURED_AS.get(key, "dry"))


def laid(folder: Path, row: dict[str, str], cured_as: str, keeps: str = "") -> Path:
    """A kitchen with the figures of a row of curing.csv; pumped bacon with its accelerator."""
    kitchen = lay("base", folder / "kitchen")
    standards = kitchen / "standards"
    with (standards / "kitchen.yaml").open("a") as file:
        file.write(VARIANCE)
    with (standards / "equipment/house.yaml").open("a") as file:
        file.write(
            "jewel-scale: {kind: scale, name: Jewel scale, division: 0.001 g, accuracy: 0.001 "
            "g, capacity: 5 kg}\n"
        )
    (standards / "ingredients/curing.yaml").write_text(
        "belly: {name: Belly, species: pork, state: raw, form: intact, allergens: none, skin: "
        "taken-off}\n"
        "ascorbate: {name: Ascorbate, species: none, state: ready-to-eat, allergens: none, "
        "tcs: no, erythorbate: 100 %}\n"
        "water: {name: Water, species: none, state: ready-to-eat, form: liquid, allergens: "
        "none, tcs: no}\n"
        "cure: {name: Cure, species: none, state: ready-to-eat, allergens: none, tcs: no, "
        "function: cure, "
        f"nitrite: {typed(Fraction(row['nitrite_fraction_of_cure']) * 100)} %}}\n"
    )
    cure = Fraction(row["cure_or_nitrite_mass"])
    unit = row["mass_unit"]
    meat = (
        f"{typed(Fraction(row['meat_mass'] or row['pickle_mass']) * (1 if row['meat_mass'] else 10))} "
        f"{unit}"
    )
    pickle, pump = row["pickle_mass"], row["pump_fraction"]
    accelerator = Fraction(60) if cured_as == "bacon-pumped" else Fraction(0)
    water = f"    water: {typed(Fraction(pickle) - cure - accelerator)} {unit}\n" if pickle else ""
    if accelerator:
        water += f"    ascorbate: {typed(accelerator)} g\n"
    steps = "  - do: season\n    add: [meat, pickle]\n"
    said = "" if "bacon" in cured_as else "bacon: no\n"
    if cured_as == "comminuted":
        steps = "  - do: grind\n    add: [meat]\n  - do: mix\n    add: [pickle]\n"
    elif cured_as.endswith("immersion"):
        steps = (
            "  - do: mix\n    add: [pickle]\n  - do: brine\n    add: [meat]\n    in: cold-room\n"
        )
    elif cured_as.endswith("pumped"):
        percent = f"{typed(Fraction(pump) * 100)} % of green weight"
        steps = (
            "  - do: mix\n    add: [pickle]\n  - do: inject\n    add: [meat]\n"
            f"    pump: {percent}\n"
        )
    (standards / "processes/curing.yaml").write_text(f"name: Curing\nsteps:\n{steps}")
    (standards / "formulas/example.yaml").write_text(
        "name: Example\nrevision: 1\neffective: 2026-01-01\napproved: R. Osei\nstation: range\n"
        "base: meat\n"
        f"parts:\n  meat:\n    belly: {meat}\n  pickle:\n{water}    cure: {typed(cure)} {unit}\n"
        f"process: curing\ncured_as: {cured_as}\n"
        f"{said}{keeps}cooked_later: Sold raw; the label says cook it through.\n"
        f"batches: [{meat} base]\n"
    )
    return kitchen


@pytest.mark.parametrize("key", EXAMPLES)
def test_an_example_gives_its_published_answer(key: str, tmp_path: Path) -> None:
    """`limits` prints the dose of the example; `sheet` carries the same; `batch` weighs no more."""
    kitchen, answer = kitchen_of(tmp_path, key), PUBLISHED[key]["answer_ppm"]
    if key in ABOVE_ITS_MAXIMUM:
        done = run(kitchen, "limits", "example")
        assert done.returncode == 1 and not done.stdout
        assert f"{answer} ppm of nitrite is above the legal maximum, 200 ppm" in done.stderr
        return
    limits = data(kitchen, "limits", "example")["limits"]
    (dose,) = [lm for lm in limits if lm["hazard"] == "additive"]
    assert round(dose["dosed_ppm"], len(answer.partition(".")[2])) == float(answer)
    assert dose["verdict"]["status"] == "meets" and dose["substance"] == "nitrite"
    done = run(kitchen, "data", "example")
    assert done.returncode == 0, done.stderr
    sheet = json.loads(done.stdout)
    assert [lm for lm in sheet["limits"] if lm["hazard"] == "additive"] == [dose]
    batch = data(kitchen, "batch", "example")
    (cure,) = [ln for ln in batch["lines"] if ln["ingredient"] == "cure"]
    exact = Fraction(PUBLISHED[key]["cure_or_nitrite_mass"]) * GRAMS[PUBLISHED[key]["mass_unit"]]
    assert cure["exact_g"] == pytest.approx(float(exact), rel=1e-9)
    weighed = Fraction(str(cure["weigh_g"]))
    assert 0 <= exact - weighed < exact / 100, "down to a step, and no further than it must"


def test_a_percentage_is_not_a_fraction(tmp_path: Path) -> None:
    """The handbook writes 5.88 where the arithmetic needs 0.0588: 588 % is no strength."""
    kitchen = kitchen_of(tmp_path, "EX-PUMP-1266")
    path = kitchen / "standards/ingredients/curing.yaml"
    trap = PUBLISHED["EX-PCT-TRAP"]
    assert Fraction(trap["answer_ppm"]) == 100 * Fraction("148.6256")
    wrong = f"nitrite: {typed(Fraction(trap['nitrite_fraction_of_cure']) * 100)} %"
    path.write_text(path.read_text().replace("nitrite: 5.88 %", wrong))
    done = run(kitchen, "limits", "example")
    assert done.returncode == 1 and "[strength-out-of-range]" in done.stderr
