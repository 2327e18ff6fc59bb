"""Receiving: 3-202.11 as adopted, typed a second time from WAC 246-215-03235 and 12VAC5-421-340."""

from __future__ import annotations

import html
from fractions import Fraction
from pathlib import Path

import pytest
from conftest import compute, edit

from generator.pages import make_pages
from generator.reference.row_kinds import ReceiveRow
from generator.rules.basics.limit import InWords, KeepingLimit
from generator.rules.store.receiving import Receiving, receiving
from generator.sheet.manual import Manual

ALL = "ingredients/all.yaml"
# Kind: °F enacted, °C printed, bound, clause. WAC 246-215-03235(1), (3), (5); Virginia A, C, D.
PUBLISHED = {
    "cold": (41, 5, "max", "3-202.11(A)"),
    "eggs": (45, 7, "max", "3-202.11(C)"),
    "hot": (135, 57, "min", "3-202.11(D)"),
}
# On a probe good to ±1 °C, worked by hand: 41 °F is 5.0 °C, less 1 is 4; 45 °F is 7.2, less 1 is
# 6.2,
# down to 6; 135 °F is 57.2, plus 1 is 58.2, up to 59.
READ = {"cold": 4, "eggs": 6, "hot": 59}


def of(manual: Manual, item: str) -> Receiving | None:
    assert manual.house is not None and manual.standards is not None
    return receiving(manual.house, item, manual.standards.ingredients[item])


@pytest.mark.parametrize("kind", PUBLISHED)
def test_the_rows(clean: Manual, kind: str) -> None:
    assert clean.house is not None
    found = clean.house.pack.row_for(ReceiveRow, kind)
    assert found is not None
    row, (fahrenheit, celsius, bound, clause) = found[1], PUBLISHED[kind]
    assert row.value is not None and row.printed is not None
    assert (row.value.in_unit("°F"), row.printed.in_unit("°C")) == (fahrenheit, celsius)
    assert (row.bound, row.clause) == (bound, clause)


@pytest.mark.parametrize(
    ("item", "facts", "kind"),
    [
        ("pork-shoulder", "", "cold"),
        ("pork-shoulder", "arrives: cold", "cold"),
        ("cream", "", "cold"),
        ("whole-egg", "", "eggs"),
        ("cooked-rice", "arrives: hot", "hot"),
    ],
)
def test_the_limit_of_an_ingredient(kitchen: Path, item: str, facts: str, kind: str) -> None:
    if facts:
        edit(kitchen, ALL, f"{item}:\n", f"{item}:\n  {facts}\n")
    if kind == "eggs":
        edit(kitchen, ALL, "form: liquid", "form: intact")
    manual = compute(kitchen)
    assert manual.errors == ()
    found = of(manual, item)
    assert found is not None
    limit = found.limit
    assert limit.hazard == "receive"
    assert isinstance(limit, KeepingLimit)
    assert limit.figure.value.in_unit("°F") == PUBLISHED[kind][0]
    assert (limit.bound, limit.source.clause) == PUBLISHED[kind][2:]
    assert limit.read == Fraction(READ[kind])
    assert bool(found.assumed) is not bool(facts)
    assert "No sign that it was warm before." in found.words


def test_frozen_food_has_no_figure(kitchen: Path) -> None:
    """12VAC5-421-340 E: labelled and shipped frozen, received frozen."""
    edit(kitchen, ALL, "pork-shoulder:\n", "pork-shoulder:\n  arrives: frozen\n")
    found = of(compute(kitchen), "pork-shoulder")
    assert found is not None and isinstance(found.limit, InWords)
    assert found.limit.words == "Received frozen."
    assert found.limit.source.clause == "3-202.11(E)"


def test_dry_goods_have_none(clean: Manual) -> None:
    assert of(clean, "salt") is None


def test_a_pasteurised_egg_is_no_raw_egg(kitchen: Path) -> None:
    """Nor is one out of its shell, nor one of which the state or the form isn't stated: 41 °F in
    the food."""
    raw = "  state: raw\n  form: liquid\n"
    for facts in (
        "  state: pasteurised\n  form: intact\n",
        raw,
        "  state: raw\n",
        "  form: intact\n",
    ):
        edit(kitchen, ALL, f"species: egg\n{raw}", f"species: egg\n{facts}")
        found = of(compute(kitchen), "whole-egg")
        assert found is not None and found.limit.source.clause == "3-202.11(A)", facts
        edit(kitchen, ALL, f"species: egg\n{facts}", f"species: egg\n{raw}")


def test_an_animal_not_stated_is_received_cold(kitchen: Path) -> None:
    edit(kitchen, ALL, "  species: pork\n", "")
    found = of(compute(kitchen), "pork-shoulder")
    assert found is not None and found.limit.read == 4


def test_it_stands_in_the_register(kitchen: Path) -> None:
    edit(kitchen, ALL, "form: liquid", "form: intact")
    page = next(p for p in make_pages(compute(kitchen)) if "register" in p.uri or "limits" in p.uri)
    shown = html.unescape(page.text).replace("\u00a0", " ")
    group = shown[shown.index('id="receive"') : shown.index('id="cook"')]
    assert "Pork shoulder" in group and "Code 41 °F" in group and "3-202.11(A)" in group
    assert "Whole egg" in group and "the air it comes in" in group and "Code 45 °F" in group
    assert "Fine salt" not in group
    assert "Send it back. Write why." in shown
