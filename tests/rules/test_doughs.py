"""Doughs as kitchens write them: what counts as flour, as preferment, as put to the dough; the
command for their water; a percentage of the whole and of the rest on a whole kitchen's way."""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path

import pytest
from commands import run
from conftest import compute, edit
from doughs import kitchen_with

from generator.composition.bakers import Overall
from generator.sheet.doughs import Dough
from generator.sheet.manual import Manual

END = "keeps: {dry: 3 days}\nnot_tcs: A plain loaf, baked through.\nbatches: [2 kg total]\n"
RIPE = "process: ripen\nnot_tcs: Flour and water.\nbatches: [2 kg total]\n"


def loaf(
    rest: str, *, flour: str = "    bread-flour: 1 kg\n", more: str = "", process: str = "hearth"
) -> str:
    return f"parts:\n  flour:\n{flour}  rest:\n{rest}{more}process: {process}\n{END}"


def dough_in(manual: Manual, ident: str = "loaf") -> Dough:
    assert ident in manual.sheets, [f"{f.code}: {f.message}" for f in manual.errors]
    found = manual.dough(ident)
    assert found is not None
    return found


def shares(overall: Overall) -> dict[str, Fraction]:
    return {row.item: overall.on_flour(row.grams) for row in overall.rows}


def write(folder: Path, file: str, text: str) -> None:
    (folder / "standards" / file).write_text(text, encoding="utf-8")


def test_only_flour_is_the_hundred_percent(tmp_path: Path) -> None:
    """By hand: oats in the base are no flour: 200 g on 800 g are 25 %."""
    manual = kitchen_with(
        tmp_path,
        {"loaf": loaf("    water: 600 g\n", flour="    bread-flour: 800 g\n    nutmeg: 200 g\n")},
    )
    overall = dough_in(manual).overall
    assert shares(overall) == {"bread-flour": 1, "nutmeg": Fraction(1, 4), "water": Fraction(3, 4)}
    edit(tmp_path, "ingredients/all.yaml", "nutmeg:\n", "nutmeg:\n  flour: yes\n")
    assert shares(dough_in(compute(tmp_path)).overall)["nutmeg"] == Fraction(1, 5)


def test_flour_may_be_denied_and_then_it_is_no_dough(tmp_path: Path) -> None:
    manual = kitchen_with(tmp_path, {"loaf": loaf("    water: 600 g\n")})
    assert dough_in(manual).overall.flour_g == 1000
    edit(
        tmp_path, "ingredients/bakers.yaml", "{name: Bread flour,", "{name: Bread flour, flour: no,"
    )
    assert compute(tmp_path).dough("loaf") is None  # type: ignore[union-attr]
    done = run(tmp_path, "batch", "loaf", "--bakers")
    assert done.returncode == 2 and "This is no dough" in done.stderr


def test_what_goes_on_a_shaped_dough_stands_apart(tmp_path: Path) -> None:
    manual = kitchen_with(tmp_path, {"plain": loaf("    water: 600 g\n")})
    write(
        tmp_path,
        "processes/washed.yaml",
        "name: Washed\nsteps:\n  - do: knead\n    add: [flour]\n  - do: rest\n    time: 20 min\n"
        "  - do: knead\n    id: salted\n    add: [rest]\n  - do: proof\n    time: 1 h\n"
        "  - do: shape\n    vessel: as the formula says\n  - do: mix\n    add: [wash]\n"
        "  - do: bake\n    at: 230 °C\n    target: core 96 °C\n  - do: store\n",
    )
    washed = loaf("    salt: 20 g\n    water: 600 g\n", more="  wash:\n    whole-egg: 50 g\n")
    head = (tmp_path / "standards/formulas/plain.yaml").read_text().partition("parts:")[0]
    washed = washed.replace("process: hearth", "process: washed")
    makes = "makes: {fill_weight: 800 g, vessel: dish, unit: loaf, units: loaves}\n"
    write(tmp_path, "formulas/loaf.yaml", head + makes + washed)
    manual = compute(tmp_path)  # type: ignore[assignment]
    overall = dough_in(manual).overall
    assert shares(overall) == {"bread-flour": 1, "salt": Fraction(1, 50), "water": Fraction(3, 5)}
    assert [(row.item, row.grams) for row in overall.later] == [("whole-egg", 50)]
    assert overall.liquid_g == 600  # salt after the rest is dough, the wash is not


def test_a_sponge_in_the_doughs_own_process_is_prefermented(tmp_path: Path) -> None:
    """By hand: 300 g of 1000 g of flour rise first: 30 %, and the salt goes in later."""
    manual = kitchen_with(tmp_path, {"plain": loaf("    water: 600 g\n")})
    write(
        tmp_path,
        "processes/sponged.yaml",
        "name: Sponged\nsteps:\n  - do: mix\n    add: [sponge]\n  - do: proof\n    id: ripen\n"
        "    time: 3 h\n  - do: knead\n    add: [flour, rest]\n  - do: proof\n    time: 1 h\n"
        "  - do: bake\n    at: 230 °C\n    target: core 96 °C\n  - do: store\n",
    )
    text = loaf(
        "    water: 400 g\n    salt: 20 g\n",
        flour="    bread-flour: 700 g\n",
        more="  sponge:\n    rye-flour: 300 g\n    water: 300 g\n",
        process="sponged",
    )
    head = (tmp_path / "standards/formulas/plain.yaml").read_text().partition("parts:")[0]
    write(
        tmp_path,
        "formulas/loaf.yaml",
        head + text + "dough: {temperature: 25 °C, friction: 9 °C}\n",
    )
    manual = compute(tmp_path)  # type: ignore[assignment]
    dough = dough_in(manual)
    assert dough.overall.prefermented == Fraction(3, 10)
    assert dict(dough.overall.ahead_g) == {"Sponge": 300}
    assert dough.preferments == ("sponge",)
    # only the water that goes in with the last flour is warmed: 400 g of it
    done = run(
        tmp_path,
        "dough",
        "loaf",
        "--flour=28",
        "--room=28",
        "--preferment=26",
        "--tap=20",
        "--format=json",
    )
    assert done.returncode == 0, done.stderr
    answer = json.loads(done.stdout)
    assert answer["water_c"] == 4 * 25 - 28 - 28 - 26 - 9
    assert sum(
        one["ice_each_load_g"] + one["tap_each_load_g"] for one in answer["ice"]
    ) == pytest.approx(400 * 2000 / 1720, abs=5)
    # 4 x 25 - 18 - 18 - 18 - 9 is 37 °C: a tap of 20 °C is colder than that
    warm = run(tmp_path, "dough", "loaf", "--flour=18", "--room=18", "--preferment=18", "--tap=20")
    assert "no ice. Warm the tap's water to it." in warm.stdout, warm.stdout + warm.stderr


def test_a_soaker_with_flour_is_opened_and_not_prefermented(tmp_path: Path) -> None:
    soaker = "parts:\n  flour:\n    rye-flour: 200 g\n  rest:\n    water: 200 g\n" + RIPE
    manual = kitchen_with(
        tmp_path,
        {
            "soaker": soaker.replace("process: ripen", "process: blended"),
            "loaf": loaf("    water: 500 g\n    soaker: 400 g\n"),
        },
    )
    write(
        tmp_path,
        "processes/blended.yaml",
        "name: Blended\nsteps:\n  - do: mix\n    add: [flour, rest]\n",
    )
    overall = dough_in(compute(tmp_path)).overall  # type: ignore[arg-type]
    assert overall.prefermented == 0 and overall.flour_g == 1200
    assert shares(overall)["water"] == Fraction(700, 1200)
    assert manual is not None


def test_a_tin_by_its_inside_volume(tmp_path: Path) -> None:
    """By hand: 300 × 200 × 60 mm are 3.6 l: at 3.6 ml a gram 1 kg of dough; 1000 g have 3.6 ml."""
    text = (
        loaf("    water: 600 g\n")
        + "makes: {fill_weight: 1 kg, vessel: dish, unit: loaf, units: loaves}\n"
    )
    text = text.replace("batches: [2 kg total]", "batches: [2 loaves]")
    kitchen_with(tmp_path, {"loaf": text.replace("process: hearth", "process: tinned")})
    write(
        tmp_path,
        "processes/tinned.yaml",
        "name: Tinned\nsteps:\n  - do: knead\n    add: [flour, rest]\n  - do: proof\n    time: 1 h\n"
        "  - do: fill\n    vessel: as the formula says\n  - do: bake\n    at: 230 °C\n"
        "    target: core 96 °C\n    loses: 10 %\n  - do: store\n",
    )
    said = run(tmp_path, "batch", "loaf", "--bakers").stdout
    assert "Vessel: Deep dish, 3.6 l inside: 3.6 ml for each gram of dough" in said
    assert "Divide: 1 kg a loaf, finished 900 g: it loses 10 %" in said
    edit(
        tmp_path,
        "formulas/loaf.yaml",
        "keeps:",
        "dough: {temperature: 25 °C, tin_room: 3.6 ml}\nkeeps:",
    )
    assert (
        "Dough for it: 1 kg, at 3.6 ml for each gram"
        in run(tmp_path, "batch", "loaf", "--bakers").stdout
    )


@pytest.fixture
def warm(tmp_path: Path) -> Path:
    poolish = "parts:\n  flour:\n    bread-flour: 500 g\n  rest:\n    water: 500 g\n" + RIPE
    text = loaf("    water: 500 g\n    poolish: 400 g\n    salt: 20 g\n")
    kitchen_with(tmp_path, {"poolish": poolish, "loaf": text + "dough: 25 °C\n"})
    return tmp_path


DAY = ("--flour=22", "--room=24", "--preferment=23")


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (DAY, "How much does the mixer warm this dough?"),
        (("--flour=22", "--room=24", "--friction=12"), "How warm: Poolish?"),
        (("--flour=22", "--preferment=23", "--friction=12"), "How warm: room?"),
        ((*DAY, "--preferment=20", "--friction=12"), "This dough has 1 preferment."),
        ((*DAY, "--friction=12", "--dough=26", "--water=20"), "Either the friction, or a dough"),
        ((*DAY, "--dough=26"), "A measured dough needs its water too."),
        ((*DAY, "--dough=15", "--water=20"), "By these readings the mixer cools the dough."),
        (("--flour=72", "--room=24", "--preferment=23", "--friction=12"), "flour: 72 °C."),
        ((*DAY, "--friction=12", "--tap=-3"), "tap: -3 °C is ice."),
        ((*DAY, "--friction=warm"), "is not a temperature"),
    ],
)
def test_what_the_command_needs_it_asks_for(
    warm: Path, options: tuple[str, ...], words: str
) -> None:
    done = run(warm, "dough", "loaf", *options)
    assert done.returncode == 2 and done.stdout == ""
    assert words in done.stderr.replace("\u00a0", " ")


def test_the_command_reads_either_scale(warm: Path) -> None:
    """4 × 25 − 22 − 24 − 23 − 12 = 19 °C, some of it typed in °F."""
    done = run(
        warm,
        "dough",
        "loaf",
        "--flour",
        "71.6 °F",
        "--room=24",
        "--preferment=23",
        "--friction",
        "21.6 °F",
    )
    assert done.returncode == 0 and "Water: 19 °C" in done.stdout


def test_friction_from_a_measured_dough_and_then_the_water(warm: Path) -> None:
    """By hand: 4 × 27 − 69 − 25 = 14 °C of friction; then 4 × 25 − 69 − 14 = 17 °C."""
    done = run(warm, "dough", "loaf", *DAY, "--dough=27", "--water=25")
    assert "Friction of the dough you measured: 14 °C" in done.stdout
    assert "Water: 17 °C" in done.stdout


def test_the_mixers_friction_counts_where_the_formula_has_none(warm: Path) -> None:
    edit(warm, "equipment/house.yaml", "name: Bowl mixer,", "name: Bowl mixer, friction: 12 °C,")
    assert "Water: 19 °C" in run(warm, "dough", "loaf", *DAY).stdout
    edit(warm, "formulas/loaf.yaml", "dough: 25 °C", "dough: {temperature: 25 °C, friction: 10 °C}")
    assert "Water: 21 °C" in run(warm, "dough", "loaf", *DAY).stdout


@pytest.mark.parametrize(
    ("day", "words"),
    [
        (("--flour=8", "--room=8", "--preferment=8"), "begins to kill yeast"),
        (("--flour=40", "--room=40", "--preferment=30"), "No water is so cold"),
        (
            ("--flour=60", "--room=60", "--preferment=60", "--tap=20"),
            "Even all of the water as ice",
        ),
        (("--flour=22", "--room=24", "--preferment=23"), "Is the tap warmer than that?"),
    ],
)
def test_what_is_to_be_minded_is_said(warm: Path, day: tuple[str, ...], words: str) -> None:
    done = run(warm, "dough", "loaf", *day, "--friction=12")
    assert done.returncode == 0 and words in done.stdout


def test_a_formula_that_says_nothing_of_its_dough_is_refused(tmp_path: Path) -> None:
    kitchen_with(tmp_path, {"loaf": loaf("    water: 600 g\n")})
    for ident, words in (("loaf", "doesn't say how warm"), ("rice-salad", "This is no dough")):
        done = run(tmp_path, "dough", ident, "--flour=20", "--room=20")
        assert done.returncode == 2 and words in done.stderr


@pytest.mark.parametrize(
    ("typed", "grams"),
    [
        ("9 % of the whole dressing", 90),  # 90 g in 1000 g
        ("9 % of the rest of the dressing", Fraction(819, 10)),
        ("9 % of cream", Fraction(819, 10)),
        ("9 % of rice", 180),
        ("9 % of rice and cream", Fraction("261.9")),
        ("10 % of the whole formula", Fraction(2910, 9)),
        ("10 % of the rest of the formula", 291),
        ("9 %", 180),
        ("9 % of base", 180),
    ],
)
def test_a_percentage_is_of_what_it_names(kitchen: Path, typed: str, grams: Fraction) -> None:
    """By hand, on 2 kg of rice and 910 g of cream."""
    edit(kitchen, "formulas/rice-salad.yaml", "cream: 200 ml", "cream: 910 g")
    edit(kitchen, "formulas/rice-salad.yaml", "salt: 1 %", f"salt: {typed}")
    manual = compute(kitchen)
    (line,) = (ln for ln in manual.walks["rice-salad"].lines if ln.joined.item == "salt")  # type: ignore[union-attr]
    assert line.grams == grams


def test_the_answer_says_which_liquid_it_is_about(warm: Path) -> None:
    """Egg and cream go in as well: the rule counts all liquid as one."""
    alone = run(warm, "dough", "loaf", *DAY, "--friction=12").stdout
    assert "all the liquid" not in alone
    edit(warm, "formulas/loaf.yaml", "    salt: 20 g\n", "    whole-egg: 100 g\n    cream: 50 g\n")
    done = run(warm, "dough", "loaf", *DAY, "--friction=12")
    words = done.stdout.replace("\u00a0", " ")
    assert "Water: 19 °C" in words
    assert "This is for all the liquid: the water with Whole egg and Cream." in words
    edit(warm, "formulas/loaf.yaml", "    whole-egg: 100 g\n", "")
    one = run(warm, "dough", "loaf", *DAY, "--friction=12", "--format=json")
    assert any(
        "the water with Cream. Does it go in colder?" in n for n in json.loads(one.stdout)["notes"]
    )
