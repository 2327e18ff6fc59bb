"""The law of labels, row by row, against a second reading; figures at the edges of each band; and an
oracle of rounding that shares nothing with the program."""

from __future__ import annotations

import csv
from collections import defaultdict
from collections.abc import Callable
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from numbers import Rational
from pathlib import Path

import pytest
from conftest import ROOT
from each_row import each_row

from generator.composition.label_figures import declared
from generator.records.label_law import Band
from generator.reference.library import read_reference

LAWS = read_reference(ROOT / "shared").label_laws
with (Path(__file__).parent / "labelling.csv").open(encoding="utf-8", newline="") as file:
    PRINTED = list(csv.DictReader(file))


def of(law: str, row: str, value: str) -> Fraction | str:
    found = declared(Fraction(value), LAWS[law].rows[row].bands)
    return Fraction(found) if isinstance(found, str) and found.isdigit() else found


def _band(band: Band) -> tuple[str, str]:
    bound = "above"
    if band.below is not None:
        bound = f"below {float(band.below):g}"
    elif band.up_to is not None:
        bound = f"up to {float(band.up_to):g}"
    return bound, band.says or f"{float(band.step or 0):g}"


def test_every_row_is_as_printed() -> None:
    """Bands, units, names, daily values and clauses; no row of the one is missing in the other."""
    bands: dict[tuple[str, str], list[tuple[str, str]]] = defaultdict(list)
    for line in PRINTED:
        row = LAWS[line["law"]].rows[line["row"]]
        bands[line["law"], line["row"]].append((line["band"], line["step_or_words"]))
        assert (row.name, row.unit, row.clause) == (line["name"], line["unit"], line["clause"])
        assert row.daily == (Fraction(line["daily"]) if line["daily"] else None)
        assert line["source"] in row.read_in
    found = {
        (i, r): list(map(_band, row.bands))
        for i, law in LAWS.items()
        for r, row in law.rows.items()
    }
    assert dict(bands) == found


@each_row(
    ("row", "value", "says"),
    [
        # 101.9(c)(1): below 5 as zero; nearest 5 up to and including 50; nearest 10 above.
        *(("energy", v, s) for v, s in (("4.99", "0"), ("5", "5"), ("7.5", "10"), ("47.4", "45"))),
        *(
            ("energy", v, s)
            for v, s in (("50", "50"), ("50.1", "50"), ("55", "60"), ("64.9", "60"))
        ),
        # 101.9(c)(2): below 0.5 as zero; nearest 0.5 below 5; nearest 1 from 5 on.
        *(("fat", v, s) for v, s in (("0.49", "0"), ("0.5", "0.5"), ("0.75", "1"), ("1.24", "1"))),
        *(("fat", v, s) for v, s in (("4.74", "4.5"), ("4.9", "5"), ("5.4", "5"), ("5.5", "6"))),
        # 101.9(c)(3): below 2 as zero; 2 to 5 "less than 5"; nearest 5 above.
        *(("cholesterol", v, s) for v, s in (("1.9", "0"), ("2", "less than 5"))),
        *(("cholesterol", v, s) for v, s in (("5", "less than 5"), ("7.4", "5"), ("7.5", "10"))),
        # 101.9(c)(4): below 5 as zero; nearest 5 from 5 to 140; nearest 10 above.
        *(
            ("sodium", v, s)
            for v, s in (("4.9", "0"), ("5", "5"), ("137.5", "140"), ("140", "140"))
        ),
        *(("sodium", v, s) for v, s in (("140.1", "140"), ("145", "150"), ("154.9", "150"))),
        # 101.9(c)(6) and (7): below 0.5 as zero; below 1 "less than 1"; nearest 1.
        *(
            ("protein", v, s)
            for v, s in (("0.49", "0"), ("0.5", "less than 1"), ("0.99", "less than 1"))
        ),
        *(("carbohydrate", v, s) for v, s in (("1", "1"), ("1.5", "2"), ("2.49", "2"))),
    ],
)
def test_edges_of_the_american_bands(row: str, value: str, says: str) -> None:
    """Worked from the words of each paragraph."""
    found = of("us", row, value)
    assert str(float(found) if isinstance(found, Rational) else found) == (
        str(float(says)) if says[0].isdigit() else says
    )


@each_row(
    ("row", "value", "says"),
    [
        ("fat", "0.5", "less than 0.5"),
        ("fat", "0.51", "0.5"),
        ("fat", "0.55", "0.6"),
        ("fat", "9.94", "9.9"),
        ("fat", "9.95", "10.0"),
        ("fat", "10.49", "10.0"),
        ("fat", "10.5", "11.0"),
        ("saturated", "0.1", "less than 0.1"),
        ("saturated", "0.11", "0.1"),
        ("salt", "0.0125", "less than 0.01"),
        ("salt", "0.0126", "0.01"),
        ("salt", "0.994", "0.99"),
        ("salt", "1", "1.0"),
        ("salt", "1.25", "1.3"),
        ("energy_kj", "1234.5", "1235.0"),
    ],
)
def test_edges_of_the_european_bands(row: str, value: str, says: str) -> None:
    """The guidance of December 2012: whole grams from 10 g, tenths above 0.5 g (saturates 0.1 g),
    salt to tenths from 1 g and to hundredths below."""
    found = of("eu", row, value)
    assert (str(float(found)) if isinstance(found, Rational) else found) == says


def test_what_is_nothing_is_0() -> None:
    for law in LAWS.values():
        assert all(declared(Fraction(0), row.bands) == 0 for row in law.rows.values())


def _to(value: Decimal, step: str) -> Decimal:
    return (value / Decimal(step)).quantize(Decimal(1), ROUND_HALF_UP) * Decimal(step)


def _calories(v: Decimal) -> Decimal | str:
    return Decimal(0) if v < 5 else _to(v, "5") if v <= 50 else _to(v, "10")


def _fat(v: Decimal) -> Decimal | str:
    return Decimal(0) if v < Decimal("0.5") else _to(v, "0.5" if v < 5 else "1")


def _cholesterol(v: Decimal) -> Decimal | str:
    return Decimal(0) if v < 2 else "less than 5" if v <= 5 else _to(v, "5")


def _sodium(v: Decimal) -> Decimal | str:
    return Decimal(0) if v < 5 else _to(v, "5" if v <= 140 else "10")


def _grams(v: Decimal) -> Decimal | str:
    return Decimal(0) if v < Decimal("0.5") else "less than 1" if v < 1 else _to(v, "1")


def _eu_grams(v: Decimal) -> Decimal | str:
    if not v:
        return v
    return "less than 0.5" if v <= Decimal("0.5") else _to(v, "0.1" if v < 10 else "1")


def _eu_salt(v: Decimal) -> Decimal | str:
    if not v:
        return v
    return "less than 0.01" if v <= Decimal("0.0125") else _to(v, "0.01" if v < 1 else "0.1")


ORACLE: dict[tuple[str, str], Callable[[Decimal], Decimal | str]] = {
    ("us", "energy"): _calories,
    **{("us", row): _fat for row in ("fat", "saturated", "trans")},
    ("us", "cholesterol"): _cholesterol,
    ("us", "sodium"): _sodium,
    **{("us", r): _grams for r in ("carbohydrate", "fibre", "sugar", "added_sugar", "protein")},
    **{("eu", row): _eu_grams for row in ("fat", "carbohydrate", "sugar", "fibre", "protein")},
    ("eu", "salt"): _eu_salt,
}


@pytest.mark.parametrize(("law", "row"), ORACLE)
def test_rounding_is_that_of_another_reckoner(law: str, row: str) -> None:
    """Decimals, half up, by the words of the paragraph: every step of 0.005 to 15 and of 0.5 to
    300, so every exact half too."""
    for grid in ([Decimal(i) / 200 for i in range(3001)], [Decimal(i) / 2 for i in range(601)]):
        for value in grid:
            theirs, ours = ORACLE[law, row](value), of(law, row, str(value))
            if isinstance(theirs, Decimal):
                theirs_or_words: Fraction | str = Fraction(theirs)
            else:
                theirs_or_words = theirs
            assert ours == theirs_or_words, value


@pytest.mark.parametrize(
    ("row", "amount", "percent"),
    [("vitamin_d", 2, 10), ("calcium", 260, 20), ("iron", 8, 45), ("potassium", 235, 6)],
)
def test_the_percentages_the_code_prints(row: str, amount: int, percent: int) -> None:
    """21 CFR 101.9(d)(8) prints "Vitamin D 2 mcg 10%, Calcium 260 mg 20%, Iron 8 mg 45%, Potassium
    235 mg 6%": the last is exactly half-way, 5.0 %."""
    law = LAWS["us"]
    daily = law.rows[row].daily
    assert daily is not None
    assert declared(Fraction(amount * 100) / daily, law.percents["minerals"]) == percent


def test_the_factors_of_energy() -> None:
    """21 CFR 101.9(c)(1)(i)(B): 4, 4 and 9. Annex XIV: 17/4, 37/9, alcohol 29/7, organic acids 13/3,
    fibre 8/2, carbohydrate without its fibre."""
    (american,) = LAWS["us"].energy
    assert american.factors == {"protein": 4, "carbohydrate": 4, "fat": 9, "alcohol": 7}
    by = {one.unit: one.factors for one in LAWS["eu"].energy}
    names = ("protein", "available", "fat", "alcohol", "acid", "fibre")
    assert by["kJ"] == dict(zip(names, (17, 17, 37, 29, 13, 8), strict=True))
    assert by["kcal"] == dict(zip(names, (4, 4, 9, 7, 3, 2), strict=True))


with (Path(__file__).parent / "labelling_tolerances.csv").open(encoding="utf-8") as file:
    TOLERANCES = list(csv.DictReader(file))


def test_every_tolerance_is_as_printed() -> None:
    """Each row at its first figure, just past it and just before its end: so much, or a share of it."""
    for line in TOLERANCES:
        row = LAWS[line["law"]].rows[line["row"]]
        assert line["source"] in row.read_in
        least = Fraction(line["from"].removeprefix("over "))
        inside = [least + Fraction(1, 1000)]
        inside += [] if line["from"].startswith("over") else [least]
        if line["to"]:
            most = Fraction(line["to"].removeprefix("under "))
            inside.append(most - Fraction(1, 1000) if line["to"].startswith("under") else most)
        figure, unit = line["plus_minus"].split()
        for value in inside:
            said = Fraction(figure) if unit == "g" else value * Fraction(figure) / 100
            assert row.tolerance(value) == said, (line, value)
    with_any = {(i, r) for i, law in LAWS.items() for r, row in law.rows.items() if row.tolerances}
    assert with_any == {(line["law"], line["row"]) for line in TOLERANCES}


@pytest.mark.parametrize(
    ("row", "declared_as", "says"),
    [("fat", "5", "1.5"), ("fat", "17", "3.4"), ("fat", "30", "6"), ("fat", "55", "8")],
)
def test_tolerances_by_hand(row: str, declared_as: str, says: str) -> None:
    """30 g of fat, 24 to 36 g, is the worked case of the consumers' page the row was read on; the
    others are worked from it."""
    assert LAWS["eu"].rows[row].tolerance(Fraction(declared_as)) == Fraction(says)
