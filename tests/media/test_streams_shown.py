"""What the page, the paper, the batch and the answers say of streams, of what stays behind and of
yields; a formula's own steps, and what it changes of a process it shares."""

from __future__ import annotations

import json
import shutil
from fractions import Fraction
from pathlib import Path

import pytest
from commands import run
from conftest import KITCHENS, compute, edit
from test_shared_pages import shown

from generator.binder.batch_sheet import batch_sheets
from generator.binder.process_sheet import process_sheets
from generator.pages import make_pages
from generator.records.process import read_target
from generator.sheet.edited import suppose
from generator.sheet.manual import Manual
from generator.sheet.outputs import outputs_of, yields_of
from generator.views.sheet_facts import facts_of
from generator.views.uris import PROCESS_INDEX, process_uri

JAR = """\
name: River jar
revision: 1
effective: 2026-06-01
approved: R. Osei
station: pass
makes: {portion: 100 g}
base: rice
parts:
  rice: {cooked-rice: 2 kg}
  stock: {cream: 1 kg, salt: 20 g}
steps:
  - {do: boil, work_on: stock, target: core 76 °C, loses: 10 %}
  - {do: chill, id: chill-stock, in: blast, target: to 4 °C, time: 60 min, gives: cold-stock}
  - {do: soak, work_on: rice, add: cold-stock, in: cold-room, time: 2 h, gains: 10 to 30 %}
  - {do: drain, leaves: {cloudy-stock: {share: 50 %, of: stock, then: kept}, husks: 2 %}}
  - {do: store, in: cold-room}
keeps: {cold: 2 days}
batches: [10 portions, 2 kg base]
"""


@pytest.fixture
def jar(kitchen: Path) -> Path:
    (kitchen / "standards/formulas/jar.yaml").write_text(JAR, encoding="utf-8")
    return kitchen


def test_mass_by_hand(jar: Path) -> None:
    """1,020 g of stock boil down to 918 g; with 2,000 g of rice 2,918 g; a fifth is gained, 3,501.6
    g. Half of the stock's share of that (918 × 1.2 ÷ 2 = 550.8 g) and 2 % of all (70.032 g) stay
    behind: 2,880.768 g. At the low end a tenth is gained: 3,209.8 − 504.9 − 64.196 = 2,640.704."""
    walk = compute(jar).walks["jar"]
    masses = [walked.after.mass for walked in walk.steps]
    assert masses[0] == 918 and masses[2] == Fraction("3501.6")
    assert walk.end.mass == Fraction("2880.768")
    assert walk.least is not None and walk.least.finished == Fraction("2640.704")
    assert [(o.name, o.grams) for o in outputs_of(walk, Fraction(1))] == [
        ("cloudy stock", Fraction("550.8")),
        ("husks", Fraction("70.032")),
    ]
    assert yields_of(walk, Fraction(1)).portions == 26, "26 of 100 g by the low end, not 28"


def test_the_page(jar: Path) -> None:
    manual = compute(jar)
    assert isinstance(manual, Manual) and not [f for f in manual.findings if f.is_error]
    words = shown(manual, "pass/jar.md")
    for expected in (
        "Take the stock.",
        "Gives the cold stock",
        "Take the rice.",
        "Add the cold stock.",
        "Gains 10 to 30 % of its weight",
        "Leaves the cloudy stock, 50 % of the stock: keep it",
        "What else comes out",
        "keep it cold, like the food: the probe must read 4 °C or colder",
        "Husks",
        "It isn't counted as yield.",
        "Counted by the low end",
    ):
        assert expected in words, expected
    assert "Process:" not in words, "its steps are its own"
    assert "jar" not in shown(manual, PROCESS_INDEX)


def test_the_paper(jar: Path) -> None:
    manual = compute(jar)
    assert isinstance(manual, Manual)
    (first,) = batch_sheets(manual, manual.sheets["jar"])
    text = json.dumps(first, ensure_ascii=False).replace("\u00a0", " ")
    for expected in ("What else comes out", "Cloudy stock", "throw it away", "From, to"):
        assert expected in text, expected
    names = {sheet["key"] for sheet in process_sheets(manual, "pass", [manual.sheets["jar"]])}
    assert names == set(), "steps of its own are on its batch sheet alone"


def test_the_batch_and_the_data(jar: Path) -> None:
    done = run(jar, "batch", "jar", "--as-of", "2026-11-30")
    assert done.returncode == 0, done.stderr
    assert "10 portions" in done.stdout and "Counted by the low end" in done.stdout
    assert "What else comes out, never counted as yield" in done.stdout
    answer = json.loads(
        run(
            jar, "batch", "jar", "--base", "2kg", "--format", "json", "--as-of", "2026-11-30"
        ).stdout
    )
    assert answer["outputs"] == [
        {
            "name": "cloudy stock",
            "step": "drain",
            "mass_g": 550.8,
            "then": "kept",
            "keep_cold": True,
        },
        {"name": "husks", "step": "drain", "mass_g": 70.032, "then": "thrown-away"},
    ]
    low, high = answer["yield_from_to_g"]
    assert low == 2640.704 and low < answer["yield_g"] < high and answer["portions"] == 26
    sheet = json.loads(run(jar, "data", "jar", "--as-of", "2026-11-30").stdout)
    steps = {step["id"]: step for step in sheet["steps"]}
    assert steps["soak"]["from_steps"] == [2] and steps["soak"]["takes"] == ["rice"]
    assert steps["chill-stock"]["gives"] == "cold-stock"
    assert steps["soak"]["yield"] == {"mean_pct": 120, "low_pct": 110, "high_pct": 130}
    assert [one["mass_g"] for one in steps["drain"]["leaves"]] == [550.8, 70.032]


def test_every_page_of_it_is_made(jar: Path) -> None:
    manual = compute(jar)
    assert isinstance(manual, Manual)
    assert any(page.uri == "pass/jar.md" for page in make_pages(manual))
    facts = {str(words) for words in facts_of(manual.sheets["jar"]).values()}
    assert any("gains 10 to 30 %" in one for one in facts)
    assert any("leaves cloudy stock, kept" in one for one in facts)
    assert "its own steps" in facts


def test_another_target_is_walked_along_the_streams(jar: Path) -> None:
    manual = compute(jar)
    assert isinstance(manual, Manual)
    walk = suppose(manual, "jar", "chill-stock", read_target("to 3 °C"))
    (step,) = [one for one in walk.steps if one.step.id == "chill-stock"]
    assert step.step.target is not None and step.step.target.text == "to 3 °C"
    assert any(limit.hazard == "cool" for limit in step.limits)


def test_a_formula_changes_what_it_shares(kitchen: Path) -> None:
    edit(
        kitchen,
        "formulas/pork-bake.yaml",
        "process: baked\n",
        "process: baked\nchanges:\n  bake: {loses: 20 to 30 %, at: 160 °C, how: Cover it.}\n"
        "  store: {in: blast}\n",
    )
    manual = compute(kitchen)
    assert isinstance(manual, Manual) and not [f for f in manual.findings if f.is_error]
    walk = manual.walks["pork-bake"]
    bake = next(one for one in walk.steps if one.step.id == "bake")
    assert bake.after.mass == bake.before.mass * Fraction(3, 4)
    assert bake.step.step.how == ("Cover it.",) and bake.step.target is not None
    assert walk.steps[-1].step.cold is not None and walk.steps[-1].step.step.in_ == "blast"
    assert "160 °C" in shown(manual, "range/pork-bake.md")
    assert "180 °C" in shown(manual, process_uri("baked")), "the process stays as it is"


def test_tests_stand_for_what_is_stated(kitchen: Path) -> None:
    edit(
        kitchen,
        "formulas/pork-bake.yaml",
        "process: baked\n",
        "process: baked\nyield_tests:\n  bake:\n"
        "    - {date: 2026-10-05, before: 5 kg, after: 4 kg}\n"
        "    - {date: 2026-10-06, before: 5 kg, after: 3.8 kg}\n",
    )
    manual = compute(kitchen)
    walk = manual.walks["pork-bake"]
    bake = next(one for one in walk.steps if one.step.id == "bake")
    assert bake.after.mass == bake.before.mass * Fraction(78, 100)
    words = shown(manual, "range/pork-bake.md")
    assert "2 tests: mean 78 %, sample standard deviation 2.8 % of the weight" in words
    done = run(kitchen, "batch", "pork-bake", "--as-of", "2026-11-30")
    assert "Bake (bake): 2 tests: mean 78 %" in done.stdout


def test_brine_that_touched_raw_meat_is_cooked_before_it_is_used_again(kitchen: Path) -> None:
    """Used again in food nobody cooks, it is as raw as the meat was, and has its allergens."""
    steps = (
        "steps:\n"
        "  - {do: mix, work_on: [meat, bind], in: cold-room, time: 2 h, gives: marinated, leaves: "
        "{juice: {share: 30 %, of: bind, then: used-again}}}\n"
        "  - {do: bake, work_on: marinated, with: range-oven, target: core 72 °C, time: 40 min, "
        "gives: roast}\n"
        "  - {do: mix, id: sauce, work_on: seasoning, add: juice}\n"
        "BOIL"
        "  - {do: serve, add: roast}\n"
    )
    boil = "  - {do: boil, target: core 72 °C}\n"
    path = kitchen / "standards/formulas/pork-bake.yaml"
    head = path.read_text(encoding="utf-8").replace("process: baked\n", "")
    head = head.replace("targets: {bake: core 72 °C}\n", "").replace("keeps: {cold: 5 days}\n", "")
    head = head.replace("cream: 1 cup", "cream: 2 l")
    path.write_text(head + steps.replace("BOIL", ""), encoding="utf-8")
    assert "raw-not-cooked" in {f.code for f in compute(kitchen).findings}
    path.write_text(head + steps.replace("BOIL", boil), encoding="utf-8")
    manual = compute(kitchen)
    assert "raw-not-cooked" not in {f.code for f in manual.findings}
    walked = {one.step.id: one for one in manual.walks["pork-bake"].steps}
    assert any(limit.hazard == "cook" for limit in walked["boil"].limits), "by pork's own row"


def test_a_range_in_a_kitchen_that_writes_commas(tmp_path: Path) -> None:
    project = tmp_path / "kitchen"
    shutil.copytree(KITCHENS / "second_kitchen", project)
    edit(project, "processes/bake-rolls.yaml", "loses: 11,5 %", "loses: 10,5 to 12,5 %")
    manual = compute(project)
    assert isinstance(manual, Manual) and not [f for f in manual.findings if f.is_error]
    walk = manual.walks["caraway-rolls"]
    (baked,) = [one.step.yields for one in walk.steps if one.step.step.loses is not None]
    assert baked is not None and baked.low == Fraction(875, 1000)
    (uri,) = [p.uri for p in make_pages(manual) if p.uri.endswith("/caraway-rolls.md")]
    assert "Loses 10,5 to 12,5 % of its weight" in shown(manual, uri)
    edit(project, "processes/bake-rolls.yaml", "10,5 to", "10.5 to")
    assert "decimal-mark" in " ".join(f.code for f in compute(project).findings if f.is_error)
