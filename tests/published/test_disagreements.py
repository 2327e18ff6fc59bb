"""Where published copies, editions and places disagree: a test for each, named for it.

The figures are in the CSV files beside. Each place's own figure is shown, and no other's, and no
rounded one, passes for it.
"""

from __future__ import annotations

import csv
import datetime
import json
import shutil
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from conftest import AS_OF, ROOT, compute, edit, lay

from generator.cli import cli
from generator.measures.temperature import Temperature
from generator.reference.library import read_reference
from generator.reference.row_kinds import AdditiveRow, CookRow, ReducedOxygenRow, ReheatRow

HERE = Path(__file__).parent
LIBRARY = read_reference(ROOT / "shared")
PACKS = LIBRARY.packs


def table(name: str) -> dict[str, dict[str, str]]:
    with (HERE / name).open(encoding="utf-8", newline="") as lines:
        return {row["id"]: row for row in csv.DictReader(lines)}


COOKING, COOLING = table("cooking_food_code.csv"), table("cooling_holding.csv")
LETHALITY, UK = table("lethality_fsis.csv"), table("lethality_uk.csv")
PLACES = table("cooling_other_places.csv")


def run(project: Path, *words: str) -> dict[str, Any]:
    words = (*words, "--format", "json", "--project", str(project), "--as-of", str(AS_OF))
    done = CliRunner().invoke(cli, list(words))
    assert done.exit_code == 0, done.output
    found = json.loads(done.stdout)
    assert isinstance(found, dict)
    return found


def limit(project: Path, formula: str, hazard: str, supposed: str = "") -> dict[str, Any]:
    more = ("--if", supposed) if supposed else ()
    found = run(project, "limits", formula, *more)["limits"]
    return next(x for x in found if x["hazard"] == hazard)


def verdict(project: Path, target: str, step: str = "bake", formula: str = "pork-bake") -> str:
    hazard = "hot_hold" if step == "hold-hot" else "cook"
    return str(limit(project, formula, hazard, f"{step}: {target}")["verdict"]["status"])


def reviewed(project: Path, step: str, *readings: tuple[float, str]) -> dict[str, Any]:
    """A log of (minutes, °C) judged by a step of the clean kitchen's bake."""
    path = project / "log.csv"
    with path.open("w", newline="") as lines:
        writer = csv.writer(lines)
        writer.writerow(["time", "temp_c"])
        for minutes, degrees in readings:
            at = datetime.datetime(2026, 11, 24, 8) + datetime.timedelta(minutes=minutes)
            writer.writerow([at.isoformat(sep=" "), degrees])
    return run(project, "review", str(path), "--formula", "pork-bake", "--step", step)


def exact(fahrenheit: str) -> Fraction:
    return (Fraction(fahrenheit) - 32) * 5 / 9


@pytest.fixture
def whole(kitchen: Path) -> Path:
    """The clean kitchen with whole pork and no eggs: the code's lowest group."""
    edit(kitchen, "formulas/pork-bake.yaml", "    whole-egg: 6 each\n", "")
    edit(
        kitchen,
        "processes/baked.yaml",
        "  - do: grind\n    add: [meat]\n",
        "  - do: season\n    add: [meat]\n",
    )
    return kitchen


def plant(project: Path, species: str) -> Path:
    """The same as a plant under inspection that cooks one species."""
    edit(
        project,
        "kitchen.yaml",
        "code: {model: us-food-code, edition: 2022",
        "operation: inspected-establishment\ncode: {model: us-fsis, edition: 1999",
    )
    edit(
        project,
        "ingredients/all.yaml",
        "name: Pork shoulder\n  species: pork",
        f"name: Shoulder\n  species: {species}",
    )
    edit(project, "formulas/pork-bake.yaml", "core 72 °C", "core 76 °C for 1 min")
    return project


# --- editions


def test_editions_15_s_and_17_s_at_155_f_and_at_165_f(kitchen: Path, tmp_path: Path) -> None:
    """Comminuted at 155 °F: 15 s before 2017, 17 s since. Poultry at 165 °F: 15 s before, any
    reading since."""
    assert limit(kitchen, "pork-bake", "cook", "bake: core 69.5 °C for 17 s")["hold_s"] == 17
    assert verdict(kitchen, "core 69.5 °C for 15 s") == "fails"
    edit(kitchen, "kitchen.yaml", "edition: 2022", "edition: 2013")
    assert limit(kitchen, "pork-bake", "cook", "bake: core 69.5 °C for 15 s")["hold_s"] == 15
    poultry = lay("base", tmp_path / "poultry")
    edit(
        poultry,
        "ingredients/all.yaml",
        "name: Pork shoulder\n  species: pork",
        "name: Shoulder\n  species: chicken",
    )
    edit(poultry, "formulas/pork-bake.yaml", "core 72 °C", "core 76 °C for 15 s")
    assert limit(poultry, "pork-bake", "cook")["hold"] == "instant"
    edit(poultry, "kitchen.yaml", "edition: 2022", "edition: 2013")
    assert limit(poultry, "pork-bake", "cook")["hold_s"] == 15
    for ident in ("us-food-code-2022", "us-food-code-2013"):
        hold = PACKS[ident].rows["reheat-165"].hold
        assert hold is not None and hold.seconds == int(COOKING["FC-RH-A"]["hold_seconds"]) == 15


def test_packing_without_air_14_days_or_30_and_72_hours_or_7_days() -> None:
    """14 days (2009) or 30 (2013 on): no row held of either edition has the older figures."""
    assert (COOLING["ROP-2009"]["limit_value"], COOLING["ROP-AW"]["limit_value"]) == ("14", "30")
    assert COOLING["ROP-CC-72"]["limit_hours"] == COOLING["ROP-CC-38"]["limit_hours"] == "72"
    for ident in ("us-food-code-2022", "us-food-code-2013"):
        rows = [row for _, row in PACKS[ident].rows_of(ReducedOxygenRow)]
        assert rows and all(row.days != 14 and row.days != 3 for row in rows)
        assert {row.days for row in rows if row.days} <= {7, 30}
        assert not any(row.within and row.within.seconds == 72 * 3600 for row in rows)


def test_egg_classes_of_ams_56_not_of_7_cfr_56_218() -> None:
    classes = [
        row for row in table("units_nist.csv").values() if row["quantity"] == "egg weight class"
    ]
    assert classes and all(row["edition"].startswith("AMS 56") for row in classes)


# --- printed and exact


PRINTED = [
    key
    for key, row in COOKING.items()
    if row["use"] == "law"
    and row["temp_F"]
    and row["temp_C_printed"]
    and row["rule_group"] == "raw_animal"
]


@pytest.mark.parametrize("key", PRINTED)
def test_a_printed_celsius_is_no_limit(kitchen: Path, key: str) -> None:
    """68 °C is printed for 155 °F and is 154.4 °F. A log at the printed figure passes only where
    that is not below the row."""
    row = COOKING[key]
    printed, held = row["temp_C_printed"], int(row["hold_seconds"])
    if key == "FC-A3":
        edit(
            kitchen,
            "ingredients/all.yaml",
            "name: Pork shoulder\n  species: pork",
            "name: Shoulder\n  species: chicken",
        )
        edit(kitchen, "formulas/pork-bake.yaml", "core 72 °C", "core 76 °C")
    elif key in ("FC-A1a", "FC-A1b"):
        edit(kitchen, "formulas/pork-bake.yaml", "    whole-egg: 6 each\n", "")
        edit(
            kitchen,
            "processes/baked.yaml",
            "  - do: grind\n    add: [meat]\n",
            "  - do: season\n    add: [meat]\n",
        )
    end = max(held, 1) / 60
    found = reviewed(kitchen, "bake", (0, printed), (end, printed), (end + 0.01, "20"))
    enough = Fraction(printed) >= exact(row["temp_F"])
    assert (found["verdict"] == "pass") == enough
    assert enough == (key not in ("FC-A2",)), "of these only 68 °C is printed below its row"


@pytest.mark.parametrize(
    ("printed", "row"), [("57", "HOT-1"), ("54", "HOT-2")], ids=["57 for 135", "54 for 130"]
)
def test_57_and_54_degrees_are_below_135_and_130_f(kitchen: Path, printed: str, row: str) -> None:
    assert COOLING[row]["to_C"] == printed
    assert Fraction(printed) < exact(COOLING[row]["to_F"])
    edit(kitchen, "processes/baked.yaml", "  - do: chill\n", "  - do: hold-hot\n  - do: chill\n")
    assert verdict(kitchen, f"at {printed} °C", "hold-hot") == "fails"
    found = reviewed(kitchen, "hold-hot", (0, printed), (30, printed))
    assert found["verdict"] == "fail"
    assert limit(kitchen, "pork-bake", "hot_hold")["shown_c"] == 58


def test_41_and_158_f_are_exact_and_70_f_is_not(kitchen: Path) -> None:
    """41 °F is 5 °C and 158 °F is 70 °C; 70 °F is 21.11 °C and shown as 21."""
    assert Temperature.of(41, "°F").celsius == 5 and Temperature.of(158, "°F").celsius == 70
    assert reviewed(kitchen, "bake", (0, "70"), (1, "70"))["verdict"] == "pass"
    course = [(0, "60"), (1, "57.3"), (2, "57"), (118, "21.1"), (340, "5")]
    found = reviewed(kitchen, "chill", *course)
    assert found["verdict"] == "pass", "21.1 °C is at 70 °F or below"
    stages = limit(kitchen, "pork-bake", "cool")["stages"]
    assert [s["shown_c"] for s in stages] == [21, 5]


def test_fsis_prints_58_4_and_59_5_for_137_and_139_f(whole: Path) -> None:
    """58.33 and 59.44 °C exactly; the figure shown is never below what is printed."""
    project = plant(whole, "beef")
    options = {o["value"]: o for o in limit(project, "pork-bake", "cook")["options"]}
    for degrees, printed in ((137, "58.4"), (139, "59.5")):
        row = LETHALITY[f"FSIS-MEAT-6.5-{degrees}"]
        assert row["temp_C_printed"] == printed and exact(str(degrees)) < Fraction(printed)
        assert options[degrees]["shown_c"] >= float(printed)


# --- 65 °C


def test_65_degrees_is_below_the_150_f_row(kitchen: Path) -> None:
    """65 °C is 149 °F: the row of 150 °F for 1 min isn't met, and what it does meet is 145 °F for 3
    min."""
    assert Temperature.of(65, "°C").in_unit("°F") == 149
    minute = [(-0.001, "62"), (0, "65"), (1, "65"), (1.001, "20")]
    assert reviewed(kitchen, "bake", *minute)["verdict"] == "fail"
    for minutes, word in ((2.99, "fail"), (3, "pass")):
        log = [(-0.001, "62"), (0, "65"), (minutes, "65"), (minutes + 0.001, "20")]
        assert reviewed(kitchen, "bake", *log)["verdict"] == word
    assert reviewed(kitchen, "bake", (0, "66"), (1, "66"), (1.01, "20"))["verdict"] == "pass"
    assert verdict(kitchen, "core 65 °C for 1 min") == "fails"


def test_65_degrees_takes_85_s_on_the_meat_table_not_the_67_s_of_150_f(whole: Path) -> None:
    project = plant(whole, "beef")
    at_149, at_150 = (int(LETHALITY[f"FSIS-MEAT-6.5-{f}"]["time_seconds"]) for f in (149, 150))
    assert (at_149, at_150) == (85, 67)
    for seconds, word in ((at_150, "fail"), (at_149 - 1, "fail"), (at_149, "pass")):
        end = seconds / 60
        begun = [(-0.003, "50"), (-0.002, "57"), (-0.001, "64")]  # below each row, and no jump
        log = [*begun, (0, "65"), (end, "65"), (end + 0.001, "20")]
        assert reviewed(project, "bake", *log)["verdict"] == word, seconds


def test_the_uks_two_lists_65_degrees_10_or_14_min_and_60_degrees_45_or_93(tmp_path: Path) -> None:
    """General list and burger report; minced meat takes the longer, other food the general one."""
    project = tmp_path / "england"
    shutil.copytree(ROOT / "tests/kitchens/england" / "standards", project / "standards")
    for at, general, burger in (("65", "UK-65", "UK-BURGER-65b"), ("60", "UK-60", "UK-BURGER-60")):
        short, long = (int(UK[key]["time_seconds"]) for key in (general, burger))
        assert short < long
        for formula, need in (("lamb-stew", short), ("beef-filling", long)):
            target = f"core {at}.5 °C for {{}} s"
            assert verdict(project, target.format(need), "simmer", formula) == "meets"
            assert verdict(project, target.format(need - 1), "simmer", formula) == "fails"


# --- places


def test_the_roast_chart_is_the_6_5_log_column_not_new_yorks(tmp_path: Path) -> None:
    """130 °F: 112 min in most editions, 121 in New York, the 7.0-log column of the meat table."""
    ours, theirs = COOKING["FC-ROAST-130"], COOKING["NY-ROAST-130"]
    assert (ours["hold_seconds"], theirs["hold_seconds"]) == ("6720", "7260")
    assert LETHALITY["FSIS-MEAT-7.0-130"]["time_seconds"] == theirs["hold_seconds"]
    found = limit(ROOT, "roast-beef-cold", "cook", "roast: core 55.5 °C for 112 min")
    assert (found["value"], found["hold_s"], found["verdict"]["status"]) == (130, 6720, "meets")
    other = limit(ROOT, "roast-beef-cold", "cook", "roast: core 55.5 °C for 111 min")
    assert (other["value"], other["verdict"]["status"]) == (131, "close"), (
        "only if the probe is exact"
    )


def test_the_navys_145_f_for_3_min_is_not_on_the_chart() -> None:
    assert COOKING["NAVY-ROAST-145"]["hold_seconds"] == "180"
    hold = PACKS["us-food-code-2022"].rows["roast-145"].hold
    assert hold is not None and hold.seconds == int(COOKING["FC-ROAST-145"]["hold_seconds"]) == 240


def test_cooling_starts_at_135_f_here_130_f_at_a_plant_and_elsewhere_otherwise(whole: Path) -> None:
    """One course, two clocks: 135 °F by the Food Code, 130 °F by FSIS; Maine's 140 °F and
    Australia's 60 °C start neither."""
    course = [(0, "61"), (20, "57.5"), (30, "55"), (40, "54"), (100, "20"), (300, "4")]
    assert PLACES["COOL-ME"]["from_F"] == "140" and PLACES["AU-COOL-1"]["from_C"] == "60"
    starts = reviewed(whole, "chill", *course)["per_probe"][0]["clock_started_at"]
    assert starts.startswith("2026-11-24T08:20"), "the last reading at 57.22 °C or above"
    found = reviewed(plant(whole, "beef"), "chill", *course)
    assert found["per_probe"][0]["clock_started_at"].startswith("2026-11-24T08:30")


def test_six_hours_in_all_against_two_and_then_four(kitchen: Path) -> None:
    """Food Code: 6 h from the start. Australia: 2 h, then a separate 4 h. A quick first hour leaves
    five under the one and four under the other."""
    assert (PLACES["AU-COOL-1"]["limit_hours"], PLACES["AU-COOL-2"]["limit_hours"]) == ("2", "4")
    quick = [(0, "58"), (1, "57"), (60, "21"), (210, "8"), (345, "5")]
    second_stage_h = Fraction(345 - 60, 60)
    assert second_stage_h > int(PLACES["AU-COOL-2"]["limit_hours"])
    assert reviewed(kitchen, "chill", *quick)["verdict"] == "pass"
    late = [(0, "58"), (1, "57"), (60, "21"), (210, "8"), (362, "5.1"), (370, "5")]
    assert reviewed(kitchen, "chill", *late)["verdict"] == "fail"
    stages = limit(kitchen, "pork-bake", "cool")["stages"]
    assert [s["within_s"] for s in stages] == [7200, 21600]
    assert all("counts_from" not in s for s in stages)


def test_fsis_gives_each_stage_its_own_time(whole: Path) -> None:
    """1.5 h to 80 °F and then 5 h to 40 °F, 6.5 h in all: the Food Code's six hours fail the same
    course."""
    course = [
        (0, "57.3"),
        (1, "57"),
        (2, "54.5"),
        (3, "54"),
        (84, "27"),
        (85, "26"),
        (240, "12"),
        (365, "5.5"),
        (375, "4.8"),
        (380, "4"),
    ]
    assert reviewed(whole, "chill", *course)["verdict"] == "fail"
    assert reviewed(plant(whole, "beef"), "chill", *course)["verdict"] == "pass"


def test_canadas_whole_birds_82_or_85_degrees_are_no_rows_of_ours() -> None:
    cooks = [r for p in PACKS.values() for _, r in p.rows_of(CookRow) if r.value]
    assert cooks and not {82, 85} & {r.value.celsius for r in cooks if r.value}


def test_scotlands_82_degrees_and_unnumbered_refrigerator_are_not_englands() -> None:
    assert UK["SCO-RH"]["temp_C"] == "82" and PLACES["SCO-COLD"]["to_C"] == ""
    reheats = {r.value.celsius for _, r in PACKS["uk-england"].rows_of(ReheatRow) if r.value}
    assert reheats and 82 not in reheats


# --- cures, and research that is no limit


def cured(project: Path, dose: str, as_: str) -> Path:
    path = project / "standards" / "kitchen.yaml"
    variance = (
        "authorisations:\n  - {for: cure, authority: Health, document: V-12, from: "
        "2026-01-01, until: 2027-12-31}\n"
    )
    path.write_text(path.read_text(encoding="utf-8") + variance, encoding="utf-8")
    (project / "standards/ingredients/cure.yaml").write_text(
        "pink-cure: {name: Curing salt, species: none, state: ready-to-eat, form: dry, "
        "allergens: none, tcs: no, function: cure, nitrite: 6.25 %}\n"
    )
    edit(project, "formulas/pork-bake.yaml", "salt: 1.6 %", f"salt: 1.6 %\n    pink-cure: {dose}")
    edit(project, "formulas/pork-bake.yaml", "process: baked", f"cured_as: {as_}\nprocess: baked")
    edit(
        project,
        "equipment/house.yaml",
        "division: 0.1 g, accuracy: 0.1 g",
        "division: 0.01 g, accuracy: 0.01 g",
    )
    return project


@pytest.mark.parametrize(
    ("as_", "dose", "most", "meets"),
    [
        ("bacon-dry", "0.28 %", 200, True),
        ("bacon-dry", "0.33 %", 200, False),
        ("dry", "0.33 %", 625, True),
    ],
)
def test_bacon_stands_apart_from_other_dry_cured_meat(
    whole: Path, as_: str, dose: str, most: int, meets: bool
) -> None:
    """9 CFR 424.22(b): 200 ppm for dry-cured bacon, 625 ppm for other dry-cured meat
    (424.21(c))."""
    manual = compute(cured(whole, dose, as_))
    found = next(lm for lm in manual.walks["pork-bake"].limits if lm.hazard == "additive")
    assert found.most_ppm == most
    assert ("dose-above-maximum" not in [f.code for f in manual.findings]) == meets


def test_the_ion_and_the_salt_of_nitrite_are_not_one_figure(tmp_path: Path, whole: Path) -> None:
    """The EU's 80 mg/kg since October 2025 is of the ion, about 120 mg/kg of sodium nitrite (molar
    masses,
    46.0055 over 68.9953). Every figure held is of the salt; none is the ion's, and where the ion's
    law would bind, in England's pack, curing is refused rather than dosed."""
    ion = Fraction("46.0055") / Fraction("68.9953")
    assert round(80 / ion) == 120 and round(ion, 2) == Fraction("0.67")
    rows = [row for pack in PACKS.values() for _, row in pack.rows_of(AdditiveRow)]
    assert rows and 80 not in {row.ppm for row in rows}
    manual = compute(cured(whole, "0.24 %", "dry"))
    found = next(lm for lm in manual.walks["pork-bake"].limits if lm.hazard == "additive")
    assert found.ppm == 150, "0.24 % of a cure that is 6.25 % sodium nitrite, as the label says"
    project = tmp_path / "england"
    shutil.copytree(ROOT / "tests/kitchens/england" / "standards", project / "standards")
    (project / "standards/ingredients/cure.yaml").write_text(
        "pink-cure: {name: Curing salt, species: none, state: ready-to-eat, form: dry, "
        "allergens: none, tcs: no, function: cure, nitrite: 0.6 %}\n"
    )
    path = next((project / "standards/formulas").glob("beef-filling.yaml"))
    text = path.read_text(encoding="utf-8")
    part = text[text.index("parts:\n") :].splitlines()[1]
    path.write_text(
        text.replace(part + "\n", f"{part}\n    pink-cure: 10 g\n", 1), encoding="utf-8"
    )
    assert {"cure-without-variance"} <= {f.code for f in compute(project).errors}
    assert "beef-filling" in compute(project).stopped


def test_hepatitis_e_at_71_degrees_20_min_or_5_is_a_caution_and_no_limit() -> None:
    """Two studies disagree, so no figure of either is held: liver is cooked to its group's limit,
    with a caution that the virus survives light cooking."""
    caution = LIBRARY.cautions["liver-hepatitis-e"]
    assert "hepatitis E" in caution.words and not any(c.isdigit() for c in caution.words)
    holds = {
        r.hold.seconds
        for p in PACKS.values()
        for _, r in p.rows_of(CookRow)
        if r.hold and r.value and r.value.celsius == 71
    }
    assert not holds & {300, 1200}
