"""Scaling: batch sizes, loads, scales. By hand, and by property."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from conftest import compute, edit
from each_row import each_row
from hypothesis import assume, given
from hypothesis import strategies as st

from generator.answers.batch import batch_text
from generator.files.finding import Refused
from generator.measures.words import plain
from generator.pages.formula import formula_pages
from generator.records.formula import Size
from generator.scaling.batch import Figures, factor_for, from_on_hand, yields_at
from generator.scaling.loads import (
    Counted,
    Loads,
    Unfit,
    equal_loads,
    taken_on,
    whole_piece_loads,
)
from generator.scaling.scales import ORDINARY, STRICT, ScaleFacts, choose
from generator.sheet.manual import Manual
from generator.sheet.sheet import Batch, make_batch

grams = st.fractions(min_value="0.5", max_value=200_000, max_denominator=1000)

PLATFORM = ScaleFacts(
    "platform", "Platform", Fraction(5), Fraction(5), Fraction(30000), Fraction(0), True
)
BENCH = ScaleFacts("bench", "Bench", Fraction(1), Fraction(1), Fraction(5000), Fraction(20), True)
FINE = ScaleFacts(
    "fine", "Fine", Fraction(1, 10), Fraction(1, 10), Fraction(500), Fraction(0), True
)
HOUSE = (PLATFORM, BENCH, FINE)


@each_row(
    ("weight", "permitted", "scale", "shown", "share"),
    [
        # uncertainty = half the division + accuracy: 7.5 g, 1.5 g, 0.15 g
        (3192, ORDINARY, "platform", "3190", Fraction(75, 31920)),
        (700, ORDINARY, "bench", "700", Fraction(15, 7000)),
        (151, ORDINARY, "bench", "151", Fraction(15, 1510)),
        (149, ORDINARY, "fine", "149.0", Fraction(15, 14900)),
        (299, STRICT, "fine", "299.0", Fraction(15, 29900)),
        (301, STRICT, "bench", "301", Fraction(15, 3010)),
    ],
)
def test_the_coarsest_scale_that_is_good_enough(
    weight: int, permitted: Fraction, scale: str, shown: str, share: Fraction
) -> None:
    """Worked by hand from the rule: permitted 1 %, and 0.5 % for salt, cure and gelling agents."""
    weighing = choose(Fraction(weight), permitted, HOUSE)
    assert weighing.scale is not None
    assert (weighing.scale.id, weighing.scale.shows(weighing.grams)) == (scale, shown)
    assert weighing.share == share
    assert weighing.needs is None


def test_no_scale_is_good_enough() -> None:
    """4.5 g at 0.15 g is 3.3 %; 1 % is 0.045 g, and (½ + 1) × 0.03 g is the capacity: 0.02 g."""
    weighing = choose(Fraction("4.5"), ORDINARY, HOUSE)
    assert weighing.scale is FINE
    assert weighing.share == Fraction(15, 450)
    assert weighing.needs == Fraction("0.02")


def test_another_stations_scale_comes_last() -> None:
    """3192 g by 1 %: the platform scale would do, but it is elsewhere; the bench scale is here.
    What no scale nearby can do is still taken there."""
    far = replace(PLATFORM, here=False, elsewhere=True)
    assert choose(Fraction(3192), ORDINARY, (far, BENCH, FINE)).scale is BENCH
    assert choose(Fraction(3192), ORDINARY, (far,)).scale is far
    assert choose(Fraction(3192), ORDINARY, HOUSE).scale is PLATFORM


def test_weighing_is_split_when_the_scale_is_too_small() -> None:
    """1200 g by 0.5 % on the fine scale alone: three weighings of 400 g, 0.45 g in all."""
    weighing = choose(Fraction(1200), STRICT, (FINE,))
    assert (weighing.count, weighing.each, weighing.grams) == (3, 400, 1200)
    assert weighing.share == Fraction(45, 120000)


def test_a_scale_in_ounces_shows_ounces() -> None:
    ounce = Fraction("28.349523125")
    scale = ScaleFacts(
        "oz", "Ounces", ounce / 8, ounce / 8, ounce * 160, Fraction(0), True, "oz", ounce
    )
    weighing = choose(ounce * 35, ORDINARY, (scale,))
    assert scale.shows(weighing.grams) == "35.000"


@given(grams, st.sampled_from([ORDINARY, STRICT]))
def test_a_chosen_scale_is_within_what_is_permitted_or_flagged(
    weight: Fraction, permitted: Fraction
) -> None:
    weighing = choose(weight, permitted, HOUSE)
    assert weighing.scale is not None
    if weighing.needs is None:
        assert weighing.share <= permitted
        assert weight / weighing.count >= weighing.scale.least
    else:
        assert weighing.scale is FINE
        assert all(not s.can(weight, permitted, 20) for s in HOUSE), (
            "flagged only if no scale in the house can do it"
        )
    assert weight / weighing.count <= weighing.scale.capacity
    assert abs(weighing.grams - weight) <= weighing.count * weighing.scale.division / 2


@given(
    grams,
    st.fractions(min_value=100, max_value=20000, max_denominator=10),
    st.fractions(0, 1, max_denominator=50),
)
def test_loads_are_equal_and_within_the_machine(
    total: Fraction, most: Fraction, low: Fraction
) -> None:
    least = most * low
    loads = equal_loads(total, most, least, "Mixer")
    if isinstance(loads, Unfit):
        counts = range(1, int(total / most) + 3)
        assert not any(least <= total / n <= most for n in counts), (
            "refused only if no equal share fits"
        )
        for other in (loads.more, loads.less):
            again = equal_loads(other, most, least, "Mixer") if other else Loads(1, most)
            assert isinstance(again, Loads), "what is proposed is taken"
        return
    assert loads.count * loads.grams == total
    assert least <= loads.grams <= most


@given(
    st.integers(1, 400),
    st.integers(1, 60),
    st.integers(0, 60),
    st.one_of(st.none(), st.integers(1, 60)),
    st.fractions(0, 1, max_denominator=9),
)
def test_whole_fills_go_into_loads(
    whole: int, capacity: int, need: int, places: int | None, part: Fraction
) -> None:
    """Property: no load is over the machine's most or its places, or under its least; what is
    proposed instead is taken. Pieces of 700 g, the last filled in part."""
    each = Fraction(700)
    counted = Counted(whole, each, each * part if part < 1 else Fraction(0))
    machine = (each * capacity, each * need, places, "Kettle")
    loads = whole_piece_loads(counted, *machine)
    if isinstance(loads, Unfit):
        assert loads.code == "load-below-minimum"
        for other in (loads.more, loads.less):
            if other is not None:
                assert isinstance(whole_piece_loads(Counted(int(other), each), *machine), Loads)
        return
    assert sum(loads.pieces) == whole and loads.count == len(loads.pieces)
    weights = [n * each for n in loads.pieces]
    weights[-1] += counted.rest
    assert loads.grams == max(weights) <= each * capacity and min(weights) >= each * need
    shares = [*loads.pieces[:-1], loads.pieces[-1] + (1 if loads.rest else 0)]
    assert max(shares) <= (places or capacity) and max(shares) - min(shares) <= 1


@pytest.mark.parametrize(("least", "pieces"), [(1000, (10,)), (1001, None)])
def test_a_whole_load_that_is_taken_on_weighs_all_its_pieces(
    least: int, pieces: tuple[int, ...] | None
) -> None:
    """Ten legs of 100 g are 1 kg: a machine that needs 1 kg takes them, one that needs more
    doesn't."""
    takes = (None, Fraction(least), 12)
    found = taken_on(Counted(10, Fraction(100)), Fraction(1000), 1, takes, ("leg", "legs"))
    assert (found and found.pieces) == pieces


def test_a_fill_too_heavy_for_the_machine_is_refused() -> None:
    unfit = whole_piece_loads(Counted(3, Fraction(900)), Fraction(800), None, None, "Steamer")
    assert isinstance(unfit, Unfit) and unfit.code == "load-above-maximum"


ROLL = Figures(
    Fraction(3000),
    Fraction(4000),
    Fraction(3900),
    Fraction(3510),
    Fraction(650),
    None,
    16,
    Fraction(9, 10),
)


def test_factors_by_hand() -> None:
    """Fills: 3900/650 = 6 at factor 1. Portions: 40 slices need 3 fills of 16. Yield: 3510 ×
    0.9."""
    assert factor_for("base", Fraction(6000), ROLL) == 2
    assert factor_for("total", Fraction(1000), ROLL) == Fraction(1, 4)
    assert factor_for("fills", Fraction(9), ROLL) == Fraction(3, 2)
    assert factor_for("portions", Fraction(40), ROLL) == Fraction(1, 2)
    assert factor_for("yield", Fraction(3159), ROLL) == 1
    yields = yields_at(Fraction(1, 2), ROLL)
    assert (yields.fills, yields.portions, yields.yield_g) == (3, 48, Fraction(3159, 2))
    assert yields.ends_g == Fraction(351, 2)


@given(st.integers(1, 5000))
def test_portions_asked_for_are_portions_made(count: int) -> None:
    by_slice = yields_at(factor_for("portions", Fraction(count), ROLL), ROLL)
    assert by_slice.portions is not None and by_slice.portions >= count
    by_weight = Figures(Fraction(7), Fraction(11), None, Fraction(10), None, Fraction(3))
    assert (
        yields_at(factor_for("portions", Fraction(count), by_weight), by_weight).portions == count
    )


@given(st.fractions(min_value="0.01", max_value=900, max_denominator=997))
def test_fills_and_portions_are_never_overstated(factor: Fraction) -> None:
    yields = yields_at(factor, ROLL)
    assert yields.fills is not None and yields.filled_g is not None
    assert yields.fills * 650 + yields.rest_g == yields.filled_g
    assert 0 <= yields.rest_g < 650


@given(
    st.dictionaries(st.sampled_from("abcde"), grams, min_size=1),
    st.dictionaries(st.sampled_from("abcde"), grams, min_size=5, max_size=5),
    st.dictionaries(st.sampled_from("abcde"), st.fractions(0, "0.9", max_denominator=20)),
)
def test_on_hand_never_uses_more_than_there_is(
    have: dict[str, Fraction], needs: dict[str, Fraction], trims: dict[str, Fraction]
) -> None:
    assume(set(have) <= set(needs))
    try:
        found = from_on_hand(have, needs, trims)
    except Refused as refused:
        assert refused.code == "size-too-large"
        return
    used = {i: needs[i] * found.factor / (1 - trims.get(i, Fraction(0))) for i in have}
    assert used[found.binding] == have[found.binding]
    for item, left in found.leftover.items():
        assert left >= 0
        assert used[item] + left == have[item]


@pytest.mark.parametrize("value", ["0", "-3"])
def test_a_size_is_above_zero(value: str) -> None:
    with pytest.raises(Refused):
        factor_for("total", Fraction(value), ROLL)


def _batch(manual: Manual, formula: str, kind: str, value: Fraction) -> Batch:
    return make_batch(manual.sheets[formula].house, manual.walks[formula], Size(kind, value))  # type: ignore[arg-type]


@given(st.fractions(min_value=1500, max_value=9_900, max_denominator=100))
def test_scaling_a_kitchens_formula_is_linear_and_adds_up(clean: Manual, raw: Fraction) -> None:
    """Property: exact weights scale in a straight line, add up to what was asked, and the rounded
    ones lie within half a division for every weighing."""
    one, two = (
        _batch(clean, "pork-bake", "total", raw),
        _batch(clean, "pork-bake", "total", 2 * raw),
    )
    assert sum(ln.exact_g for ln in one.lines) == raw
    for a, b in zip(one.lines, two.lines, strict=True):
        assert b.exact_g == 2 * a.exact_g
    slack = sum(
        ln.loads * ln.weighing.count * ln.weighing.scale.division / 2
        for ln in one.lines
        if ln.weighing.scale
    )
    assert abs(sum(ln.weigh_g for ln in one.lines) - raw) <= slack
    mixer = next(s for s in one.step_loads if s.equipment == "bowl-mixer")
    assert 500 <= mixer.loads.grams <= 4000


def test_the_demo_roll_by_hand(demo: Manual) -> None:
    """Worked by hand from the formula: 8 rolls of 720 g, 1 % lost of the mince at the grinder and
    1 % of all in the mixer, 5 % cooking, 20 slices of 8 mm between ends of 10 mm from 180 mm."""
    batch = _batch(demo, "turkey-chive-roll", "fills", Fraction(8))
    assert batch.yields.filled_g == 5760
    assert batch.yields.finished_g == 5472
    assert batch.yields.yield_g == Fraction(5472 * 160, 180)
    assert batch.yields.portions == 160
    weights = {ln.line.joined.item: plain(ln.exact_g, 2, grouped=False) for ln in batch.lines}
    assert weights["turkey-thigh"] == "3192.14"
    assert weights["turkey-breast"] == "1596.07"
    assert weights["egg-white"] == "316.02"
    assert weights["salt-fine"] == "76.61"
    assert batch.yields.total_g == sum(ln.exact_g for ln in batch.lines)


def test_a_size_below_the_mixers_least_is_refused_in_words(clean: Manual) -> None:
    with pytest.raises(Refused) as refused:
        _batch(clean, "pork-bake", "total", Fraction(300))
    assert "Bowl mixer" in refused.value.message


def with_a_wash(kitchen: Path, more: str = "") -> None:
    """The bake brushed with cream behind its mixer; ``more`` are other parts of it."""
    brush = "  - do: brush\n    add: [wash]\n  - do: chill"
    edit(kitchen, "processes/baked.yaml", "  - do: chill", brush)
    parts = f"  wash:\n    cream: 300 g\n{more}process: baked"
    edit(kitchen, "formulas/pork-bake.yaml", "process: baked", parts)


def test_lines_taken_in_after_the_loads_are_weighed_once(kitchen: Path) -> None:
    with_a_wash(kitchen)
    manual = compute(kitchen)
    batch = manual.sheets["pork-bake"].batches[1]
    assert batch.loads.count == 2
    assert [ln.line.joined.part for ln in batch.whole()] == ["wash"]
    assert all(ln.loads == 2 for ln in batch.per_load())
    assert [(g.loads, g.leads) for g in batch.groups()] == [(2, True), (1, False)]


def test_what_is_weighed_follows_the_steps(kitchen: Path) -> None:
    """Two sauces of which the first is taken in before the bowl's meat, the other behind it: once,
    in two loads, once again, though the formula lists its parts otherwise."""
    edit(
        kitchen,
        "processes/baked.yaml",
        "parts: [meat, bind, seasoning]\nsteps:\n",
        "steps:\n  - do: whip\n    add: [first]\n    time: 1 min\n    with: pan\n",
    )
    with_a_wash(kitchen, "  first:\n    cream: 200 g\n")
    edit(
        kitchen,
        "equipment/house.yaml",
        "dish: {",
        "pan: {kind: pot, name: Pan, capacity: 1 kg}\ndish: {",
    )
    manual = compute(kitchen)
    assert not manual.errors, manual.errors
    batch = manual.sheets["pork-bake"].batches[1]
    groups = [(g.loads, sorted({ln.part for ln in g.lines})) for g in batch.groups()]
    assert groups[0] == (1, ["first"]) and groups[-1] == (1, ["wash"])
    assert groups[1][0] == 2 and "meat" in groups[1][1]
    text = batch_text(manual.sheets["pork-bake"], batch)
    heads = [text.index(words) for words in ("  first\n", "  meat\n", "  wash\n")]
    assert heads == sorted(heads) and text.count("For the whole batch") == 2
    page = " ".join(str(p.html) for p in formula_pages(manual) if "pork-bake" in p.uri)
    places = [page.rindex(f"<h3>{part}</h3>") for part in ("First", "Meat", "Wash")]
    assert places == sorted(places)


def _scale(name: str, division: str, capacity: int, here: bool, least: int = 0) -> ScaleFacts:
    step = Fraction(division)
    return ScaleFacts(name, name, step, step, Fraction(capacity), Fraction(least), here)


@each_row(
    ("weight", "scale", "count"),
    [
        # 1 %: the 5 g scale needs 750 g, the 1 g scale 150 g, the 0.1 g scale 15 g
        (2000, "bench", 1),  # the station's own, though a coarser one in the house would do
        (150, "bench", 1),
        (149, "far-fine", 1),  # none at the station is fine enough
        (6000, "far-platform", 1),  # whole in the house before split at the station
        (31000, "bench", 7),  # split at the station before split in the house: 31000/5000
        (19, "far-fine", 1),
    ],
)
def test_the_stations_scale_first_then_the_houses(weight: int, scale: str, count: int) -> None:
    """Worked by hand; the platform of the house holds 30 kg, the bench scale 5 kg."""
    scales = (
        _scale("far-platform", "5", 30000, here=False),
        _scale("bench", "1", 5000, here=True, least=20),
        _scale("far-fine", "0.1", 500, here=False),
    )
    weighing = choose(Fraction(weight), ORDINARY, scales)
    assert weighing.scale is not None
    assert (weighing.scale.id, weighing.count, weighing.needs) == (scale, count, None)


def test_a_scale_is_not_used_below_its_least_load() -> None:
    """400 g would be within 1 % on either; the coarser one starts at 500 g."""
    coarse, fine = _scale("coarse", "2", 5000, True, least=500), _scale("fine", "1", 5000, True)
    assert choose(Fraction(500), ORDINARY, (coarse, fine)).scale is coarse
    assert choose(Fraction(499), ORDINARY, (coarse, fine)).scale is fine


def test_a_container_on_the_scale_takes_from_its_capacity(kitchen: Path) -> None:
    """5 kg less a bowl of 2.2 kg leaves 2.8 kg for the 3 kg of meat: the platform scale weighs
    it."""
    edit(kitchen, "equipment/house.yaml", "capacity: 5 kg", "capacity: 5 kg, station: range")
    weighed = {
        ln.line.joined.item: ln.weighing
        for ln in compute(kitchen).sheets["pork-bake"].batches[0].lines
    }
    assert weighed["pork-shoulder"].scale.id == "bench-scale"  # type: ignore[union-attr]
    edit(kitchen, "equipment/house.yaml", "capacity: 5 kg,", "capacity: 5 kg, tare: 2.2 kg,")
    weighed = {
        ln.line.joined.item: ln.weighing
        for ln in compute(kitchen).sheets["pork-bake"].batches[0].lines
    }
    assert weighed["pork-shoulder"].grams > 2800
    assert weighed["pork-shoulder"].scale.id == "platform-scale"  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("total", "count", "each"),
    [("4000", 1, "4000"), ("4000.1", 2, "2000.05"), ("12000", 3, "4000"), ("500", 1, "500")],
)
def test_loads_by_hand(total: str, count: int, each: str) -> None:
    """A mixer from 500 g to 4 kg."""
    loads = equal_loads(Fraction(total), Fraction(4000), Fraction(500), "Mixer")
    assert isinstance(loads, Loads)
    assert (loads.count, loads.grams) == (count, Fraction(each))


@pytest.mark.parametrize(
    ("total", "least", "sizes"),
    [
        (3999, 4000, (4000, None)),
        (4200, 2500, (5000, 4000)),
    ],
)
def test_a_load_too_small_says_what_would_do(
    total: int, least: int, sizes: tuple[int, int | None]
) -> None:
    """4.2 kg in a mixer of 4 kg is two loads of 2.1 kg; with 2.5 kg the least, 5 kg or 4 kg do."""
    unfit = equal_loads(Fraction(total), Fraction(4000), Fraction(least), "Mixer")
    assert isinstance(unfit, Unfit) and unfit.code == "load-below-minimum"
    assert (unfit.more, unfit.less) == sizes


def test_whole_fills_by_hand() -> None:
    """7 tins of 900 g in an oven of 2 kg: two at a time, four loads, the last of one."""
    loads = whole_piece_loads(Counted(7, Fraction(900)), Fraction(2000), None, None, "Oven")
    assert isinstance(loads, Loads)
    assert (loads.count, loads.pieces, loads.grams) == (4, (2, 2, 2, 1), 1800)


@given(st.fractions(min_value=1, max_value=100, max_denominator=50), grams, grams)
def test_a_factor_asked_for_comes_back(times: Fraction, base: Fraction, extra: Fraction) -> None:
    """Property: a batch asked for by any figure has that figure."""
    figures = Figures(
        base,
        base + extra,
        base,
        base * Fraction(9, 10),
        base / 7,
        base / 50,
        None,
        Fraction(19, 20),
    )
    for kind, at_one in (("base", base), ("total", base + extra), ("yield", figures.yielded)):
        assert factor_for(kind, at_one * times, figures) == times
    fills = int(times) + 1
    assert yields_at(factor_for("fills", Fraction(fills), figures), figures).fills == fills


@given(st.fractions(min_value=Fraction(1, 3), max_value=20, max_denominator=60))
def test_a_kitchens_loads_stay_within_its_machines(clean: Manual, times: Fraction) -> None:
    """Property: whatever the size, each load is within most and least, or the size is refused in
    words."""
    try:
        batch = _batch(clean, "pork-bake", "base", 3000 * times)
    except Refused as refused:
        assert refused.code in ("load-below-minimum", "load-above-maximum", "runs-wait-too-long")
        return
    mixer = next(s for s in batch.step_loads if s.equipment == "bowl-mixer")
    oven = next(s for s in batch.step_loads if s.equipment == "range-oven")
    assert 500 <= mixer.loads.grams <= 4000
    assert oven.loads.grams <= 20_000
    assert batch.yields.fills is not None and batch.yields.portions is not None
    assert batch.yields.fills * 900 <= (batch.yields.filled_g or 0)
    assert batch.yields.portions * 150 <= batch.yields.yield_g


def test_as_needed_counts_its_usual_amount_and_is_never_too_coarse(kitchen: Path) -> None:
    edit(
        kitchen,
        "formulas/rice-salad.yaml",
        "salt: 1 %",
        "salt: 1 %\n    nutmeg: {amount: as needed, usual: 2 g}",
    )
    manual = compute(kitchen)
    assert [f.code for f in manual.findings] == []
    batch = manual.sheets["rice-salad"].batches[0]
    line = next(ln for ln in batch.lines if ln.line.joined.item == "nutmeg")
    assert line.exact_g == 2 * batch.factor
    assert batch.yields.total_g == sum(ln.exact_g for ln in batch.lines)
