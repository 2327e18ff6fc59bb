"""Whom the rules are for: no plant's table in a restaurant, nothing raw for the frail, no
children's menu."""

from __future__ import annotations

import html
import json
import shutil
import tempfile
from pathlib import Path

import pytest
from conftest import ROOT, compute, edit, lay
from hypothesis import given, settings
from hypothesis import strategies as st

from generator.answers.limits import limits_record, limits_text
from generator.pages import make_pages
from generator.reference.library import read_reference
from generator.reference.row_kinds import WordsRow
from generator.sheet.cautioning import notices_for, shared_machines
from generator.sheet.manual import Manual

PACKS = read_reference(ROOT / "shared").packs
TABLES = {i for i, r in PACKS["us-fsis"].rows.items() if "FSIS" in r.document}


def codes(manual: Manual) -> list[str]:
    return [f.code for f in manual.findings]


def no_plants_row(manual: Manual) -> None:
    """No limit, page of a formula or register line speaks of the tables for plants."""
    for walk in manual.walks.values():
        shown = {o.row for lm in walk.limits for o in getattr(lm, "options", ())}
        assert not shown & TABLES
        for text in (limits_text(walk), json.dumps(limits_record(walk))):
            assert "FSIS" not in text and "Appendix A" not in text and "log column" not in text
    stations = tuple(f"{s}/" for s in (manual.standards.stations if manual.standards else ()))
    for page in make_pages(manual):
        if page.uri.startswith(stations) or page.uri == "control/limits.md":
            assert "FSIS" not in html.unescape(page.html), page.uri


def test_the_demo_shows_no_row_of_the_plants(demo: Manual) -> None:
    assert demo.walks
    no_plants_row(demo)


SPECIES = st.sampled_from(
    ["pork", "beef", "chicken", "turkey", "lamb", "duck", "fish", "egg", "none"]
)
FORMS = st.sampled_from(["intact", "comminuted", "tenderised", "injected"])
TARGETS = st.builds(
    lambda degrees, held: f"core {degrees} °C" + (f" for {held} s" if held else ""),
    st.integers(54, 80),
    st.sampled_from([0, 15, 30, 67, 85, 134, 600, 6720]),
)


@settings(max_examples=25)
@given(
    species=SPECIES,
    second=SPECIES,
    form=FORMS,
    target=TARGETS,
    edition=st.sampled_from(["2022", "2013", "2017"]),
    grind=st.booleans(),
    variance=st.booleans(),
)
def test_no_random_retail_kitchen_shows_a_row_of_the_plants(
    species: str, second: str, form: str, target: str, edition: str, grind: bool, variance: bool
) -> None:
    """Whatever is cooked, however, by whatever edition, and with a variance for cooking on file
    besides."""
    with tempfile.TemporaryDirectory() as folder:
        kitchen = lay("base", Path(folder) / "kitchen")
        edit(kitchen, "kitchen.yaml", "edition: 2022", f"edition: {edition}")
        if variance:
            path = kitchen / "standards/kitchen.yaml"
            more = (
                "authorisations:\n  - {for: cook, authority: County, document: V-12, "
                "from: 2026-02-01, until: 2028-01-01}\n"
            )
            path.write_text(path.read_text(encoding="utf-8") + more, encoding="utf-8")
        allergens = {"fish": "[fish (cod)]", "egg": "[eggs]"}
        for old, new in (("pork", species), ("egg", second)):
            edit(kitchen, "ingredients/all.yaml", f"species: {old}\n", f"species: {new}x\n")
        edit(
            kitchen,
            "ingredients/all.yaml",
            f"species: {species}x\n  state: raw\n  form: intact\n  allergens: none",
            f"species: {species}\n  state: raw\n  form: {form}\n"
            f"  allergens: {allergens.get(species, 'none')}",
        )
        edit(
            kitchen,
            "ingredients/all.yaml",
            f"species: {second}x\n  state: raw\n  form: liquid\n  allergens: [eggs]",
            f"species: {second}\n  state: raw\n  form: liquid\n"
            f"  allergens: {allergens.get(second, 'none')}",
        )
        edit(kitchen, "formulas/pork-bake.yaml", "core 72 °C", target)
        if not grind:
            edit(kitchen, "processes/baked.yaml", "do: grind", "do: season")
        manual = compute(kitchen)
        assert manual.walks, "every one of them is walked"
        no_plants_row(manual)


# --- for the frail


@pytest.mark.parametrize("edition", ["2022", "2013"])
def test_raw_eggs_give_way_to_pasteurised_ones_for_the_frail(kitchen: Path, edition: str) -> None:
    """Food Code 3-801.11(B), read in Virginia 12VAC5-421-950(2) and Washington WAC
    246-215-03800(2)."""
    edit(kitchen, "kitchen.yaml", "edition: 2022", f"edition: {edition}")
    edit(kitchen, "kitchen.yaml", "serves: general", "serves: highly-susceptible")
    manual = compute(kitchen)
    (found,) = [f for f in manual.errors if f.code == "susceptible-raw-eggs"]
    assert "3-801.11(B)" in found.source and "pork-bake" in manual.stopped
    edit(
        kitchen,
        "ingredients/all.yaml",
        "species: egg\n  state: raw",
        "species: egg\n  state: pasteurised",
    )
    assert "susceptible-raw-eggs" not in codes(compute(kitchen))


def test_every_row_for_the_frail_names_its_clause_and_its_copies() -> None:
    rows = dict(PACKS["us-food-code-2022"].rows_of(WordsRow, "susceptible"))
    assert {r.clause for r in rows.values()} == {
        "3-801.11(A)",
        "3-801.11(B)",
        "3-801.11(C)",
        "3-801.11(E)",
        "3-801.11(F)(1)",
        "3-801.11(F)(2)",
        "3-801.11(B)(2), (C)(2)",
    }
    copies = {"va-12vac5-421-950", "wa-246-215-03800"}  # that of juice was read in the second alone
    assert all(copies & set(r.read_in) and r.words for r in rows.values())


UNDERCOOKED = (
    "targets: {bake: core 72 °C}\nkeeps: {cold: 5 days}\n",
    "undercooked: On request; the menu carries the advisory.\n",
)
SERVED = (
    "  - do: chill\n    in: blast\n    target: to 4 °C\n  - do: store\n    in: cold-room\n",
    "  - do: serve\n",
)


@pytest.mark.parametrize(("ground", "reported"), [(True, True), (False, False)])
def test_minced_meat_undercooked_is_never_for_a_childrens_menu(
    kitchen: Path, ground: bool, reported: bool
) -> None:
    """Food Code 3-401.11(D), as Detroit prints it: not comminuted meat from a children's menu."""
    edit(kitchen, "formulas/pork-bake.yaml", *UNDERCOOKED)
    edit(kitchen, "formulas/pork-bake.yaml", "    whole-egg: 6 each\n", "")
    edit(kitchen, "processes/baked.yaml", *SERVED)
    edit(kitchen, "processes/baked.yaml", "    target: from the formula\n", "")
    if not ground:
        edit(kitchen, "processes/baked.yaml", "do: grind", "do: season")
    manual = compute(kitchen)
    page = next(p for p in make_pages(manual) if p.uri == "range/pork-bake.md")
    assert ("children's menu" in html.unescape(page.html)) == reported


# --- a species not stated


def test_meat_without_a_species_is_warned_of_as_raw_poultry(kitchen: Path) -> None:
    """A fact not stated counts as the strictest; the caution that means poultry is raised
    too."""
    edit(kitchen, "ingredients/all.yaml", "  species: pork\n", "")
    manual = compute(kitchen)
    assert "fact-not-stated" in codes(manual) and manual.house is not None
    walk = manual.walks["pork-bake"]
    found = notices_for(manual.house, walk, shared_machines(manual.walks.values()))
    assert "raw-poultry" in {n.id for step in found.by_step.values() for n in step}


# --- days where the law sets none


@pytest.mark.parametrize(
    ("days", "study", "asked"),
    [
        ("3 days", "", False),
        ("10 days", "", False),
        ("11 days", "", True),
        ("1095 days", "", True),
        ("11 days", ", study: Shelf-life study 7", False),
    ],
)
def test_a_long_life_without_a_law_is_asked_about(
    tmp_path: Path, days: str, study: str, asked: bool
) -> None:
    shutil.copytree(ROOT / "tests/kitchens/england" / "standards", tmp_path / "standards")
    edit(
        tmp_path,
        "formulas/beef-filling.yaml",
        "{cold: 3 days}",
        f"{{cold: {days}{study}}}",
    )
    manual = compute(tmp_path)
    assert ("keeps-unproven" in codes(manual)) == asked
    dates = manual.walks["beef-filling"].dates
    assert dates is not None and dates.law_day is None
    assert ("Shelf-life study 7" in dates.words) == bool(study)
