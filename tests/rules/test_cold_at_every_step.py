"""Food in a refrigerator is held cold by a limit of its own at every step, whatever is done to it
there; and what its acid kept warm is cooled once other food comes to it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from conftest import compute
from honest_kitchens import lay_out

from generator.rules.basics.limit import CoolingLimit, Limit
from generator.sheet.manual import Manual

FISH = {"fish": {"char": "10 kg"}}
COOK = "  - {do: bake, with: oven, at: 200 °C, target: core 66 °C}\n  - {do: serve}\n"
PART_COOK = (
    "  - {do: part-cook, add: fish, time: 8 min, procedure: Two goes 1}\n"
    "  - {do: chill, in: blast, target: to 4 °C}\n"
)
PLANS = (
    "authorisations:\n"
    "  - {for: acidify, document: V 3, authority: County, from: 2026-01-01, until: 2027-06-01}\n"
    "  - {for: part-cook, document: L 4, authority: County, from: 2026-01-01, until: 2027-06-01}\n"
)


def kitchen(project: Path, process: str, **more: Any) -> Manual:
    """A kitchen whose dish goes by ``process``, of fish or of other ``parts``."""
    spec = {"parts": FISH, "process": process, "kitchen": PLANS, "formula": "", **more}
    return compute(lay_out(project, spec))


def at_steps(manual: Manual, hazard: str) -> list[int]:
    """The steps that have a limit of a hazard, in their order; 0 is the finished food."""
    return [lm.number for lm in limits(manual) if lm.hazard == hazard]


def limits(manual: Manual) -> list[Limit]:
    walk = manual.walks["dish"]
    return [*(lm for step in walk.steps for lm in step.limits), *walk.store]


@pytest.mark.parametrize(
    "verb", ["soak", "cure", "brine", "marinate", "rest", "season", "slice", "store", "chill"]
)
def test_raw_fish_in_a_refrigerator_is_held_cold_whatever_is_done_to_it(
    verb: str, tmp_path: Path
) -> None:
    manual = kitchen(tmp_path, f"  - {{do: {verb}, add: fish, in: walk-in, time: 12 h}}\n{COOK}")
    assert at_steps(manual, "cold_hold") == [1]


def test_part_cooked_fish_is_held_cold_until_it_is_cooked_through(tmp_path: Path) -> None:
    store = "  - {do: store, in: walk-in, time: 1 days}\n"
    manual = kitchen(tmp_path, PART_COOK + store + COOK)
    assert [f.code for f in manual.findings] == []
    assert at_steps(manual, "cool") == [2] and at_steps(manual, "cold_hold") == [3]
    ids = [lm.id for lm in limits(manual)]
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize(
    ("days", "codes"), [(6, []), (7, ["part-cook-kept-long"]), (20, ["part-cook-kept-long"])]
)
def test_part_cooked_fish_is_kept_no_longer_than_cooked_food(
    days: int, codes: list[str], tmp_path: Path
) -> None:
    store = f"  - {{do: store, in: walk-in, time: {days} days}}\n"
    manual = kitchen(tmp_path, PART_COOK + store + COOK)
    assert [f.code for f in manual.findings] == codes


def test_part_cooked_fish_in_a_freezer_is_not_counted(tmp_path: Path) -> None:
    frozen = (
        "  - {do: freeze, in: freezer, time: 20 days}\n  - {do: thaw, in: walk-in, time: 1 d}\n"
    )
    manual = kitchen(tmp_path, PART_COOK + frozen.replace("1 d}", "24 h}") + COOK)
    assert "part-cook-kept-long" not in [f.code for f in manual.findings]


def test_hot_food_and_dry_food_in_a_refrigerator_has_no_cold_limit(tmp_path: Path) -> None:
    boiled = "  - {do: boil, add: rice, with: pot, at: 98 °C, time: 20 min}\n"
    chilled = (
        "  - {do: rest, in: walk-in, time: 1 h}\n  - {do: chill, in: blast, target: to 4 °C}\n"
    )
    parts = {"rice": {"rice": "4 kg", "water": "6 kg"}}
    manual = kitchen(tmp_path, boiled + chilled + "  - {do: serve}\n", parts=parts)
    assert 2 not in at_steps(manual, "cold_hold")


SOUR_RICE = {
    "parts": {"rice": {"rice": "3 kg"}, "dressing": {"vinegar": "14 %", "sugar": "4 %"}},
    "formula": "acidified: {ph: 4.0, meter: 0.1, record: pH log 2}\nkeeps: {dry: 1 day}\n",
    "process": "  - {do: boil, add: rice, with: pot, at: 98 °C, time: 20 min, gains: 120 %}\n"
    "  - {do: acidify, add: dressing}\n  - {do: store}\n",
}
ON_RICE = {"rice": {"sour-rice": "2 kg"}, "fish": {"frozen-salmon": "50 %"}}
RAW = "undercooked: Raw, the menu reminds.\nbase: [sour-rice]\nkeeps: {cold: 2 days}\n"


def on_rice(project: Path, steps: str, **rice: str) -> Manual:
    """Raw fish on rice that was made ahead and acidified."""
    also = {"sour-rice": {**SOUR_RICE, **rice}}
    return kitchen(project, steps, parts=ON_RICE, formula=RAW, also=also)


def cooled(manual: Manual) -> list[list[Any]]:
    """The hours of each stage of each cooling limit."""
    found = [lm for lm in limits(manual) if isinstance(lm, CoolingLimit)]
    return [[stage.within_s / 3600 for stage in limit.stages] for limit in found]


@pytest.mark.parametrize(
    "first",
    [
        "  - {do: shape, add: [rice, fish], time: 30 min}\n",
        "  - {do: shape, add: rice, time: 10 min}\n  - {do: top, add: fish, does: handles}\n",
        "  - {do: slice, work_on: fish, time: 20 min, gives: slices}\n"
        "  - {do: shape, work_on: rice, add: slices, time: 30 min}\n",
    ],
)
def test_hot_sour_rice_is_cooled_in_two_stages_under_raw_fish(first: str, tmp_path: Path) -> None:
    manual = on_rice(tmp_path, first + "  - {do: store, in: walk-in}\n")
    assert cooled(manual) == [[2, 6]]


def test_room_warm_sour_rice_is_cooled_within_four_hours_under_raw_fish(tmp_path: Path) -> None:
    rested = SOUR_RICE["process"].replace("  - {do: store}", "  - {do: rest, time: 2 h}")
    steps = "  - {do: shape, add: [rice, fish], time: 30 min}\n  - {do: store, in: walk-in}\n"
    assert cooled(on_rice(tmp_path, steps, process=rested)) == [[4]]


def test_sour_rice_that_is_cold_owes_no_cooling(tmp_path: Path) -> None:
    chilled = SOUR_RICE["process"].replace("{do: store}", "{do: store, in: walk-in}")
    steps = "  - {do: shape, add: [rice, fish], time: 30 min}\n  - {do: store, in: walk-in}\n"
    assert cooled(on_rice(tmp_path, steps, process=chilled)) == []


def test_sour_rice_alone_needs_no_cold(tmp_path: Path) -> None:
    also = {"sour-rice": SOUR_RICE}
    parts = {"rice": {"sour-rice": "2 kg"}, "leaf": {"lemon": "5 %"}}
    process = "  - {do: mix, add: [rice, leaf], time: 6 h}\n  - {do: store}\n"
    formula = "base: [sour-rice]\nkeeps: {dry: 1 day}\n"
    manual = kitchen(tmp_path, process, parts=parts, formula=formula, also=also)
    assert limits(manual) == []


CURED = "undercooked: Raw, the menu reminds.\nkeeps: {cold: 2 days}\n"
DEEP = "  - {do: freeze, add: fish, in: freezer, at: -38 °C, time: 15 h%s}\n"
KEPT = "  - {do: thaw, in: walk-in, time: 24 h}\n  - {do: store, in: walk-in}\n"


def test_a_freezing_that_says_it_is_not_solid_frees_nothing(tmp_path: Path) -> None:
    manual = kitchen(tmp_path, DEEP % ", solid: no" + KEPT, formula=CURED)
    found = {f.code: f for f in manual.findings}
    assert "`solid: no`" in found["parasites-not-frozen"].message
    assert found["undercooked-kept"].help.startswith("Fish that is freed of parasites may be kept")


def test_one_ground_mixture_that_is_shaped_has_nothing_inside(tmp_path: Path) -> None:
    process = "  - {do: grind, add: fish}\n  - {do: shape, time: 20 min}\n" + COOK
    manual = kitchen(tmp_path, process, formula="filling: nothing\n")
    assert [f.code for f in manual.findings] == []
    notices = manual.sheets["dish"].notices.by_step.values()
    found = {one.id for step in notices for one in step}
    assert "colour-is-no-sign" in found and "no-cure-used" not in found
