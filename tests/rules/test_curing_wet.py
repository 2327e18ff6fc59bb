"""Cured in a pickle: immersion by both methods, pumped, bacon apart, per load and on the scale."""

from __future__ import annotations

import re
import shutil
from fractions import Fraction
from pathlib import Path

import pytest
from conftest import compute, edit
from hypothesis import given
from hypothesis import strategies as st
from test_curing import VARIANCE

from generator.answers.limits import _limit_lines
from generator.binder.limit_box import limit_block
from generator.pages import make_pages
from generator.rules.basics.limit import Limit
from generator.rules.cures.dosing import at_balance, taken_up
from generator.scaling.scales import ScaleFacts, choose_above
from generator.sheet.manual import Manual
from generator.views.limit_view import limit_view

STEPS = {
    "immersion": "  - do: mix\n    add: [pickle]\n  - do: brine\n    add: [meat]\n"
    "    in: cold-room\n    time: 5 days\n",
    "pumped": "  - do: mix\n    add: [pickle]\n  - do: inject\n    add: [meat]\n"
    "    pump: 10 % of green weight\n",
}


def cured(
    kitchen: Path,
    way: str,
    cure: str,
    *,
    meat: str = "40 kg",
    water: str = "9.84 kg",
    more: str = "",
    facts: str = "nitrite: 6.25 %",
    belly: str = "skin: taken-off",
    keeps: str = "",
    sizes: str = "[40 kg base]",
    steps: str = "",
) -> Manual:
    """A clean kitchen with pork cured in a pickle: 160 g of a 6.25 % cure hold 10 g of nitrite."""
    standards = kitchen / "standards"
    if "authorisations" not in (standards / "kitchen.yaml").read_text():
        with (standards / "kitchen.yaml").open("a") as file:
            file.write(VARIANCE)
        with (standards / "equipment/house.yaml").open("a") as file:
            file.write(
                "jewel-scale: {kind: scale, name: Jewel scale, division: 0.01 g, accuracy: "
                "0.01 g, capacity: 500 g}\n"
            )
    (standards / "ingredients/curing.yaml").write_text(
        "belly: {name: Belly, species: pork, state: raw, form: intact, allergens: none, "
        f"{belly}}}\n"
        "water: {name: Water, species: none, state: ready-to-eat, form: liquid, allergens: "
        "none, tcs: no}\n"
        "ascorbate: {name: Ascorbate, species: none, state: ready-to-eat, allergens: none, "
        "tcs: no, erythorbate: 99 %}\n"
        "cure: {name: Cure, species: none, state: ready-to-eat, allergens: none, tcs: no, "
        f"function: cure, {facts}}}\n"
    )
    (standards / "processes/curing.yaml").write_text(
        f"name: Curing\nsteps:\n{steps or STEPS[way.removeprefix('bacon-')]}"
    )
    said = "" if "bacon" in way else "bacon: no\n"
    (standards / "formulas/cured.yaml").write_text(
        "name: Cured belly\nrevision: 1\neffective: 2026-01-01\napproved: R. Osei\n"
        "station: range\nbase: meat\n"
        f"parts:\n  meat:\n    belly: {meat}\n  pickle:\n    water: {water}\n    cure: {cure}\n"
        f"{more}"
        f"process: curing\ncured_as: {way}\n{said}{keeps}cooked_later: Sold raw; the label "
        f"says cook it through.\nbatches: {sizes}\n"
    )
    return compute(kitchen)


def dose(manual: Manual, kind: str = "additive") -> Limit:
    limits = manual.walks["cured"].limits
    return next(lm for lm in limits if lm.id.endswith(f"/{kind}"))


def codes(manual: Manual) -> list[str]:
    return [f.code for f in manual.errors]


def test_immersion_by_method_two(kitchen: Path) -> None:
    """Handbook p. 22: 10 g of nitrite ÷ (40 kg + 10 kg) is 200 ppm, the most for other than
    bacon."""
    manual = cured(kitchen, "immersion", "160 g")
    found = dose(manual)
    assert (found.ppm, found.most_ppm, codes(manual)) == (200, 200, [])
    assert found.step == "brine", "where meat and pickle come together"
    assert codes(cured(kitchen, "immersion", "161 g", water="9.839 kg")) == ["dose-above-maximum"]


def test_what_a_dose_is_of_is_said_to_the_hundredth_of_a_gram(kitchen: Path) -> None:
    """40 000.126 g of meat: the figure beside the dose has two decimals, rounded."""
    found = dose(cured(kitchen, "immersion", "160 g", meat="40.000126 kg", sizes="[40 kg total]"))
    words = dict(found.basis.inputs)["Meat block"]
    assert re.sub(r"\s", "", words).startswith("40000.13g")


def test_immersion_by_method_one(kitchen: Path) -> None:
    """Handbook p. 22: nitrite × pick-up ÷ pickle: 10 g × 8 % ÷ 10 kg is 80 ppm."""
    steps = STEPS["immersion"] + "    pick_up: 8 % of green weight\n"
    found = dose(cured(kitchen, "immersion", "160 g", steps=steps))
    assert (found.ppm, found.most_ppm) == (80, 200)
    assert dict(found.basis.inputs)["Ingoing"].startswith(
        "nitrite × pick-up ÷ pickle, handbook method one"
    )


def test_pumped(kitchen: Path) -> None:
    """Handbook p. 19: 20 g of nitrite × 10 % ÷ 10 kg is 200 ppm: 320 g of the cure."""
    assert dose(cured(kitchen, "pumped", "320 g", water="9.68 kg")).ppm == 200
    assert codes(cured(kitchen, "pumped", "322 g", water="9.678 kg")) == ["dose-above-maximum"]


def test_massaged_counts_as_pumped_by_its_pick_up(kitchen: Path) -> None:
    steps = "  - do: tumble\n    does: handles\n    add: [meat, pickle]\n    pick_up: 10 %\n"
    assert dose(cured(kitchen, "pumped", "160 g", steps=steps)).ppm == 100


@pytest.mark.parametrize(
    ("way", "cure", "most", "found"),
    [
        ("bacon-immersion", "96 g", 120, []),  # 6 g ÷ 50 kg
        ("bacon-immersion", "160 g", 120, ["dose-above-maximum"]),  # 200 ppm, lawful for a ham
        ("bacon-pumped", "192 g", 120, []),  # 12 g × 10 % ÷ 10 kg
        ("bacon-pumped", "194 g", 120, ["dose-above-maximum"]),
        ("bacon-pumped", "190 g", 120, ["dose-below-minimum"]),  # a set value: 118.75
    ],
)
def test_bacon_stands_apart(
    kitchen: Path, way: str, cure: str, most: int, found: list[str]
) -> None:
    """9 CFR 424.22(b): 120 ppm, set where it is pumped, capped where it is immersed."""
    more = "    ascorbate: 60 g\n"
    water = f"{10000 - 60 - int(cure[:-2])} g"
    manual = cured(kitchen, way, cure, water=water, more=more)
    assert dose(manual).most_ppm == most
    assert codes(manual) == found


@pytest.mark.parametrize("wrong", ["190 g", "150 g", "194 g"])
def test_the_dose_offered_for_pumped_bacon_is_lawful_once_it_is_written(
    kitchen: Path, tmp_path: Path, wrong: str
) -> None:
    """A set dose is reported as what comes to it on a centigram, and that is within half a percent of
    it."""
    other = tmp_path / "other"
    shutil.copytree(kitchen, other)
    more = "    ascorbate: 60 g\n"
    (reported,) = [
        f for f in cured(kitchen, "bacon-pumped", wrong, water="9750 g", more=more).errors
    ]
    found = re.search(r"([0-9.]+) g with the rest of this pickle", reported.help)
    assert found is not None
    fixed = cured(other, "bacon-pumped", f"{found[1]} g", water="9750 g", more=more)
    assert codes(fixed) == []
    ppm = dose(fixed).ppm
    assert ppm is not None and Fraction(120) * Fraction(199, 200) <= ppm <= 120


@pytest.mark.parametrize(
    ("grams", "found"),
    [("55.6 g", []), ("55.5 g", ["accelerator-too-little"]), ("", ["accelerator-too-little"])],
)
def test_pumped_bacon_needs_its_accelerator(kitchen: Path, grams: str, found: list[str]) -> None:
    """9 CFR 424.22(b)(1): 550 ppm. By hand: 55 g ÷ 99 % is 55.5555… g in 10 kg of pickle at 10
    %."""
    more = f"    ascorbate: {grams}\n" if grams else ""
    water = {"55.6 g": "9752.4 g", "55.5 g": "9752.5 g", "": "9808 g"}[grams]
    manual = cured(kitchen, "bacon-pumped", "192 g", water=water, more=more)
    assert codes(manual) == found
    accelerator = dose(manual, "accelerator")
    assert (accelerator.bound, accelerator.least_ppm, accelerator.most_ppm) == ("min", 550, None)
    if not found:
        assert manual.house is not None
        view = limit_view(manual.house, accelerator)
        assert (view.figures[0].number, view.figures[0].words) == ("550", "or more")
        assert "nitrite" not in view.head + view.code_rest


def test_an_accelerator_is_rounded_up(kitchen: Path) -> None:
    """What is required rounds up, and on until the scale can't have shown too much: at the least
    itself, 55.5555… g on 0.01 ± 0.01 g is off by 0.015 g at most and shows 55.58."""
    least = Fraction(55) / Fraction("0.99")
    scale = ScaleFacts(
        "s", "S", Fraction(1, 100), Fraction(1, 100), Fraction(500), Fraction(0), True
    )
    assert choose_above(least, least, Fraction(1, 100), (scale,)).grams == Fraction("55.58")
    manual = cured(
        kitchen, "bacon-pumped", "192 g", water="9752.4 g", more="    ascorbate: 55.6 g\n"
    )
    (line,) = [ln for ln in manual.sheets["cured"].batches[0].lines if ln.name == "Ascorbate"]
    assert line.weighing.scale is not None
    assert line.weighing.grams - line.weighing.scale.uncertainty() >= least


def test_skin_is_not_cured(kitchen: Path) -> None:
    """Handbook: a belly with its skin on counts nine tenths; not stated, it counts as having it.
    160 g × 6.25 % × 10 % ÷ 10 kg is 100 ppm, ÷ 0.9 is 111.1."""
    more = "    ascorbate: 60 g\n"
    for belly in ("skin: left-on", "note: As it comes."):
        found = dose(
            cured(kitchen, "bacon-pumped", "160 g", water="9780 g", more=more, belly=belly)
        )
        assert found.ppm == Fraction(1000, 9)
        assert "dosed 111.11 ppm" in "".join(_limit_lines(found, "°C"))
    assert "not stated" in dict(found.basis.inputs)["Skin"]
    ham = dose(cured(kitchen, "pumped", "160 g", belly="skin: left-on"))
    assert ham.ppm == 100, "read for bacon only"
    bare = dose(cured(kitchen, "bacon-pumped", "160 g", water="9780 g", more=more))
    assert bare.ppm == 100, "without its skin all of it is cured"
    assert not [one for one in (ham, bare) if "Skin" in dict(one.basis.inputs)]


def test_the_least_of_food_kept_cold(kitchen: Path) -> None:
    """Handbook p. 12: 120 ppm. Where the most is 120 too, a weighing may be off by its half
    percent."""
    keeps = "keeps: {cold: 6 days}\n"
    assert codes(cured(kitchen, "immersion", "95 g", water="9.905 kg", keeps=keeps)) == [
        "dose-below-minimum"
    ]
    manual = cured(kitchen, "bacon-immersion", "96 g", water="9.904 kg", keeps=keeps)
    found = dose(manual)
    assert (found.ppm, found.least_ppm, found.weighed_least_ppm) == (120, 120, Fraction("119.4"))
    assert codes(manual) == []


@pytest.mark.parametrize(
    ("way", "cure", "water"),
    [
        ("immersion", "200 g", "9.84 kg"),
        ("pumped", "400 g", "9.6 kg"),
        ("bacon-immersion", "160 g", "9.84 kg"),
    ],
)
def test_the_most_that_is_reported_is_lawful_once_it_is_written(
    kitchen: Path, way: str, cure: str, water: str
) -> None:
    """The pickle weighs less with less cure in it: the figure reported is the last one that passes."""
    (found,) = cured(kitchen, way, cure, water=water).errors
    most = Fraction(found.help.split(", ")[1].split(" g ")[0])
    assert found.code == "dose-above-maximum"
    frozen = "keeps: {frozen: 30 days}\n"  # kept cold, 120 ppm would be asked of it too
    assert codes(cured(kitchen, way, f"{float(most):.2f} g", water=water, keeps=frozen)) == []
    assert codes(cured(kitchen, way, f"{float(most) + 0.01:.2f} g", water=water, keeps=frozen)) == [
        "dose-above-maximum"
    ]


@pytest.mark.parametrize("size", ["[40 kg base]", "[7 kg base]", "[1300 g base]"])
def test_a_load_is_never_weighed_above_the_most(kitchen: Path, size: str) -> None:
    """Rule 5, on the pickle: what the scale shows plus all it can be off stays within the
    maximum."""
    manual = cured(kitchen, "immersion", "160 g", sizes=size)
    for batch in manual.sheets["cured"].batches:
        (line,) = [ln for ln in batch.lines if ln.name == "Cure"]
        scale = line.weighing.scale
        assert scale is not None
        share = batch.factor / line.loads
        most = Fraction(200) / 1_000_000 * (40000 + 10000) * share / Fraction("0.0625")
        assert line.weighing.grams + scale.uncertainty(line.weighing.count) <= most


def test_too_coarse_a_scale_is_an_error(kitchen: Path) -> None:
    """By hand: 96 g for 40 kg is 4.8 g for 2 kg, the most and the least there is. On 0.01 ± 0.01 g,
    off by 0.015 g, 4.78 g is left, 119.5 ppm; on 0.1 ± 0.1 g, off by 0.15 g, 4.6 g, 115 ppm."""
    keeps = "keeps: {cold: 6 days}\n"
    manual = cured(
        kitchen, "bacon-immersion", "96 g", water="9.904 kg", keeps=keeps, sizes="[2 kg base]"
    )
    assert codes(manual) == []
    (close,) = [f for f in manual.findings if f.code == "cure-scale-may-miss"]
    # 4.78 g less 0.015 g of 4.8 g is 119.125 ppm, and 0.5 % below 120 is 119.4
    assert "shows 119.5 ppm of nitrite. By its error it may be 119.1, below 119.4" in close.message
    assert close.severity == "warning"
    edit(
        kitchen,
        "equipment/house.yaml",
        "division: 0.01 g, accuracy: 0.01 g",
        "division: 0.001 g, accuracy: 0.001 g",
    )
    assert "cure-scale-may-miss" not in {f.code for f in compute(kitchen).findings}
    edit(
        kitchen,
        "equipment/house.yaml",
        "division: 0.001 g, accuracy: 0.001 g",
        "division: 0.1 g, accuracy: 0.1 g",
    )
    again = compute(kitchen)
    assert codes(again) == ["cure-scale-too-coarse"]
    assert "115 ppm" in again.errors[0].message


def test_all_sources_are_summed(kitchen: Path) -> None:
    path = kitchen / "standards/ingredients/second.yaml"
    cured(kitchen, "immersion", "80 g")
    path.write_text(
        "second-cure: {name: Second cure, species: none, state: ready-to-eat, allergens: none, "
        "tcs: no, function: cure, nitrite: 0.6 %}\n"
    )
    manual = cured(kitchen, "immersion", "80 g", water="9.92 kg", more="    second-cure: 1000 g\n")
    # 5 g + 6 g over 40 kg + 11 kg
    assert dose(manual).ppm == Fraction(11, 51000) * 1_000_000
    assert codes(manual) == ["dose-above-maximum"]


@pytest.mark.parametrize(
    ("facts", "way", "found"),
    [
        ("nitrite: 6.25 %, nitrite_from: potassium-nitrite", "immersion", []),
        (
            "nitrite: 6.25 %, nitrite_from: potassium-nitrite",
            "bacon-immersion",
            ["cure-not-covered"],
        ),
        ("nitrite: 1.5 %, nitrite_from: vegetable", "immersion", ["cure-natural"]),
        ("nitrite_from: vegetable", "immersion", ["cure-natural"]),
        ("nitrite: 6.25 %, nitrate: 4 %", "immersion", ["cure-not-covered"]),
        ("note: From the tin.", "immersion", ["cure-strength-missing"]),
    ],
)
def test_what_the_cure_is(kitchen: Path, facts: str, way: str, found: list[str]) -> None:
    """Handbook chapter 3: the same figure for the potassium salt, bacon apart; nitrate isn't
    held."""
    manual = cured(kitchen, way, "96 g", facts=facts)
    assert codes(manual) == found


def test_nitrite_is_never_hidden_in_a_seasoning(kitchen: Path) -> None:
    manual = cured(kitchen, "immersion", "96 g")
    edit(kitchen, "ingredients/curing.yaml", "function: cure, ", "")
    assert codes(compute(kitchen)) == ["cure-not-declared"]
    assert codes(manual) == []


@pytest.mark.parametrize(
    ("way", "steps", "found"),
    [
        (
            "pumped",
            "  - do: mix\n    add: [pickle]\n  - do: inject\n    add: [meat]\n",
            ["pump-missing"],
        ),
        ("immersion", STEPS["pumped"], ["pump-missing"]),
        ("pumped", STEPS["pumped"].replace("10 %", "30 %"), ["pickle-too-little"]),
        ("pumped", STEPS["pumped"] + "  - do: brine\n    in: cold-room\n", ["cure-not-covered"]),
        (
            "pumped",
            "  - do: inject\n    add: [pickle]\n    pump: 10 %\n  - do: mix\n    add: [meat]\n",
            ["pump-without-pickle", "pump-missing"],
        ),
    ],
)
def test_where_pickle_and_meat_meet(kitchen: Path, way: str, steps: str, found: list[str]) -> None:
    assert codes(cured(kitchen, way, "96 g", steps=steps)) == found


def test_a_pickle_is_a_part_of_its_own(kitchen: Path) -> None:
    cured(kitchen, "immersion", "96 g")
    path = kitchen / "standards/formulas/cured.yaml"
    text = (
        path.read_text()
        .replace("  pickle:\n", "")
        .replace("    cure: 96 g\n", "    cure: 96 g\n  rest:\n    salt: 1 %\n")
    )
    path.write_text(text)
    edit(kitchen, "processes/curing.yaml", "add: [pickle]", "add: [rest]")
    assert codes(compute(kitchen)) == ["pickle-missing"]


def test_the_rest_of_the_pickle_is_thrown_away(kitchen: Path) -> None:
    """By hand: 40 kg take up 10 %, 4 of the 10 kg; the nitrite in the meat is that of the dose."""
    manual = cured(kitchen, "pumped", "160 g")
    end = manual.walks["cured"].end
    assert end.mass == 44000
    held = sum((c.grams * c.nitrite for c in end.components), Fraction(0))
    assert held / 40000 * 1_000_000 == dose(manual).ppm == 100


@pytest.mark.parametrize("typed", ["10", "110 %", "0 %", "10 % of meat", "a tenth", "100 g"])
def test_a_pump_is_a_share_of_green_weight(kitchen: Path, typed: str) -> None:
    steps = STEPS["pumped"].replace("10 % of green weight", typed)
    manual = cured(kitchen, "pumped", "160 g", steps=steps)
    assert manual.errors and "cured" not in manual.sheets


@given(
    st.integers(1, 10**6),
    st.integers(1, 10**6),
    st.integers(1, 10**5),
    st.fractions(Fraction(1, 100), Fraction(99, 100)),
)
def test_more_nitrite_or_more_pump_is_never_a_smaller_dose(
    meat: int, pickle: int, nitrite: int, share: Fraction
) -> None:
    green, held, grams = Fraction(meat), Fraction(pickle), Fraction(nitrite)
    assert at_balance(green, held).ppm(grams + 1) > at_balance(green, held).ppm(grams)
    assert at_balance(green, held + 1).ppm(grams) < at_balance(green, held).ppm(grams)
    assert taken_up(green, held, share + Fraction(1, 1000), True).ppm(grams) > taken_up(
        green, held, share, True
    ).ppm(grams)
    skin_on = taken_up(green, held, share, True, Fraction(9, 10)).ppm(grams)
    assert skin_on > taken_up(green, held, share, True).ppm(grams), "less meat, a higher dose"


def test_the_step_says_how_much_to_pump(kitchen: Path) -> None:
    manual = cured(kitchen, "pumped", "160 g", keeps="keeps: {frozen: 30 days}\n")
    (page,) = (p for p in make_pages(manual) if p.uri == "range/cured.md")
    row = page.text.split("<dt>Pump</dt>")[1].split("</dd>")[0].replace("\u00a0", " ")
    assert row.endswith("10 % of green weight")


def test_on_paper_a_dose_is_written_beside_its_weight(kitchen: Path) -> None:
    manual = cured(
        kitchen, "bacon-pumped", "192 g", water="9752.4 g", more="    ascorbate: 55.6 g\n"
    )
    assert manual.house is not None and manual.errors == ()
    for kind in ("additive", "accelerator"):
        assert limit_block(manual.house, dose(manual, kind), "2", "Inject")["blanks"] is None


@pytest.mark.parametrize(
    ("ascorbate", "water", "ppm", "grams"),
    [
        # 49.5 g × 10 % ÷ 10 kg; beside 9950 g of other pickle x × 0.99 × 0.1 ÷ (9950 + x) = 550 ÷
        # 1,000,000
        # at x = 5.4725 ÷ 0.09845 = 55.5866 g, of which 0.99 are 55.0307 g
        (50, "9.758 kg", 495, "55.04"),
        # none: x × 0.1 ÷ (10000 + x) at x = 5.5 ÷ 0.09945 = 55.3042 g
        (0, "9.808 kg", 0, "55.31"),
    ],
)
def test_how_much_erythorbate_pumped_bacon_lacks(
    kitchen: Path, ascorbate: int, water: str, ppm: int, grams: str
) -> None:
    """9 CFR 424.22(b)(1): 550 ppm in pumped bacon."""
    more = f"    ascorbate: {ascorbate} g\n" if ascorbate else ""
    manual = cured(kitchen, "bacon-pumped", "192 g", water=water, more=more)
    found = dose(manual, "accelerator")
    assert (found.ppm, found.least_ppm) == (ppm, 550)
    (fault,) = [f for f in manual.errors if f.code == "accelerator-too-little"]
    assert fault.help.startswith(f"{grams} g of it, pure")


@pytest.mark.parametrize(("salt", "reported"), [("sodium", True), ("potassium", False)])
def test_only_the_sodium_salt_is_reported_as_its_ion(
    kitchen: Path, salt: str, reported: bool
) -> None:
    """159 g × 6.25 % ÷ 50 kg are 198.75 ppm of sodium nitrite, 133.2 ppm of the ion: 67 %."""
    facts = f"nitrite: 6.25 %, nitrite_from: {salt}-nitrite"
    manual = cured(kitchen, "immersion", "159 g", water="9.841 kg", facts=facts)
    inputs = dict(dose(manual).basis.inputs)
    assert ("As nitrite ion" in inputs) == reported
    assert not reported or inputs["As nitrite ion"].replace("\u00a0", " ").startswith(
        "about 133 ppm"
    )


@pytest.mark.parametrize(
    ("way", "cure", "water", "words"),
    [
        # 161 g × 6.25 % ÷ 50 kg; 190 g × 6.25 % × 10 % ÷ 10 kg
        (
            "immersion",
            "161 g",
            "9.839 kg",
            "201.25 ppm of nitrite is above the legal maximum, 200 ppm",
        ),
        ("bacon-pumped", "190 g", "9.81 kg", "118.75 ppm of nitrite is below the 120 ppm set for"),
    ],
)
def test_a_dose_that_is_off_is_reported_to_two_decimals(
    kitchen: Path, way: str, cure: str, water: str, words: str
) -> None:
    manual = cured(kitchen, way, cure, water=water)
    said = [f.message.replace("\u00a0", " ") for f in manual.errors if f.code.startswith("dose-")]
    assert len(said) == 1 and words in said[0]
