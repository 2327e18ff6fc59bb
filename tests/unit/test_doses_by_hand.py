"""The arithmetic of a cure's dose and of the room food takes up, by hand."""

from __future__ import annotations

from fractions import Fraction

from generator.rules.basics.product import Component, Product
from generator.rules.cures.dosing import (
    as_ion,
    at_balance,
    on_the_meat,
    taken_up,
    weight_of,
)
from generator.scaling.weights import UnitWeight
from generator.sheet.volumes import bulk_of, room_of

KILO = Fraction(1000)


def test_a_dry_dose_is_nitrite_over_the_meat() -> None:
    """FSIS handbook: 2.5 g of a cure of 6.25 % nitrite on 1 kg are 156.25 ppm."""
    dose = on_the_meat(KILO)
    nitrite = Fraction("2.5") * Fraction("0.0625")
    assert dose.ppm(nitrite) == Fraction("156.25")
    assert dose.grams_at(Fraction("156.25"), Fraction("0.0625"), Fraction("2.5")) == Fraction("2.5")
    # 150 ppm of 1 kg are 0.15 g: 2.4 g of the cure, however much is in it now
    for now in (0, 2, 5):
        found = dose.grams_at(Fraction(150), Fraction("0.0625"), Fraction(now))
        assert found == Fraction("2.4")


def test_a_pumped_dose_is_nitrite_times_pump_over_the_pickle() -> None:
    """Handbook p. 19: 1.2 g nitrite in 1 kg of pickle, pumped to 10 %: 120 ppm."""
    dose = taken_up(5 * KILO, KILO, Fraction(1, 10), True)
    assert dose.ppm(Fraction("1.2")) == 120
    assert ("Pump", "10\u00a0% of green weight") in dose.inputs and dose.rule.endswith(
        "pump ÷ pickle"
    )
    picked = taken_up(5 * KILO, KILO, Fraction(1, 8), False)
    assert picked.ppm(Fraction("1.2")) == 150
    assert (
        "Pick-up",
        "12.5\u00a0% of green weight",
    ) in picked.inputs and "method one" in picked.rule


def test_a_pump_is_reported_to_two_decimals() -> None:
    dose = taken_up(5 * KILO, KILO, Fraction(1, 3), True)
    assert ("Pump", "33.33\u00a0% of green weight") in dose.inputs
    assert ("Pickle", "1000\u00a0g") in dose.inputs


def test_a_dose_at_balance_counts_meat_and_pickle_together() -> None:
    """Handbook p. 22, method two: 0.9 g in 5 kg of meat and 1 kg of pickle: 150 ppm."""
    assert at_balance(5 * KILO, KILO).ppm(Fraction("0.9")) == 150


def test_what_is_put_to_the_pickle_makes_it_heavier() -> None:
    """10 g of cure of 6 % in 1010 g of pickle, pumped to 10 %. For 120 ppm: x × 0.06 × 0.1 ÷ (1000
    + x) = 120 ÷ 1,000,000, so x = 0.12 ÷ (0.006 − 0.00012) = 1000/49 g."""
    dose = taken_up(5 * KILO, 1010 + Fraction(0), Fraction(1, 10), True)
    assert dose.grams_at(Fraction(120), Fraction("0.06"), Fraction(10)) == Fraction(1000, 49)


def test_skin_takes_from_the_green_weight() -> None:
    """A belly whose green weight is nine tenths of what was weighed takes a tenth more a gram: 120
    ÷ 0.9."""
    dose = taken_up(5 * KILO, KILO, Fraction(1, 10), True, Fraction(9, 10))
    assert dose.ppm(Fraction("1.2")) == Fraction(1200, 9)


def test_sodium_nitrite_as_its_ion() -> None:
    """NO₂⁻ is 46.0 of NaNO₂'s 69.0 g/mol: two thirds, 67 % as the trade note rounds it."""
    assert as_ion(Fraction(150)) == Fraction("100.5")


def part(name: str, grams: int, form: str | None = None, room: str | None = None) -> Component:
    held = Fraction(room) if room is not None else None
    return Component(
        name, name, Fraction(grams), "none", "raw", form, False, (), part=f"{name}-part", room=held
    )


def test_parts_are_weighed_by_name() -> None:
    product = Product((part("a", 100), part("b", 50)), Fraction(150))
    assert weight_of(product, frozenset({"a-part"})) == 100 and weight_of(product, frozenset()) == 0


def test_the_lightest_measure_of_a_food_counts() -> None:
    cup, packed = (UnitWeight("cup", "", Fraction(g), Fraction(240), "s") for g in (120, 200))
    assert room_of((cup, packed)) == 2 and room_of(()) is None
    assert room_of((UnitWeight("clove", "", Fraction(3), None, "s"),)) is None


def test_the_room_of_food_by_hand() -> None:
    """A gram without a measure takes up 1.1 ml comminuted or liquid, 2 ml in pieces, 3 ml else."""
    reported = {
        "comminuted": 110,
        "liquid": 110,
        "intact": 200,
        "tenderised": 200,
        "injected": 200,
        None: 300,
    }
    for form, ml in reported.items():
        bulk = bulk_of(Product((part("a", 100, form),), Fraction(100)))
        assert (bulk.ml, bulk.share) == (ml, 1) and bulk.assumed == (("a", Fraction(ml, 100)),)
    measured = bulk_of(Product((part("a", 100, None, "1.5"),), Fraction(100)))
    assert (measured.ml, measured.share, measured.assumed) == (150, 0, ())
    empty = bulk_of(Product())
    assert (empty.ml, empty.share) == (0, 0)


def test_liquid_fills_the_gaps_and_what_was_lost_takes_no_room() -> None:
    """200 g of pieces heap up to 400 ml, their own 220 ml with 100 ml water to 320 ml: 400 ml. With
    300 ml of water it is 520 ml. Cooked down to half its weight it takes up half."""
    pieces, water = part("meat", 200, "intact"), part("water", 100, "liquid", "1")
    assert bulk_of(Product((pieces, water), Fraction(300))).ml == 400
    more = part("water", 300, "liquid", "1")
    both = bulk_of(Product((pieces, more), Fraction(500)))
    assert (both.ml, both.share) == (520, Fraction(2, 5))
    assert bulk_of(Product((pieces, more), Fraction(250))).ml == 260
