"""Cures: a variance, a dose within the law per load, weighed downwards."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from conftest import compute, edit

from generator.manual import Manual
from generator.pages import make_pages
from generator.pages.limit_view import limit_view
from generator.rules.limit import Limit
from generator.scaling.scales import ScaleFacts, choose_below

VARIANCE = """authorisations:
  - for: curing
    authority: Port Sable Health
    document: Variance 12
    from: 2026-01-01
    until: 2027-01-01
"""


def cured(
    kitchen: Path, amount: str, strength: str = "  nitrite: 6.25 %\n", variance: str = VARIANCE
) -> Manual:
    """The clean kitchen's bake with a cure in its seasoning, on 3 kg of pork."""
    with (kitchen / "standards/kitchen.yaml").open("a") as file:
        file.write(variance)
    (kitchen / "standards/ingredients/cure.yaml").write_text(
        f"pink-cure:\n  name: Curing salt\n  species: none\n  state: ready-to-eat\n  allergens: none\n  tcs: no\n  function: cure\n{strength}"
    )
    edit(kitchen, "formulas/pork-bake.yaml", "salt: 1.6 %", f"salt: 1.6 %\n    pink-cure: {amount}")
    edit(
        kitchen,
        "equipment/house.yaml",
        "division: 0.1 g, accuracy: 0.1 g, capacity: 500 g",
        "division: 0.01 g, accuracy: 0.01 g, capacity: 500 g",
    )
    return compute(kitchen)


def limit(manual: Manual) -> Limit:
    return next(lm for lm in manual.walks["pork-bake"].limits if lm.hazard == "additive")


@pytest.mark.parametrize(
    ("amount", "ppm", "codes"),
    [
        # 0.25 % of a 6.25 % cure is a quarter ounce of nitrite in 100 lb: 156.25 ppm, the maximum
        ("0.25 %", Fraction("156.25"), []),
        ("0.24 %", Fraction(150), []),
        ("0.2512 %", Fraction(157), ["dose-above-maximum"]),
        ("0.19 %", Fraction("118.75"), ["dose-below-minimum"]),
        ("7.5 g", Fraction("156.25"), []),
    ],
)
def test_doses(kitchen: Path, amount: str, ppm: Fraction, codes: list[str]) -> None:
    """9 CFR 424.21(c) and handbook 7620.3: ¼ oz per 100 lb, printed 156 ppm; 120 ppm kept cold.
    1 oz of a 6.25 % cure on 25 lb is 156.25 ppm on a public curing page."""
    manual = cured(kitchen, amount)
    assert limit(manual).ppm == ppm
    assert [f.code for f in manual.errors] == codes


def test_weighing_goes_down_until_the_scale_cannot_exceed_the_maximum(kitchen: Path) -> None:
    """By hand: at the maximum itself, the figure shown is a step below by the scale's accuracy."""
    manual = cured(kitchen, "0.25 %")
    for batch in manual.sheets["pork-bake"].batches:
        line = next(ln for ln in batch.lines if ln.line.joined.item == "pink-cure")
        meat = next(ln for ln in batch.lines if ln.line.joined.item == "pork-shoulder")
        scale = line.weighing.scale
        assert scale is not None
        most = meat.exact_g / line.loads * Fraction("156.25") / 1_000_000 / Fraction("0.0625")
        assert line.weighing.grams + scale.accuracy <= most
        assert line.weighing.grams + scale.accuracy + scale.division > most


def test_weighing_down_by_hand() -> None:
    """8.0 g at most 8.04 on a 0.1 g scale of ±0.1 g: 7.9 g shown may be 8.0, 8.0 shown may be 8.1."""
    scale = ScaleFacts("s", "S", Fraction(1, 10), Fraction(1, 10), Fraction(500), Fraction(0), True)
    weighing = choose_below(Fraction(8), Fraction("8.04"), Fraction(1, 200), (scale,))
    assert weighing.grams == Fraction("7.9")


def test_no_variance_no_cure(kitchen: Path) -> None:
    """Food Code 3-502.11: curing needs a variance."""
    assert [f.code for f in cured(kitchen, "0.24 %", variance="").errors] == [
        "cure-without-variance"
    ]


def test_an_expired_variance_is_none(kitchen: Path) -> None:
    manual = cured(kitchen, "0.24 %", variance=VARIANCE.replace("2027-01-01", "2026-06-30"))
    assert [f.code for f in manual.errors] == ["cure-without-variance"]
    assert "Variance 12" in manual.errors[0].message


def test_strength_has_no_default(kitchen: Path) -> None:
    assert [f.code for f in cured(kitchen, "0.24 %", strength="").errors] == [
        "cure-strength-missing"
    ]


def test_a_cure_is_grams_only(kitchen: Path) -> None:
    manual = cured(
        kitchen, "1 tsp", strength="  nitrite: 6.25 %\n  weighs: {tsp: 6 g}\n  source: label\n"
    )
    assert [f.code for f in manual.errors] == ["grams-only"]


def test_bacon_stands_apart(kitchen: Path) -> None:
    """9 CFR 424.22(b): 200 ppm for dry-cured bacon, 625 for other dry-cured meat; 3.2 g of a
    6.25 % cure on 1000 g is 200 ppm, 7.8 g is 487.5 (a public curing page)."""
    edit(
        kitchen,
        "processes/baked.yaml",
        "  - do: grind\n    take: [meat]\n",
        "  - do: season\n    take: [meat]\n",
    )
    edit(
        kitchen, "formulas/pork-bake.yaml", "process: baked", "cured_as: bacon-dry\nprocess: baked"
    )
    edit(kitchen, "ingredients/all.yaml", "  trim: 10 %", "  trim: 10 %\n  skin: taken-off")
    manual = cured(kitchen, "0.32 %")
    assert (limit(manual).ppm, limit(manual).most_ppm) == (200, 200)
    edit(kitchen, "formulas/pork-bake.yaml", "pink-cure: 0.32 %", "pink-cure: 0.78 %")
    assert [f.code for f in compute(kitchen).errors] == ["dose-above-maximum"]
    edit(kitchen, "formulas/pork-bake.yaml", "cured_as: bacon-dry", "cured_as: dry")
    again = compute(kitchen)
    assert (limit(again).ppm, limit(again).most_ppm) == (Fraction("487.5"), 625)


def test_curing_another_way_is_not_covered(kitchen: Path) -> None:
    edit(
        kitchen,
        "processes/baked.yaml",
        "  - do: grind\n    take: [meat]\n",
        "  - do: season\n    take: [meat]\n",
    )
    assert [f.code for f in cured(kitchen, "0.24 %").errors] == ["cure-not-covered"]


def test_the_box_of_a_cure_tells_its_dose(kitchen: Path) -> None:
    """A cure is dosed, not held: the row says so, and its words are those of every cure limit."""
    manual = cured(kitchen, "0.24 %")
    assert manual.house is not None
    view = limit_view(manual.house, limit(manual))
    words = manual.house.library.hazards["additive"]
    assert view.dose == "150\u00a0ppm by this formula. At least 120\u00a0ppm."
    assert (view.hold, view.hold_rest, view.check, view.if_missed) == (
        "",
        "",
        words.check,
        "More than 156.25\u00a0ppm in the mixture? Throw the load away. Less than 120\u00a0ppm? Throw the load away. "
        "Not sure it went in? Throw the load away.",
    )
    (page,) = (p for p in make_pages(manual) if p.uri == "range/pork-bake.md")
    box = page.text.split('aria-label="Critical limit"')[1].split("</section>")[0]
    assert "<dt>Dose</dt>" in box and "<dt>Hold</dt>" not in box
