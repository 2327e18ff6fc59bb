"""A kitchen's own thermometer scale and cups, followed to the page.

Sizes of cups, spoons and pints: tests/published/test_units.py. Salt: USDA SR28 2047, 1 tbsp 18 g of
the US tablespoon (14.787 ml). Set-points: Food Code 4-203.11, a probe to 1 °C may be 1.8 °F off.
"""

from __future__ import annotations

import html
import re
import shutil
from fractions import Fraction
from pathlib import Path

import pytest
from commands import run
from conftest import BASE, compute, edit

from generator.pages import make_pages
from generator.sheet.manual import Manual

SIGNS = {
    "": Fraction(0),
    "⅛": Fraction(1, 8),
    "¼": Fraction(1, 4),
    "⅓": Fraction(1, 3),
    "⅜": Fraction(3, 8),
    "½": Fraction(1, 2),
    "⅝": Fraction(5, 8),
    "⅔": Fraction(2, 3),
    "¾": Fraction(3, 4),
    "⅞": Fraction(7, 8),
}
US_TBSP = Fraction("14.78676478125")  # ml, NIST Handbook 44, Appendix C


def page(manual: Manual, uri: str) -> str:
    text = next(p.text for p in make_pages(manual) if p.uri == uri)
    text = html.unescape(re.sub(r"<[^>]*>", " ", re.sub(r"</?[biu]>", "", text)))
    return " ".join(text.split())


def test_a_fahrenheit_kitchen_reads_fahrenheit(kitchen: Path) -> None:
    """158, 135, 70 and 41 °F on a probe to 1.8 °F: read 160, 137, 68 and 39."""
    edit(kitchen, "kitchen.yaml", "temperature: °C", "temperature: °F")
    manual = compute(kitchen)
    assert manual.findings == ()
    text = page(manual, "range/pork-bake.md")
    assert "Heat oven 356 °F (180 °C)" in text  # 180 × 9/5 + 32
    assert "probe must read 162 °F or hotter" in text  # the target, 72 °C = 161.6 °F, up
    assert "so it must show 160 °F" in text
    assert "probe must read 68 °F within 2 h 39 °F within 6 h" in text
    assert "The clock starts when the probe falls to 137 °F" in text
    assert "Target to 39 °F (4 °C)" in text  # 39.2 °F, down
    assert "Keep at 39 °F or colder" in text
    register = page(manual, "control/limits.md")
    assert "162 °F or hotter" in register and not re.search(r"[0-9] °C", register)
    headings = next(p.headings for p in make_pages(manual) if p.uri == "range/pork-bake.md")
    chips = [chip.figure for h in headings for chip in h.chips]
    assert chips and all("°F" in figure for figure in chips)


def test_answers_report_the_kitchens_scale_first(kitchen: Path) -> None:
    shutil.copy(BASE / "mkdocs.yml", kitchen)
    said = run(kitchen, "limits", "pork-bake").stdout
    assert "the probe must read 71 °C (160 °F) or hotter" in said
    edit(kitchen, "kitchen.yaml", "temperature: °C", "temperature: °F")
    said = run(kitchen, "limits", "pork-bake").stdout
    assert "the probe must read 160 °F (71 °C) or hotter" in said
    assert "the probe reads 137 °F (59 °C)" in said
    assert "Probe must read 39 °F (4 °C) or colder within 6 h" in said


@pytest.mark.parametrize(
    ("cup", "tbsp_ml"),
    [("us", US_TBSP), ("metric", 15), ("imperial", 15), ("australian", 20)],
)
def test_spoons_are_the_kitchens_own(kitchen: Path, cup: str, tbsp_ml: Fraction | int) -> None:
    """Salt weighed by a US tablespoon, reported in the spoons the kitchen has."""
    edit(kitchen, "kitchen.yaml", "cup: us", f"cup: {cup}")
    edit(
        kitchen, "ingredients/all.yaml", "function: salt", "function: salt\n  foodstuff: salt-table"
    )
    edit(kitchen, "formulas/rice-salad.yaml", "salt: 1 %", "salt: 2 tbsp")
    manual = compute(kitchen)
    assert [f.code for f in manual.errors] == []
    line = next(ln for ln in manual.sheets["rice-salad"].walk.lines if ln.joined.item == "salt")
    assert line.grams == 2 * Fraction(tbsp_ml) / US_TBSP * 18
    weighs = dict(line.basis.inputs)["Unit weight"].replace("\N{NO-BREAK SPACE}", " ")
    assert weighs == ("one tbsp weighs 18 g" if cup == "us" else "one US tbsp weighs 18 g")
    own = 2 * manual.sheets["rice-salad"].batches[0].factor
    said = page(manual, "pass/rice-salad.md")
    nearest = min(SIGNS, key=lambda sign: abs(SIGNS[sign] - own % 1))
    assert f"about {int(own)}{nearest} tbsp" in said
    edit(kitchen, "formulas/rice-salad.yaml", "salt: 2 tbsp", "salt: 1 %")
    batch = compute(kitchen).sheets["rice-salad"].batches[0]
    salt = next(ln for ln in batch.lines if ln.name == "Fine salt")
    spoons = salt.exact_g / 18 * US_TBSP / tbsp_ml
    whole, rest = divmod(spoons, 1)
    sign = min(SIGNS, key=lambda sign: abs(SIGNS[sign] - rest))
    reported = f"about {int(whole)}{sign} tbsp"
    assert salt.household.replace("\N{NO-BREAK SPACE}", " ") == reported


@pytest.mark.parametrize(
    ("cup", "unit", "ml"),
    [
        ("metric", "cup", "250"),
        ("australian", "cup", "250"),
        ("australian", "tbsp", "20"),
        ("imperial", "cup", "284.130625"),
        ("imperial", "pt", "568.26125"),
        ("imperial", "fl oz", "28.4130625"),
    ],
)
def test_convert_takes_the_kitchens_measures(kitchen: Path, cup: str, unit: str, ml: str) -> None:
    """Figures: GNU units (metriccup, australiatablespoon, brcup, brpint, brfloz)."""
    shutil.copy(BASE / "mkdocs.yml", kitchen)
    edit(kitchen, "kitchen.yaml", "cup: us", f"cup: {cup}")
    said = run(kitchen, "convert", "--", "1", unit, "ml").stdout
    assert said.startswith(f"{ml} ml\n"), said
    assert f"Measures: {cup}" in said


def test_a_metric_kitchen_has_no_pint(kitchen: Path) -> None:
    edit(kitchen, "kitchen.yaml", "cup: us", "cup: metric")
    edit(kitchen, "formulas/rice-salad.yaml", "cream: 200 ml", "cream: 1 pt")
    assert [f.code for f in compute(kitchen).errors] == ["unit-not-in-set"]


def in_pounds(kitchen: Path) -> None:
    """The clean kitchen with scales that read ounces."""
    for old, new in (
        (
            "division: 5 g, accuracy: 5 g, capacity: 30 kg",
            "division: 0.2 oz, accuracy: 0.2 oz, capacity: 66 lb",
        ),
        (
            "division: 1 g, accuracy: 1 g, capacity: 5 kg",
            "division: 0.05 oz, accuracy: 0.05 oz, capacity: 11 lb",
        ),
    ):
        edit(kitchen, "equipment/house.yaml", old, new)


def test_a_kitchen_that_weighs_in_pounds_is_reported_pounds(kitchen: Path) -> None:
    """Sums go with the largest scale. 1 lb is 453.59237 g (NIST Handbook 44, Appendix C)."""
    in_pounds(kitchen)
    edit(
        kitchen, "formulas/pork-bake.yaml", "batches: [4 dishes, 8 dishes]", "batches: [10 lb base]"
    )
    manual = compute(kitchen)
    batch = manual.sheets["pork-bake"].batches[0]
    assert batch.label == "10\u00a0lb base"
    text = page(manual, "range/pork-bake.md")
    raw = batch.yields.total_g / Fraction("453.59237")
    said = re.search(r"Weigh ([0-9.]+) (lb|oz)", text)
    assert said is not None
    pounds = Fraction(said[1]) / (1 if said[2] == "lb" else 16)
    assert abs(pounds - raw) < Fraction(1, 100)
    gives = text[text.index("How much?") : text.index("Why?")]  # the fold shows what was typed
    assert not re.search(r"[0-9] kg", gives)
    shutil.copy(BASE / "mkdocs.yml", kitchen)
    reported = run(kitchen, "batch", "pork-bake", "--base", "22 lb").stdout
    assert "22 lb base" in reported and "kg" not in reported


def test_a_gram_kitchen_stays_metric_whatever_its_thermometer_reads(kitchen: Path) -> None:
    edit(kitchen, "kitchen.yaml", "temperature: °C", "temperature: °F")
    text = page(compute(kitchen), "range/pork-bake.md")
    assert re.search(r"[0-9] kg", text) and not re.search(r"[0-9] lb", text)
