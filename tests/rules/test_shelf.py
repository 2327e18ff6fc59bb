"""An ingredient's own limits: by command, on its page, in a log of readings; and never laxer
unasked.

Figures typed from 3-202.11, 3-501.14(C) and (D), 3-501.16 and 3-501.17(A) and (B) as adopted
(2VAC5-585-800, 12VAC5-421-340 and -830, WAC 246-215-03525), worked by hand for a probe good to ±1
°C: 41 °F is 5.0 °C, read at 4; 45 °F is 7.2 °C, read at 6; 135 °F is 57.2 °C, read at 59.
"""

from __future__ import annotations

import html
import json
import shutil
from fractions import Fraction
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from conftest import AS_OF, ROOT, compute, edit
from hypothesis import given
from hypothesis import strategies as st

from generator.cli import cli
from generator.pages import make_pages
from generator.records.ingredient import Ingredient
from generator.rules.basics.limit import InWords, Limit
from generator.rules.store.shelf import Shelf, shelf_of
from generator.sheet.manual import Manual

ALL = "ingredients/all.yaml"
CREAM, SHELL, EGG = "cream:\n", ("form: liquid", "form: intact"), "whole-egg"
LAW = "  own_law: the law on milk\n"


def run(project: Path, *words: str) -> tuple[int, str, str]:
    done = CliRunner().invoke(cli, [*words, "--project", str(project), "--as-of", str(AS_OF)])
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    return done.exit_code, done.stdout, done.stderr.replace("\u00a0", " ")


def limits(project: Path, item: str) -> dict[str, Any]:
    code, out, said = run(project, "limits", item, "--format", "json")
    assert code == 0, said
    record = json.loads(out)
    assert record["ingredient"] == item
    return {limit["id"].removeprefix(f"{item}/"): limit for limit in record["limits"]}


def of(manual: Manual, item: str) -> Shelf:
    assert manual.house is not None and manual.standards is not None
    return shelf_of(manual.house, item, manual.standards.ingredients[item])


# --- by command


def test_in_text_and_in_json(kitchen: Path) -> None:
    edit(kitchen, ALL, *SHELL)
    code, out, _ = run(kitchen, "limits", EGG)
    assert code == 0
    assert out.splitlines()[:3] == ["Whole egg", "", "Receive"]
    assert "Store: cold hold\n  The air must read 6 °C (43 °F) or colder\n" in out
    assert "Code 45 °F (7 °C); 3-501.14(D)" in out and "Code 45 °F (7 °C); 3-501.16(B)" in out
    assert list(limits(kitchen, EGG)) == ["receive", "put-away/cold_hold", "store/cold_hold"]
    found = limits(kitchen, "pork-shoulder")
    assert list(found) == ["receive", "store/cold_hold"], "raw meat has no date of its own"
    assert (found["store/cold_hold"]["value"], found["store/cold_hold"]["read_at_c"]) == (41, 4)


def test_a_name_that_is_neither(kitchen: Path) -> None:
    for near, meant in (("whole-eg", "whole-egg"), ("pork-bak", "pork-bake")):
        code, _, said = run(kitchen, "limits", near)
        assert code == 2 and f"Did you mean {meant}?" in said
    code, _, said = run(kitchen, "limits", "zzz")
    assert code == 2 and "There is no formula or ingredient zzz." in said


def test_nothing_is_supposed_of_an_ingredient(kitchen: Path) -> None:
    code, out, said = run(kitchen, "limits", "cream", "--if", "bake: core 75 °C")
    assert (code, out) == (2, "") and "cream is an ingredient" in said


def test_a_broken_ingredient_has_no_limits(kitchen: Path) -> None:
    edit(kitchen, ALL, "  species: egg\n  state: raw", "  species: egg\n  state: rare")
    code, out, said = run(kitchen, "limits", EGG)
    assert (code, out) == (1, "") and "rare" in said
    assert run(kitchen, "limits", "pork-shoulder")[0] == 0, "the others have theirs"


def test_food_that_needs_no_cold_has_none(kitchen: Path) -> None:
    assert limits(kitchen, "salt") == {}
    assert "No critical limit applies" in run(kitchen, "limits", "salt")[1]


# --- facts and rows


def test_frozen_and_hot_food(kitchen: Path) -> None:
    edit(kitchen, ALL, "pork-shoulder:\n", "pork-shoulder:\n  arrives: frozen\n")
    edit(kitchen, ALL, "cooked-rice:\n", "cooked-rice:\n  arrives: hot\n")
    frozen = limits(kitchen, "pork-shoulder")
    assert list(frozen) == ["receive", "store/cold_hold"]
    assert frozen["receive"]["words"] == "Received frozen."
    kept = frozen["store/cold_hold"]
    assert kept["words"] == "Keep it frozen." and kept["source"]["clause"] == "3-501.11"
    hot = limits(kitchen, "cooked-rice")
    assert list(hot) == ["receive", "store/hot_hold"]
    held = hot["store/hot_hold"]
    assert (held["value"], held["read_at_c"], held["bound"]) == (135, 59, "min")


def test_a_law_of_its_own(kitchen: Path) -> None:
    """3-202.11(B), 3-501.14(C): no figure at the door, then 41 °F within 4 h of coming in."""
    edit(kitchen, ALL, CREAM, CREAM + LAW)
    found = limits(kitchen, "cream")
    assert list(found) == ["receive", "put-away/cool", "store/cold_hold", "store/date"]
    assert "value" not in found["receive"] and "the law on milk" in found["receive"]["words"]
    (stage,) = found["put-away/cool"]["stages"]
    assert (stage["to_f"], stage["read_at_c"], stage["within_s"]) == (41, 4, 4 * 3600)
    assert "Clock starts when it comes in" in run(kitchen, "limits", "cream")[1]


@pytest.mark.parametrize("arrives", ["hot", "frozen"])
def test_a_law_of_its_own_is_not_for_hot_or_frozen_food(kitchen: Path, arrives: str) -> None:
    edit(kitchen, ALL, "cooked-rice:\n", f"cooked-rice:\n  arrives: {arrives}\n{LAW}")
    manual = compute(kitchen)
    assert [f.code for f in manual.findings] == ["own-law-unused"]
    shelf = of(manual, "cooked-rice")
    assert shelf.put_away is None and shelf.receiving is not None
    assert shelf.receiving.limit.source.clause in ("3-202.11(D)", "3-202.11(E)")


def test_by_the_plants_tables(kitchen: Path) -> None:
    """The pack shares holding and dating with the Food Code, and says nothing of receiving or of
    cooling what comes in."""
    edit(kitchen, ALL, *SHELL)
    edit(kitchen, ALL, CREAM, CREAM + LAW)
    edit(
        kitchen,
        "kitchen.yaml",
        "code: {model: us-food-code, edition: 2022",
        "operation: inspected-establishment\ncode: {model: us-fsis, edition: 1999",
    )
    assert list(limits(kitchen, EGG)) == ["store/cold_hold"]
    assert limits(kitchen, EGG)["store/cold_hold"]["source"]["document"] == "Food Code 2022"
    assert list(limits(kitchen, "cream")) == ["store/cold_hold", "store/date"]
    assert "own-law-unused" in [f.code for f in compute(kitchen).findings]


def test_by_the_edition_of_2013(kitchen: Path) -> None:
    """It shares these rows, each read in a text that gives it for both."""
    edit(kitchen, ALL, *SHELL)
    edit(kitchen, ALL, CREAM, CREAM + LAW)
    edit(kitchen, "kitchen.yaml", "edition: 2022", "edition: 2013")
    held = limits(kitchen, EGG)["store/cold_hold"]
    assert (held["value"], held["measured"], held["source"]["edition"]) == (45, "air", "2013")
    found = limits(kitchen, "cream")
    assert found["put-away/cool"]["source"]["document"] == "Food Code 2013"
    assert found["store/date"]["day_one"] == "opened"


def test_in_england(tmp_path: Path) -> None:
    """SI 2013/2996 Sch. 4: 8 °C; no receiving temperature, no shell eggs, no days."""
    shutil.copytree(ROOT / "tests/kitchens/england" / "standards", tmp_path / "standards")
    found = limits(tmp_path, "cream")
    assert list(found) == ["store/cold_hold"]
    assert (found["store/cold_hold"]["value"], found["store/cold_hold"]["unit"]) == (8, "°C")
    code, out, _ = run(tmp_path, "limits", "cream")
    assert code == 0 and "Use by" not in out
    egg = "hen-egg: {name: Hen egg, species: egg, state: raw, form: intact, allergens: eggs}\n"
    path = tmp_path / "standards" / ALL
    path.write_text(path.read_text(encoding="utf-8") + egg, encoding="utf-8")
    held = limits(tmp_path, "hen-egg")["store/cold_hold"]
    assert held["value"] == 8 and "measured" not in held, "no row for the air: the food's own"


# --- house limits


def test_house_limits_reach_the_shelf(kitchen: Path) -> None:
    edit(kitchen, ALL, *SHELL)
    edit(
        kitchen,
        "kitchen.yaml",
        "stations: [pass, range]",
        "stations: [pass, range]\nhouse_limits:\n  - {for: hold-cold, limit: at 3 °C}\n"
        "  - {for: date, limit: 5 days}",
    )
    assert compute(kitchen).errors == ()
    away = limits(kitchen, EGG)["put-away/cold_hold"]
    assert (away["value"], away["house"]["standing"]) == (3, "stricter")
    for item, clause in (("cream", "3-501.16(A)(2)"), (EGG, "3-501.16(B)")):
        held = limits(kitchen, item)["store/cold_hold"]
        assert (held["value"], held["unit"]) == (3, "°C")
        assert held["house"]["standing"] == "stricter" and held["law"]["source"]["clause"] == clause
    date = limits(kitchen, "cream")["store/date"]
    assert (date["value"], date["law_days"], date["house_days"]) == (5, 7, 5)
    assert date["source"]["clause"] == "3-501.17(B)"


def test_a_variance_for_holding_says_nothing_of_what_is_put_away(kitchen: Path) -> None:
    """Looser for eggs in store; into the cold they go by 3-501.14(D), 45 °F."""
    edit(kitchen, ALL, *SHELL)
    edit(
        kitchen,
        "kitchen.yaml",
        "stations: [pass, range]",
        "stations: [pass, range]\nhouse_limits:\n"
        "  - {for: hold-cold, limit: at 9 °C, allowed_by: V-3}\nauthorisations:\n"
        "  - {for: hold-cold, authority: County, document: V-3, from: 2026-02-01, "
        "until: 2028-02-01}",
    )
    found = limits(kitchen, EGG)
    assert found["store/cold_hold"]["value"] == 9
    assert found["put-away/cold_hold"]["value"] == 45 and "house" not in found["put-away/cold_hold"]


@pytest.mark.parametrize(("limit", "fits"), [("at 4 °C", True), ("at 6 °C", False)])
def test_a_house_limit_at_the_door_of_food_with_its_own_law(
    kitchen: Path, limit: str, fits: bool
) -> None:
    """It is held against 41 °F: a law whose figure isn't held can't make one stricter."""
    edit(kitchen, ALL, CREAM, CREAM + LAW)
    edit(
        kitchen,
        "kitchen.yaml",
        "stations: [pass, range]",
        f"stations: [pass, range]\nhouse_limits: [{{for: receive, limit: {limit}}}]",
    )
    manual = compute(kitchen)
    assert ("house-limit-looser" in [f.code for f in manual.findings]) is not fits
    if fits:
        door = limits(kitchen, "cream")["receive"]
        assert door["value"] == 4 and "the law on milk" in door["law"]["limit"]


# --- where it shows


def page(manual: Manual, part: str) -> str:
    found = next(p for p in make_pages(manual) if part in p.uri)
    return html.unescape(found.html).replace("\u00a0", " ")


def test_on_the_page_and_in_the_register(kitchen: Path) -> None:
    edit(kitchen, ALL, *SHELL)
    edit(kitchen, ALL, CREAM, CREAM + LAW)
    manual = compute(kitchen)
    egg, cream = page(manual, "ingredients/whole-egg"), page(manual, "ingredients/cream")
    for ident in ("receive", "put-away", "store"):
        assert f'id="{ident}"' in egg and f'id="{ident}"' in cream
    assert "hold: the air must read" in egg and egg.count("3-501.16(B)") >= 1
    assert "Put it in at once, before anything else." in egg
    assert "The clock starts when it comes in." in cream and "hrow it away" in cream
    assert "day 1 is the day its container is opened" in cream and 'id="use-by"' in cream
    register = page(manual, "limits")
    cold = register[register.index('id="cold-hold"') : register.index('id="date"')]
    for item, clause in (("Whole egg", "3-501.16(B)"), ("Pork shoulder", "3-501.16(A)(2)")):
        assert item in cold and clause in cold
    cool = register[register.index('id="cool"') : register.index('id="cold-hold"')]
    assert "Cream" in cool and "3-501.14(C)" in cool
    days = register[register.index('id="date"') :]
    assert "from the day it is opened" in days and "3-501.17(B)" in days
    assert "the law on milk" in register[: register.index('id="cook"')]


def test_a_day_needs_no_mark(kitchen: Path) -> None:
    """3-501.17(A): marked if held for more than 24 h."""
    edit(kitchen, "formulas/pork-bake.yaml", "cold: 5 days", "cold: 1 day")
    manual = compute(kitchen)
    words = "Kept for 24 h at most, it needs no date mark by the code."
    assert words in page(manual, "range/pork-bake")
    assert words in run(kitchen, "limits", "pork-bake")[1].replace("\u00a0", " ")
    dates = manual.walks["pork-bake"].dates
    assert dates is not None and dates.unmarked and dates.marked_after_s == 24 * 3600
    out = kitchen / "l.pdf"
    (kitchen / "mkdocs.yml").write_text("site_name: K\n")
    code, reported, said = run(
        kitchen, "labels", "pork-bake", "--made", "2026-11-25", "--out", str(out)
    )
    assert code == 0 and "use by Wed 25 Nov 2026" in reported, said


# --- readings


def review(kitchen: Path, item: str, step: str, rows: str) -> dict[str, Any]:
    log = kitchen / "log.csv"
    log.write_text(f"time,temp_f\n{rows}", encoding="utf-8")
    code, out, said = run(
        kitchen, "review", str(log), "--formula", item, "--step", step, "--format", "json"
    )
    assert code == 0, said
    found: dict[str, Any] = json.loads(out)
    assert found["ingredient"] == item and "revision" not in found
    return found


@pytest.mark.parametrize(
    ("readings", "verdict"),
    [("44,45,45", "pass"), ("44,45.1,44", "fail"), ("45,,45", "cannot tell")],
)
def test_a_refrigerator_of_eggs(kitchen: Path, readings: str, verdict: str) -> None:
    """3-501.16(B) at its edge, in the air; a pause too long to count leaves it open."""
    edit(kitchen, ALL, *SHELL)
    rows = "".join(
        f"2026-11-25 {8 + 3 * n:02}:00,{t}\n" for n, t in enumerate(readings.split(",")) if t
    )
    found = review(kitchen, EGG, "store", rows)
    assert (found["verdict"], found["source"]["clause"]) == (verdict, "3-501.16(B)")
    assert "45" in found["limit"]


def test_deliveries_are_read_once_each(kitchen: Path) -> None:
    """3-202.11(A): days between two deliveries leave nothing open."""
    rows = "2026-11-23 08:00,40\n2026-11-25 08:00,{}\n"
    assert review(kitchen, "pork-shoulder", "receive", rows.format(41))["verdict"] == "pass"
    found = review(kitchen, "pork-shoulder", "receive", rows.format(42))
    assert found["verdict"] == "fail" and "longest_gap_s" not in found
    assert found["corrective_action"].startswith("Warmer than 4 °C? Send it back.")


@pytest.mark.parametrize(("at", "verdict"), [("11:59", "pass"), ("12:01", "fail")])
def test_what_came_in_warm_is_judged_from_the_door(kitchen: Path, at: str, verdict: str) -> None:
    edit(kitchen, ALL, CREAM, CREAM + LAW)
    rows = f"2026-11-25 08:00,46\n2026-11-25 {at},{41 if verdict == 'pass' else 42}\n"
    found = review(kitchen, "cream", "put-away", rows)
    assert (found["verdict"], found["source"]["clause"]) == (verdict, "3-501.14(C)")


def test_a_step_an_ingredient_has_not(kitchen: Path) -> None:
    log = kitchen / "log.csv"
    log.write_text("time,temp_f\n2026-11-25 08:00,40\n", encoding="utf-8")
    code, _, said = run(kitchen, "review", str(log), "--formula", "cream", "--step", "bake")
    assert code == 2 and "--step receive" in said and "--step store" in said
    code, _, said = run(kitchen, "review", str(log), "--formula", "salt")
    assert code == 2 and "no limit that readings can prove" in said


# --- never laxer unasked

FACTS: dict[str, tuple[str, ...]] = {
    "species": ("egg", "pork", "none", ""),
    "state": ("raw", "pasteurised", "ready-to-eat", ""),
    "form": ("intact", "liquid", ""),
    "arrives": ("cold", ""),
    "own_law": ("the law on milk", ""),
    "commercially_packed": ("yes", ""),
}


def made(**facts: str) -> Ingredient:
    tree = {"name": "It", "allergens": "none", **{k: v for k, v in facts.items() if v}}
    return Ingredient.model_validate(tree)


def warmest(limit: Limit | None) -> Fraction:
    """How warm it may be: a law without a figure counts as warmer than any."""
    if limit is None or isinstance(limit, InWords):
        return Fraction(1000)
    return limit.figure.value.celsius


@given(st.sampled_from(sorted(product(*FACTS.values()))), st.sampled_from(sorted(FACTS)))
def test_leaving_a_fact_out_never_makes_it_laxer(
    clean: Manual, facts: tuple[str, ...], left: str
) -> None:
    """The door and the shelf are no warmer for a fact that isn't stated, day 1 no later."""
    house = clean.house
    assert house is not None
    stated = dict(zip(FACTS, facts, strict=True))
    full = shelf_of(house, "it", made(**stated))
    less = shelf_of(house, "it", made(**{**stated, left: ""}))
    assert full.receiving is not None and less.receiving is not None
    assert warmest(less.receiving.limit) <= warmest(full.receiving.limit)
    assert warmest(less.store) <= warmest(full.store)
    if left != "state" and full.dates is not None:
        assert less.dates is not None and full.dates.day == less.dates.day
        assert not (full.dates.day_one == "prepared" and less.dates.day_one == "opened")


@given(st.sampled_from(sorted(product(*FACTS.values()))))
def test_the_warmer_rows_need_every_fact(clean: Manual, facts: tuple[str, ...]) -> None:
    """45 °F in the air for raw eggs in their shells alone; words at the door for a law that is
    named."""
    assert clean.house is not None
    stated = dict(zip(FACTS, facts, strict=True))
    shelf = shelf_of(clean.house, "it", made(**stated))
    assert shelf.receiving is not None and shelf.store is not None
    egg = stated["species"] == "egg" and stated["state"] in ("raw", "")
    eggs = (stated["species"], stated["state"], stated["form"]) == ("egg", "raw", "intact")
    assert (shelf.store.measured == "air") is eggs
    assert (shelf.store.figure is not None) and shelf.store.figure.value.in_unit("°F") == (
        45 if eggs else 41
    )
    named = bool(stated["own_law"] and stated["species"]) and not egg
    assert isinstance(shelf.receiving.limit, InWords) is named
    if isinstance(shelf.receiving.limit, InWords):
        assert shelf.put_away is not None and shelf.put_away.hazard == "cool"
    opened = shelf.dates is not None and shelf.dates.day_one == "opened"
    assert opened <= bool(stated["commercially_packed"])
