"""Salt at balance and in the water of the finished food: worked out by hand, reported as arithmetic."""

from __future__ import annotations

import html
import json
from fractions import Fraction
from pathlib import Path

import pytest
from commands import run
from conftest import compute, edit
from hypothesis import given
from hypothesis import strategies as st

from generator.pages import make_pages
from generator.rules.cures.salting import Salting
from generator.sheet.manual import Manual

FISH = (
    "trout-fillet: {name: Trout fillet, species: fish, state: raw, form: intact, allergens: "
    "[fish (trout)], "
    "composition: {water: 70 %, protein: 20 %, fat: 9 %, source: a laboratory}}\n"
    "water: {name: Water, species: none, state: ready-to-eat, form: liquid, allergens: none, "
    "tcs: no, foodstuff: water-tap}\n"
    "dill: {name: Dill, species: none, state: raw, allergens: none, tcs: no}\n"
)
BRINE = (
    "  - do: mix\n    add: [brine]\n  - do: brine\n    add: [fish]\n    in: cold-room\n"
    "    time: 12 h\n    loses: 50 %\n"
)


def brined(kitchen: Path, *, steps: str = BRINE, dill: str = "", facts: str = FISH) -> Manual:
    """5 kg of trout, 70 % water, in 5 kg of brine: 300 g of salt in 4700 g of tap water, 99.9 %
    water."""
    standards = kitchen / "standards"
    (standards / "ingredients/fish.yaml").write_text(facts)
    (standards / "processes/brined.yaml").write_text(
        f"name: Brined\nsteps:\n{steps}  - do: bake\n    at: 180 °C\n"
        "    target: core 72 °C for 1 min\n    loses: 10 %\n"
        "  - do: chill\n    in: blast\n    target: to 4 °C\n  - do: store\n    in: cold-room\n"
    )
    (standards / "formulas/trout.yaml").write_text(
        "name: Trout\nrevision: 1\neffective: 2026-01-01\napproved: R. Osei\nstation: range\n"
        "base: fish\nparts:\n"
        "  fish:\n    trout-fillet: 5 kg\n  brine:\n    water: 4700 g\n    salt: 300 g\n"
        f"{dill}process: brined\n"
        "keeps: {cold: 3 days}\nbatches: [5 kg base]\n"
    )
    return compute(kitchen)


def found(manual: Manual) -> Salting:
    salt = manual.walks["trout"].salting
    assert salt is not None
    return salt


def test_at_balance(kitchen: Path) -> None:
    """Handbook p. 22: meat and brine are one system: 300 g in 10 kg are 3 %."""
    manual = brined(kitchen)
    assert manual.errors == ()
    assert (found(manual).at_balance, found(manual).number) == (Fraction(3, 100), 2)


def test_in_its_water(kitchen: Path) -> None:
    """Maine 01-001 CMR 359: salt ÷ (salt + moisture). By hand: 5000 × 70 % + 4700 × 99.9 % = 8195.3
    g of water and 300 g of salt: 3.531 %; if the tenth lost in the oven is all water, 7195.3 g:
    4.002 %. The brine poured off has its salt with it and changes neither."""
    low, high = found(brined(kitchen)).in_water or (0, 0)
    assert low == Fraction(300) / (300 + Fraction("8195.3"))
    assert high == Fraction(300) / (300 + Fraction("7195.3"))


def test_pumped(kitchen: Path) -> None:
    """By hand: 5 kg take up 10 %, 500 of the 5000 g, with 30 g of the salt: 30 ÷ 5500."""
    steps = (
        "  - do: mix\n    add: [brine]\n  - do: inject\n    add: [fish]\n"
        "    pump: 10 % of green weight\n"
    )
    manual = brined(kitchen, steps=steps)
    assert manual.errors == ()
    assert found(manual).at_balance == Fraction(30, 5500)


def test_a_composition_that_is_missing_is_asked_for(kitchen: Path) -> None:
    facts = FISH.replace(
        ", composition: {water: 70 %, protein: 20 %, fat: 9 %, source: a laboratory}", ""
    )
    assert facts != FISH
    manual = brined(kitchen, facts=facts)
    assert (found(manual).in_water, found(manual).unknown) == (None, ("Trout fillet",))
    (page,) = (p for p in make_pages(manual) if p.uri == "range/trout.md")
    text = html.unescape(page.text).replace("\u00a0", " ")
    assert "can't be computed: write the water of Trout fillet" in text


def test_a_trifle_widens_the_figures(kitchen: Path) -> None:
    """50 g of dill of unknown water, half a percent: all water for the lower figure, none for the
    higher."""
    low, high = found(brined(kitchen, dill="    dill: 50 g\n")).in_water or (0, 0)
    assert low == Fraction(300) / (300 + Fraction("8195.3") + 50)
    assert high == Fraction(300) / (300 + Fraction("8195.3") - Fraction("1005"))
    assert found(brined(kitchen, dill="    dill: 200 g\n")).unknown == ("Dill",)


def test_a_cure_brings_salt_where_it_says_so(kitchen: Path) -> None:
    """A cure of 93.75 % salt (published composition of cure no. 1)."""
    with (kitchen / "standards/kitchen.yaml").open("a") as file:
        file.write(
            "authorisations:\n  - {for: cure, authority: A, document: B, from: 2026-01-01, "
            "until: 2027-01-01}\n"
        )
    cure = (
        "cure: {name: Cure, species: none, state: ready-to-eat, allergens: none, tcs: no, "
        "function: cure, nitrite: 6.25 %}\n"
    )
    edit(
        kitchen,
        "formulas/pork-bake.yaml",
        "    salt: 1.6 %\n",
        "    salt: 1.6 %\n    cure: 0.24 %\n",
    )
    path = kitchen / "standards/ingredients/cure.yaml"
    path.write_text(cure)
    without = compute(kitchen).walks["pork-bake"].salting
    path.write_text(cure.replace("nitrite: 6.25 %", "nitrite: 6.25 %, salt: 93.75 %"))
    stated = compute(kitchen).walks["pork-bake"].salting
    assert without is not None and stated is not None
    assert (without.uncounted, stated.uncounted) == (("Cure",), ())
    assert stated.salt_g - without.salt_g == Fraction("7.2") * Fraction("0.9375")
    assert stated.at_balance is None, "no brine"


def test_other_food_has_none(clean: Manual) -> None:
    assert all(walk.salting is None for walk in clean.walks.values())


def test_page_and_json_report_the_same(kitchen: Path) -> None:
    manual = brined(kitchen)
    done = run(kitchen, "data", "trout")
    reported = json.loads(done.stdout)["salting"]
    assert reported["at_balance_pct"] == 3 and round(reported["water_phase_low_pct"], 3) == 3.531
    (page,) = (p for p in make_pages(manual) if p.uri == "range/trout.md")
    text = html.unescape(page.text).replace("\u00a0", " ")
    fold = text.split("How salty")[1].split("</details>")[0]
    assert "3 % of meat and brine together" in fold
    assert "3.531 % to 4.003 % of its water and salt" in fold
    assert "never a permission" in fold


@pytest.mark.parametrize(
    ("fat", "found"),
    [
        ("0 %", []),
        ("0.0 %", []),
        ("100 %", ["composition-over-whole"]),  # beside 70 % of water
        ("101 %", ["strength-out-of-range"]),
        ("0 g", ["amount-zero"]),
    ],
)
def test_a_food_may_be_without_fat(kitchen: Path, fat: str, found: list[str]) -> None:
    facts = FISH.replace("fat: 9 %", f"fat: {fat}")
    assert [f.code for f in brined(kitchen, facts=facts).errors] == found


@pytest.mark.parametrize("typed", ["120 %", "0 %", "30 g", "much"])
def test_a_share_of_salt_is_a_percentage(kitchen: Path, typed: str) -> None:
    edit(kitchen, "ingredients/all.yaml", "  function: salt", f"  function: salt\n  salt: {typed}")
    assert compute(kitchen).errors


@given(st.fractions(Fraction(1, 1000), 1), st.fractions(0, 1), st.fractions(0, Fraction(1, 2)))
def test_the_lower_figure_is_never_above_the_higher(
    salt: Fraction, water: Fraction, lost: Fraction
) -> None:
    """Property of salt ÷ (salt + water): less water is more salt in it."""
    dried = water - lost
    if dried > 0:
        assert salt / (salt + water) <= salt / (salt + dried)
