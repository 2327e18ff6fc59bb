"""Yields as published: trimmed, cooked, boiled in water; and a pickle's pick-up by the inspectors'
handbook, worked by hand."""

from __future__ import annotations

import csv
import statistics
from fractions import Fraction
from pathlib import Path

import pytest
from conftest import compute
from test_curing_rows import VARIANCE, data, lay, typed

from generator.records.yields import measured, outliers, root_up
from generator.rules.basics.limit import DoseLimit

ROWS = {
    row["id"]: row
    for row in csv.DictReader((Path(__file__).parent / "yields.csv").open(encoding="utf-8"))
}
HEAD = (
    "name: Example\nrevision: 1\neffective: 2026-01-01\napproved: R. Osei\nstation: range\n"
    "cooked_later: Sold raw; the label says cook it through.\n"
)


def _shares(row: dict[str, str]) -> Fraction:
    return Fraction(row["after"]) / Fraction(row["before"])


@pytest.mark.parametrize("key", [k for k, r in ROWS.items() if r["kind"] == "trim"])
def test_a_trim_test_says_what_to_purchase(key: str, tmp_path: Path) -> None:
    """To have so much ready to use, so much was bought: the published weights, there and back."""
    row, unit = ROWS[key], ROWS[key]["unit"]
    kitchen = lay("base", tmp_path / "kitchen")
    (kitchen / "standards/ingredients/own.yaml").write_text(
        "own: {name: Own, species: none, state: raw, allergens: none, tcs: no, trim_tests: "
        f"[{{date: 2026-10-05, raw: {row['before']} {unit}, trimmed: {row['after']} {unit}}}, "
        f"{{date: 2026-10-06, raw: {row['before']} {unit}, trimmed: {row['after']} {unit}}}]}}\n"
    )
    (kitchen / "standards/formulas/example.yaml").write_text(
        f"{HEAD}base: own\nparts:\n  own:\n    own: {row['after']} {unit}\n"
        f"steps: [{{do: cut, add: own}}]\nbatches: [{row['after']} {unit} base]\n"
    )
    (line,) = data(kitchen, "batch", "example")["lines"]
    assert Fraction(line["exact_g"]) < Fraction(line["as_purchased_g"])
    share = line["exact_g"] / line["as_purchased_g"] * 100
    assert round(share, 1) == float(row["answer_pct"])


@pytest.mark.parametrize("key", [k for k, r in ROWS.items() if r["kind"] in ("gain", "cook")])
def test_a_step_gains_and_loses_as_published(key: str, tmp_path: Path) -> None:
    row = ROWS[key]
    kitchen = lay("base", tmp_path / "kitchen")
    share = _shares(row)
    word = f"gains: {typed(share * 100 - 100)} %"
    if share < 1:
        test = f"before: {row['before']} g, after: {row['after']} g"
        word = ""
        tests = "".join(f"    - {{date: 2026-10-0{n}, {test}}}\n" for n in (5, 6))
    (kitchen / "standards/formulas/example.yaml").write_text(
        f"{HEAD}base: rice\nparts:\n  rice:\n    cooked-rice: {row['before']} g\n"
        + (f"yield_tests:\n  boil:\n{tests}" if share < 1 else "")
        + f"steps:\n  - do: boil\n    add: rice\n    target: core 76 °C\n    {word}\n"
        + "  - do: serve\n"
        + f"batches: [{row['before']} g base]\n"
    )
    batch = data(kitchen, "batch", "example")
    assert batch["yield_g"] == float(row["after"])
    assert round(batch["yield_g"] / batch["total_g"] * 100) in (
        int(row["answer_pct"]),
        int(row["answer_pct"]) - 1,  # the ribeye is printed rounded up
    )


def test_mean_and_spread_of_tests_by_hand() -> None:
    """Three roasts: 5 kg to 3.9, 4.8 to 3.72, 5.2 to 4: 78, 77.5 and 76.92 %. Mean 77.47 %; squares
    of the deviations (0.53, 0.03, 0.55) add to 0.58; over 2 it is 0.29, its root 0.54 %."""
    shares = [Fraction(39, 50), Fraction(372, 480), Fraction(400, 520)]
    found = measured(shares)
    assert found.tests == 3 and found.mean == sum(shares) / 3
    assert found.spread is not None
    by_floats = statistics.stdev(float(s) for s in shares)
    assert by_floats <= float(found.spread) < by_floats + 2e-6
    assert round(found.mean * 10000) == 7747 and round(found.spread * 10000) == 54
    assert (found.low, found.high) == (found.mean - found.spread, found.mean + found.spread)


def test_one_test_has_no_spread() -> None:
    found = measured([Fraction(3, 4)])
    assert found.spread is None and found.low == found.high == found.mean


@pytest.mark.parametrize(("square", "root"), [("4", "2"), ("1/4", "1/2"), ("2", "1414214/1000000")])
def test_a_root_is_rounded_up(square: str, root: str) -> None:
    assert root_up(Fraction(square)) == Fraction(root)


def test_an_outlier_by_its_modified_z_score() -> None:
    """90, 89, 89.6, 58 %: median 89.3, median deviation 0.5; 58 is 0.6745 × 31.3 ÷ 0.5 = 42."""
    shares = [Fraction(90, 100), Fraction(89, 100), Fraction(896, 1000), Fraction(58, 100)]
    assert outliers(shares) == [3]
    assert outliers(shares[:3]) == [], "three tests say nothing of a fourth"
    assert outliers([Fraction(9, 10)] * 4) == []


@pytest.mark.parametrize("boils_down", [False, True])
def test_pick_up_and_cover_pickle_by_hand(boils_down: bool, tmp_path: Path) -> None:
    """Method one: pounds of nitrite × pick-up × 1,000,000 ÷ pounds of pickle.

    20 kg of meat in 10 kg of pickle with 160 g of cure at 6.25 % (10 g of nitrite), pick-up 8 %:
    1.6 kg of pickle is taken up, 8.4 kg is left, 10 × 0.08 ÷ 10,000 = 80 ppm. Boiled down by a
    tenth, as a stream of its own, the pickle weighs 9 kg and is stronger: 88.9 ppm, 7.4 kg left.
    """
    kitchen = lay("base", tmp_path / "kitchen")
    standards = kitchen / "standards"
    with (standards / "kitchen.yaml").open("a") as file:
        file.write(VARIANCE)
    (standards / "ingredients/curing.yaml").write_text(
        "ham: {name: Ham, species: pork, state: raw, form: intact, allergens: none}\n"
        "water: {name: Water, species: none, state: ready-to-eat, form: liquid, allergens: "
        "none, tcs: no}\n"
        "cure: {name: Cure, species: none, state: ready-to-eat, allergens: none, tcs: no, "
        "function: cure, nitrite: 6.25 %}\n"
    )
    loses = "loses: 10 %, " if boils_down else ""
    (standards / "formulas/example.yaml").write_text(
        f"{HEAD}base: meat\ncured_as: pumped\nbacon: no\nparts:\n"
        "  meat: {ham: 20 kg}\n  pickle: {water: 9.84 kg, cure: 160 g}\n"
        "steps:\n"
        f"  - {{do: boil, work_on: pickle, {loses}time: 10 min, gives: cover}}\n"
        "  - {do: chill, work_on: cover, in: blast, target: to 4 °C, time: 60 min, gives: cold-cover}\n"
        "  - {do: mix, work_on: meat, add: cold-cover, in: cold-room, time: 24 h, "
        "pick_up: 8 % of green weight, leaves: {old-pickle: {then: kept}}}\n"
        "  - {do: store, in: cold-room}\n"
        "keeps: {cold: 3 days}\nbatches: [20 kg base]\n"
    )
    manual = compute(kitchen)
    walk = manual.walks["example"]
    (dose,) = [lm for lm in walk.limits if isinstance(lm, DoseLimit)]
    pickle = Fraction(9000 if boils_down else 10000)
    assert dose.ppm == Fraction(10) * Fraction(8, 100) * 1_000_000 / pickle
    (left,) = [one for step in walk.steps for one in step.left]
    assert (left.cover, left.taken_up) == (pickle, 1600)
    assert left.product.mass == pickle - 1600
    assert left.then == "kept" and left.product.raw_animals, "it touched raw meat"
    assert walk.end.mass == 21600
