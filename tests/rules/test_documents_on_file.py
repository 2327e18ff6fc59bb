"""What an inspector asks first: the variance, plan or approval a limit rests on, beside its
reasons."""

from __future__ import annotations

import html
from pathlib import Path

import pytest
from conftest import compute, edit
from test_curing import VARIANCE, cured

from generator.pages import make_pages
from generator.rules.basics.limit import Limit
from generator.sheet.manual import Manual


def reported(limit: Limit) -> str:
    return dict(limit.basis.inputs).get("On file", "")


@pytest.mark.parametrize(
    ("formula", "hazard", "document"),
    [
        ("weir-sausage", "additive", "Variance 26-014"),
        ("millrace-shoulder", "additive", "Variance 26-014"),
        ("sour-beets", "acidity", "Variance 26-031"),
        ("chuck-in-bags", "reduced_oxygen", "HACCP plan 26-07"),
    ],
)
def test_a_limit_names_the_document_it_rests_on(
    demo: Manual, formula: str, hazard: str, document: str
) -> None:
    """Food Code 3-502.11 and 3-502.12 ask for it; its authority and its last day are beside
    it."""
    limits = [lm for lm in demo.walks[formula].limits if lm.hazard == hazard]
    assert limits and demo.house is not None
    (held,) = [a for a in demo.house.kitchen.authorisations if a.document.startswith(document)]
    for limit in limits:
        assert reported(limit).startswith(f"{held.document}, {held.authority}, until ")
    uri = f"{demo.sheets[formula].formula.formula.home}/{formula}.md"
    page = next(p.html for p in make_pages(demo) if p.uri == uri)
    assert held.document in html.unescape(page)


def test_no_other_limit_names_one(demo: Manual) -> None:
    resting = {"additive", "acidity", "reduced_oxygen", "part_cook"}
    for walk in demo.walks.values():
        for limit in walk.limits:
            assert bool(reported(limit)) == (limit.hazard in resting), limit.id


def test_a_retail_kitchen_by_the_plants_pack_names_its_variance(kitchen: Path) -> None:
    """The tables of an inspected establishment are nobody else's without a variance for cooking."""
    edit(
        kitchen,
        "kitchen.yaml",
        "model: us-food-code, edition: 2022",
        "model: us-fsis, edition: 1999",
    )
    with (kitchen / "standards/kitchen.yaml").open("a") as file:
        file.write(VARIANCE.replace("cure", "cook"))
    edit(
        kitchen,
        "ingredients/all.yaml",
        "species: pork\n  state: raw",
        "species: beef\n  state: raw",
    )
    edit(kitchen, "formulas/pork-bake.yaml", "    whole-egg: 6 each\n", "")
    edit(kitchen, "processes/baked.yaml", "  - do: grind\n", "  - do: season\n")
    (cook,) = [lm for lm in compute(kitchen).walks["pork-bake"].limits if lm.hazard == "cook"]
    assert reported(cook) == "Variance 12, Port Sable Health, until 1\u00a0Jan\u00a02027"


def test_what_has_run_out_is_not_named(kitchen: Path) -> None:
    manual = cured(kitchen, "0.25 %", variance=VARIANCE.replace("2027-01-01", "2026-06-30"))
    for walk in manual.walks.values():
        assert not any(reported(limit) for limit in walk.limits)


@pytest.mark.parametrize(
    ("begins", "refused"), [("2026-11-29", False), ("2026-11-30", False), ("2026-12-01", True)]
)
def test_a_document_may_hold_for_one_day(kitchen: Path, begins: str, refused: bool) -> None:
    dates = VARIANCE.replace("2026-01-01", begins).replace("2027-01-01", "2026-11-30")
    with (kitchen / "standards/kitchen.yaml").open("a", encoding="utf-8") as file:
        file.write(dates)
    found = [f.code for f in compute(kitchen).findings if f.code == "authorisation-dates"]
    assert bool(found) is refused
