"""Figures at their edges: the last day that is allowed and the first that isn't, what a vessel
holds, from where a spoon becomes a cup, and a pack that lacks a row."""

from __future__ import annotations

import datetime
import math
import shutil
import unicodedata
from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from conftest import AS_OF, ROOT, compute, edit
from each_row import each_row

from generator.measures.amounts import read_amount
from generator.measures.fractions import VULGAR
from generator.measures.temperature import Degree, Temperature, TemperatureDifference
from generator.measures.units import load_units
from generator.measures.words import nearest_kitchen_fraction
from generator.reference.shared_data import installed
from generator.resolve.equipment import volume_ml as below_headspace
from generator.resolve.vessels import Shape, volume_ml
from generator.rules.basics.limit import Bound, HeatingLimit, figure_of
from generator.scaling.scales import ScaleFacts, choose_above, choose_below
from generator.scaling.weights import UnitWeight, household
from generator.sheet.labelling import Asked, Frozen, NoDate, PartDay, date_mark, days_until
from generator.sheet.manual import Manual, make_manual
from generator.sheet.sheet import Sheet

DAY = datetime.timedelta(days=1)
UNITS = load_units(installed())


def ago(days: int) -> datetime.date:
    return AS_OF - days * DAY


def codes(sheet: Sheet, asked: Asked, today: datetime.date = AS_OF) -> set[str]:
    """Why there is no label; empty if there is one."""
    try:
        date_mark(sheet, asked, today)
    except NoDate as refused:
        return {r.code for r in refused.reasons}
    return set()


# ---- the label


def soup(demo: Manual, made: int, since: int, thawed: int | None = None) -> tuple[Sheet, Asked]:
    """Barley soup: three days, sixty in the freezer."""
    out = None if thawed is None else ago(thawed)
    stock = {"brown-turkey-stock": PartDay(ago(made))}
    return demo.sheets["barley-soup"], Asked(ago(made), stock, frozen=Frozen(ago(since), out))


@pytest.mark.parametrize(
    ("stayed", "reported"), [(59, set()), (60, set()), (61, {"label-freezing"})]
)
def test_the_last_day_in_the_freezer_is_allowed_and_the_next_is_not(
    demo: Manual, stayed: int, reported: set[str]
) -> None:
    sheet, asked = soup(demo, stayed, stayed, 0)
    assert codes(sheet, asked) == reported


@pytest.mark.parametrize(("since", "reported"), [(59, set()), (60, set()), (61, {"label-past"})])
def test_food_in_the_freezer_is_thawed_on_its_last_day_and_not_after(
    demo: Manual, since: int, reported: set[str]
) -> None:
    sheet, asked = soup(demo, since, since)
    assert codes(sheet, asked) == reported
    if not reported:
        assert date_mark(sheet, asked, AS_OF).thaw_by == ago(since) + 60 * DAY


@pytest.mark.parametrize(("days", "left"), [(0, 2), (1, 1), (2, 0), (3, 0)])
def test_what_is_left_of_three_days_when_it_is_frozen(demo: Manual, days: int, left: int) -> None:
    """The day it is made and the day it is frozen are both counted; with none left it is
    refused."""
    sheet, asked = soup(demo, days, 0)
    if left:
        mark = date_mark(sheet, asked, AS_OF)
        assert (mark.used, mark.left) == (days + 1, left)
    else:
        assert codes(sheet, asked) == {"label-past"}


@pytest.mark.parametrize(("days", "reported"), [(4, set()), (5, {"label-past"})])
def test_a_label_is_printed_on_the_last_day_and_not_on_the_day_after(
    clean: Manual, days: int, reported: set[str]
) -> None:
    assert codes(clean.sheets["pork-bake"], Asked(ago(days))) == reported


@pytest.mark.parametrize(("days", "reported"), [(0, set()), (-1, {"label-date-future"})])
def test_today_has_come_and_tomorrow_has_not(clean: Manual, days: int, reported: set[str]) -> None:
    assert codes(clean.sheets["pork-bake"], Asked(ago(days))) == reported


@pytest.mark.parametrize(("by", "reported"), [(0, set()), (1, {"label-past"})])
def test_a_maker_s_use_by_is_the_last_day_itself(
    clean: Manual, by: int, reported: set[str]
) -> None:
    sheet, asked = clean.sheets["pork-bake"], Asked(AS_OF, maker_use_by=ago(by))
    assert codes(sheet, asked) == reported
    if not reported:
        assert date_mark(sheet, asked, AS_OF).use_by == AS_OF
    later = Asked(AS_OF, maker_use_by=AS_OF + 30 * DAY)
    assert date_mark(sheet, later, AS_OF).use_by == AS_OF + 4 * DAY, "never later than its own"


@each_row(
    ("since", "thawed", "counted"),
    [
        (0, 0, 11),
        (0, 1, 11),
        (0, 2, 10),
        (3, 4, 11),
        (3, 5, 10),
        (3, 10, 5),
        (3, 11, 4),
        (3, 12, 4),
        (3, None, 4),
        (10, None, 11),
        (9, None, 10),
        (9, 10, 11),
        (0, None, 1),
    ],
)
def test_only_days_wholly_in_the_freezer_do_not_count(
    since: int, thawed: int | None, counted: int
) -> None:
    """Eleven days, 1 to 11 March: in and out on a day, each counts; what lies between doesn't."""
    first = datetime.date(2026, 3, 1)
    stay = Frozen(first + since * DAY, None if thawed is None else first + thawed * DAY)
    assert days_until(first, first + 10 * DAY, (stay,)) == counted


def test_days_in_order_may_fall_on_one_day(demo: Manual) -> None:
    """Made, frozen and thawed on one day is odd, and allowed; a day the wrong way round isn't."""
    sheet = demo.sheets["barley-soup"]
    stock = {"brown-turkey-stock": PartDay(AS_OF, Frozen(AS_OF, AS_OF))}
    assert codes(sheet, Asked(AS_OF, stock, frozen=Frozen(AS_OF, AS_OF))) == set()
    wrong = {"brown-turkey-stock": PartDay(AS_OF)}
    assert "label-dates-order" in codes(sheet, Asked(ago(1), wrong))


# ---- a limit's figures


@each_row(
    ("value", "unit", "printed", "bound", "shown", "read"),
    [
        (135, "°F", 57, "min", (58, 135), (59, 137)),
        (165, "°F", 74, "min", (74, 165), (75, 167)),
        (155, "°F", 68, "min", (69, 155), (70, 157)),
        (70, "°F", 21, "max", (21, 70), (20, 68)),
        (41, "°F", 5, "max", (5, 41), (4, 39)),
        (41, "°F", None, "max", (5, 41), (4, 39)),
        (75, "°C", None, "min", (75, 167), (76, 169)),
        (8, "°C", None, "max", (8, 46), (7, 44)),
        (63, "°C", None, "min", (63, 146), (64, 148)),
    ],
)
def test_a_limit_is_rounded_and_read_on_its_strict_side(
    value: int,
    unit: Degree,
    printed: int | None,
    bound: Bound,
    shown: tuple[int, int],
    read: tuple[int, int],
) -> None:
    """Untouched in its unit of record; in the other the stricter of what is printed and the exact
    figure. A probe of ±1 °C (1.8 °F) reads that much more, or less, in whole degrees."""
    other: Degree = "°C" if unit == "°F" else "°F"
    beside = None if printed is None else Temperature.of(printed, other)
    accuracy = TemperatureDifference(Fraction(1))
    found = figure_of(Temperature.of(value, unit), beside, bound, accuracy)
    assert (found.shown_c, found.shown_f) == shown
    assert (found.read_at_c, found.read_at_f) == read
    looser, stricter = (-5, 5) if bound == "min" else (5, -5)
    at = found.read_at_c
    assert found.asked("°C", Temperature.of(at + looser, "°C")) == at
    assert found.asked("°C", Temperature.of(at + stricter, "°C")) == at + stricter
    assert found.asked("°C", None) == at
    less, more = (Temperature.of(at + n, "°C") for n in (-1, 1))
    here = Temperature.of(at, "°C")
    assert here + accuracy == more and here - accuracy == less
    assert less < here < more and here <= here and not here < here and not more <= here


# ---- the vessel


@pytest.mark.parametrize(("headspace", "ml"), [(0, 3141.592654), (10, 2827.433388)])
def test_a_pot_holds_what_is_below_its_headspace(headspace: int, ml: float) -> None:
    """20 cm across and 10 cm deep: π litres, of which a tenth stays empty."""
    across, deep, empty = (
        SimpleNamespace(value=Fraction(mm)) if mm else None for mm in (200, 100, headspace)
    )
    inside = SimpleNamespace(diameter=across, length=None, width=None, depth=deep)
    pot: Any = SimpleNamespace(shape="cylinder", inside=inside, headspace=empty)
    found = below_headspace(pot)
    assert found is not None and float(found) == pytest.approx(ml, rel=1e-6)


@pytest.mark.parametrize(
    ("shape", "sides", "ml"),
    [
        ("box", (None, 325, 265, 100), 8612.5),
        ("cylinder", (200, None, None, 150), math.pi / 4 * 6000),
        ("casing", (60, 400, None, None), math.pi / 4 * 1440),
    ],
)
def test_a_vessel_holds_what_a_ruler_says(
    shape: Shape, sides: tuple[int | None, ...], ml: float
) -> None:
    diameter, length, width, depth = (None if s is None else Fraction(s) for s in sides)
    found = volume_ml(shape, diameter, length, width, depth)
    assert found is not None and float(found) == pytest.approx(ml, rel=1e-12)
    for n, side in enumerate(sides):
        if side is not None:
            twice = [
                None if s is None else Fraction(s * 2 if k == n else s) for k, s in enumerate(sides)
            ]
            more = volume_ml(shape, *twice)
            factor = 4 if n == 0 else 2
            assert more is not None and float(more / found) == pytest.approx(factor), (
                "each side once, a diameter twice"
            )
            lacking = [None if s is None or k == n else Fraction(s) for k, s in enumerate(sides)]
            assert volume_ml(shape, *lacking) is None, "a side that isn't known"
    none = [None if s is None else Fraction(-1 if n == 3 else s) for n, s in enumerate(sides)]
    if sides[3] is not None:
        assert volume_ml(shape, *none) == 0, "less headspace than there is depth"


# ---- the scale


SCALE = ScaleFacts("s", "S", Fraction(1), Fraction(1, 2), Fraction(1000), Fraction(20), True)


@each_row(
    ("grams", "permitted", "able"),
    [
        ("100", "0.01", True),  # half a division and the accuracy are 1 g
        ("99.99", "0.01", False),
        ("1000", "0.001", True),
        ("1000.01", "0.0019", False),  # two weighings are off by 2 g
        ("20", "0.05", True),
        ("19.99", "1", False),  # under its minimum load
    ],
)
def test_what_a_scale_can_weigh_at_its_edges(grams: str, permitted: str, able: bool) -> None:
    assert SCALE.can(Fraction(grams), Fraction(permitted), 2) is able


def test_a_load_over_the_capacity_is_split() -> None:
    counts = {"999": 1, "1000": 1, "1000.01": 2, "2000": 2, "2001": 3}
    assert {g: SCALE.weighings(Fraction(g)) for g in counts} == counts
    assert not SCALE.can(Fraction(2001), Fraction(1), 2)


@pytest.mark.parametrize(
    ("grams", "most", "weighed"),
    [("100.8", "101", 100), ("100.8", "100.9", 99), ("101", "102", 101), ("101", "101.9", 100)],
)
def test_a_legal_maximum_is_never_passed(grams: str, most: str, weighed: int) -> None:
    """Rounded down, and with all a weighing may be off (half a division and 0.5 g, 1 g) still
    within the maximum."""
    found = choose_below(Fraction(grams), Fraction(most), Fraction(1, 100), (SCALE,))
    assert found.grams == weighed and found.grams + 1 <= Fraction(most)


@pytest.mark.parametrize(
    ("grams", "least", "weighed"),
    [("100.2", "100", 101), ("101", "100", 101), ("101", "100.1", 102), ("100", "99", 100)],
)
def test_a_required_minimum_is_always_reached(grams: str, least: str, weighed: int) -> None:
    """Rounded up, and with all a weighing may be off (1 g) still the minimum."""
    found = choose_above(Fraction(grams), Fraction(least), Fraction(1, 100), (SCALE,))
    assert found.grams == weighed and found.grams - 1 >= Fraction(least)


# ---- spoons and cups


def _weight(unit: str, grams: Fraction) -> UnitWeight:
    return UnitWeight(unit, "", grams, UNITS.by_name[unit].factor, "weighed")


def reported(grams: str, *units: str) -> str:
    """A weight in the measures of water that are listed: 240 g, 15 g and 5 g."""
    sizes = {"cup": Fraction(240), "tbsp": Fraction(15), "tsp": Fraction(5)}
    weights = tuple(_weight(u, sizes[u]) for u in units)
    _, words = household(Fraction(grams), read_amount("10 g", UNITS), weights, UNITS)
    return words.replace("\u00a0", " ").replace("\u202f", " ").removeprefix("about ")


@each_row(
    ("grams", "words"),
    [
        ("0.6", ""),
        ("0.625", "⅛ tsp"),
        ("14.9", "3 tsp"),
        ("15", "1 tbsp"),
        ("59.9", "4 tbsp"),
        ("60", "¼ cup"),
        ("3840", "16 cup"),
        ("3841", ""),
    ],
)
def test_from_where_a_spoon_becomes_a_cup(grams: str, words: str) -> None:
    assert reported(grams, "cup", "tbsp", "tsp") == words


@each_row(
    ("unit", "grams", "words"),
    [
        ("tbsp", "120", "8 tbsp"),
        ("tbsp", "120.1", ""),
        ("tbsp", "14.9", ""),
        ("tsp", "30", "6 tsp"),
        ("tsp", "30.1", ""),
    ],
)
def test_never_forty_spoons(unit: str, grams: str, words: str) -> None:
    assert reported(grams, unit) == words


@each_row(
    ("value", "words"),
    [
        ("1/16", "⅛"),
        ("0.0624", None),
        ("9.99", "10"),
        ("10", "10"),
        ("10.4", "10"),
        ("12.6", "13"),
        ("1.44", "1½"),
        ("2.9999", "3"),
    ],
)
def test_the_nearest_spoon_figure_at_its_edges(value: str, words: str | None) -> None:
    assert nearest_kitchen_fraction(Fraction(value)) == words


@each_row("sign", sorted(VULGAR))
def test_a_fraction_typed_as_one_sign_is_what_its_sign_says(sign: str) -> None:
    """The oracle is the Unicode character database."""
    value = Fraction(unicodedata.numeric(sign)).limit_denominator(100)
    assert VULGAR[sign] == value
    whole = read_amount(f"1{sign} kg", UNITS)
    assert whole.value == read_amount("1 kg", UNITS).value * (1 + value)


# ---- a pack without a row


@pytest.fixture
def own_shared(tmp_path: Path) -> Path:
    """The demo with reference data of its own, to take a row out of."""
    for name in ("standards", "shared"):
        shutil.copytree(ROOT / name, tmp_path / name)
    return tmp_path


def without_rows(project: Path, *rows: str) -> None:
    path = project / "shared/limits/us-food-code-2022/reheating.yaml"
    kept: list[str] = []
    out = False
    for line in path.read_text().splitlines():
        if line.startswith("  ") and line[2] != " ":
            out = line.strip(" :") in rows
        if not out:
            kept.append(line)
    path.write_text("\n".join(kept) + "\n")


@pytest.mark.parametrize(
    "rows",
    [
        ("reheat-165", "reheat-microwave-165", "reheat-commercial-135"),
        ("reheat-165", "reheat-microwave-165"),
        ("reheat-165",),
    ],
    ids=["no row", "the plant's row is left", "the plant's and the microwave's are left"],
)
def test_a_pack_without_its_reheating_row_allows_nothing(
    demo: Manual, own_shared: Path, rows: tuple[str, ...]
) -> None:
    """No row of another food is borrowed: no limit, an error, no sheet."""
    assert "frozen-barley-soup" not in rows
    reheated = [
        s
        for s in demo.sheets.values()
        if any(m.hazard == "reheat" and isinstance(m, HeatingLimit) for m in s.walk.limits)
    ]
    assert reheated, "the demo reheats something"
    without_rows(own_shared, *rows)
    manual = make_manual(own_shared, AS_OF)
    for sheet in reheated:
        ident = sheet.formula.id
        assert ident not in manual.sheets
        reported = [f for f in manual.errors if f.code == "not-covered" and ident in f.about]
        assert reported and "The pack has no reheating row." in reported[0].message


def test_the_salad_keeps_what_the_law_and_the_chef_allow_to_the_day(kitchen: Path) -> None:
    """Food Code 3-501.17(A)(1): seven days at 41 °F, the day of preparation counted as day 1."""
    for keeps, last in ((6, 5), (7, 6)):
        edit(
            kitchen,
            "formulas/pork-bake.yaml",
            "keeps: {cold: 5 days}" if keeps == 6 else "keeps: {cold: 6 days}",
            f"keeps: {{cold: {keeps} days}}",
        )
        mark = date_mark(compute(kitchen).sheets["pork-bake"], Asked(AS_OF), AS_OF)
        assert mark.use_by == AS_OF + last * DAY
