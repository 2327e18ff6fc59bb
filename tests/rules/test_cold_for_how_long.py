"""A stay in a cold place that says no time: it may be a moment, so it makes nothing cold again."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import compute
from honest_kitchens import PANTRY, lay_out

CHICKEN = {"name": "Cooked chicken", "species": "chicken", "state": "ready-to-eat"}
CUT = "  - do: cut\n    add: [dish]\n    time: {out}\n"
REST = "  - do: {verb}\n    in: walk-in\n{how}"
THEN = "  - do: portion\n    time: {then}\n  - do: serve\n"


def found(path: Path, process: str, parts: dict[str, str] | None = None) -> list[tuple[str, str]]:
    PANTRY["asked"] = {**CHICKEN, "allergens": "none", "arrives": "cold"}
    try:
        lay_out(path, {"parts": {"dish": parts or {"asked": "2 kg"}}, "process": process})
    finally:
        del PANTRY["asked"]
    return [(f.code, f.help) for f in compute(path).errors]


TABLE = [
    # out, the verb, what it says, out again, refused
    ("3 h", "rest", "", "3 h", True),
    ("3 h", "rest", "    time: 5 min\n", "3 h", True),
    ("3 h", "rest", "    time: 12 h\n", "3 h", False),
    ("3 h", "rest", "    time: 3 h\n", "3 h", False),
    ("3 h", "chill", "    target: to 4 °C\n    time: 2 h\n", "3 h", False),
    ("3 h", "store", "", "3 h", False),  # put away
    ("3 h", "marinate", "", "3 h", True),
    ("1 h", "rest", "", "2 h 30 min", False),  # less than 4 h in all
    ("2 h", "rest", "", "2 h 1 min", True),
    ("3 h", "rest", "    target: core 4 °C\n", "3 h", False),
]


@pytest.mark.parametrize("row", TABLE)
def test_a_moment_in_the_cold_begins_no_clock_anew(
    tmp_path: Path, row: tuple[str, str, str, str, bool]
) -> None:
    out, verb, how, then, refused = row
    process = CUT.format(out=out) + REST.format(verb=verb, how=how) + THEN.format(then=then)
    codes = dict(found(tmp_path, process))
    assert ("between-too-long" in codes) == refused, codes
    if refused and not how:
        assert (
            "How long is it in the cold at step 2? Write its `time`." in codes["between-too-long"]
        )


def test_hot_food_in_the_cold_has_its_cooling_limit_there(tmp_path: Path) -> None:
    """So a stay that says no time is on that clock, and ends it."""
    boil = "  - do: boil\n    add: [dish]\n    time: 20 min\n"
    process = boil + REST.format(verb="rest", how="") + THEN.format(then="3 h")
    assert found(tmp_path, process, {"rice": "2 kg", "water": "3 kg"}) == []
    limits = compute(tmp_path).walks["dish"].limits
    assert [lm.hazard for lm in limits if lm.step == "rest"] == ["cool"], limits
