"""Food held by time at its end: what `keeps` speaks of is the stock before the hold, and every page
and label says so; what was put by raw is no stock (Food Code 3-501.19(B)(3), (4))."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest
from commands import run
from conftest import compute

from generator.sheet.manual import Manual
from generator.views.limit_view import limit_view
from generator.views.store_view import store_view

KEPT = "time-control-then-kept"
TRIM = "- {do: trim, add: [meat], in: cold-room}"
ROAST = "- {do: roast, id: roast, with: range-oven, target: core 76 °C}"
CHILL = "- {do: chill, in: blast, target: to 4 °C}"
REHEAT = "- {do: reheat, with: range-oven, target: core 76 °C}"
HOLD = "- {do: hold-by-time, time: 90 min, procedure: on the wall}"
SERVE = "- {do: serve}"


def put(kitchen: Path, steps: list[str], keeps: str = "keeps: {cold: 5 days}") -> None:
    lines = "".join(f"  {s}\n" for s in steps)
    (kitchen / "standards/formulas/dish.yaml").write_text(
        "name: Dish\nrevision: 1\neffective: 2026-06-01\napproved: R. Osei\nstation: range\n"
        f"base: meat\nparts:\n  meat:\n    pork-shoulder: 2 kg\nsteps:\n{lines}{keeps}\n"
        "batches: [2 kg base]\n",
        encoding="utf-8",
    )


def taken(steps: list[str]) -> list[str]:
    """The steps with the meat taken in at the first."""
    first = steps[0] if "add:" in steps[0] else steps[0].replace("{do: ", "{add: [meat], do: ")
    return [first, *steps[1:]]


@pytest.mark.parametrize(
    ("trim", "chill", "reheat"), list(itertools.product((False, True), repeat=3))
)
def test_only_stock_that_is_put_by_cooked_is_kept(
    kitchen: Path, trim: bool, chill: bool, reheat: bool
) -> None:
    steps = [TRIM] * trim + [ROAST] + [CHILL] * chill + [REHEAT] * (chill and reheat)
    put(kitchen, taken([*steps, HOLD, SERVE]))
    assert ([f.code for f in compute(kitchen).errors] == [KEPT]) is not chill


@pytest.fixture
def stock(kitchen: Path) -> Manual:
    put(kitchen, taken([ROAST, CHILL, HOLD, SERVE]))
    manual = compute(kitchen)
    assert isinstance(manual, Manual) and not manual.errors
    return manual


def test_page_label_and_answers_say_whose_days_they_are(stock: Manual, kitchen: Path) -> None:
    sheet = stock.sheets["dish"]
    views = tuple(limit_view(sheet.house, limit) for limit in sheet.walk.store)
    view = store_view(sheet, views)
    for words in (view.explain, view.keep, view.keep_other):
        assert "days of the stock" in words and "never kept" in words
    (kitchen / "mkdocs.yml").write_text("site_name: K\n")
    said = run(kitchen, "limits", "dish").stdout
    assert "days of the stock" in said
    made = ("labels", "dish", "--made", "2026-11-25", "--out", str(kitchen / "label.pdf"))
    done = run(kitchen, *made)
    assert "before it is held by time" in done.stdout, done.stderr


def test_food_that_is_only_held_has_no_days(kitchen: Path) -> None:
    put(kitchen, taken([TRIM, ROAST, HOLD, SERVE]), keeps="")
    manual = compute(kitchen)
    assert isinstance(manual, Manual) and not manual.errors
    dates = manual.sheets["dish"].walk.dates
    assert dates is not None and (dates.kind, dates.day) == ("by-time", None)


def test_no_days_are_offered_for_food_held_by_time(kitchen: Path) -> None:
    """In England the law sets none: asked for, and nothing to paste."""
    rules = kitchen / "standards/kitchen.yaml"
    text = rules.read_text(encoding="utf-8")
    code = "code: {model: us-food-code, edition: 2022, adopted_by: Port Sable Health Rule 9}"
    assert code in text
    rules.write_text(
        text.replace(code, "code: {model: uk-england, edition: 2013, adopted_by: law}")
    )
    reheat = REHEAT.replace("core 76 °C", "core 76 °C for 1 min")
    roast = ROAST.replace("core 76 °C", "core 76 °C for 1 min")
    put(kitchen, taken([roast, CHILL, reheat, HOLD, SERVE]), keeps="")
    (found,) = [f for f in compute(kitchen).findings if f.place.file.endswith("dish.yaml")]
    assert (found.code, found.write) == ("keeps-missing", ())
    assert "before it is held by time" in found.help
