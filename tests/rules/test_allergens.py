"""Whose list of allergens a kitchen declares by, and what its pages then say.

US: 21 U.S.C. 321(qq), 343(w). EU: Regulation (EU) 1169/2011, Annex II; that the cereal and the nut
are named, the fish and the mollusc not of necessity: Commission Notice 2017/C 428/01, section 3.1.
"""

from __future__ import annotations

import html
from pathlib import Path

import pytest
from conftest import compute, edit

from generator.answers.sheet import sheet_record
from generator.pages import make_pages
from generator.sheet.manual import Manual

KITCHEN = "kitchen.yaml"
ALL = "ingredients/all.yaml"


def european(kitchen: Path) -> Path:
    edit(kitchen, KITCHEN, "cup: us", "cup: us\nallergens: eu")
    return kitchen


def page(manual: Manual, name: str) -> str:
    text = next(p.text for p in make_pages(manual) if p.uri.endswith(f"/{name}.md"))
    return html.unescape(text)


def test_none_of_fourteen(kitchen: Path) -> None:
    manual = compute(european(kitchen))
    assert manual.findings == ()
    text = page(manual, "house-spice")
    assert "Contains <b>none of the fourteen allergens</b>" in text
    assert "Contains: none of the fourteen allergens" in text, "the label"
    assert "nine" not in text
    assert "none of the nine major allergens" not in "".join(p.text for p in make_pages(manual))


def test_the_list_is_the_codes_own_unless_the_kitchen_says(kitchen: Path) -> None:
    before = compute(kitchen)
    edit(kitchen, KITCHEN, "cup: us", "cup: us\nallergens: us")
    after = compute(kitchen)
    assert before.house is not None and after.house is not None
    assert before.house.allergens == after.house.allergens
    assert page(before, "house-spice") == page(after, "house-spice")


def test_fourteen_in_the_order_of_the_annex(kitchen: Path) -> None:
    edit(
        european(kitchen),
        ALL,
        "allergens: [eggs]",
        "allergens: [molluscs, sulphites, eggs, fish, gluten (rye), nuts (walnut), crustaceans "
        "(crab), "
        "gluten (barley), celery, mustard, sesame, lupin, peanuts, soybeans]",
    )
    manual = compute(kitchen)
    assert manual.findings == ()
    expected = [
        "gluten (barley)",
        "gluten (rye)",
        "crustaceans (crab)",
        "eggs",
        "fish",
        "peanuts",
        "soybeans",
        "milk",
        "nuts (walnut)",
        "celery",
        "mustard",
        "sesame",
        "sulphites",
        "lupin",
        "molluscs",
    ]
    sheet = manual.sheets["pork-bake"]
    assert sheet_record(sheet, (), manual.walks)["allergens"] == expected
    assert f"Contains <b>{', '.join(expected)}</b>" in page(manual, "pork-bake")


@pytest.mark.parametrize(
    ("species", "word"),
    [("egg", "eggs"), ("fish", "fish"), ("crustacean", "crustaceans"), ("mollusc", "molluscs")],
)
def test_a_species_declares_itself(kitchen: Path, species: str, word: str) -> None:
    edit(european(kitchen), ALL, "species: egg", f"species: {species}")
    edit(kitchen, ALL, "allergens: [eggs]", f"allergens: [{word}]")
    assert [f for f in compute(kitchen).errors if f.code.startswith("allergen")] == []
    edit(kitchen, ALL, f"allergens: [{word}]", "allergens: none")
    found = [f for f in compute(kitchen).errors if f.code == "allergen-missing"]
    assert len(found) == 1 and word in found[0].message


def test_a_mollusc_is_none_of_the_nine(kitchen: Path) -> None:
    """21 U.S.C. 321(qq) names crustacean shellfish only."""
    edit(kitchen, ALL, "species: egg", "species: mollusc")
    edit(kitchen, ALL, "allergens: [eggs]", "allergens: none")
    assert [f for f in compute(kitchen).errors if f.code.startswith("allergen")] == []


def test_an_allergen_not_stated_is_an_error_here_too(kitchen: Path) -> None:
    edit(european(kitchen), ALL, "  allergens: [milk]\n", "")
    assert "key-missing" in {f.code for f in compute(kitchen).errors}


@pytest.mark.parametrize(
    ("typed", "fixed"),
    [
        ("wheat", "gluten (wheat)"),
        ("crustacean shellfish (crab)", "crustaceans (crab)"),
        ("crustacean-shellfish", "crustaceans"),
        ("Tree  nuts (almond)", "nuts (almond)"),
    ],
)
def test_the_fix_of_a_word_of_the_other_list_is_clean(
    kitchen: Path, typed: str, fixed: str
) -> None:
    edit(european(kitchen), ALL, "allergens: [milk]", f"allergens: [milk, {typed}]")
    found = compute(kitchen).errors
    assert [f.code for f in found] == ["allergen-of-another-list"]
    assert found[0].write == (f"allergens: [milk, {fixed}]",)
    edit(kitchen, ALL, f"[milk, {typed}]", f"[milk, {fixed}]")
    assert compute(kitchen).findings == ()


def test_what_can_be_declared_is_said_before_what_cannot(kitchen: Path) -> None:
    """Of three words of the fourteen: a shellfish the nine have, a nut without its kind, celery."""
    edit(
        kitchen,
        ALL,
        "allergens: [milk]",
        "allergens: [milk, celery, nuts, crustaceans (crab)]",
    )
    (found,) = compute(kitchen).errors
    first, second, third = found.help.partition(" Declare tree nuts")[0], "tree nuts", "celery"
    assert first == "Declare crustacean shellfish (crab)."
    assert found.help.index(second) < found.help.index(third)


def test_what_a_list_lacks_is_never_dropped_in_silence(kitchen: Path) -> None:
    """Celery under the nine and a pine nut under the fourteen stop the formula."""
    edit(kitchen, ALL, "allergens: [milk]", "allergens: [milk, celery]")
    assert "pork-bake" in compute(kitchen).stopped
    edit(european(kitchen), ALL, "allergens: [milk, celery]", "allergens: [milk, nuts (pine nut)]")
    manual = compute(kitchen)
    assert "pork-bake" in manual.stopped
    assert [f.code for f in manual.errors] == ["allergen-kind-unknown"]


def test_an_unknown_list_hides_no_ingredient_without_its_allergens(kitchen: Path) -> None:
    """Nothing can be offered by a list that nobody knows: both are asked for at once."""
    path = kitchen / "standards/kitchen.yaml"
    path.write_text(path.read_text("utf-8") + "allergens: the-fifteen\n", "utf-8")
    edit(kitchen, ALL, "  allergens: [milk]\n", "")
    assert {f.code for f in compute(kitchen).errors} >= {"allergen-list-unknown", "key-missing"}
