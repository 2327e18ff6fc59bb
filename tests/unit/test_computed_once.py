"""What the tests keep of walks and sheets: all that is unchanged, nothing that is."""

from __future__ import annotations

from pathlib import Path

import pytest
from computed_once import keep
from conftest import compute, edit

from generator.sheet.manual import Manual


def both(project: Path, file: str, old: str, new: str) -> tuple[Manual, Manual]:
    first = compute(project)
    edit(project, file, old, new)
    second = compute(project)
    assert isinstance(first, Manual) and isinstance(second, Manual)
    return first, second


@pytest.mark.parametrize(
    ("file", "old", "new", "anew"),
    [
        (
            "formulas/rice-salad.yaml",
            "keeps: {cold: 3 days}",
            "keeps: {cold: 2 days}",
            "rice-salad",
        ),
        ("processes/baked.yaml", "loses: 10 %", "loses: 11 %", "pork-bake"),
        ("formulas/rice-salad.yaml", "name: ", "# moved\nname: ", "rice-salad"),
        ("stations/pass.yaml", "name: ", "name:  ", "house-spice pork-bake rice-salad"),
    ],
)
def test_what_no_edit_reached_is_kept(
    kitchen: Path, file: str, old: str, new: str, anew: str
) -> None:
    """Steps that say nothing but `do: store` are no reason to read a process anew."""
    keep(True)
    first, second = both(kitchen, file, old, new)
    assert set(first.walks) == {"pork-bake", "house-spice", "rice-salad"}
    assert {i for i, walk in first.walks.items() if second.walks[i] is not walk} == {*anew.split()}
    keep(False)
    third = compute(kitchen)
    assert isinstance(third, Manual)
    assert not any(third.walks[i] is walk for i, walk in second.walks.items())
    assert third.walks == second.walks and third.findings == second.findings
