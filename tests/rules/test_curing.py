"""Cures: a variance, a dose within the law per load, weighed downwards."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from conftest import compute, edit

from generator.pages import make_pages
from generator.rules.basics.limit import DoseLimit, Limit, NotCovered
from generator.scaling.scales import ScaleFacts, choose_below
from generator.sheet.manual import Manual
from generator.views.limit_view import limit_view

VARIANCE = """authorisations:
  - for: cure
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
        "pink-cure:\n  name: Curing salt\n  species: none\n  state: ready-to-eat\n"
        f"  allergens: none\n  tcs: no\n  function: cure\n{strength}"
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


@pytest.mark.parametrize(
    ("amount", "says"),
    [
        ("0.3 %", ""),  # the base is the meat: one figure
        ("7.6 g", ""),
        ("0.24 % of meat and bind", " On this line that is 0.2 %."),
        ("0.3 % of the whole formula", " On this line that is "),
    ],
)
def test_the_most_is_said_as_its_line_counts(kitchen: Path, amount: str, says: str) -> None:
    """A line that is a percentage of more than the meat says another figure than the meat's. Pasted
    in, it is accepted, and a thousandth more of a percent isn't."""
    lines = "parts:\n  meat:\n    pork-shoulder: 3 kg\n  bind:\n    whole-egg: 750 g\n"
    path = kitchen / "standards/formulas/pork-bake.yaml"
    text = path.read_text(encoding="utf-8")
    head, tail = text.split("parts:\n")
    path.write_text(head + lines + "  seasoning" + tail.split("  seasoning")[1], encoding="utf-8")
    (found,) = [f for f in cured(kitchen, amount).errors if f.code == "dose-above-maximum"]
    if not says:
        assert "On this line" not in found.help
        return
    assert says in found.help
    most = found.help.split("On this line that is ")[1].removesuffix(" %.")
    for figure, codes in (
        (Fraction(most), []),
        (Fraction(most) + Fraction(1, 1000), ["dose-above-maximum"]),
    ):
        old = path.read_text(encoding="utf-8")
        of = amount.split(" %", 1)[1]
        line = next(ln for ln in old.splitlines() if "pink-cure" in ln)
        edit(
            kitchen,
            "formulas/pork-bake.yaml",
            line,
            f"    pink-cure: {float(figure):.3f} %{of}",
        )
        assert [f.code for f in compute(kitchen).errors] == codes


def test_weighing_goes_down_until_the_scale_cannot_exceed_the_maximum(kitchen: Path) -> None:
    """By hand: at the maximum itself, the figure shown is a step below by all that a weighing can
    be off: half a division, which the display rounds away, and the scale's accuracy."""
    manual = cured(kitchen, "0.25 %")
    for batch in manual.sheets["pork-bake"].batches:
        line = next(ln for ln in batch.lines if ln.line.joined.item == "pink-cure")
        meat = next(ln for ln in batch.lines if ln.line.joined.item == "pork-shoulder")
        scale = line.weighing.scale
        assert scale is not None
        most = meat.exact_g / line.loads * Fraction("156.25") / 1_000_000 / Fraction("0.0625")
        off = scale.division / 2 + scale.accuracy
        assert line.weighing.grams + off <= most
        assert line.weighing.grams + off + scale.division > most


def test_weighing_down_by_hand() -> None:
    """8.0 g on a 0.1 g scale of ±0.1 g: 7.9 g shown may be 7.95 on the pan, and 8.05 by its
    accuracy. So at most 8.05 is 7.9 shown, at most 8.04 is 7.8, and from 8.15 on the 8.0 g stay."""
    scale = ScaleFacts("s", "S", Fraction(1, 10), Fraction(1, 10), Fraction(500), Fraction(0), True)
    for most, shown in (("8.04", "7.8"), ("8.05", "7.9"), ("8.14", "7.9"), ("8.15", "8")):
        weighing = choose_below(Fraction(8), Fraction(most), Fraction(1, 200), (scale,))
        assert weighing.grams == Fraction(shown), most


def test_every_weighing_of_a_split_cure_may_be_off() -> None:
    """Two weighings of 250 g at most 500.1 in all on 0.1 ± 0.1 g: each may be 0.15 off, so
    249.9."""
    scale = ScaleFacts("s", "S", Fraction(1, 10), Fraction(1, 10), Fraction(250), Fraction(0), True)
    weighing = choose_below(Fraction(500), Fraction("500.1"), Fraction(1, 200), (scale,))
    assert (weighing.count, weighing.each) == (2, Fraction("249.9"))


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
        "  - do: grind\n    add: [meat]\n",
        "  - do: season\n    add: [meat]\n",
    )
    edit(
        kitchen, "formulas/pork-bake.yaml", "process: baked", "cured_as: bacon-dry\nprocess: baked"
    )
    edit(kitchen, "ingredients/all.yaml", "  trim: 10 %", "  trim: 10 %\n  skin: taken-off")
    manual = cured(kitchen, "0.32 %")
    assert (limit(manual).ppm, limit(manual).most_ppm) == (200, 200)
    edit(kitchen, "formulas/pork-bake.yaml", "pink-cure: 0.32 %", "pink-cure: 0.78 %")
    assert [f.code for f in compute(kitchen).errors] == ["dose-above-maximum"]
    edit(kitchen, "formulas/pork-bake.yaml", "cured_as: bacon-dry", "cured_as: dry\nbacon: no")
    again = compute(kitchen)
    assert (limit(again).ppm, limit(again).most_ppm) == (Fraction("487.5"), 625)


def belly(kitchen: Path, facts: str, dose: str, way: str, name: str = "Pork shoulder") -> Manual:
    """The clean kitchen's pork with such facts, whole, cured ``way``."""
    edit(
        kitchen,
        "processes/baked.yaml",
        "  - do: grind\n    add: [meat]\n",
        "  - do: season\n    add: [meat]\n",
    )
    edit(kitchen, "formulas/pork-bake.yaml", "process: baked", f"{way}\nprocess: baked")
    edit(kitchen, "ingredients/all.yaml", "  name: Pork shoulder\n", f"  name: {name}\n{facts}")
    return cured(kitchen, dose)


@pytest.mark.parametrize("skin", ["  skin: left-on\n", "  skin: taken-off\n", ""])
@pytest.mark.parametrize(
    ("way", "found"),
    [
        ("cured_as: dry", ["bacon-or-not"]),
        ("cured_as: immersion", ["bacon-or-not"]),
        ("", ["bacon-or-not"]),
        ("cured_as: dry\nbacon: yes", ["bacon-or-not"]),
        ("cured_as: dry\nbacon: no", []),
        ("cured_as: bacon-dry", []),
    ],
)
def test_a_belly_is_asked_whether_it_is_bacon(
    kitchen: Path, skin: str, way: str, found: list[str]
) -> None:
    """9 CFR 424.22(b): 200 ppm for dry-cured bacon, 625 for other dry-cured meat. Unsaid there is
    no dose."""
    dose = "0.25 %" if way.endswith("no") or "bacon-dry" in way else "0.9 %"
    manual = belly(kitchen, skin, dose, way, "Pork belly")
    assert [f.code for f in manual.errors] == found
    if found:
        assert isinstance(manual.walks["pork-bake"].limits[0], NotCovered)


def test_skin_alone_makes_a_belly_of_it(kitchen: Path) -> None:
    """Who states a skin speaks of a belly, whatever its name."""
    assert [
        f.code for f in belly(kitchen, "  skin: left-on\n", "0.9 %", "cured_as: dry").errors
    ] == ["bacon-or-not"]


def test_other_meat_is_asked_nothing(kitchen: Path) -> None:
    assert belly(kitchen, "", "0.9 %", "cured_as: dry").errors == ()


@pytest.mark.parametrize(
    ("skin", "most"), [("taken-off", "0.32 %"), ("left-on", "0.288 %"), ("", "0.288 %")]
)
def test_the_most_that_is_offered_leaves_the_skin_out(kitchen: Path, skin: str, most: str) -> None:
    """By hand: 200 ppm of a 6.25 % cure is 0.32 % of what is cured; of a belly with its skin that
    is nine tenths, 0.288 % of its weight. Pasted in, it is the maximum itself."""
    facts = f"  skin: {skin}\n" if skin else ""
    manual = belly(kitchen, facts, "0.5 %", "cured_as: bacon-dry", "Pork belly")
    (found,) = manual.errors
    assert (
        found.code == "dose-above-maximum"
        and f"At its strength, {most} of the meat is the most" in found.help
    )
    edit(kitchen, "formulas/pork-bake.yaml", "pink-cure: 0.5 %", f"pink-cure: {most}")
    again = compute(kitchen)
    assert again.errors == () and limit(again).ppm == 200


def test_curing_another_way_is_not_covered(kitchen: Path) -> None:
    edit(
        kitchen,
        "processes/baked.yaml",
        "  - do: grind\n    add: [meat]\n",
        "  - do: season\n    add: [meat]\n",
    )
    assert [f.code for f in cured(kitchen, "0.24 %").errors] == ["cure-not-covered"]


def test_the_box_of_a_cure_reports_its_dose(kitchen: Path) -> None:
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
        "More than 156.25\u00a0ppm in the mixture? Throw the load away. Less than "
        "120\u00a0ppm? Throw the load away. "
        "Not sure it went in? Throw the load away.",
    )
    (page,) = (p for p in make_pages(manual) if p.uri == "range/pork-bake.md")
    box = page.text.split('aria-label="Critical limit"')[1].split("</section>")[0]
    assert "<dt>Dose</dt>" in box and "<dt>Hold</dt>" not in box


@pytest.mark.parametrize(
    ("amount", "codes"),
    [
        ("0.0546 %", []),
        ("0.0546875 %", []),
        ("0.05469 %", ["dose-above-maximum"]),
        ("0.1 %", ["dose-above-maximum"]),
        ("1.640625 g", []),
        ("1.641 g", ["dose-above-maximum"]),
    ],
)
def test_the_most_of_an_accelerator(kitchen: Path, amount: str, codes: list[str]) -> None:
    """9 CFR 424.21(c): seven eighths of an ounce of sodium erythorbate to 100 lb of meat, 546.875
    ppm of 3 kg: 1.640625 g. Without any there is no limit of it."""
    (kitchen / "standards/ingredients/fast.yaml").write_text(
        "fast:\n  name: Sodium erythorbate\n  species: none\n  state: ready-to-eat\n"
        "  allergens: none\n  tcs: no\n  erythorbate: 100 %\n"
    )
    edit(kitchen, "formulas/pork-bake.yaml", "salt: 1.6 %", f"salt: 1.6 %\n    fast: {amount}")
    manual = cured(kitchen, "0.24 %")
    found = [f for f in manual.findings if f.is_error]
    assert [f.code for f in found] == codes, [f.message for f in found]
    assert all("1.64 g of it, pure, is the most" in f.help for f in found)
    if not codes:
        doses = [lm for lm in manual.walks["pork-bake"].limits if lm.hazard == "additive"]
        assert [(lm.substance, lm.most_ppm) for lm in doses if isinstance(lm, DoseLimit)] == [
            ("nitrite", Fraction("156.25")),
            ("erythorbate or ascorbate", Fraction("546.875")),
        ]
