"""Weights as weighed, loads, yields, vessels and measures, by hand at their edges."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest
from each_row import each_row

from generator.files.finding import Refused
from generator.measures.amounts import read_amount
from generator.measures.kilos import kilos, small_weight
from generator.measures.marks import Writing, written_with
from generator.measures.units import load_units
from generator.reference.shared_data import installed
from generator.resolve.vessels import volume_ml
from generator.scaling.batch import Figures, factor_for, from_on_hand, yields_at
from generator.scaling.loads import Counted, Loads, Unfit, open_ended, whole_piece_loads
from generator.scaling.scales import (
    ORDINARY,
    STRICT,
    ScaleFacts,
    choose,
    choose_above,
    choose_below,
    too_coarse_words,
)
from generator.scaling.weights import UnitWeight, household, piece_of, to_grams, to_volume
from generator.sheet.manual import Manual
from generator.sheet.size_words import loads_words
from generator.sheet.weighing import water_in

UNITS = load_units(installed())
FINE = ScaleFacts(
    "fine", "Fine", Fraction("0.1"), Fraction("0.1"), Fraction(500), Fraction(0), True
)
"""Half its division and its accuracy: 0.15 g a weighing."""


@each_row(
    ("grams", "most", "each"),
    [
        ("30.06", "40", "30"),  # far from the maximum: down to a step, never up to it
        ("30", "30", "29.8"),  # 29.8 + 0.15 stays within 30; 29.9 + 0.15 doesn't
        ("30", "30.15", "30"),  # just within
        ("30", "30.14", "29.9"),
        ("0.1", "0.1", "0"),  # never below nothing
    ],
)
def test_a_line_with_a_maximum_stays_within_it_with_all_a_weighing_can_be_off(
    grams: str, most: str, each: str
) -> None:
    weighing = choose_below(Fraction(grams), Fraction(most), STRICT, (FINE,))
    assert (weighing.grams, weighing.each, weighing.count) == (Fraction(each), Fraction(each), 1)


@pytest.mark.parametrize(
    ("grams", "least", "each"),
    [
        ("30.01", "20", "30.1"),  # far from the minimum: up to a step, never down to it
        ("30", "30", "30.2"),  # 30.2 − 0.15 is at least 30; 30.1 − 0.15 isn't
        ("30", "29.85", "30"),
        ("30", "29.86", "30.1"),
    ],
)
def test_a_line_with_a_minimum_keeps_to_it_with_all_a_weighing_can_be_off(
    grams: str, least: str, each: str
) -> None:
    weighing = choose_above(Fraction(grams), Fraction(least), STRICT, (FINE,))
    assert (weighing.grams, weighing.each, weighing.count) == (Fraction(each), Fraction(each), 1)


def test_split_weighings_share_a_maximum_and_a_minimum() -> None:
    """1200 g on a scale of 500 g: three of 400 g, each off by 0.15 g at most."""
    below = choose_below(Fraction(1200), Fraction(1200), STRICT, (FINE,))
    assert (below.count, below.each, below.grams) == (3, Fraction("399.8"), Fraction("1199.4"))
    above = choose_above(Fraction(1200), Fraction(1200), STRICT, (FINE,))
    assert (above.count, above.each, above.grams) == (3, Fraction("400.2"), Fraction("1200.6"))


def test_without_a_scale_a_weight_is_reported_in_whole_grams() -> None:
    for weighing in (
        choose(Fraction("12.5"), ORDINARY, ()),
        choose_below(Fraction("12.5"), Fraction(99), ORDINARY, ()),
        choose_above(Fraction("12.5"), Fraction(1), ORDINARY, ()),
    ):
        assert (weighing.grams, weighing.each, weighing.scale) == (13, 13, None)
        assert (weighing.count, weighing.share) == (1, 0)


@each_row(
    ("grams", "needs"),
    [
        # permitted 1 %; a scale's accuracy is its division: 1.5 divisions are the uncertainty
        ("3", "0.02"),  # 0.03 g / 1.5 = 0.02 g
        ("2.9", "0.01"),
        ("7.5", "0.05"),
        ("7.4", "0.02"),
        ("1.5", "0.01"),
        ("14.9", "0.05"),
        ("1.49", "0.005"),
    ],
)
def test_the_division_that_would_do_is_one_two_or_five(grams: str, needs: str) -> None:
    weighing = choose(Fraction(grams), ORDINARY, (FINE,))
    assert weighing.needs == Fraction(needs)


def test_a_scale_too_coarse_says_by_how_much() -> None:
    """0.15 g of 3 g are 5 %."""
    words = too_coarse_words(choose(Fraction(3), ORDINARY, (FINE,)))
    assert words == "Weighs to ±0.15 g, 5 %. Needs one that reads 0.02 g."
    finer = replace(FINE, division=Fraction("0.05"))  # 0.025 + 0.1 g
    assert too_coarse_words(choose(Fraction(3), ORDINARY, (finer,))).startswith(
        "Weighs to ±0.125 g, 4.2 %."
    )


def test_a_scale_is_at_hand_and_in_grams_unless_said_otherwise() -> None:
    assert (FINE.unit, FINE.unit_g, FINE.elsewhere) == ("g", 1, False)
    assert FINE.shows(Fraction("12.3")) == "12.3"
    kilo = replace(FINE, unit="kg", unit_g=Fraction(1000), division=Fraction(5))
    assert kilo.shows(Fraction(1235)) == "1.235"


def test_as_many_weighings_as_the_capacity_takes_up_to_twenty() -> None:
    assert [FINE.weighings(Fraction(g)) for g in (1, 500, 501, 10000)] == [1, 1, 2, 20]
    assert FINE.can(Fraction(10000), STRICT, 20) and not FINE.can(Fraction(10001), STRICT, 20)
    assert FINE.can(Fraction(30), STRICT, 1) and not FINE.can(Fraction("29.9"), STRICT, 1)


# --- loads and yields


def test_a_weight_is_said_in_kilograms_from_one_on_and_in_pounds_from_one_on() -> None:
    """A pound is 453.59237 g, an ounce a sixteenth of it (NIST Handbook 44, appendix C)."""
    said = {
        "999.9": "999.9 g",
        "1000": "1 kg",
        "1250": "1.25 kg",
        "0.25": "0.3 g",
        "12344": "12.34 kg",
        "100000": "100 kg",
    }
    for grams, words in said.items():
        assert kilos(Fraction(grams)) == words.replace(" ", "\u00a0")
    assert small_weight(Fraction("2.1263"), 3) == "2.126 g"
    pound = Fraction("453.59237")
    with written_with(Writing("point", "us")):
        assert kilos(pound) == "1\u00a0lb" and kilos(pound * Fraction("2.25")) == "2.25\u00a0lb"
        assert kilos(pound / 16 * 15) == "15\u00a0oz"
        assert small_weight(pound / 32, 3) == "0.5 oz"


def shared_out(counted: Counted, *machine: Any) -> Loads:
    found = whole_piece_loads(counted, *machine, "Oven")
    assert isinstance(found, Loads)
    return found


@each_row(
    ("loads", "words"),
    [
        (Loads(1, Fraction(4000)), "4 kg"),
        (Loads(2, Fraction(4000)), "2 loads of 4 kg"),
        (Loads(1, Fraction(800), (10,), called=("roll", "rolls")), "10 rolls"),
        (Loads(2, Fraction(800), (10, 10), called=("roll", "rolls")), "2 loads of 10 rolls"),
        (Loads(2, Fraction(800), (10, 9), called=("roll", "rolls")), "2 loads: 10, 9 rolls"),
    ],
)
def test_loads_in_words(loads: Loads, words: str) -> None:
    assert loads_words(loads).replace("\u202f", " ").replace("\u00a0", " ") == words


def test_salt_has_no_water_and_what_is_only_salty_is_not_known(clean: Manual) -> None:
    assert clean.standards is not None and clean.house is not None
    salt = clean.standards.ingredients["salt"]
    for share, water in ((Fraction(1), 0), (Fraction(99, 100), None), (Fraction(0), None)):
        assert water_in(clean.house.library, salt, share) == water


def test_whole_fills_are_shared_out_as_evenly_as_they_come() -> None:
    kilo = Fraction(1000)
    for pieces, most, shares in (
        (7, 3000, (3, 2, 2)),
        (6, 3000, (3, 3)),
        (4, 3000, (2, 2)),
        (3, 3000, (3,)),
        (1, 1000, (1,)),
    ):
        loads = shared_out(Counted(pieces, kilo), Fraction(most), None, None)
        assert (loads.pieces, loads.count) == (shares, len(shares))
        assert loads.grams == 1000 * shares[0] and loads.alike == (len(set(shares)) == 1)
    assert shared_out(Counted(5, Fraction(900)), None, None, None).grams == 4500
    none = shared_out(Counted(0, Fraction(900)), kilo, None, None)
    assert (none.count, none.grams, none.pieces) == (1, 0, (0,))
    assert isinstance(
        whole_piece_loads(Counted(1, Fraction(1001)), kilo, None, None, "Oven"), Unfit
    )


def test_what_fills_no_whole_one_goes_in_the_last_load() -> None:
    """4 hams of 5 kg and 2 kg over, two at a time: 2, 2 and the rest; three at a time: 3, and 1
    with the rest. Never a fifth ham."""
    hams = Counted(4, Fraction(5000), Fraction(2000))
    two = shared_out(hams, Fraction(10_000), None, None)
    assert (two.pieces, two.rest, two.grams, two.alike) == ((2, 2, 0), True, 10_000, False)
    three = shared_out(hams, Fraction(15_000), None, None)
    assert (three.pieces, three.grams) == ((3, 1), 15_000)
    one = shared_out(hams, None, None, None)
    assert (one.pieces, one.rest, one.grams, one.alike) == ((4,), True, 22_000, True)


def test_places_count_beside_weight() -> None:
    """40 steaks of 200 g: the bath takes 5 kg, 25 of them, but has 12 places: four runs of 10."""
    runs = shared_out(Counted(40, Fraction(200)), Fraction(5000), None, 12)
    assert (runs.count, runs.pieces) == (4, (10, 10, 10, 10))


def test_the_least_counts_for_each_load_in_whole_pieces() -> None:
    """Terrines of 1200 g, at least 6 kg: five. Seven in an oven of six: 4 and 3, 3.6 kg. Ten, or
    six at most."""
    oven = (Fraction(7200), Fraction(6000), None, "Oven")
    unfit = whole_piece_loads(Counted(7, Fraction(1200)), *oven)
    assert isinstance(unfit, Unfit) and (unfit.more, unfit.less) == (10, 6)
    # ten are two loads of five; thirteen would be 5, 4 and 4, of six places; with nine 5, 5 and 4
    assert not open_ended(2, Fraction(1200), Fraction(7200), Fraction(6000), None)
    assert open_ended(2, Fraction(1200), Fraction(9600), Fraction(6000), None)
    assert open_ended(1, Fraction(1200), None, Fraction(6000), None)
    small = whole_piece_loads(Counted(3, Fraction(1200)), *oven)
    assert isinstance(small, Unfit) and (small.more, small.less) == (5, None)


FIGURES = Figures(
    Fraction(1000),
    Fraction(1500),
    Fraction(1200),
    Fraction(1000),
    fill=Fraction(400),
    per_fill=8,
    sliced=Fraction(9, 10),
)
"""1500 g weighed, 1200 g filled into three tins, 1000 g after baking, a tenth of it ends."""


def test_a_batch_of_tins_by_hand() -> None:
    made = yields_at(Fraction(5, 2), FIGURES)
    assert (made.base_g, made.total_g, made.filled_g, made.finished_g) == (2500, 3750, 3000, 2500)
    assert (made.yield_g, made.ends_g, made.yield_share) == (2250, 250, Fraction(3, 5))
    assert (made.fills, made.rest_g, made.portions) == (7, 200, 56)  # 7.5 tins
    assert made.portion_g == Fraction(2250) / Fraction("7.5") / 8 == Fraction("37.5")
    assert made.over_portions_g == 150  # 2250 − 56 × 37.5
    sizes = {"base": 2500, "total": 3750, "yield": 2250}
    assert {factor_for(k, Fraction(v), FIGURES) for k, v in sizes.items()} == {Fraction(5, 2)}
    assert factor_for("fills", Fraction(6), FIGURES) == 2
    assert factor_for("portions", Fraction(48), FIGURES) == 2  # six tins
    assert factor_for("portions", Fraction(49), FIGURES) == Fraction(7, 3)  # seven


@each_row(
    ("total", "portions", "over"),
    [
        ("1000", 10, 0),
        ("1000.9", 10, 0),
        ("1001", 10, 1),
        ("1099", 10, 99),
        ("1100", 11, 0),
        ("99", 0, 99),
    ],
)
def test_what_is_left_after_the_last_whole_portion(total: str, portions: int, over: int) -> None:
    """Portions of 100 g; crumbs below a gram are none."""
    grams = Fraction(total)
    made = yields_at(Fraction(1), Figures(grams, grams, None, grams, portion=Fraction(100)))
    assert (made.portions, made.over_portions_g, made.fills) == (portions, over, None)


def test_a_batch_is_ten_thousand_times_its_formula_at_most() -> None:
    assert factor_for("base", Fraction(10_000_000), FIGURES) == 10_000
    with pytest.raises(Refused) as refused:
        factor_for("base", Fraction(10_000_001), FIGURES)
    assert refused.value.code == "size-too-large"
    flour = {"flour": Fraction(1)}
    assert from_on_hand({"flour": Fraction(10_000)}, flour, {}).factor == 10_000
    with pytest.raises(Refused):
        from_on_hand({"flour": Fraction(10_001)}, flour, {})


def test_portions_are_whole() -> None:
    with pytest.raises(Refused) as refused:
        factor_for("portions", Fraction(1, 2), FIGURES)
    assert refused.value.code == "portions-whole"


def test_what_is_on_hand_by_hand() -> None:
    """1 kg of onions, a fifth trimmed off, give 800 g: twice the 400 g needed. Of 900 g flour 600 g
    go in."""
    made = from_on_hand(
        {"onion": Fraction(1000), "flour": Fraction(900), "leek": Fraction(1000)},
        {"onion": Fraction(400), "flour": Fraction(300), "leek": Fraction(250)},
        {"onion": Fraction(1, 5), "leek": Fraction(1, 2)},
    )
    assert (made.factor, made.binding) == (2, "leek")
    assert made.leftover == {"onion": 0, "flour": 300}
    for none in (0, -1):
        with pytest.raises(Refused) as refused:
            from_on_hand({"flour": Fraction(none)}, {"flour": Fraction(1)}, {})
        assert refused.value.code == "amount-zero"


# --- vessels and measures


def test_a_box_and_a_cylinder_hold_what_geometry_says() -> None:
    """20 × 30 × 10 cm are 6 l; a pot of 20 cm by 10 cm π l, a casing of 10 cm by 40 cm π l."""
    two, three, one = Fraction(200), Fraction(300), Fraction(100)
    assert volume_ml("box", None, three, two, one) == 6000
    for volume in (
        volume_ml("cylinder", two, None, None, one),
        volume_ml("casing", one, Fraction(400), None, None),
    ):
        assert volume is not None and float(volume) == pytest.approx(3141.592653589793)
    assert volume_ml("box", None, three, None, one) is None
    assert volume_ml("box", None, three, two, Fraction(-1)) == 0


CUP, TBSP, TSP = (UNITS.by_name[n].factor for n in ("cup", "tbsp", "tsp"))
FLOUR = (
    UnitWeight("cup", "", Fraction(120), CUP, "s"),
    UnitWeight("tbsp", "", Fraction("7.5"), TBSP, "s"),
    UnitWeight("tsp", "", Fraction("2.5"), TSP, "s"),
    UnitWeight("clove", "", Fraction(3), None, "s"),
    UnitWeight("leaf", "", Fraction(2), None, "s"),
    UnitWeight("berry", "", Fraction(4), None, "s"),
)


def reported(grams: str, typed: str, weights: tuple[UnitWeight, ...] = FLOUR) -> str:
    _, words = household(Fraction(grams), read_amount(typed, UNITS), weights, UNITS)
    return words.replace("\u00a0", " ")


def test_a_weight_is_reported_in_the_measure_a_cook_would_take() -> None:
    assert [reported(g, "1 g") for g in ("30", "1920", "1921")] == [
        "about ¼ cup",
        "about 16 cup",
        "",
    ]
    assert [reported(g, "1 g") for g in ("29.9", "7.5")] == ["about 4 tbsp", "about 1 tbsp"]
    assert reported("7.4", "1 g") == "about 3 tsp"
    assert reported("0.3125", "1 g") == "about ⅛ tsp" and reported("0.312", "1 g") == ""
    spoons = tuple(w for w in FLOUR if w.word != "cup")
    assert reported("60", "1 g", spoons) == "about 8 tbsp" and reported("60.1", "1 g", spoons) == ""
    small = tuple(w for w in FLOUR if w.word == "tsp")
    assert reported("15", "1 g", small) == "about 6 tsp" and reported("15.1", "1 g", small) == ""


def test_a_count_and_a_volume_are_reported_as_typed() -> None:
    assert (
        reported("12", "2 cloves") == "about 4 cloves"
        and reported("3", "2 cloves") == "about 1 clove"
    )
    assert [reported(g, "2 cloves") for g in ("1", "1.5", "2.2", "0.4", "0.3")] == [
        "about ⅓ clove",
        "about ½ clove",
        "about ¾ clove",
        "about ¼ clove",
        "less than ¼",
    ]
    assert [reported(g, "2 cloves") for g in ("4", "4.5", "13", "14", "14.9", "16", "351")] == [
        "about 1½ cloves",
        "about 1½ cloves",
        "about 4½ cloves",
        "about 4½ cloves",
        "about 5 cloves",
        "about 5 cloves",
        "about 117 cloves",
    ]
    assert reported("240", "1 cup") == "about 2 cup"
    assert reported("1", "3 acorns") == "" and reported("240", "1 cup", ()) == ""
    water = (UnitWeight("ml", "", Fraction(1), Fraction(1), "s"),)
    assert reported("354.88", "1 ml", water) == "about 350 ml"
    assert reported("1540", "1 ml", water) == "about 1.5 l"


def test_volumes_and_counts_become_grams_by_hand() -> None:
    def grams(text: str, weights: tuple[UnitWeight, ...] = FLOUR) -> Fraction:
        return to_grams(read_amount(text, UNITS), weights, "Flour").grams

    assert grams("2 kg") == 2000 and to_grams(read_amount("2 kg", UNITS), FLOUR, "x").exact
    assert grams("3 cup") == 360 and grams("1 tbsp") == Fraction("7.5")
    assert grams("4 cloves") == 12 and grams("3 leaves") == 6 and grams("2 berries") == 8
    assert grams("1 pt") == 240  # two cups (NIST Handbook 44), by the measure nearest in size
    for measured in ("3 cup", "4 cloves"):  # by what somebody weighed once
        assert not to_grams(read_amount(measured, UNITS), FLOUR, "x").exact
    with pytest.raises(Refused):
        grams("2 heads")
    with pytest.raises(Refused):
        grams("1 cup packed")


def test_the_measure_nearest_in_size_weighs_a_volume_that_has_none_of_its_own() -> None:
    """A pint is two cups and half a quart: a cup is off from it by half of it, a quart by all of
    it."""
    quart, ml = UNITS.by_name["qt"].factor, CUP
    cup = UnitWeight("cup", "", Fraction(100), ml, "s")
    other = UnitWeight("qt", "", Fraction(500), quart, "s")
    for weights in ((cup, other), (other, cup)):
        assert to_grams(read_amount("1 pt", UNITS), weights, "x").grams == 200


def test_a_plural_that_ends_in_es_is_the_piece_it_is_made_of() -> None:
    pieces = tuple(
        UnitWeight(w, "", Fraction(n), None, "s")
        for n, w in enumerate(("tomato", "loaf", "cherry", "olive", "egg"), 1)
    )
    for word, n in (("tomatoes", 1), ("loaves", 2), ("cherries", 3), ("olives", 4), ("eggs", 5)):
        found = piece_of(word, pieces)
        assert found is not None and found.grams == n
    with pytest.raises(Refused) as refused:
        to_grams(read_amount("2 heads", UNITS), pieces, "Lettuce")
    assert "`head`" in refused.value.help


def test_grams_become_a_volume_by_the_measure_asked_for_else_the_largest() -> None:
    denser = (*FLOUR[:1], replace(FLOUR[1], grams=Fraction(15)))
    by_spoon = to_volume(Fraction(30), denser, "tbsp")
    by_cup = to_volume(Fraction(30), denser, "qt")
    assert by_spoon is not None and by_spoon[0] == 2 * TBSP
    assert by_cup is not None and by_cup[0] == CUP / 4
    assert to_volume(Fraction(30), denser, "cup", "packed") is None


def test_a_piece_is_found_by_its_singular_and_a_measure_is_no_piece() -> None:
    assert [piece_of(w, FLOUR) for w in ("leaves", "berries", "clove")] == [
        FLOUR[4],
        FLOUR[5],
        FLOUR[3],
    ]
    assert piece_of("cup", FLOUR) is None and piece_of("head", FLOUR) is None


def test_whose_measure_it_is_is_said() -> None:
    assert UnitWeight("cup", "packed", Fraction(1), CUP, "s", "us").label == "US cup packed"
    assert UnitWeight("cup", "", Fraction(1), CUP, "s", "metric").label == "metric cup"
    assert UnitWeight("cup", "", Fraction(1), CUP, "s").label == "cup"
