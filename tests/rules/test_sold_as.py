"""Food sold under a name the law keeps is held to its standard, at the worse end of what is known."""

from __future__ import annotations

import json
import random
from fractions import Fraction
from html import unescape
from pathlib import Path

import pytest
from commands import run
from conftest import ROOT, compute, lay
from translating import texts_of, translator

from generator.binder.limit_box import limit_block
from generator.pages import make_pages
from generator.pages.wording import own_words
from generator.reference.catalogue import read_catalogues
from generator.reference.library import read_reference
from generator.reference.row_kinds import CompositionRow
from generator.rules.basics.limit import ShareLimit
from generator.sheet.manual import Manual

PACK = read_reference(ROOT / "shared").packs["us-9cfr-424"]
FORMULA = """name: {name}
revision: 1
effective: 2026-01-01
approved: R. Osei
station: range
parts:
  mix:
{lines}
steps:
  - do: mix
    add: [mix]
  - do: store
    in: cold-room
keeps: {{cold: 2 days}}
{standard}batches: [10 kg total]
cooked_later: Sold raw; the label says cook it through.
"""
INGREDIENTS = """
lean: {{name: Lean, species: {meat}, state: raw, form: comminuted, allergens: none, composition: {lean}}}
fat: {{name: Fat trim, species: {meat}, state: raw, form: comminuted, allergens: none, composition: {fat}}}
ice: {{name: Ice, species: none, state: ready-to-eat, form: intact, allergens: none, tcs: no, composition: {{water: 100 %, protein: 0 %, fat: 0 %, source: tap}}}}
stpp: {{name: Tripolyphosphate, species: none, state: ready-to-eat, form: dry, allergens: none, tcs: no, phosphate: 100 %}}
blend: {{name: Sausage binder, species: none, state: ready-to-eat, form: dry, allergens: none, tcs: no, phosphate: 50 %}}
unsaid: {{name: Sodium phosphate, species: none, state: ready-to-eat, form: dry, allergens: none, tcs: no}}
soy: {{name: Soy protein, species: none, state: ready-to-eat, form: dry, allergens: soybeans, tcs: no, composition: {{water: 5 %, protein: 90 %, fat: 0 %, carbohydrate: 0 %, ash: 5 %, source: label}}}}
"""
LEAN = "{water: 70 %, protein: 20 %, fat: 9 %, carbohydrate: 0 %, ash: 1 %, source: label}"
FAT = "{water: 15 %, protein: 5 %, fat: 79 %, carbohydrate: 0 %, ash: 1 %, source: label}"


def kitchen(
    tmp_path: Path,
    formulas: dict[str, tuple[dict[str, int], str]],
    meat: str = "pork",
    lean: str = LEAN,
    names: dict[str, str] | None = None,
) -> Manual:
    """Formulas by id: the grams of each line, and the standard it is sold by ("" unsaid)."""
    project = lay("base", tmp_path / "kitchen")
    texts = INGREDIENTS.format(meat=meat, lean=lean, fat=FAT)
    (project / "standards/ingredients/trade.yaml").write_text(texts, encoding="utf-8")
    for ident, (grams, standard) in formulas.items():
        lines = "\n".join(f"    {item}: {many} g" for item, many in grams.items())
        stated = f"standard_of_identity: {standard}\n" if standard else ""
        name = (names or {}).get(ident, f"Thing {ident}")
        text = FORMULA.format(name=name, lines=lines, standard=stated)
        (project / f"standards/formulas/{ident}.yaml").write_text(text, encoding="utf-8")
    return compute(project)


def codes(manual: Manual, formula: str) -> set[str]:
    return {f.code for f in manual.findings if formula in f.about and "standard" in f.code}


def test_random_frankfurters_against_the_arithmetic_of_the_law(tmp_path: Path) -> None:
    """40 batters of lean, fat, ice and soy: fat, and fat with added water, worked out here from the
    grams alone. Soy protein binds no water in the eyes of the law: only the meat's is counted."""
    dice = random.Random(319)
    batters = {}
    for i in range(40):
        batters[f"batter-{i}"] = (
            {
                "lean": dice.randint(2000, 7000),
                "fat": dice.randint(200, 4000),
                "ice": dice.randint(100, 3500),
                "soy": dice.randint(1, 300),
            },
            "frankfurter",
        )
    manual = kitchen(tmp_path, batters)
    seen = set()
    for ident, (g, _) in batters.items():
        whole = sum(g.values())
        fat = Fraction(9 * g["lean"] + 79 * g["fat"], 100)
        water = Fraction(70 * g["lean"] + 15 * g["fat"] + 100 * g["ice"] + 5 * g["soy"], 100)
        meat_protein = Fraction(20 * g["lean"] + 5 * g["fat"], 100)
        added = max(water - 4 * meat_protein, Fraction(0))
        fails = fat * 100 > 30 * whole or (fat + added) * 100 > 40 * whole
        seen.add(fails)
        assert codes(manual, ident) == ({"standard-not-met"} if fails else set()), g
        if not fails:
            limits = [x for x in manual.walks[ident].limits if isinstance(x, ShareLimit)]
            assert [x.found.low for x in limits] == [fat * 100 / whole, (fat + added) * 100 / whole]
            assert all(x.verdict.status == "meets" for x in limits)
    assert seen == {True, False}


def test_the_bound_itself_meets_and_a_gram_more_does_not(tmp_path: Path) -> None:
    """Fresh pork sausage: 3 % of all ingredients may be ice, not more."""
    at, over = {"lean": 9700, "ice": 300}, {"lean": 9699, "ice": 301}
    manual = kitchen(
        tmp_path, {i: (g, "fresh-pork-sausage") for i, g in (("at", at), ("over", over))}
    )
    assert codes(manual, "at") == set() and codes(manual, "over") == {"standard-not-met"}


@pytest.mark.parametrize(
    ("lean", "expected"),
    [
        ("{water: 56 to 60 %, protein: 15 %, fat: 24 to 29 %, source: label}", set()),
        ("{water: 50 to 60 %, protein: 15 %, fat: 24 to 31 %, source: label}", {"standard-unsure"}),
        ("{water: 50 %, protein: 15 %, fat: 31 to 34 %, source: label}", {"standard-not-met"}),
        ("{protein: 15 %, source: label}", {"standard-unsure"}),
    ],
)
def test_what_is_open_counts_as_the_worse(tmp_path: Path, lean: str, expected: set[str]) -> None:
    manual = kitchen(tmp_path, {"beef": ({"lean": 10_000}, "ground-beef")}, "beef", lean)
    assert codes(manual, "beef") == expected


@pytest.mark.parametrize(
    "left_out", ["water: 70 %, ", "protein: 20 %, ", "fat: 9 %, ", "ash: 1 %, "]
)
def test_a_figure_left_out_never_makes_it_meet(tmp_path: Path, left_out: str) -> None:
    """A batter that fails with everything stated fails, or is open, with any figure left out; one
    that meets may become open."""
    batters = {
        "wet": ({"lean": 5500, "fat": 1000, "ice": 3500}, "frankfurter"),
        "good": ({"lean": 8500, "fat": 1000, "ice": 500}, "frankfurter"),
    }
    manual = kitchen(tmp_path, batters, lean=LEAN.replace(left_out, ""))
    assert codes(manual, "wet") & {"standard-not-met", "standard-unsure"}


def test_a_name_of_a_standard_is_asked_about_until_it_is_said(tmp_path: Path) -> None:
    formulas = {
        "dogs": ({"lean": 9000, "fat": 1000}, ""),
        "said": ({"lean": 9000, "fat": 1000}, "none"),
        "sauce": ({"ice": 1000}, ""),
    }
    names = {"dogs": "Hot dogs", "said": "Bologna style roll", "sauce": "Hamburger relish"}
    manual = kitchen(tmp_path, formulas, names=names)
    assert codes(manual, "dogs") == {"standard-not-stated"}
    assert codes(manual, "said") == set()
    assert codes(manual, "sauce") == set()  # no meat: the standard isn't about it


def test_it_is_on_page_register_and_in_json_like_every_limit(tmp_path: Path) -> None:
    manual = kitchen(tmp_path, {"links": ({"lean": 9000, "fat": 1000}, "frankfurter")})
    pages = {p.uri: unescape(p.html).replace("\u00a0", " ") for p in make_pages(manual)}
    (page,) = (html for uri, html in pages.items() if uri.endswith("links.md"))
    assert "9 CFR 319.180(a)" in page and "16 % by this formula" in page
    register = pages["control/limits.md"]
    assert "fat and added water together" in register
    done = run(tmp_path / "kitchen", "limits", "links", "--format", "json")
    limits = [x for x in json.loads(done.stdout)["limits"] if x["hazard"] == "composition"]
    assert [(x["limit_pct"], x["bound"]) for x in limits] == [(30, "max"), (40, "max")]
    assert limits[0]["found_pct"] == {"low": 16, "high": 16}
    assert limits[0]["basis"]["inputs"] and limits[0]["source"]["clause"] == "9 CFR 319.180(a)"


def test_where_no_standards_are_held_none_is_taken_for_met(tmp_path: Path) -> None:
    manual = kitchen(
        tmp_path, {"x": ({"lean": 1000}, "weir-wurst"), "y": ({"lean": 1000}, "phosphate")}
    )
    assert codes(manual, "x") == {"standard-unknown"} and "x" in manual.stopped
    assert codes(manual, "y") == {"standard-unknown"}


def test_its_words_are_there_in_spanish(tmp_path: Path) -> None:
    """The box of every standard, on the formula's page and in the register."""
    standards = sorted({row.applies for _, row in PACK.rows_of(CompositionRow)} - {"phosphate"})
    formulas = {f"as-{one}": ({"lean": 9000, "fat": 1000}, one) for one in standards}
    manual = kitchen(tmp_path, formulas)
    told = translator(read_catalogues(ROOT / "shared")["es"], own_words(manual))
    own = [f"range/as-{one}.md" for one in standards if f"as-{one}" in manual.sheets]
    pages = [p for p in make_pages(manual) if p.uri in (*own, "control/limits.md")]
    assert len(pages) > 10
    assert sorted({t for p in pages for t in texts_of(p.html) if told(t) is None}) == []


def test_meat_made_ahead_counts_by_what_it_may_be(tmp_path: Path) -> None:
    """Ground meat of a formula of its own, with ice in it: as hamburger the ice may be any of the
    water in it, so nobody can tell; soy beside it never counts as meat."""
    formulas = {
        "ground": ({"lean": 9500, "ice": 500}, ""),
        "burger": ({"ground": 5000}, "hamburger"),
        "links": ({"ground": 8000, "soy": 2000}, "italian-sausage"),
    }
    manual = kitchen(tmp_path, formulas, "beef")
    assert codes(manual, "burger") == {"standard-unsure"}
    limits = {x.of: x for x in manual.walks["links"].limits if isinstance(x, ShareLimit)}
    meat = limits["meat, of all ingredients"]
    assert (meat.found.low, meat.found.high, meat.verdict.status) == (0, 80, "fails")


def test_added_water_of_poultry_is_not_said_to_be_none(tmp_path: Path) -> None:
    """The rule of four times the protein is not for poultry: then the water is open."""
    batter = {"good": ({"lean": 8500, "fat": 1000, "ice": 500}, "frankfurter")}
    assert codes(kitchen(tmp_path / "pork", batter), "good") == set()
    assert codes(kitchen(tmp_path / "hen", batter, "chicken"), "good") == {"standard-unsure"}


def test_what_cooks_off_leaves_it_open(tmp_path: Path) -> None:
    """Of what meat loses in the heat nobody knows how much is fat: the bounds widen by it, and the
    finished food may be fatter than what went in."""
    project = tmp_path / "kitchen"
    kitchen(tmp_path, {"links": ({"lean": 7500, "fat": 2500}, "frankfurter")})
    path = project / "standards/formulas/links.yaml"
    text = path.read_text(encoding="utf-8")
    cooked = "  - do: bake\n    with: range-oven\n    at: 180 °C\n    target: core 75 °C\n    loses: 10 %\n"
    chilled = "  - do: chill\n    in: blast\n    target: to 4 °C\n"
    text = text.replace("  - do: store\n", f"{cooked}{chilled}  - do: store\n")
    path.write_text(text.replace("cooked_later", "note"), encoding="utf-8")
    manual = compute(project)
    fat = next(x for x in manual.walks["links"].limits if isinstance(x, ShareLimit))
    # 10 kg with 2.65 kg of fat lose 1 kg of anything: from 1.65 to 2.65 kg in 9 kg.
    assert fat.found.low == Fraction(165, 9) and fat.found.high == Fraction(265, 9)


def test_phosphate_is_held_to_half_a_percent_whatever_it_is_sold_as(tmp_path: Path) -> None:
    """50 g in 10 kg are the most; half of a blend counts by its strength, and so does what comes in
    a formula made ahead. A phosphate that doesn't say how strong it is stops the formula; without
    meat nobody asks."""
    formulas = {
        "most": ({"lean": 9950, "stpp": 50}, ""),
        "over": ({"lean": 9949, "stpp": 51}, ""),
        "half": ({"lean": 9900, "blend": 100}, "none"),
        "ahead": ({"lean": 9890, "brine": 110}, ""),
        "brine": ({"ice": 50, "stpp": 60}, ""),
        "unnamed": ({"lean": 9990, "unsaid": 10}, ""),
        "meatless": ({"ice": 9990, "unsaid": 10}, ""),
    }
    manual = kitchen(tmp_path, formulas)
    assert codes(manual, "most") == set() and codes(manual, "half") == set()
    assert codes(manual, "over") == {"standard-not-met"} == codes(manual, "ahead")
    (limit,) = (x for x in manual.walks["half"].limits if isinstance(x, ShareLimit))
    assert (limit.found.low, limit.percent) == (Fraction(1, 2), Fraction(1, 2))
    about = {
        c
        for c in ("unnamed", "meatless", "brine")
        for f in manual.findings
        if c in f.about and f.code == "phosphate-strength-missing"
    }
    assert about == {"unnamed"} and not codes(manual, "brine")


def test_its_box_on_paper_has_no_room_for_a_reading(tmp_path: Path) -> None:
    manual = kitchen(tmp_path, {"links": ({"lean": 9000, "fat": 1000}, "frankfurter")})
    sheet = manual.sheets["links"]
    limit = next(x for x in sheet.walk.limits if isinstance(x, ShareLimit))
    box = limit_block(sheet.house, limit, "2", ["Store it."])
    assert box["write"] is None and not box.get("blanks")
    assert "9 CFR 319.180(a)" in json.dumps(box) and "16" in box["note"]


def test_phosphate_stays_in_meat_that_loses_juice(tmp_path: Path) -> None:
    """46 g in 10 kg, roasted with a loss of 20 %: all of it in 8 kg are 0.575 %. Of 6970 g of water
    2000 g are gone at most, and no more of the phosphate than of that: 32.8 g stay, 0.41 %, and
    nobody can tell. 60 g are above half a percent either way. What dries loses none."""
    formulas = {"roast": ({"lean": 9954, "stpp": 46}, ""), "over": ({"lean": 9940, "stpp": 60}, "")}
    cooked = "  - {do: roast, at: 160 °C, time: 60 min, loses: 20 %}\n  - do: store"

    def held(steps: str) -> dict[str, ShareLimit]:
        manual = kitchen(tmp_path / steps.split(":")[1].split(",")[0].strip(), formulas)
        for ident in formulas:
            path = manual.project / f"standards/formulas/{ident}.yaml"
            path.write_text(
                path.read_text(encoding="utf-8").replace("  - do: store", steps), encoding="utf-8"
            )
        manual = compute(manual.project)
        return {
            ident: next(x for x in manual.walks[ident].limits if isinstance(x, ShareLimit))
            for ident in formulas
        }

    limits = held(cooked)
    water = Fraction(70, 100) * 9954
    low, high = (
        46 * (1 - Fraction(2000) / (water + 46)) / 80,
        Fraction(4600, 8000),
    )
    roast = limits["roast"].found
    assert roast.high == high and abs(roast.low - low) < Fraction(1, 100)
    assert limits["roast"].verdict.status == "close"
    assert limits["over"].found.low > Fraction(1, 2) and limits["over"].verdict.status == "fails"


def test_a_figure_a_hair_above_its_bound_is_not_shown_as_the_bound(tmp_path: Path) -> None:
    """30.04 % of fat is above 30 %, and no page says 30 %."""
    lean = (
        "{water: 60 %, protein: 9.46 %, fat: 30.04 %, carbohydrate: 0 %, ash: 0.5 %, source: label}"
    )
    manual = kitchen(tmp_path, {"b": ({"lean": 10000}, "ground-beef")}, "beef", lean)
    (said,) = (f.message for f in manual.findings if f.code == "standard-not-met")
    assert "30.04" in said.replace("\u00a0", " ")


def test_raw_sausage_is_asked_by_its_name(tmp_path: Path) -> None:
    """9 CFR 319.140 holds sausage that isn't cooked to 3 % of water put in. One that is sold raw and
    called so is asked; `none` answers, and so does the standard, which then holds."""
    batter = {"lean": 9400, "ice": 600}
    formulas = {
        "asks": (batter, ""),
        "none": (batter, "none"),
        "wet": (batter, "sausage"),
        "dry": ({"lean": 9700, "ice": 300}, "sausage"),
        "mince": (batter, ""),
    }
    names = dict.fromkeys(formulas, "Race sausage") | {"mince": "Mince with ice"}
    manual = kitchen(tmp_path, formulas, names=names)
    assert codes(manual, "asks") == {"standard-not-stated"}
    assert codes(manual, "wet") == {"standard-not-met"}
    assert codes(manual, "none") == codes(manual, "dry") == codes(manual, "mince") == set()
