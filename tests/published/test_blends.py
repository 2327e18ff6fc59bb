"""Blends and feed mixes whose optimum is published or is worked out by hand, and Pearson's square."""

from __future__ import annotations

import csv
from fractions import Fraction as F
from pathlib import Path

import pytest
from conftest import compute, lay

from generator.scaling.nearest import Program, Row, Wish, nearest
from generator.sheet.manual import Manual
from generator.sheet.reformulated import Nearest, reformulate, want_of

HERE = Path(__file__).parent
with (HERE / "blends.csv").open(encoding="utf-8") as file:
    BLENDS = list(csv.DictReader(file))


def at_least(name: str, *terms: str | F | int, least: F | int) -> Row:
    return Row(name, {n: -F(c) for n, c in enumerate(terms)}, -F(least))


def at_most(name: str, *terms: str | F | int, most: F | int) -> Row:
    return Row(name, {n: F(c) for n, c in enumerate(terms)}, F(most))


def cheapest(costs: list[str], rows: list[Row]) -> list[float]:
    """The weights of the least cost: a wish for a cost of nothing, which no cost is below."""
    cost = Wish({n: F(c) for n, c in enumerate(costs)}, F(0), F(1))
    found = nearest(Program(tuple(F(1) for _ in costs), tuple(rows), (cost,)))
    assert found is not None
    return [float(w) for w in found.weights]


def test_the_mix_for_pets_of_the_library_of_inverse_problems() -> None:
    """S212: 80 g of A, 50 of B, 25 of C and 5 of D in 1 kg; ingredients at 40 and 60, filler free.
    Published: 0.5909, 0.1364 and 0.2727."""
    rows = [
        at_least("A", 100, 200, 0, least=80),
        at_least("B", 50, 150, 0, least=50),
        at_least("C", 40, 10, 0, least=25),
        at_least("D", 10, 0, 0, least=5),
        at_least("all", 1, 1, 1, least=1),
        at_most("all", 1, 1, 1, most=1),
    ]
    assert [round(w, 4) for w in cheapest(["40", "60", "0"], rows)] == [0.5909, 0.1364, 0.2727]


def test_ozark_farms() -> None:
    """S213: 800 lb at least of corn (9 % protein, 2 % fibre, $0.30) and soybean meal (60 %, 6 %,
    $0.90), 30 % protein at least, 5 % fibre at most. By hand: protein binds, so 0.21 corn = 0.30
    meal: 800 × 10/17 and 800 × 7/17, 470.6 and 329.4 lb, for 437.65 $."""
    rows = [
        at_least("all", 1, 1, least=800),
        at_least("protein", F("0.09") - F("0.3"), F("0.6") - F("0.3"), least=0),
        at_most("fibre", F("0.02") - F("0.05"), F("0.06") - F("0.05"), most=0),
    ]
    corn, meal = cheapest(["0.30", "0.90"], rows)
    assert (corn, meal) == pytest.approx((8000 / 17, 5600 / 17))
    assert round(0.30 * corn + 0.90 * meal, 2) == 437.65


def test_the_simplified_cat_food() -> None:
    """S214: chicken and beef of 100, protein 8, fat 6, fibre 2 and salt 0.4. By hand: beef is
    cheaper, and salt binds: 0.002 chicken + 0.005 (100 − chicken) = 0.4, a third and two."""
    rows = [
        at_least("all", 1, 1, least=100),
        at_most("all", 1, 1, most=100),
        at_least("protein", "0.1", "0.2", least=8),
        at_least("fat", "0.08", "0.1", least=6),
        at_most("fibre", "0.001", "0.005", most=2),
        at_most("salt", "0.002", "0.005", most=F("0.4")),
    ]
    assert cheapest(["0.013", "0.008"], rows) == pytest.approx([100 / 3, 200 / 3])


FOOD = """{item}:
  name: {name}
  species: none
  state: ready-to-eat
  allergens: none
  tcs: no
  composition: {{protein: {share} %, source: the extension's example}}
"""
MIX = """name: Mix
revision: 1
effective: 2026-01-12
station: pass
base: spice
parts:
  spice:
    first: {first} g
    second: {second} g
bounds:
  protein: {bound} % in spice
process: blend
keeps: {{dry: 90 days}}
batches: [1 kg base]
"""


@pytest.mark.parametrize("row", BLENDS, ids=lambda row: row["parts"])
@pytest.mark.parametrize("from_below", [True, False])
def test_two_ingredients_are_blended_as_by_pearsons_square(
    row: dict[str, str], from_below: bool, tmp_path: Path
) -> None:
    """From all but one of the two, the nearest 1 kg within the bound is the square's blend: the
    bound binds. A bound at most from above, at least from below; the scale's step on its side."""
    shares = [F(one) for one in row["shares_pct"].split("|")]
    target = F(row["bound_pct"])
    other = {0: 1, 1: 0}
    poorer = min((0, 1), key=lambda n: shares[n])
    start = poorer if from_below else other[poorer]
    amounts = [999 if n == start else 1 for n in (0, 1)]
    project = lay("base", tmp_path / "kitchen")
    names = row["parts"].split("|")
    foods = zip(("first", "second"), names, shares, strict=True)
    (project / "standards/ingredients/feeds.yaml").write_text(
        "".join(FOOD.format(item=i, name=n.title(), share=float(s)) for i, n, s in foods)
    )
    bound = f"at {'least' if from_below else 'most'} {float(target)}"
    text = MIX.format(first=amounts[0], second=amounts[1], bound=bound)
    (project / "standards/formulas/mix.yaml").write_text(text)
    manual = compute(project)
    assert isinstance(manual, Manual)
    assert [f.code for f in manual.findings if f.code == "bound-not-held"] == ["bound-not-held"]
    sheet = manual.sheets["mix"]
    batch = sheet.batches[0]
    want = want_of(manual.house, sheet.walk, manual.walks, manual.made, batch, {"first": F(5000)})
    found = reformulate(want)
    assert isinstance(found, Nearest)
    square = (target - shares[1]) / (shares[0] - shares[1])  # the share of the first
    weights = found.grams["spice", "first"], found.grams["spice", "second"]
    protein = sum(w * s for w, s in zip(weights, shares, strict=True)) / sum(weights)
    assert protein >= target if from_below else protein <= target
    assert abs(weights[0] / sum(weights) - square) <= F(6, 1000)  # a step of the scale: 5 g
    printed = [F(one) for one in row["answer_pct"].split("|")]
    assert [round(float(s) * 100, 1) for s in (square, 1 - square)] == [float(p) for p in printed]
    assert ("protein>" if from_below else "protein<") in found.binding
