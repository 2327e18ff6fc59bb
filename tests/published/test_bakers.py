"""The bakers' figures against published formulas: an overall formula with two preferments, one with
a poolish, the water of a dough, and ice."""

from __future__ import annotations

import csv
from fractions import Fraction
from pathlib import Path

import pytest
from doughs import kitchen_with
from each_row import each_row

from generator.composition.bakers import Overall
from generator.composition.dough_water import (
    MELTS,
    dough_from,
    friction_from,
    ice_share,
    water_for,
)
from generator.measures.temperature import Temperature
from generator.sheet.doughs import Dough

HERE = Path(__file__).parent


def rows(name: str) -> list[dict[str, str]]:
    with (HERE / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


MICHE = rows("overall_formula.csv")


def part_of(name: str) -> list[dict[str, str]]:
    return [row for row in MICHE if row["part"] == name]


def lines(part: str, *, flour: bool) -> str:
    """The lines of one published table, its flours or the rest, as a formula writes them."""
    return "".join(
        f"    {row['item']}: {Fraction(row['kg']) * 1000} g\n"
        for row in part_of(part)
        if row["item"].endswith("flour") == flour
    )


@pytest.fixture(scope="module")
def miche(tmp_path_factory: pytest.TempPathFactory) -> Dough:
    dry = "not_tcs: Flour and water.\nbatches: [2 kg total]\n"
    formulas = {
        ident: f"parts:\n  flour:\n{lines(ident, flour=True)}  rest:\n{lines(ident, flour=False)}"
        f"process: ripen\n{dry}"
        for ident in ("levain", "rye-sour")
    }
    formulas["miche"] = (
        f"parts:\n  flour:\n{lines('dough', flour=True)}  rest:\n{lines('dough', flour=False)}"
        "process: hearth\nkeeps: {dry: 3 days}\nnot_tcs: A plain loaf, baked through.\n"
        "batches: [18.9 kg total]\n"
    )
    manual = kitchen_with(tmp_path_factory.mktemp("miche"), formulas)
    assert "miche" in manual.sheets, [f.message for f in manual.errors]
    dough = manual.dough("miche")
    assert dough is not None
    return dough


@pytest.mark.parametrize("row", part_of("overall"), ids=lambda row: row["item"])
def test_the_overall_formula_is_that_printed(miche: Dough, row: dict[str, str]) -> None:
    """Source: S158. Printed to a gram and to a hundredth of a percent."""
    overall = miche.overall
    grams = {one.item: one.grams for one in overall.rows} | {"total": overall.dough_g}
    printed = Fraction(row["kg"]) * 1000
    assert abs(grams[row["item"]] - printed) <= Fraction(3, 2)  # three figures rounded apart
    places = len(row["pct"].partition(".")[2])
    half = Fraction(1, 2) / 10**places
    assert abs(overall.on_flour(grams[row["item"]]) * 100 - Fraction(row["pct"])) <= half


def test_the_flour_of_both_preferments_is_prefermented(miche: Dough) -> None:
    """By hand from S158: (1.032 + 1.135) of 10.318 kg: 21.0 %; the dough takes a gram less of each
    than was mixed."""
    overall: Overall = miche.overall
    assert overall.through == ("Levain", "Rye sour")
    assert {n: round(float(g / overall.flour_g), 4) for n, g in overall.ahead_g} == {
        "Levain": 0.1,
        "Rye sour": 0.11,
    }
    assert round(float(overall.prefermented), 3) == 0.21
    assert len(miche.preferments) == 2


def test_hydration_counts_the_beer_and_says_what_its_water_may_be(miche: Dough) -> None:
    """S158: water 50 % and beer 30 %. What the beer is made of isn't stated: from none to all."""
    overall = miche.overall
    assert round(float(overall.liquid_g / overall.flour_g), 3) == 0.8
    low, high = (float(x / overall.flour_g) for x in (overall.water_g.low, overall.water_g.high))
    assert round(low, 2) == 0.5 and 0.8 <= high < 0.82


def test_a_poolish_is_opened(tmp_path: Path) -> None:
    """Source: S162: flour 1368 g 100 %, water 936 g 68 %, yeast 9.3 g 0.7 %, salt 27 g 2 %."""
    poolish = (
        "parts:\n  flour:\n    bread-flour: 468 g\n  rest:\n    water: 468 g\n    yeast: 0.3 g\n"
        "process: ripen\nnot_tcs: Flour and water.\nbatches: [936 g total]\n"
    )
    dough = (
        "parts:\n  flour:\n    bread-flour: 900 g\n  rest:\n    water: 468 g\n    yeast: 9 g\n"
        "    salt: 27 g\n    poolish: 936.3 g\nprocess: hearth\nkeeps: {dry: 3 days}\n"
        "not_tcs: A plain loaf, baked through.\nbatches: [2340 g total]\n"
    )
    manual = kitchen_with(tmp_path, {"poolish": poolish, "baguette": dough})
    found = manual.dough("baguette")
    assert found is not None
    overall = found.overall
    percents = {
        row.item: round(float(overall.on_flour(row.grams)) * 100, 1) for row in overall.rows
    }
    assert percents == {"bread-flour": 100, "water": 68.4, "yeast": 0.7, "salt": 2.0}
    assert round(float(overall.prefermented) * 100) == 34  # thefreshloaf.com, node 31317: 34 %


def f(value: str | int) -> Fraction:
    return Temperature.of(Fraction(value), "°F").celsius


def difference(value: int) -> Fraction:
    return Fraction(value) * 5 / 9


@pytest.mark.parametrize(
    ("wanted", "others", "friction", "water"),
    [
        (75, (65, 65), 8, 87),  # S160
        (80, (65, 75), 35, 65),  # S161
    ],
)
def test_water_temperatures_are_those_printed(
    wanted: int, others: tuple[int, ...], friction: int, water: int
) -> None:
    """And back: the friction from the dough, the dough from the water. In °F as printed, exact."""
    known = [f(one) for one in others]
    assert water_for(f(wanted), known, difference(friction)) == f(water)
    assert friction_from(f(wanted), known, f(water)) == difference(friction)
    assert dough_from(known, f(water), difference(friction)) == f(wanted)


def test_a_preferment_is_a_fourth_figure() -> None:
    """S160: with a preferment the base is the wanted temperature times four. By hand, in °C:
    4 × 25 − 22 − 24 − 23 − 12 = 19."""
    assert water_for(Fraction(25), [Fraction(22), Fraction(24), Fraction(23)], Fraction(12)) == 19


@each_row("row", rows("dough_ice.csv"), ids=lambda row: f"{row['tap_F']} to {row['wanted_F']}")
def test_ice_is_that_of_the_printed_table(row: dict[str, str]) -> None:
    """Source: S159, pounds of ice in each pound of water; its figures differ from the formula by up
    to 0.006, by the way they were rounded."""
    share = ice_share(f(row["tap_F"]), f(row["wanted_F"]))
    assert share is not None
    assert abs(share - Fraction(row["ice_of_1"])) <= Fraction(6, 1000)


def test_ice_and_tap_water_balance_to_the_water_wanted() -> None:
    """Heat given by the tap's share is heat taken by the ice, melting and then warming."""
    for tap, wanted in ((14, 8), (25, 0), (30, 20), (18, 2)):
        share = ice_share(Fraction(tap), Fraction(wanted))
        assert share is not None
        assert (1 - share) * (tap - wanted) == share * (MELTS + wanted)
    assert ice_share(Fraction(10), Fraction(10)) == 0
    assert ice_share(Fraction(10), Fraction(-81)) is None
