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


BOIL = "  - do: boil\n    add: [dish]\n    time: 20 min\n"
RICE = {"rice": "2 kg", "water": "3 kg"}


@pytest.mark.parametrize(
    ("process", "asked"),
    [
        (BOIL + REST.format(verb="rest", how="") + THEN.format(then="3 h"), True),
        (
            BOIL + REST.format(verb="rest", how="    time: 10 min\n") + THEN.format(then="1 h"),
            False,
        ),
        (BOIL + REST.format(verb="rest", how="") + "  - do: serve\n", False),
        (
            BOIL
            + REST.format(verb="rest", how="")
            + "  - do: chill\n    in: blast\n    target: to 4 °C\n    time: 2 h\n  - do: serve\n",
            False,
        ),
    ],
)
def test_hot_food_in_the_cold_for_an_unknown_time(
    tmp_path: Path, process: str, asked: bool
) -> None:
    codes = [code for code, _ in found(tmp_path, process, RICE)]
    assert ("wait-unknown" in codes) == asked, codes
