"""Kitchens that do nothing wrong are clean, and each is found out once one edit makes it unsafe."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import compute
from honest_kitchens import CASES, broken, lay_out, read

UNSAFE = [(case, number) for case in CASES for number in range(len(read(case)["unsafe"]))]


def test_there_are_all_that_were_asked_for() -> None:
    assert len(CASES) >= 18


@pytest.mark.parametrize("case", CASES)
def test_an_honest_kitchen_is_clean(case: str, tmp_path: Path) -> None:
    manual = compute(lay_out(tmp_path, read(case)))
    said = [f for f in manual.findings if f.code != "between-noted"]  # of 2 to 4 h: a note
    assert [(f.code, f.message) for f in said] == []
    assert set(manual.sheets) == {"dish", *read(case).get("also", {})}


@pytest.mark.parametrize(("case", "number"), UNSAFE)
def test_one_edit_makes_it_unsafe(case: str, number: int, tmp_path: Path) -> None:
    spec = read(case)
    unsafe = spec["unsafe"][number]
    changed = broken(spec, unsafe)
    manual = compute(lay_out(tmp_path, changed))
    found = [f for f in manual.findings if f.is_error and f.code == unsafe["finds"]]
    assert found, [(f.code, f.message) for f in manual.findings]
    assert "dish" not in manual.sheets
    step = unsafe.get("at")
    if step is not None:
        text = (tmp_path / "standards/processes/work.yaml").read_text(encoding="utf-8").splitlines()
        # the finding is at the step, or behind it on one of its own lines
        starts = [n for n, line in enumerate(text, 1) if line.startswith("  - do:")]
        first = next(n for n in starts if step in text[n - 1] or f"id: {step}" in text[n])
        last = next((n for n in starts if n > first), len(text) + 1)
        assert any(first <= f.place.line < last for f in found), [str(f.place) for f in found]


def test_a_plate_of_hot_parts_has_no_cold_limit_and_no_days(tmp_path: Path) -> None:
    walk = compute(lay_out(tmp_path, read("plate-of-hot-parts"))).walks["dish"]
    assert [limit.hazard for limit in walk.limits] == []
    assert walk.dates is not None and walk.dates.kind == "hot" and walk.dates.day is None
