"""What ferments though no step says so, raw flour, infant formula, garlic's papers and hot food that
cold food cools: each with what is safe beside it. The sources are named at each rule."""

from __future__ import annotations

import random
from fractions import Fraction
from pathlib import Path

import pytest
from conftest import compute
from test_made_wet import codes, put

from generator.rules.cold.mixed_cold import balance

SHELF = """\
tap: {name: Tap water, species: none, state: ready-to-eat, form: liquid, allergens: none, tcs: no}
sweet: {name: Sugar, foodstuff: sugar-granulated, allergens: none}
kefir: {name: Water kefir grains, species: none, state: ready-to-eat, allergens: none, tcs: no}
yeast: {name: Dry yeast, species: none, state: ready-to-eat, form: dry, allergens: none, tcs: no}
extract: {name: Yeast extract, species: none, state: ready-to-eat, allergens: none, tcs: no}
cream: {name: Cream, species: none, state: pasteurised, form: liquid, allergens: milk, arrives: cold}
butter: {name: Butter, foodstuff: butter-unsalted, state: pasteurised, allergens: milk}
sour: {name: Buttermilk, species: none, state: pasteurised, form: liquid, allergens: milk, arrives: cold}
meal: {name: Rye flour, species: none, state: raw, form: dry, allergens: wheat, tcs: no}
shapeless: {name: Bread flour, species: none, state: raw, allergens: wheat, tcs: no}
treated: {name: Heat-treated flour, species: none, state: ready-to-eat, form: dry, allergens: wheat, tcs: no}
almond: {name: Almond flour, species: none, state: raw, form: dry, allergens: tree nuts (almond), tcs: no}
cake: {name: Sponge cake, species: none, state: ready-to-eat, allergens: wheat, tcs: no}
peel: {name: Lemon peel, species: none, state: raw, allergens: none, tcs: no}
vodka: {name: Vodka, species: none, state: ready-to-eat, form: liquid, allergens: none, tcs: no}
clean: {name: Alcohol-free gin, species: none, state: ready-to-eat, form: liquid, allergens: none, tcs: no}
garlic: {name: Garlic, species: none, state: raw, allergens: none, tcs: no}
dripping: {name: Beef dripping, species: beef, state: ready-to-eat, allergens: none, tcs: no}
baby: {name: Infant formula powder, species: none, state: ready-to-eat, form: dry, allergens: milk, tcs: no}
stew: {name: Stewing beef, species: beef, state: raw, form: intact, allergens: none, arrives: cold}
"""
MIX, SERVE = "  - {do: mix}\n", "  - {do: serve}\n"
DRY, COLD = "keeps: {dry: 30 days}\n", "keeps: {cold: 4 days}\n"
VARIANCE = (
    "authorisations:\n  - {for: ferment, authority: State, document: Variance 9, "
    "from: 2026-01-01, until: 2028-01-01}\n"
)
REST = "  - {do: rest, time: 48 h}\n"
KEFIR = "tap: 900 g, sweet: 60 g, kefir: 40 g"


@pytest.fixture
def shelf(kitchen: Path) -> Path:
    (kitchen / "standards/ingredients/more.yaml").write_text(SHELF)
    return kitchen


def found(kitchen: Path, parts: str, steps: str, end: str, name: str = "") -> set[str]:
    put(kitchen, "pot", parts, steps, end, name)
    (kitchen / "standards/ingredients/wet.yaml").unlink()
    return codes(kitchen, "pot")


@pytest.mark.parametrize(
    ("parts", "steps", "end", "asked"),
    [
        (KEFIR, REST, DRY, True),
        (
            KEFIR,
            "  - {do: rest, time: 150 min}\n  - {do: stand, does: waits, time: 2 h}\n",
            DRY,
            True,
        ),
        (KEFIR, "  - {do: rest}\n", DRY, True),
        (KEFIR, "  - {do: rest, time: 48 h, in: cold-room}\n", COLD, False),
        (KEFIR, "  - {do: mix, id: on, time: 48 h}\n", DRY, True),
        (KEFIR, "  - {do: rest, time: 2 h}\n", COLD, False),
        ("tap: 900 g, sweet: 100 g", REST, DRY, True),
        ("tap: 900 g, sweet: 100 g", "  - {do: rest, time: 12 h}\n", DRY, False),
        ("tap: 300 g, sweet: 700 g", REST, DRY, False),
        ("tap: 900 g, yeast: 100 g", REST, DRY, True),
        ("tap: 900 g, extract: 100 g", REST, DRY, False),
        ("tap: 500 g, vodka: 600 g, sweet: 100 g", REST, DRY, False),
        (
            "tap: 500 g, meal: 500 g, yeast: 10 g",
            REST,
            "cooked_later: Whoever buys it bakes it.\n",
            False,
        ),
        ("vodka: 900 g, peel: 100 g", "  - {do: infuse, time: 10 days}\n", DRY, False),
        ("clean: 900 g, peel: 100 g, tap: 10 g", "  - {do: infuse, time: 10 days}\n", DRY, True),
        ("vodka: 300 g, tap: 600 g, peel: 100 g", "  - {do: infuse, time: 10 days}\n", DRY, True),
    ],
)
def test_what_ferments_warm_is_asked_for(
    shelf: Path, parts: str, steps: str, end: str, asked: bool
) -> None:
    asks = {"kept-by-change", "between-too-long", "wait-unknown", "keeps-dry"}
    assert bool(found(shelf, parts, MIX + steps, end) & asks) is asked


@pytest.mark.parametrize(
    ("parts", "end", "severity"),
    [
        (KEFIR, DRY, "error"),
        (KEFIR, COLD, ""),
        ("tap: 900 g, sweet: 100 g", DRY, "warning"),
        ("tap: 900 g, sweet: 100 g", "keeps: {dry: 8 h}\n", ""),
        ("tap: 300 g, sweet: 700 g", DRY, ""),
        ("tap: 300 g, vodka: 400 g, sweet: 300 g", DRY, ""),
    ],
)
def test_the_line_that_says_how_long_it_stood_may_be_left_out(
    shelf: Path, parts: str, end: str, severity: str
) -> None:
    found(shelf, parts, MIX, end)
    said = [f.severity for f in compute(shelf).findings if f.code == "kept-moist"]
    assert said == ([severity] if severity else [])


@pytest.mark.parametrize("starter", ["sour: 30 g", "kefir: 30 g"])
def test_cultured_cream_is_told_that_it_ferments(shelf: Path, starter: str) -> None:
    """Neither less time nor a faster chill makes it right: the step says so, and a variance does."""
    steps = MIX + "  - {do: rest, time: 18 h}\n  - {do: chill, in: blast, target: to 4 °C}\n"
    assert "kept-by-change" in found(shelf, f"cream: 1 kg, {starter}", steps, COLD)
    (house,) = (f for f in compute(shelf).findings if f.code == "kept-by-change")
    assert "`does: ferments`" in house.help
    path = shelf / "standards/kitchen.yaml"
    path.write_text(path.read_text() + VARIANCE)
    said = steps.replace("18 h}", "18 h, does: ferments}")
    (shelf / "standards/ingredients/wet.yaml").write_text("")
    assert not found(shelf, f"cream: 1 kg, {starter}", said, COLD)


@pytest.mark.parametrize(
    ("parts", "steps", "end", "severity"),
    [
        ("meal: 500 g, butter: 300 g, sweet: 200 g", MIX, COLD, "error"),
        ("shapeless: 500 g, butter: 300 g, sweet: 200 g", MIX, SERVE, "error"),
        ("treated: 500 g, butter: 300 g, sweet: 200 g", MIX, COLD, ""),
        ("almond: 500 g, butter: 300 g, sweet: 200 g", MIX, COLD, ""),
        ("meal: 500 g, butter: 500 g", MIX, COLD + "cooked_later: Whoever buys it bakes it.\n", ""),
        ("meal: 500 g, butter: 500 g", "  - {do: bake, target: core 96 °C}\n", SERVE, ""),
        ("meal: 500 g, butter: 500 g", "  - {do: warm}\n", SERVE, "warning"),
        ("meal: 500 g, butter: 500 g", "  - {do: warm, target: core 90 °C}\n", SERVE, ""),
        ("meal: 10 g, cake: 990 g", MIX, SERVE, "warning"),
    ],
)
def test_raw_flour_is_not_eaten(
    shelf: Path, parts: str, steps: str, end: str, severity: str
) -> None:
    found(shelf, parts, steps, end)
    said = [f.severity for f in compute(shelf).findings if f.code == "flour-eaten-raw"]
    assert said == ([severity] if severity else [])


@pytest.mark.parametrize(("step", "raw"), [("mix", True), ("bake, target: core 96 °C", False)])
def test_raw_dough_in_another_formula(shelf: Path, step: str, raw: bool) -> None:
    found(shelf, "meal: 500 g, butter: 500 g", MIX, COLD)
    put(shelf, "ice", "pot: 300 g, cream: 700 g", f"  - {{do: {step}}}\n", SERVE)
    (shelf / "standards/ingredients/wet.yaml").unlink()
    assert ("flour-eaten-raw" in codes(shelf, "ice")) is raw
    assert "flour-eaten-raw" not in codes(shelf, "pot")


HOT = "  - {do: mix, how: Stir the powder into water of 70 °C or hotter.}\n"
CHILL = "  - {do: chill, in: blast, target: to 4 °C}\n"
DAY = "keeps: {cold: 1 day}\n"


@pytest.mark.parametrize(
    ("steps", "end", "severity"),
    [
        (HOT + CHILL, DAY, ""),
        (MIX + CHILL, DAY, "warning"),
        ("  - {do: mix, how: Stir it into water of 40 °C.}\n" + CHILL, DAY, "error"),
        (HOT.replace("how", "at: 40 °C, time: 5 min, how") + CHILL, DAY, "error"),
        (HOT + CHILL, "keeps: {cold: 2 days}\n", "error"),
        (HOT + "  - {do: rest, time: 3 h}\n", SERVE, "error"),
        (HOT + "  - {do: rest, time: 90 min}\n", SERVE, ""),
    ],
)
def test_infant_formula_by_who_2007(shelf: Path, steps: str, end: str, severity: str) -> None:
    found(shelf, "baby: 150 g, tap: 850 g", steps, end)
    said = [f.severity for f in compute(shelf).findings if f.code == "infant-formula"]
    assert said == ([severity] if severity else [])


def test_infant_formula_is_a_day_old_in_all_its_formulas(shelf: Path) -> None:
    found(shelf, "baby: 150 g, tap: 850 g", HOT + CHILL, DAY)
    put(shelf, "bottle", "pot: 1 kg", "  - {do: fill, in: cold-room}\n", DAY)
    (shelf / "standards/ingredients/wet.yaml").unlink()
    assert "infant-formula" in codes(shelf, "bottle")


@pytest.mark.parametrize(
    ("paper", "believed"),
    [
        ("{reason: Water activity 0.8., document: Report on dripping}", False),
        ("{reason: Garlic acidified to pH 4.2., document: Report 7}", True),
        ("{reason: Water activity 0.8., document: Report on confit of cloves}", True),
    ],
)
def test_a_paper_of_the_fat_is_none_of_the_garlic(shelf: Path, paper: str, believed: bool) -> None:
    end = f"not_tcs: {paper}\n{DRY}"
    asked = found(shelf, "garlic: 100 g, dripping: 900 g", MIX, end, "Confit of cloves")
    assert ("not-tcs-doubtful" in asked) is not believed


@pytest.mark.parametrize("many", [60, pytest.param(2000, marks=pytest.mark.slow)])
def test_a_heat_balance_is_the_mixing_rule(many: int) -> None:
    """Stirred together bit by bit, in floats: each gram of cold water brings its own heat."""
    rng = random.Random(57)
    for _ in range(many):
        hot, cold = rng.randint(100, 5000), rng.randint(1, 5000)
        wet, cool, warm = rng.random(), rng.randint(0, 20), rng.randint(60, 100)
        exact = balance(
            [(Fraction(hot), Fraction(1), Fraction(warm), False)],
            [(Fraction(cold), Fraction(wet), Fraction(cool), False)],
        )
        degrees, holds = float(warm), hot * 4.2
        for _ in range(200):
            takes = cold / 200 * (4.2 * wet + 1.6 * (1 - wet))
            degrees = (degrees * holds + cool * takes) / (holds + takes)
            holds += takes
        assert float(exact) == pytest.approx(degrees, abs=1e-6)


def test_ice_takes_its_heat_of_melting() -> None:
    """1 kg of water at 80 °C melts 1 kg of ice, 334 kJ, and is 0 °C all but 0.24 K (334/4.2 = 79.5);
    more ice than that stays ice."""
    one, ice = Fraction(1), (Fraction(1), Fraction(1), Fraction(0), True)
    mixed = balance([(one, one, Fraction(80), False)], [ice])
    assert float(mixed) == pytest.approx((80 - 334 / 4.2) / 2)
    assert balance([(one, one, Fraction(40), False)], [ice]) == 0


STEW = "  - {do: stew, add: pot, target: core 90 °C, time: 2 h}\n"
HOLD = "  - {do: hold-hot, target: at 63 °C, time: 3 h}\n"


@pytest.mark.parametrize(
    ("late", "grams", "between", "severity"),
    [
        ("cream", 500, "", "error"),  # half of it from the cold
        ("cream", 50, "", ""),
        ("cream", 450, "", "warning"),  # 90 °C falls below the limit, 100 °C wouldn't
        ("tap", 500, "", "warning"),
        ("tap", 700, "", "error"),
        ("cream", 500, "  - {do: reheat, target: core 75 °C}\n", ""),
    ],
)
def test_cold_food_cools_what_is_held_hot(
    shelf: Path, late: str, grams: int, between: str, severity: str
) -> None:
    steps = f"{STEW}  - {{do: mix, add: cold}}\n{between}{HOLD}"
    (shelf / "standards/formulas/pot.yaml").write_text(
        "name: Pot\nrevision: 1\neffective: 2026-01-01\napproved: R. Osei\nstation: pass\n"
        f"parts: {{pot: {{stew: {1000 - grams} g}}, cold: {{{late}: {grams} g}}}}\n"
        f"steps:\n{steps}{SERVE}batches: [1 kg total]\n"
    )
    said = [f.severity for f in compute(shelf).findings if f.code == "reheat-missing"]
    assert said == ([severity] if severity else [])
