"""Raw fish in a kitchen in England: freed of parasites it is served and kept, and no guest has to
ask for it; nothing else raw is."""

from __future__ import annotations

import itertools
import shutil
from pathlib import Path

import pytest
from conftest import ROOT, compute

SHELF = {
    "wild": "species: fish, arrives: cold, allergens: fish",
    "frozen": "species: fish, arrives: frozen, without_air: no, allergens: fish, "
    "parasites: {freed_by: supplier-freezing, record: Letter 31}",
    "farmed": "species: fish, arrives: cold, allergens: fish, "
    "parasites: {freed_by: farmed, record: Letter 32}",
    "oysters": "species: mollusc, arrives: cold, allergens: molluscs",
    "beef": "species: beef, allergens: none",
}
NAMES = {"wild": "Wild salmon", "frozen": "Salmon", "farmed": "Salmon", "oysters": "Oysters"}
FREEZE = "  - {do: freeze, in: tank, time: %s h}\n"
THAW = "  - {do: thaw, in: cabinet, time: 20 h}\n"
ENDS = {
    "served": "  - do: serve\n",
    "kept": "  - {do: store, in: cabinet}\nkeeps: {cold: 3 days}\n",
}


def found(folder: Path, item: str, steps: str, more: str = "", serves: str = "general") -> set[str]:
    """The codes of errors and warnings of a dish of one raw food."""
    standards = folder / "standards"
    shutil.copytree(ROOT / "tests/kitchens/england/standards", standards)
    with (standards / "equipment/stove.yaml").open("a", encoding="utf-8") as file:
        file.write("tank: {kind: freezer, name: Tank, air: -25 °C}\n")
        file.write("cabinet: {kind: refrigerator, name: Cabinet, air: 2 °C}\n")
    with (standards / "ingredients/all.yaml").open("a", encoding="utf-8") as file:
        name = NAMES.get(item, "Beef fillet")
        file.write(f"raw-food: {{name: {name}, state: raw, form: intact, {SHELF[item]}}}\n")
    kitchen = standards / "kitchen.yaml"
    text = kitchen.read_text(encoding="utf-8")
    kitchen.write_text(text.replace("serves: general", f"serves: {serves}"), encoding="utf-8")
    (standards / "formulas/dish.yaml").write_text(
        "name: Dish\nrevision: 1\neffective: 2026-01-01\napproved: Chef\nstation: stove\n"
        f"parts: {{food: {{raw-food: 2 kg}}}}\n{more}batches: [2 kg total]\nsteps:\n{steps}",
        encoding="utf-8",
    )
    about = [f for f in compute(folder).findings if f.severity != "note"]
    return {f.code for f in about}


@pytest.mark.parametrize(("item", "end"), list(itertools.product(SHELF, ENDS)))
def test_only_fish_that_is_freed_goes_out_raw(tmp_path: Path, item: str, end: str) -> None:
    first = THAW if item == "frozen" else ""
    codes = found(tmp_path, item, f"{first}  - {{do: slice, time: 10 min}}\n{ENDS[end]}")
    wanted = {
        "wild": {"parasites-not-frozen"},
        "frozen": set(),
        "farmed": {"parasites-not-frozen"},  # its conditions weren't read
        "oysters": {"raw-not-cooked"},
        "beef": {"raw-not-cooked"},
    }
    assert codes == wanted[item]


@pytest.mark.parametrize("end", ENDS)
@pytest.mark.parametrize(
    ("hours", "long_enough"), [(1, False), (23, False), (24, True), (90, True)]
)
def test_it_is_freed_by_a_freezer_for_long_enough(
    tmp_path: Path, end: str, hours: int, long_enough: bool
) -> None:
    codes = found(tmp_path, "wild", FREEZE % hours + THAW + ENDS[end])
    assert codes == (set() if long_enough else {"parasites-not-frozen"})


def test_a_request_is_needless_for_it_and_lifts_nothing_else(tmp_path: Path) -> None:
    """The rules held say nothing of a guest's request: it is no way round for beef or oysters."""
    asked = "undercooked: On request; the menu says so.\n"
    steps = "  - {do: slice, time: 10 min}\n  - do: serve\n"
    assert found(tmp_path / "a", "frozen", THAW + steps, asked) == {"undercooked-needless"}
    assert "parasites-not-frozen" in found(tmp_path / "b", "wild", steps, asked)
    for item in ("beef", "oysters"):
        assert "not-covered" in found(tmp_path / item, item, steps, asked)


def test_the_frail_are_served_none(tmp_path: Path) -> None:
    """The law that was read says nothing of them: for them it is cooked."""
    steps = f"{THAW}  - do: serve\n"
    assert "raw-not-cooked" in found(tmp_path, "frozen", steps, serves="highly-susceptible")


def test_passed_on_raw_it_needs_no_freezing(tmp_path: Path) -> None:
    """Who buys it cooks it."""
    more = "cooked_later: Sold raw; the label says cook it through.\n"
    assert found(tmp_path, "wild", ENDS["kept"], more) == set()
