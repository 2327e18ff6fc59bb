"""A power as its plate says it: units, decimal marks, and what is none."""

from __future__ import annotations

import pytest
from each_row import each_row

from generator.files.finding import Refused
from generator.measures.marks import written_with
from generator.measures.power import read_power


@each_row(
    ("typed", "watts"),
    [
        ("800 W", 800),
        ("800W", 800),
        ("3.5 kW", 3500),
        ("3.5 KW", 3500),
        ("12000 Btu/h", 12000 * 0.29307107),  # NIST SP 811, B.8
        ("12000 BTU/hr", 12000 * 0.29307107),
    ],
)
def test_a_power(typed: str, watts: float) -> None:
    assert float(read_power(typed).watts) == pytest.approx(watts, rel=1e-8)


def test_a_kitchen_with_a_decimal_comma() -> None:
    with written_with("comma"):
        assert read_power("3,5 kW").watts == 3500
        with pytest.raises(Refused) as caught:
            read_power("3.5 kW")
        assert caught.value.code == "decimal-mark"


@each_row(
    "typed", ["800", "W", "0 W", "-3 kW", "9 MW", "600 kW", "3 kg", "3,5 kW", "1e3 W", "3 kW h", ""]
)
def test_what_is_no_power_of_a_kitchens_machine(typed: str) -> None:
    with pytest.raises(Refused) as caught:
        read_power(typed)
    assert caught.value.code == "power-unreadable"
