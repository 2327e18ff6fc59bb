"""Food that its own steps put by before it is served has its days, whether its formula says how
long it keeps or not.

Food Code 3-501.17(A): ready-to-eat food held more than 24 hours is used within 7 days at 41 °F, the
day it is made being day 1.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import compute, edit

BAKE, BAKED = "formulas/pork-bake.yaml", "processes/baked.yaml"
AGAIN = "  - do: reheat\n    with: range-oven\n    target: core 75 °C\n    time: 40 min\n"
KEPT = "    time: {days} days\n"
"""Behind the store step, the last of the process as it is."""


def served(kitchen: Path, steps: str) -> Path:
    """The bake without `keeps`, with more steps at its end."""
    edit(kitchen, BAKE, "keeps: {cold: 5 days}\n", "")
    path = kitchen / "standards" / BAKED
    path.write_text(path.read_text("utf-8").rstrip("\n") + "\n" + steps, "utf-8")
    return kitchen


@pytest.mark.parametrize(
    "steps",
    [
        f"{AGAIN}  - do: serve\n",
        f"{KEPT.format(days=2)}{AGAIN}  - do: serve\n",
        f"{KEPT.format(days=2)}  - do: hold-by-time\n    procedure: Board 1\n    time: 3 h\n"
        "  - do: serve\n",
    ],
)
def test_without_keeps_the_days_of_the_law_count(kitchen: Path, steps: str) -> None:
    manual = compute(served(kitchen, steps))
    assert [f.message for f in manual.errors] == []
    dates = manual.walks["pork-bake"].dates
    assert dates is not None and (dates.day, dates.law_day) == (7, 7)


@pytest.mark.parametrize(
    ("days", "codes"), [(6, []), (7, ["kept-too-long"]), (9, ["kept-too-long"])]
)
@pytest.mark.parametrize(
    "end",
    [
        f"{AGAIN}  - do: serve\n",
        "  - do: hold-by-time\n    procedure: Board 1\n    time: 3 h\n  - do: serve\n",
    ],
)
def test_steps_that_keep_it_past_its_days_are_an_error(
    kitchen: Path, days: int, codes: list[str], end: str
) -> None:
    manual = compute(served(kitchen, KEPT.format(days=days) + end))
    assert [f.code for f in manual.errors] == codes


def test_food_served_as_it_is_cooked_has_none(kitchen: Path) -> None:
    path = kitchen / "standards" / BAKED
    text = path.read_text("utf-8")
    path.write_text(text[: text.index("  - do: chill")] + "  - do: serve\n", "utf-8")
    edit(kitchen, BAKE, "keeps: {cold: 5 days}\n", "")
    manual = compute(kitchen)
    assert [f.message for f in manual.errors] == []
    dates = manual.walks["pork-bake"].dates
    assert dates is not None and dates.day is None
