"""Amounts, temperatures, times, rounding, words: what is read, what is refused, what is exact."""

from __future__ import annotations

import contextlib
import datetime
import re
import string
import time
from fractions import Fraction

import pytest
from conftest import ROOT
from each_row import each_row
from hypothesis import given
from hypothesis import strategies as st

from generator.files.finding import Refused
from generator.measures.amounts import read_amount
from generator.measures.rounding import half_up, significant, to_side
from generator.measures.temperature import Temperature, read_difference, read_temperature
from generator.measures.times import read_time
from generator.measures.units import load_units
from generator.measures.words import (
    NARROW,
    date,
    duration,
    duration_figure,
    duration_first,
    fixed,
    nearest_kitchen_fraction,
    plain,
)
from generator.records.process import read_target
from generator.reference.library import read_reference
from generator.reference.shared_data import installed
from generator.scaling.weights import read_unit_weights, to_volume

UNITS = load_units(installed())
OZ = Fraction("28.349523125")


@each_row(
    ("text", "value", "kind"),
    [
        ("1.5 kg", Fraction(1500), "mass"),
        ("1,5kg", Fraction(1500), "mass"),
        ("1.10 kg", Fraction(1100), "mass"),
        ("0.375 kg", Fraction(375), "mass"),
        ("1.125 kg", Fraction(1125), "mass"),
        ("012 g", Fraction(12), "mass"),
        ("2 lb 6 oz", 38 * OZ, "mass"),
        ("12 oz", 12 * OZ, "mass"),
        ("4 fl oz", 4 * Fraction("29.5735295625"), "volume"),
        ("1 1/2 cup", Fraction(3, 2) * Fraction("236.5882365"), "volume"),
        ("1½ cup", Fraction(3, 2) * Fraction("236.5882365"), "volume"),
        ("½ tsp", Fraction("4.92892159375") / 2, "volume"),
        ("1 L", Fraction(1000), "volume"),
        ("1.5\u00a0kg", Fraction(1500), "mass"),
        ("3 each", Fraction(3), "count"),
        ("1 dozen", Fraction(12), "count"),
        ("2 dozen large", Fraction(24), "count"),
        ("2 cloves", Fraction(2), "count"),
        ("12 éclairs", Fraction(12), "count"),
        ("3 têtes", Fraction(3), "count"),
        ("1.7 %", Fraction("1.7"), "percent"),
        ("1.7%", Fraction("1.7"), "percent"),
        ("1 in", Fraction("25.4"), "length"),
    ],
)
def test_amounts_as_cooks_write_them(text: str, value: Fraction, kind: str) -> None:
    """Factors: NIST Handbook 44, Appendix C."""
    amount = read_amount(text, UNITS)
    assert (amount.value, amount.kind) == (value, kind)


@each_row(
    ("text", "code"),
    [
        ("9**9", "amount-unreadable"),
        ("9**9**9 g", "amount-unreadable"),
        ("1e400 kg", "amount-unreadable"),
        ("1e3 g", "amount-unreadable"),
        ("nan g", "amount-unreadable"),
        ("inf g", "amount-unreadable"),
        ("-2 kg", "amount-negative"),
        ("5 oz water/cup", "amount-unreadable"),
        ("1,500 kg", "amount-doubtful"),
        ("1.500 kg", "amount-doubtful"),
        ("1.000,5 g", "amount-doubtful"),
        ("1 T", "amount-doubtful"),
        ("1 t", "amount-doubtful"),
        ("1 c", "amount-doubtful"),
        ("1.7", "amount-without-unit"),
        ("0 g", "amount-zero"),
        ("", "amount-missing"),
        ("1/0 cup", "amount-unreadable"),
        ("6 oz 2 lb", "amount-doubtful"),
        ("g", "amount-unreadable"),
        ("one kg", "amount-unreadable"),
        ("1:30", "amount-unreadable"),
        ("no", "amount-unreadable"),
        ("1 kg of meat", "amount-unreadable"),
        ("१ kg", "amount-unreadable"),
    ],
)
def test_amounts_refused(text: str, code: str) -> None:
    with pytest.raises(Refused) as refused:
        read_amount(text, UNITS)
    assert refused.value.code == code
    assert refused.value.help or refused.value.write, "a refusal says how to mend it"


def test_an_unknown_unit_is_refused_where_pieces_make_no_sense() -> None:
    with pytest.raises(Refused) as refused:
        read_amount("5 ounzes", UNITS, pieces=False)
    assert refused.value.code == "unit-unknown"
    assert "`ounces`" in refused.value.help


@given(st.text(alphabet=string.printable + "½°٣", max_size=3000))
def test_any_text_is_read_or_refused_at_once(text: str) -> None:
    """Property: nothing but Refused comes out, and long junk takes no longer than short."""
    start = time.perf_counter()
    for read in (lambda t: read_amount(t, UNITS), read_temperature, read_time, read_difference):
        with contextlib.suppress(Refused):
            read(text)
    assert time.perf_counter() - start < 0.5


@given(
    st.integers(1, 10**6),
    st.sampled_from(["g", "kg", "lb", "oz", "ml", "l", "cup", "tsp", "qt", "fl oz"]),
)
def test_amounts_survive_being_written_out(thousandths: int, unit: str) -> None:
    """Property: a decimal amount read back is the same number of units."""
    figure = Fraction(thousandths, 1000)
    text = f"{plain(figure, 3, grouped=False)} {unit}"
    try:
        amount = read_amount(text, UNITS)
    except Refused as refused:
        assert refused.code == "amount-doubtful"
        return
    assert amount.value == figure * UNITS.by_name[unit].factor


@given(st.fractions(min_value="0.001", max_value=10**6), st.sampled_from(["lb", "oz", "kg", "mg"]))
def test_conversion_there_and_back_is_exact(value: Fraction, unit: str) -> None:
    start, end = UNITS.by_name["g"], UNITS.by_name[unit]
    assert UNITS.convert(UNITS.convert(value, start, end), end, start) == value


@given(st.fractions(), st.fractions(min_value="0.001", max_value=100))
def test_rounding_stays_within_half_a_step_and_on_its_side(value: Fraction, step: Fraction) -> None:
    assert abs(half_up(value, step) - value) <= step / 2
    assert (half_up(value, step) / step).denominator == 1
    assert 0 <= to_side(value, "up", step) - value < step
    assert 0 <= value - to_side(value, "down", step) < step


def test_rounding_by_hand() -> None:
    assert half_up(Fraction("2.5")) == 3
    assert half_up(Fraction("-2.5")) == -3
    assert half_up(Fraction("76.65"), Fraction("0.1")) == Fraction("76.7")
    assert to_side(Fraction("68.3333"), "up") == 69
    assert significant(Fraction("354.88")) == 350
    assert significant(Fraction("0.0995")) == Fraction("0.1")


@each_row(
    ("text", "celsius"),
    [
        ("74 °C", 74),
        ("74C", 74),
        ("74 degC", 74),
        ("165 °F", Fraction(665, 9)),
        ("-18 °C", -18),
        ("−40 °F", -40),
        ("41F", 5),
    ],
)
def test_temperatures(text: str, celsius: Fraction) -> None:
    assert read_temperature(text).celsius == celsius


@each_row("text", ["74", "74 °", "hot", "74 K", "-300 °C", "74 °C or so", "1e2 °C", "nan °C"])
def test_temperatures_refused(text: str) -> None:
    with pytest.raises(Refused):
        read_temperature(text)


def test_a_difference_takes_no_offset() -> None:
    """NIST SP 811: 1 °C of difference is 1.8 °F; Food Code 4-203.11 keeps ±1 °C and ±2 °F apart."""
    assert read_difference("1 °C").in_unit("°F") == Fraction(9, 5)
    assert read_difference("2 °F").celsius == Fraction(10, 9)
    assert Temperature.of(165, "°F") + read_difference("1 °C") == Temperature(
        Fraction(674, 9), "°F"
    )


def test_forty_one_fahrenheit_is_five_celsius() -> None:
    """In floats it is 5.000000000000057 and fails "5 or colder"."""
    assert read_temperature("41 °F") <= read_temperature("5 °C")


@each_row(
    ("text", "seconds"),
    [
        ("90 min", 5400),
        ("1 h 30 min", 5400),
        ("1.5 h", 5400),
        ("17 s", 17),
        ("4 days", 345600),
        ("1/2 h", 1800),
    ],
)
def test_times(text: str, seconds: int) -> None:
    assert read_time(text).seconds == seconds


@each_row(
    "text",
    ["90", "1:30", "overnite", "overnight", "a while", "", "30 min 1 h", "1 h 1 h", "5 moons"],
)
def test_times_refused(text: str) -> None:
    with pytest.raises(Refused):
        read_time(text)


def test_numbers_as_people_read_them() -> None:
    assert fixed(Fraction(1426), 0) == "1426"
    assert fixed(Fraction(12345), 0) == "12\u2009345"
    assert fixed(Fraction("138"), 1) == "138.0"
    assert plain(Fraction("0.50")) == "0.5"
    assert plain(Fraction(-1, 3), 2) == "-0.33"
    assert nearest_kitchen_fraction(Fraction("1.49")) == "1½"
    assert duration(Fraction(6720)).replace("\u00a0", " ") == "1 h 52 min"
    assert date(datetime.date(2026, 9, 14)).replace("\u00a0", " ") == "14 Sep 2026"


def _millilitres(foodstuff: str, grams: int, unit: str, detail: str = "") -> Fraction:
    library = read_reference(installed())
    stuff = library.foodstuffs[foodstuff]
    weights = read_unit_weights(
        stuff.weighs, stuff.source, stuff.measures, UNITS, lambda n: load_units(installed(), n)
    )
    found = to_volume(Fraction(grams), weights, unit, detail)
    assert found is not None
    return found[0]


def test_what_the_trade_says() -> None:
    """common practice, no source: 100 g of dry breadcrumbs is about a cup, 100 g of diced onion
    about three quarters of a cup; here within 10 % and, onion being what it is, 20 %."""
    cup = UNITS.by_name["cup"].factor
    crumbs = next(k for k, f in read_reference(installed()).foodstuffs.items() if f.usda == "18079")
    onion = next(k for k, f in read_reference(installed()).foodstuffs.items() if f.usda == "11282")
    assert abs(_millilitres(crumbs, 100, "cup") / cup - 1) < Fraction(1, 10)
    assert abs(_millilitres(onion, 100, "cup", "chopped") / cup / Fraction(3, 4) - 1) < Fraction(
        1, 5
    )


def test_what_is_said_is_not_what_is_exact() -> None:
    """common practice, no source: 65 °C is spoken of as 150 °F, half an inch as 1.5 cm. Exactly
    65 °C is 149 °F, another row of the law, and half an inch is 1.27 cm."""
    assert read_temperature("65 °C").in_unit("°F") == 149
    assert read_temperature("65 °C") < read_temperature("150 °F")
    assert read_amount("1/2 in", UNITS).value == Fraction("12.7")


@each_row(
    ("text", "fixes"),
    [
        ("1,500 kg", ("1500 kg", "1.5 kg")),
        ("1.500 kg", ("1500 kg", "1.5 kg")),
        ("1,000 kg", ("1000 kg", "1 kg")),
        ("2 lb 1,500 oz", ("2 lb 1500 oz", "2 lb 1.5 oz")),
        ("2 T", ("2 tbsp", "2000 kg")),
        ("½ t", ("½ tsp", "500 kg")),
        ("1 1/2 c", ("1 1/2 cup",)),
        ("3 #", ("3 lb", "3 each")),
        ("1.7", ("1.7 %", "1.7 g")),
    ],
)
def test_the_fixes_of_a_doubtful_amount_are_its_readings(text: str, fixes: tuple[str, ...]) -> None:
    """A tonne is 1000 kg (NIST SP 811, table 6); every fix is read without a word."""
    with pytest.raises(Refused) as refused:
        read_amount(text, UNITS)
    assert refused.value.write == fixes
    for fix in fixes:
        assert read_amount(fix, UNITS).value > 0


@each_row(
    ("text", "fixes"),
    [
        ("1.000,5 g", ("1000.5 g",)),
        ("1,000.5 g", ("1000.5 g",)),
        ("1,234,567.8 g", ("1234567.8 g",)),
        ("1.2.3 g", ()),
        ("1,2,3 g", ()),
        ("1.000.000 g", ()),
        ("10,00,000.5 g", ()),
    ],
)
def test_two_kinds_of_points_are_fixed_only_where_one_reading_is_left(
    text: str, fixes: tuple[str, ...]
) -> None:
    """Thousands in groups of three before the one other mark: SI Brochure 9, 5.4.4, from memory."""
    with pytest.raises(Refused) as refused:
        read_amount(text, UNITS)
    assert (refused.value.code, refused.value.write) == ("amount-doubtful", fixes)


@each_row("text", ["a handful", "overnight", "a while", "warm", "lukewarm", ""])
def test_no_fix_is_made_up(text: str) -> None:
    """Property: a line to copy holds only figures that were typed; examples are in the help."""
    for read in (lambda t: read_amount(t, UNITS), read_temperature, read_time, read_target):
        try:
            read(text)  # type: ignore[operator]
        except Refused as refused:
            assert refused.write == (), refused.message
            assert " as in " in refused.help
        else:
            pytest.fail(f"{text!r} was read")


def test_a_decimal_comma_without_doubt_is_read() -> None:
    """No thousands are grouped behind a nought."""
    assert read_amount("0,125 kg", UNITS).value == 125
    assert read_temperature("74,5 °C").celsius == Fraction(149, 2)
    assert read_time("1,5 h").seconds == 5400
    for text in ("1,500 °C", "1,500 s"):
        with pytest.raises(Refused):
            (read_temperature if "C" in text else read_time)(text)


@each_row(
    ("text", "seconds"),
    [
        ("1½ h", 5400),
        ("1 1/2 h", 5400),
        ("½ h", 1800),
        ("1 h and 5 min", 3900),
        ("3/4 h", 2700),
        ("2 weeks", 1209600),
        ("1 day 12 h", 129600),
        ("0.5 min", 30),
        ("90 mins.", 5400),
        ("17 sec", 17),
        ("1 H", 3600),
    ],
)
def test_times_as_cooks_write_them(text: str, seconds: int) -> None:
    assert read_time(text).seconds == seconds


@each_row("text", ["1/0 h", "1/00 min", "1 1/0 h", "1/ h", "-5 min", "5", "5 m", "1e3 s"])
def test_times_that_are_none(text: str) -> None:
    with pytest.raises(Refused):
        read_time(text)


@each_row("text", ["74", "74°", "74 deg", "74 degrees", "-18", "74,5"])
def test_a_bare_temperature_offers_both_scales(text: str) -> None:
    with pytest.raises(Refused) as refused:
        read_temperature(text)
    assert refused.value.code == "temperature-without-unit"
    figure = text.split("°")[0].split(" ")[0].replace(",", ".")
    assert refused.value.write == (f"{figure} °C", f"{figure} °F")
    for fix in refused.value.write:
        read_temperature(fix)


def test_an_accuracy_is_never_fixed_with_a_cooking_temperature() -> None:
    with pytest.raises(Refused) as refused:
        read_difference("good")
    assert refused.value.write == () and "74" not in refused.value.help
    assert read_difference("± 0.5 °C").celsius == Fraction(1, 2)


@each_row(
    ("text", "fixes"),
    [
        ("core 72", ("core 72 °C",)),  # 72 °F cooks nothing
        ("72", ("core 72 °C",)),
        ("core 165", ("core 165 °F",)),
        ("core 68 for 2 min", ("core 68 °C for 2 min",)),
        ("core 110", ("core 110 °C", "core 110 °F")),
        ("4", ("to 4 °C", "to 4 °F")),
        (
            "core 68 °C for 90",
            ("core 68 °C for 90 s", "core 68 °C for 90 min", "core 68 °C for 90 h"),
        ),
        ("72 °C", ("core 72 °C",)),
        ("to 4", ("to 4 °C", "to 4 °F")),
    ],
)
def test_a_targets_fixes_are_whole_targets(text: str, fixes: tuple[str, ...]) -> None:
    with pytest.raises(Refused) as refused:
        read_target(text)
    assert refused.value.write == fixes
    for fix in fixes:
        assert read_target(fix).degrees is not None


@each_row(
    ("cups", "unit", "millilitres"),
    [
        ("us", "cup", "236.5882365"),
        ("metric", "cup", "250"),
        ("imperial", "cup", "284.130625"),
        ("australian", "tbsp", "20"),
        ("metric", "tbsp", "15"),
        ("us", "tbsp", "14.78676478125"),
        ("imperial", "fl oz", "28.4130625"),
        ("imperial", "pt", "568.26125"),
        ("us", "pt", "473.176473"),
    ],
)
def test_a_cup_is_the_kitchens_own(cups: str, unit: str, millilitres: str) -> None:
    """US: NIST Handbook 44, Appendix C. Imperial: 4.54609 l a gallon, from memory. Metric and
    Australian cups and spoons: from memory."""
    units = load_units(installed(), cups)
    assert read_amount(f"1 {unit}", units).value == Fraction(millilitres)


def test_a_unit_the_set_lacks_is_refused_not_borrowed() -> None:
    with pytest.raises(Refused) as refused:
        read_amount("1 pt", load_units(installed(), "metric"))
    assert refused.value.code == "unit-not-in-set"


def test_what_the_unit_library_would_make_of_it_never_happens() -> None:
    """Property, from the unit library's known traps: femtolitres, picoinches, half cups."""
    assert read_amount("1 fl oz", UNITS).unit == "fl oz"
    pinch = read_amount("1 pinch", UNITS)
    assert (pinch.kind, pinch.unit) == ("count", "pinch")
    assert (
        read_amount("1 1/2 cup", UNITS).value
        == read_amount("1½ cup", UNITS).value
        == 3 * read_amount("½ cup", UNITS).value
    )


@given(st.fractions(min_value=-400, max_value=10**4), st.sampled_from(["°C", "°F"]))
def test_temperatures_there_and_back_are_exact(value: Fraction, unit: str) -> None:
    try:
        temperature = Temperature.of(value, unit)  # type: ignore[arg-type]
    except ValueError:
        return
    assert temperature.in_unit(unit) == value  # type: ignore[arg-type]
    up, down = temperature.rounded("°F", "up"), temperature.rounded("°F", "down")
    assert down <= temperature.in_unit("°F") <= up
    assert up - down in (0, 1)


@given(st.integers(0, 10**7))
def test_a_time_in_words_is_read_back(seconds: int) -> None:
    """Property: what the page says of a time is a time."""
    words = duration(Fraction(seconds))
    assert read_time(words.replace("\u00a0", " ")).seconds == seconds


@pytest.mark.parametrize(
    ("seconds", "figure", "first"),
    [
        (0, ("0", "s"), ("0", "s")),
        (4 * 3600, ("4", "h"), ("4", "h")),
        (5400, (f"1{NARROW}h 30", "min"), ("1", f"h 30{NARROW}min")),
        (7 * 86400, ("7", "days"), ("7", "days")),
    ],
)
def test_a_duration_is_parted_before_it_is_words(
    seconds: int, figure: tuple[str, str], first: tuple[str, str]
) -> None:
    """The large figure of a box, and the register's: nobody cuts them out of the words again."""
    assert duration_figure(Fraction(seconds)) == figure
    assert duration_first(Fraction(seconds)) == first
    assert NARROW.join(figure) == NARROW.join(first) == duration(Fraction(seconds))


@pytest.mark.parametrize(("letters", "quoted"), [(60, 60), (61, 60), (5000, 60)])
def test_a_target_that_is_none_is_quoted_with_sixty_letters(letters: int, quoted: int) -> None:
    with pytest.raises(Refused) as refused:
        read_target("x" * letters)
    assert refused.value.message == f"`{'x' * quoted}` is not a target."


def test_spaces_are_made_breakable_in_one_place() -> None:
    """`breakable` is asked; nothing puts an ordinary space for one that never breaks by itself."""
    by_hand = re.compile(r'replace\((?:"\\u00a0"|NARROW), " "\)')
    found = [
        path.name
        for path in sorted((ROOT / "generator").rglob("*.py"))
        if by_hand.search(path.read_text("utf-8"))
    ]
    assert found == ["words.py"]
