"""Every figure, unit and edge of reading and writing measures, by hand."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from each_row import each_row

from generator.files.finding import Refused
from generator.measures.amounts import read_amount
from generator.measures.dates import read_date
from generator.measures.rounding import decimals_of, half_up, significant, to_side
from generator.measures.temperature import Temperature, read_difference, read_temperature
from generator.measures.times import read_time
from generator.measures.units import load_units
from generator.measures.words import (
    counted,
    duration,
    fixed,
    kitchen_fraction,
    listed,
    nearest_kitchen_fraction,
    plain,
)
from generator.reference.shared_data import installed

UNITS = load_units(installed())
SIGNS = {
    "½": (1, 2),
    "¼": (1, 4),
    "¾": (3, 4),
    "⅓": (1, 3),
    "⅔": (2, 3),
    "⅛": (1, 8),
    "⅜": (3, 8),
    "⅝": (5, 8),
    "⅞": (7, 8),
    "⅙": (1, 6),
    "⅚": (5, 6),
    "⅕": (1, 5),
}
"""The fraction signs and what each is, by their Unicode names."""


@each_row("sign", SIGNS)
def test_each_fraction_sign_is_read_as_what_it_is(sign: str) -> None:
    top, bottom = SIGNS[sign]
    assert read_amount(f"{sign} g", UNITS).value == Fraction(top, bottom)
    assert read_amount(f"3{sign} g", UNITS).value == 3 + Fraction(top, bottom)
    assert read_amount(f"{top}/{bottom} g", UNITS).value == Fraction(top, bottom)
    assert read_amount(f"3 {top}/{bottom} g", UNITS).value == 3 + Fraction(top, bottom)


@each_row("sign", ["½", "¼", "¾", "⅓", "⅔", "⅛", "⅜", "⅝", "⅞"])
def test_each_fraction_of_a_cup_is_written_as_what_it_is(sign: str) -> None:
    part = Fraction(*SIGNS[sign])
    assert kitchen_fraction(part) == nearest_kitchen_fraction(part) == sign
    assert kitchen_fraction(2 + part) == nearest_kitchen_fraction(2 + part) == f"2{sign}"


def test_what_is_no_fraction_of_a_cup_is_written_as_the_nearest() -> None:
    """A sixteenth lies between nothing and an eighth; from ten cups on two digits are reported."""
    assert kitchen_fraction(Fraction(1, 16)) is None and kitchen_fraction(Fraction(3)) == "3"
    assert nearest_kitchen_fraction(Fraction(1, 16)) == "⅛"
    assert nearest_kitchen_fraction(Fraction(1, 17)) is None
    assert nearest_kitchen_fraction(Fraction("1.97")) == "2"
    assert nearest_kitchen_fraction(Fraction("9.9")) == "9⅞"
    assert nearest_kitchen_fraction(Fraction("10.4")) == "10"
    assert nearest_kitchen_fraction(Fraction("12.6")) == "13"


@each_row(
    ("words", "seconds"),
    [
        ("s sec secs second seconds", 1),
        ("min mins minute minutes", 60),
        ("h hr hrs hour hours", 3600),
        ("d day days", 24 * 3600),
        ("week weeks", 7 * 24 * 3600),
    ],
)
def test_each_unit_of_time_is_as_long_as_it_is(words: str, seconds: int) -> None:
    for word in words.split():
        assert read_time(f"2 {word}").seconds == 2 * seconds
    assert read_time(f"1½ {words.split()[0]}").seconds == Fraction(3, 2) * seconds


@pytest.mark.parametrize("text", ["2 weeks 3 weeks", "30 s 20 s", "5 min 1 h", "1 day 1 day"])
def test_units_of_time_stand_in_order_and_once(text: str) -> None:
    with pytest.raises(Refused):
        read_time(text)


def test_a_percentage_may_name_what_it_is_of() -> None:
    for typed, of in (
        ("2 % of the meat", "meat"),
        ("2 % of Cooked rice", "cooked-rice"),
        ("2 %", ""),
    ):
        found = read_amount(typed, UNITS)
        assert (found.value, found.kind, found.of or "") == (2, "percent", of)


def test_a_clock_of_two_readings_is_offered_both_ways() -> None:
    with pytest.raises(Refused) as refused:
        read_time("3:20")
    assert list(refused.value.write) == ["3 h 20 min", "3 min 20 s"]


def test_a_time_of_more_than_a_day_is_reported_in_days_only_when_whole() -> None:
    """One day stays 24 h: "1 day" may be read as the day on the calendar."""
    reported = {24: "24 h", 25: "25 h", 47: "47 h", 48: "2 days", 168: "7 days"}
    for hours, words in reported.items():
        assert duration(Fraction(hours * 3600)) == words.replace(" ", "\u00a0")
    assert duration(Fraction(48 * 3600), days=False) == "48\u00a0h"
    assert duration(Fraction(2 * 86400 + 1)) == "48\u00a0h 1\u00a0s"
    assert duration(Fraction(3661)) == "1\u00a0h 1\u00a0min 1\u00a0s"
    assert duration(Fraction(59)) == "59\u00a0s" and duration(Fraction(60)) == "1\u00a0min"
    assert duration(Fraction(0)) == "0\u00a0s"


@each_row("text", ["1 lb 1 lb", "6 oz 2 lb", "1 kg 2 cup", "1 kg 2", "1 lb 2 cloves"])
def test_a_weight_in_two_units_names_the_larger_first_and_each_once(text: str) -> None:
    with pytest.raises(Refused):
        read_amount(text, UNITS)


def test_a_dozen_is_twelve() -> None:
    for text, count, piece in (
        ("2 dozen", 24, "each"),
        ("1½ dozen", 18, "each"),
        ("1 dozen cloves", 12, "cloves"),
    ):
        amount = read_amount(text, UNITS)
        assert (amount.value, amount.kind, amount.unit) == (count, "count", piece)


@each_row(
    ("text", "fixes"),
    [
        ("4 May 2026", ("2026-05-04",)),
        ("May 4, 2026", ("2026-05-04",)),
        ("4th May 2026", ("2026-05-04",)),
        ("31 Jan 2026", ("2026-01-31",)),
        ("1 Dec 2026", ("2026-12-01",)),
        ("30 Feb 2026", ()),
        ("4/5/2026", ("2026-04-05", "2026-05-04")),
        ("13/5/2026", ("2026-05-13",)),
        ("5/5/2026", ("2026-05-05",)),
        ("5/31/2026", ("2026-05-31",)),
        ("12/12/2026", ("2026-12-12",)),
        ("2026/5/4", ("2026-05-04",)),
        ("4/5/1999", ()),
        ("4/5/2000", ("2000-04-05", "2000-05-04")),
        ("4/5/2100", ("2100-04-05", "2100-05-04")),
        ("4/5/2101", ()),
        ("0/5/2026", ()),
        ("32/5/2026", ()),
        ("5/2026", ()),
        ("1/2/3/2026", ()),
        ("May Jun 2026", ()),
        ("May Jun Jul", ()),
    ],
)
def test_a_day_typed_otherwise_is_answered_with_the_days_it_may_mean(
    text: str, fixes: tuple[str, ...]
) -> None:
    with pytest.raises(Refused) as refused:
        read_date(text)
    assert refused.value.write == fixes
    for fix in fixes:
        assert read_date(fix).isoformat() == fix


def test_months_are_reported_apart() -> None:
    months = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
    for number, name in enumerate(months, 1):
        with pytest.raises(Refused) as refused:
            read_date(f"7 {name} 2026")
        assert refused.value.write == (f"2026-{number:02}-07",)


def test_a_month_may_be_written_out() -> None:
    for text, day in (
        ("4 January 2026", "2026-01-04"),
        ("September 14, 2026", "2026-09-14"),
        ("1 JUNE 2026", "2026-06-01"),
    ):
        with pytest.raises(Refused) as refused:
            read_date(text)
        assert refused.value.write == (day,)


def test_a_unit_is_known_in_capitals_and_a_dozen_where_no_piece_is_named() -> None:
    assert read_amount("2 KG", UNITS).value == 2000
    assert read_amount("1 Cup", UNITS) == replace(read_amount("1 cup", UNITS), text="1 Cup")
    dozen = read_amount("2 dozen", UNITS, pieces=False)
    assert dozen.value == 24 and dozen.unit == "each"
    with pytest.raises(Refused):
        read_amount("2 dozen cloves", UNITS, pieces=False)


def test_a_slip_of_the_pen_is_the_same_figure_on_the_other_scale() -> None:
    assert Temperature.of(74, "°C").swapped() == Temperature.of(74, "°F")
    assert Temperature.of(165, "°F").swapped() == Temperature.of(165, "°C")


def test_temperatures_are_ordered_exactly() -> None:
    cold, warm = Temperature.of(41, "°F"), Temperature.of("5.0001", "°C")
    assert cold < warm and cold <= warm and cold <= Temperature.of(5, "°C")
    assert not warm < cold and not warm <= cold and not cold < Temperature.of(5, "°C")
    assert warm - read_difference("0.0001 °C") == Temperature(Fraction(5), "°C")


def test_absolute_zero_is_the_coldest() -> None:
    """−273.15 °C is −459.67 °F (NIST SP 811, B.8)."""
    assert read_temperature("-273.15 °C").celsius == Fraction("-273.15")
    assert read_temperature("-459.67 °F").celsius == Fraction("-273.15")
    for text in ("-273.16 °C", "-459.68 °F"):
        with pytest.raises(Refused) as refused:
            read_temperature(text)
        assert refused.value.code == "temperature-impossible"


def test_three_digits_behind_a_comma_may_be_thousands() -> None:
    assert read_temperature("74,25 °C").celsius == Fraction("74.25")
    assert read_temperature("74.255 °C").celsius == Fraction("74.255")
    for text in ("1,500 °C", "74,255 °C"):
        with pytest.raises(Refused):
            read_temperature(text)


def test_no_accuracy_is_below_zero() -> None:
    assert read_difference("0 °C").celsius == 0
    with pytest.raises(Refused) as refused:
        read_difference("-1 °C")
    assert refused.value.code == "difference-negative"
    with pytest.raises(Refused) as refused:
        read_difference("1")
    assert refused.value.code == "temperature-without-unit"


def test_thousands_are_set_apart_from_five_digits_on() -> None:
    assert [fixed(Fraction(n), 0) for n in (9999, 10000, 1234567)] == [
        "9999",
        "10\u2009000",
        "1\u2009234\u2009567",
    ]
    assert fixed(Fraction(12345), 0, grouped=False) == "12345"
    assert fixed(Fraction("0.05"), 1) == "0.1" and fixed(Fraction("0.04"), 1) == "0.0"
    assert fixed(Fraction("-0.5"), 0) == "-1" and fixed(Fraction("12.345"), 2) == "12.35"
    assert plain(Fraction("0.1234565")) == "0.123457" and plain(Fraction(100)) == "100"


def test_a_display_shows_as_many_decimals_as_its_step_has() -> None:
    steps = {"5": 0, "1": 0, "0.1": 1, "0.5": 1, "0.05": 2, "0.25": 2, "0.125": 3, "1e-9": 9}
    for step, places in steps.items():
        assert decimals_of(Fraction(step)) == places
    with pytest.raises(ValueError, match="can't be shown"):
        decimals_of(Fraction(1, 3))


def test_significant_digits_by_hand() -> None:
    reported = {"1234": 1200, "1250": 1300, "999": 1000, "0.0123": Fraction("0.012"), "-56.7": -57}
    for value, rounded in reported.items():
        assert significant(Fraction(value)) == rounded
    assert significant(Fraction("1234.5"), 3) == 1230 and significant(Fraction(0)) == 0


def test_rounding_to_a_step_by_hand() -> None:
    assert half_up(Fraction(12), Fraction(5)) == 10 and half_up(Fraction("12.5"), Fraction(5)) == 15
    assert to_side(Fraction(11), "up", Fraction(5)) == 15
    assert to_side(Fraction(14), "down", Fraction(5)) == 10
    assert (
        to_side(Fraction(15), "up", Fraction(5)) == to_side(Fraction(15), "down", Fraction(5)) == 15
    )
    for step in (Fraction(0), Fraction(-1)):
        with pytest.raises(ValueError, match="above zero"):
            half_up(Fraction(1), step)
        with pytest.raises(ValueError, match="above zero"):
            to_side(Fraction(1), "up", step)


def test_words_in_a_row_and_counts() -> None:
    assert [listed(w) for w in ([], ["a"], ["a", "b"], ["a", "b", "c"])] == [
        "",
        "a",
        "a and b",
        "a, b and c",
    ]
    assert counted(1, "load") == "1\u00a0load" and counted(2, "load") == "2\u00a0loads"
    assert counted(0, "load") == "0\u00a0loads" and counted(2, "loaf", "loaves") == "2\u00a0loaves"


def test_a_unit_is_converted_by_both_factors_and_never_across_kinds() -> None:
    """NIST Handbook 44, appendix C: 16 oz are a pound of 453.59237 g."""
    pound, ounce, gram = (UNITS.by_name[n] for n in ("lb", "oz", "g"))
    assert UNITS.convert(Fraction(2), pound, ounce) == 32
    assert UNITS.convert(Fraction(1), pound, gram) == Fraction("453.59237")
    with pytest.raises(ValueError, match="mass is not volume"):
        UNITS.convert(Fraction(1), gram, UNITS.by_name["ml"])
