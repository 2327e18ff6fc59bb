"""Plans on the site and on paper: every figure of the order's JSON is on the page and on the sheets, what
can't be done first; a plan that isn't worked out says why."""

from __future__ import annotations

import datetime
import io
import json
import random
import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from typing import Any

import pypdf
import pytest
from commands import run
from conftest import ROOT
from planned_kitchens import formula, manual_for, planned_kitchen, random_formulas, random_plan
from test_shared_pages import body, page_of, shown

from generator.answers.order import order_record
from generator.binder.plan_sheets import plan_sheets
from generator.framing.searching import _entries
from generator.measures.marks import written_with
from generator.pages import make_pages
from generator.sheet.manual import Manual, make_manual
from generator.views.uris import FIND, HOME, PLAN_INDEX, plan_uri, station_uri

WEEK = "first-week"
PACKS = {"v": "[2.5 kg, 1 kg]", "w": "700 g"}
MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
WEEKDAYS = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]


@pytest.fixture(scope="module")
def demo_then() -> Manual:
    """The demo on a day before its week."""
    found = make_manual(ROOT, datetime.date(2026, 12, 5))
    assert isinstance(found, Manual)
    return found


def day(iso: str) -> str:
    """A day as it is printed, from its ISO form alone."""
    found = datetime.date.fromisoformat(iso[:10])
    return f"{WEEKDAYS[found.weekday()]} {found.day} {MONTHS[found.month - 1]}"


def clock(iso: str) -> str:
    hour, minute = iso[11:].split(":")
    return f"{int(hour)}:{minute}"


def grams(value: float) -> str:
    """Grams as printed, worked out anew: to a tenth below a kilogram, else to 10 g."""
    places, unit, figure = (2, "kg", value / 1000) if value >= 1000 else (1, "g", value)
    text = f"{figure:.{places}f}".rstrip("0").rstrip(".")
    return f"{text} {unit}"


def seconds(value: float) -> str:
    hours, rest = divmod(round(value), 3600)
    if value > 86400 and value % 86400 == 0:
        return f"{round(value) // 86400} days"
    minutes, left = divmod(rest, 60)
    parts = ((hours, "h"), (minutes, "min"), (left, "s"))
    return " ".join(f"{n} {unit}" for n, unit in parts if n)


def figures(record: dict[str, Any]) -> Iterator[str]:
    """Every figure of an order's JSON as it must be printed. Not those of the limits and cautions,
    which are on the formulas' own pages and batch sheets."""
    for dish in record["dishes"]:
        yield f"{day(dish['due'])}"
        yield clock(dish["due"])
        yield dish["amount"]
    for one in record["problems"]:
        yield from (one["message"], one["help"])
    for made in record["make"]:
        yield from _made(made)
    for one in record["buy"]:
        yield from _bought(one)
    for one in record["on_shelf"]:
        yield from (grams(one[key]) for key in ("there_g", "used_g", "left_g") if one[key])
        yield from (
            day(at) for at in [*one["used_on"], *([one["use_by"]] if one["use_by"] else [])]
        )
    for one in record["labels"]:
        yield f"{one['labels']} label"
        yield day(one["made"])
        yield day(one["use_by"]) if "use_by" in one else "dated as it is frozen"
    for one in record["prep"]:
        yield from (day(one["day"]), one["batches"])
        for step in one["steps"]:
            yield clock(step["start"])
            yield seconds(step["time_s"]) if step["time_s"] is not None else "no time known"


def _made(made: dict[str, Any]) -> Iterator[str]:
    for key in ("start", "ready"):
        yield from (day(made[key]), clock(made[key]))
    yield from (day(made[key]) for key in ("day_one", "use_by") if made.get(key))
    yield from (grams(made[key]) for key in ("made_g", "used_g", "left_g") if made[key])
    for use in made["uses"]:
        yield from (grams(use["mass_g"]), day(use["due"]), clock(use["due"]))
        yield f"{use['count']} " if "count" in use else ""
    for batch in made["batches"]:
        yield f"{batch['count']} × {batch['size']}"
        factor = f"{batch['factor']:.3f}".rstrip("0").rstrip(".")
        yield f"× {factor} the formula"
        yield from (f"{one['loads']} loads" for one in batch["loads"] if one["loads"] > 1)


def _bought(one: dict[str, Any]) -> Iterator[str]:
    if one["missing_g"]:
        yield from (f"{pack['count']} × {pack['pack']}" for pack in one["packs"] or ())
        yield grams(one["missing_g"])
        yield day(one["first_day"])
        if one["packs"]:
            yield grams(one["buy_g"])
    yield from (grams(one[key]) for key in ("on_shelf_g", "left_g") if one[key])
    yield grams(one["needs_g"])
    yield from (text for at in one["days"] for text in (day(at["day"]), grams(at["mass_g"])))


def words_of(value: Any) -> str:
    """The words of sheets, every space an ordinary one."""
    text = json.dumps(value, ensure_ascii=False).replace("\u00a0", " ").replace("−", "-")
    return text.replace('"}, "', "").replace('{"b": "', "")


def told_everywhere(manual: Manual, plan: str) -> int:
    """That every figure is on the page and on the sheets; how many there are."""
    with written_with(manual.writing):
        record = order_record(manual.orders[plan])
    page = shown(manual, plan_uri(plan))
    paper = words_of(plan_sheets(manual, plan, ""))
    wanted = {text.replace("\u00a0", " ").strip() for text in figures(record)}
    assert {text for text in wanted if text not in page} == set()
    assert {text for text in wanted if text not in paper} == set()
    return len(wanted)


def test_every_figure_of_the_answer_is_on_the_page_and_on_the_sheets(demo_then: Manual) -> None:
    assert told_everywhere(demo_then, WEEK) > 150


def test_the_same_of_random_plans(tmp_path: Path) -> None:
    rng = random.Random(261130)
    for number in range(2):
        formulas = random_formulas(rng)
        texts = {"week": random_plan(rng, formulas)}
        manual = manual_for(planned_kitchen(tmp_path / str(number), formulas, texts, PACKS))
        assert not manual.errors, [f.message for f in manual.errors]
        told_everywhere(manual, "week")


def test_what_cant_be_done_is_first_and_loud(demo_then: Manual) -> None:
    """On the day itself the soup can't be frozen and thawed in time."""
    late = make_manual(ROOT, datetime.date(2026, 12, 8))
    assert isinstance(late, Manual)
    problems = late.orders[WEEK].problems
    assert problems
    markup = body(page_of(late, plan_uri(WEEK)))
    for one in problems:
        words = one.words.replace("\u00a0", " ")
        assert words in shown(late, plan_uri(WEEK))
    assert markup.index("Can't be done") < markup.index("Served")
    whole = plan_sheets(late, WEEK, "")[0]
    assert whole["band"]["word"] == "CAN'T ALL BE DONE"
    assert "Can't be done" in words_of(whole["blocks"][0])
    assert plan_sheets(demo_then, WEEK, "")[0]["band"] is None
    banded = {s["key"] for s in plan_sheets(late, WEEK, "")[2:] if s["band"] is not None}
    assert "plan/first-week/plan/stove/2026-12-06" in banded
    assert "plan/first-week/plan/stove/2026-12-12" not in banded, "its stock is made in time"
    assert "can't all be done" in shown(late, PLAN_INDEX)


def test_it_is_found_from_home_station_navigation_and_search(demo_then: Manual) -> None:
    name = demo_then.plans[WEEK].plan.name
    for uri in (HOME, PLAN_INDEX):
        assert name in shown(demo_then, uri)
    assert "Plans" in shown(demo_then, FIND)
    pages = make_pages(demo_then)
    assert next(p for p in pages if p.uri == PLAN_INDEX).listed
    entry = next(e for e in _entries(demo_then, pages) if e.title == name)
    assert (entry.kind, entry.at) == ("Plan", "plans/first-week/") and "soup" in entry.words
    for station in ("stove", "bakehouse"):
        for found in re.findall(
            r'href="([^"]*plans/[^"#]*)#([^"]*)"', body(page_of(demo_then, station_uri(station)))
        ):
            assert f'id="{found[1]}"' in body(page_of(demo_then, plan_uri(WEEK)))
    assert "Sun 6 Dec 2026" in shown(demo_then, station_uri("stove"))


def test_a_week_that_is_over_is_no_longer_on_the_home_page() -> None:
    after = make_manual(ROOT, datetime.date(2026, 12, 20))
    assert isinstance(after, Manual)
    assert after.plans[WEEK].plan.name not in shown(after, HOME)
    assert "no dish is to come" in shown(after, PLAN_INDEX)
    assert "No dish is to come: nothing to make" in shown(after, plan_uri(WEEK))


def test_a_plan_of_a_formula_with_an_error_leads_to_it(tmp_path: Path) -> None:
    formulas = {"one": formula({"v": "600 g", "w": "400 g"}, "[1 kg yield]")}
    texts = {
        "week": "name: Week\nday: 2026-12-07\nat: 11:30\ndishes:\n  - {dish: one, amount: 1 kg yield}\n"
    }
    project = planned_kitchen(tmp_path, formulas, texts)
    path = project / "standards/formulas/one.yaml"
    path.write_text(path.read_text().replace("w: 400 g", "w: 400 bows"))
    manual = manual_for(project)
    page = unescape(body(page_of(manual, plan_uri("week"))))
    assert "Not computed" in page and "/one/" in page
    assert "not computed" in shown(manual, PLAN_INDEX)
    assert "week" not in manual.orders


def test_its_sheets_are_printed_alone(tmp_path: Path) -> None:
    out = tmp_path / "week.pdf"
    done = run(None, "binder", WEEK, "--as-of", "2026-12-05", "--out", str(out))
    assert done.returncode == 0, done.stderr
    pages = pypdf.PdfReader(io.BytesIO(out.read_bytes())).pages
    text = " ".join(p.extract_text() for p in pages).replace("\u00a0", " ")
    assert "Prep sheet" in text and "Shopping list" in text
    asked = run(None, "order", WEEK, "--as-of", "2026-12-05", "--format", "json")
    bought = [one["name"] for one in json.loads(asked.stdout)["buy"] if one["buy_g"]]
    assert (
        len(bought) > 20 and [name for name in bought if name not in " ".join(text.split())] == []
    )
    assert len(pages) <= 17
    for more in (("stove",), ("--with", "conversions"), ("--sheet", "2"), ("--register",)):
        again = run(None, "binder", WEEK, *more, "--as-of", "2026-12-05", "--out", str(out))
        assert again.returncode == 2 and "plan" in again.stderr.lower(), more


def test_the_binders_of_the_stations_hold_no_more_for_it(demo_then: Manual) -> None:
    from generator.binder.documents import station_sheets

    for station in demo_then.house.stations:
        assert not [s for s in station_sheets(demo_then, station) if s["kind"] == "plan"]


def test_a_plan_is_shown_the_kitchens_way(tmp_path: Path) -> None:
    """With a decimal comma the same figures have it, on page and sheet."""
    formulas = {"one": formula({"v": "1750 g", "w": "400 g"}, "[1 kg yield]")}
    text = "name: Week\nday: 2026-12-07\nat: 11:30\ndishes:\n  - {dish: one, amount: 2 batches}\n"
    project = planned_kitchen(tmp_path, formulas, {"week": text})
    for path in (project / "standards").rglob("*.yaml"):
        path.write_text(re.sub(r"(\d+)\.(\d+ [g%])", r'"\1,\2"', path.read_text()))
    kitchen = project / "standards/kitchen.yaml"
    kitchen.write_text(kitchen.read_text() + "decimal: comma\n")
    manual = manual_for(project)
    assert not manual.errors, [f.message for f in manual.errors]
    assert "1,63 kg" in shown(manual, plan_uri("week"))
    assert "1,63 kg" in words_of([s["blocks"] for s in plan_sheets(manual, "week", "")])
