"""Food frozen on its way in a plan: the days wholly in the freezer don't count (3-501.18(A)(1))."""

from __future__ import annotations

import datetime
import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from honest_kitchens import lay_out

from generator.cli import cli

READY = datetime.datetime(2026, 12, 20, 12)
PLAN = """\
name: Sunday
day: 2026-12-20
at: 12:00
dishes:
  - {dish: dish, amount: 4 kg yield}
"""
PROCESS = (
    "- {do: stew, add: [a], with: pot, time: 4 h, target: core 75 °C}\n"
    "- {do: chill, in: blast, target: to 3 °C, time: 4 h}\n%s- {do: store, in: %s}\n"
)
FREEZE = "- {do: freeze, in: freezer, time: %d h}\n"


def ordered(project: Path, hours: int) -> dict[str, Any]:
    freeze, place = (FREEZE % hours, "freezer") if hours else ("", "walk-in")
    keeps = "keeps: {cold: 7 days, frozen: 90 days}\n" if hours else "keeps: {cold: 7 days}\n"
    process = PROCESS % (freeze, place)
    parts = {"a": {"beef-joint": "10 kg", "salt": "100 g"}}
    lay_out(project, {"parts": parts, "formula": keeps, "process": process})
    (project / "standards/plans").mkdir()
    (project / "standards/plans/sunday.yaml").write_text(PLAN, encoding="utf-8")
    words = ["order", "sunday", "--format", "json", "--as-of", "2026-11-01"]
    done = CliRunner().invoke(cli, [*words, "--project", str(project)])
    assert done.stdout, done.output
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def by_hand(hours: int) -> datetime.date:
    """Day by day: each of the seven is a day of which some hour isn't frozen; the day it goes in
    counts, at midnight too."""
    out = READY
    into = READY - datetime.timedelta(hours=hours)
    day = (into - datetime.timedelta(hours=8)).date()
    left = 7
    while True:
        begins = datetime.datetime.combine(day, datetime.time())
        ends = begins + datetime.timedelta(days=1)
        left -= not (into < begins and ends <= out)
        if not left:
            return day
        day += datetime.timedelta(days=1)


@pytest.mark.parametrize("hours", [0, 6, 24, 35, 72, 240, 900])
def test_days_in_the_freezer_dont_count(tmp_path: Path, hours: int) -> None:
    (run,) = ordered(tmp_path, hours)["make"]
    assert run["use_by"] == by_hand(hours).isoformat()
