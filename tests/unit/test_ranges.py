"""Ranges of time and temperature as a cook writes them, in both decimal marks."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from each_row import each_row
from hypothesis import given
from hypothesis import strategies as st

from generator.files.finding import Refused
from generator.measures.amounts import read_amount
from generator.measures.marks import written_with
from generator.measures.ranges import read_humidity, read_span, read_temperatures
from generator.measures.units import load_units

SHARED = Path(__file__).resolve().parents[2] / "shared"


def shown(text: str) -> str:
    return text.replace("\u00a0", " ")


@each_row(
    ("typed", "shortest", "longest", "printed"),
    [
        ("45 min", 45, 45, "45 min"),
        ("about 5 min", 5, 5, "about 5 min"),
        ("36 to 40 min", 36, 40, "36 to 40 min"),
        ("4–6 min", 4, 6, "4 to 6 min"),
        ("4-6 min", 4, 6, "4 to 6 min"),
        ("ca. 5 - 6 min", 5, 6, "about 5 to 6 min"),
        ("50 min to 1 h", 50, 60, "50 min to 1 h"),
        ("1 h 30 min to 2 h", 90, 120, "1 h 30 min to 2 h"),
        ("½–1 h", 30, 60, "30 min to 1 h"),
        ("1.5 to 2.5 h", 90, 150, "1 h 30 min to 2 h 30 min"),
        ("1 h 30 min", 90, 90, "1 h 30 min"),
        ("2–3 days", 2880, 4320, "2 to 3 days"),
    ],
)
def test_a_time_has_two_ends(typed: str, shortest: int, longest: int, printed: str) -> None:
    span = read_span(typed)
    assert (span.shortest, span.longest) == (shortest * 60, longest * 60)
    assert shown(str(span)) == printed


@each_row(
    ("typed", "coolest", "warmest", "printed"),
    [
        ("74 °C", "74", "74", "74 °C"),
        ("31 to 32 °C", "31", "32", "31 to 32 °C"),
        ("2-4 °C", "2", "4", "2 to 4 °C"),
        ("-20–-18 °C", "-20", "-18", "-20 to -18 °C"),
        ("160–180C", "160", "180", "160 to 180 °C"),
        ("35 to 38.5 °F", "5/3", "65/18", "35 to 38.5 °F"),
    ],
)
def test_a_temperature_has_two_ends(typed: str, coolest: str, warmest: str, printed: str) -> None:
    span = read_temperatures(typed)
    assert span.coolest.celsius == Fraction(coolest)
    assert span.warmest.celsius == Fraction(warmest)
    assert shown(str(span)) == printed


@each_row(
    ("typed", "fixes"),
    [
        ("6 to 4 min", ("4 min to 6 min",)),
        ("5 to 5 min", ("5 min",)),
        ("at least 4 min", ("4 min",)),
        ("4 min or more", ("4 min",)),
        ("up to 6 min", ("6 min",)),
        ("4 to", ()),
    ],
)
def test_a_time_that_is_no_range_is_asked_about(typed: str, fixes: tuple[str, ...]) -> None:
    with pytest.raises(Refused) as refused:
        read_span(typed)
    assert (refused.value.code, refused.value.write) == ("range-doubtful", fixes)
    for fix in fixes:
        read_span(fix)


@each_row(
    ("typed", "fixes"),
    [
        ("31 °C to 90 °F", ()),
        ("32 to 31 °C", ("31 °C to 32 °C",)),
        ("4–4 °C", ("4 °C",)),
        ("at most 4 °C", ("4 °C",)),
        ("60 °C or more", ("60 °C",)),
    ],
)
def test_a_temperature_that_is_no_range_is_asked_about(typed: str, fixes: tuple[str, ...]) -> None:
    with pytest.raises(Refused) as refused:
        read_temperatures(typed)
    assert (refused.value.code, refused.value.write) == ("range-doubtful", fixes)
    for fix in fixes:
        read_temperatures(fix)


def test_ends_without_a_unit_are_offered_whole() -> None:
    with pytest.raises(Refused) as time:
        read_span("4 to 6")
    assert time.value.write == ("4 to 6 s", "4 to 6 min", "4 to 6 h")
    with pytest.raises(Refused) as degrees:
        read_temperatures("70-72")
    assert degrees.value.write == ("70-72 °C", "70-72 °F")


def test_ranges_of_a_decimal_comma() -> None:
    with written_with("comma"):
        span = read_span("1,5–2,5 h")
        assert (span.shortest, span.longest) == (5400, 9000)
        degrees = read_temperatures("2,5 to 3,5 °C")
        assert shown(str(degrees)) == "2,5 to 3,5 °C"
        with pytest.raises(Refused) as refused:
            read_span("1.5 to 2.5 h")
        assert (refused.value.code, refused.value.write) == ("decimal-mark", ("1,5 to 2,5 h",))
        for fix in refused.value.write:
            read_span(fix)


@pytest.mark.parametrize(
    ("typed", "coolest", "warmest", "printed"),
    [
        ("250 °C, then 200 °C", 200, 250, "250 °C, then 200 °C"),
        ("45 then 27 °C", 27, 45, "45 °C, then 27 °C"),
        ("27 °C and then 31 °C", 27, 31, "27 °C, then 31 °C"),
    ],
)
def test_a_first_and_a_final_temperature(
    typed: str, coolest: int, warmest: int, printed: str
) -> None:
    span = read_temperatures(typed)
    assert (span.coolest.celsius, span.warmest.celsius) == (coolest, warmest)
    assert shown(str(span)) == printed


@pytest.mark.parametrize("typed", ["45 °C, then 27 °C, then 31 °C", "45 then 27 and then 31 °C"])
def test_two_temperatures_are_the_most(typed: str) -> None:
    with pytest.raises(Refused, match="more than two temperatures") as caught:
        read_temperatures(typed)
    assert caught.value.help.startswith("Two are allowed, as in 250 °C, then 200 °C.")


@pytest.mark.parametrize("typed", ["200 °C then 200 °C", "200 °C then 350 °F"])
def test_a_final_temperature_is_another_of_the_same_scale(typed: str) -> None:
    with pytest.raises(Refused) as refused:
        read_temperatures(typed)
    assert refused.value.code == "range-doubtful"


def test_a_humidity_is_a_percentage_of_air() -> None:
    for typed, printed in (("75 %", "75 %"), ("70–75% RH", "70 to 75 %"), ("100 %", "100 %")):
        assert shown(str(read_humidity(typed))) == printed
    for typed in ("0 %", "101 %", "75", "damp", "75 to 70 %", "70 to 70 %", "70 to 120 %"):
        with pytest.raises(Refused) as refused:
            read_humidity(typed)
        for fix in refused.value.write:
            read_humidity(fix)


def test_parts_of_a_million_are_ten_thousandths_of_a_percent() -> None:
    units = load_units(SHARED)
    assert read_amount("500 ppm", units).value == Fraction("0.05")
    of_meat = read_amount("120 ppm of the meat", units)
    assert (of_meat.kind, of_meat.value, of_meat.of) == ("percent", Fraction("0.012"), "meat")
    with pytest.raises(Refused):
        read_amount("0 ppm", units)


@given(st.integers(0, 9999), st.integers(1, 999), st.sampled_from(["to", "–", "-", " - ", " to "]))
def test_the_ends_are_those_typed(first: int, more: int, between: str) -> None:
    between = f" {between} " if between == "to" else between
    span = read_span(f"{first}{between}{first + more} min")
    assert (span.shortest, span.longest) == (first * 60, (first + more) * 60)
    degrees = read_temperatures(f"{first % 300}{between}{first % 300 + more} °C")
    assert (degrees.coolest.celsius, degrees.warmest.celsius) == (first % 300, first % 300 + more)


@given(st.text("0123456789 to–-.,½°CFminhabout", max_size=24))
def test_anything_is_read_or_refused(text: str) -> None:
    for read in (read_span, read_temperatures):
        try:
            read(text)
        except Refused:
            continue
