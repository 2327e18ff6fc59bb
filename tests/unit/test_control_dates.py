"""A revision's first day that is years ahead; and the times that a fix offers."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from conftest import compute, edit, lay

from generator.measures.about import to_offer

CODE = "effective-far-ahead"
BAKE = "formulas/pork-bake.yaml"


@pytest.fixture
def kitchen(tmp_path: Path) -> Path:
    return lay("base", tmp_path / "kitchen")


@pytest.mark.parametrize(
    ("day", "write"),
    [
        ("2062-05-04", "2026-05-04"),  # two figures the other way round
        ("2072-05-04", "2027-05-04"),
        ("2126-05-04", "2026-05-04"),
        ("2036-05-04", "2026-05-04"),
        ("2027-11-27", "2026-11-27"),
        ("2028-02-28", "2026-02-28"),
        ("2028-02-29", ""),  # a day that this year hasn't
    ],
)
def test_a_year_too_far_is_asked_about(kitchen: Path, day: str, write: str) -> None:
    edit(kitchen, BAKE, "effective: 2026-05-04", f"effective: {day}")
    (found,) = (f for f in compute(kitchen).findings if f.code == CODE)
    assert (found.severity, found.about) == ("warning", frozenset({"pork-bake"}))
    assert found.write == ((f"effective: {write}",) if write else ())
    if write:
        edit(kitchen, BAKE, f"effective: {day}", found.write[0])
        assert CODE not in {f.code for f in compute(kitchen).findings}


@pytest.mark.parametrize(
    "day", ["2026-05-04", "2026-12-24", "2027-05-04", "2027-11-26", "2024-02-29", "1998-01-01"]
)
def test_a_day_that_may_be_meant_is_not(kitchen: Path, day: str) -> None:
    edit(kitchen, BAKE, "effective: 2026-05-04", f"effective: {day}")
    assert CODE not in {f.code for f in compute(kitchen).findings}


@pytest.mark.parametrize("file", ["processes/baked.yaml", "stations/range.yaml"])
def test_processes_and_stations_are_asked_too(kitchen: Path, file: str) -> None:
    path = kitchen / "standards" / file
    more = "revision: 2\neffective: 2062-01-01\napproved: R. Osei\n"
    path.write_text(more + path.read_text(encoding="utf-8"), encoding="utf-8")
    (found,) = (f for f in compute(kitchen).findings if f.code == CODE)
    assert found.place.file == f"standards/{file}"


def test_a_folders_day_is_asked_about_once(kitchen: Path) -> None:
    """Two formulas have their day of one line of kitchen.yaml."""
    control = "approval: {formulas: {revision: 3, effective: 2062-05-04, approved: R. Osei}}\n"
    for name in (BAKE, "formulas/rice-salad.yaml"):
        path = kitchen / "standards" / name
        lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
        keys = ("revision:", "effective:", "approved:")
        kept = [line for line in lines if not line.startswith(keys)]
        path.write_text("".join(kept), encoding="utf-8")
    path = kitchen / "standards/kitchen.yaml"
    path.write_text(path.read_text(encoding="utf-8") + control, encoding="utf-8")
    found = [f for f in compute(kitchen).findings if f.code == CODE]
    assert len(found) == 1, [f.message for f in compute(kitchen).findings]


@pytest.mark.parametrize(
    ("minutes", "offered"),
    [(191, 180), (180, 180), (239, 225), (60, 60), (59, 55), (44, 40), (15, 15), (14, 14), (0, 0)],
)
def test_a_time_is_offered_as_a_cook_writes_it(minutes: int, offered: int) -> None:
    """By hand: quarters from an hour on, five minutes from a quarter on; never longer."""
    assert to_offer(Fraction(minutes * 60)) == offered * 60
    assert to_offer(Fraction(minutes * 60 + 59)) == offered * 60
