"""Food that needs the cold and is left to rise, sour, dry or ripen: held cold in a refrigerator,
by time in the room."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import compute
from honest_kitchens import lay_out

from generator.rules.basics.limit import KeepingLimit, Limit, TimeLimit
from generator.sheet.manual import Manual

DOUGH = {"dough": {"flour": "5 kg", "egg": "40 %", "milk": "20 %"}}
LEAN = {"dough": {"flour": "5 kg", "water": "60 %", "salt": "2 %"}}
BAKED = "not_tcs: Baked through and dry; nothing is filled in.\n"


def limits_at(project: Path, verb: str, where: str, parts: object, more: str = "") -> list[Limit]:
    process = (
        f"  - do: mix\n    add: [dough]\n  - do: {verb}\n    id: left\n    {where}\n"
        "  - do: bake\n    target: core 95 °C\n  - do: store\n"
    )
    spec = {"parts": parts, "process": process, "formula": BAKED, "kitchen": more}
    found = compute(lay_out(project, spec))
    assert isinstance(found, Manual) and "dish" in found.walks
    assert found.errors == ()
    (step,) = (s for s in found.walks["dish"].steps if s.step.id == "left")
    return list(step.limits)


@pytest.mark.parametrize("verb", ["proof", "retard", "ferment", "age", "dry"])
def test_in_a_refrigerator_it_has_the_limit_for_holding_cold(verb: str, tmp_path: Path) -> None:
    (limit,) = limits_at(tmp_path, verb, "in: walk-in\n    time: 12 h", DOUGH)
    assert isinstance(limit, KeepingLimit) and limit.hazard == "cold_hold"
    assert (limit.read, limit.number) == (4, 2)


@pytest.mark.parametrize("verb", ["proof", "retard"])
@pytest.mark.parametrize("time", ["20 min", "1 h", "3 h"])
def test_in_the_room_it_has_its_time(verb: str, time: str, tmp_path: Path) -> None:
    (limit,) = limits_at(tmp_path, verb, f"time: {time}", DOUGH)
    assert isinstance(limit, TimeLimit) and limit.lasts.most_s == 4 * 3600


@pytest.mark.parametrize("where", ["in: walk-in\n    time: 12 h", "time: 3 h"])
def test_lean_dough_has_neither(where: str, tmp_path: Path) -> None:
    assert limits_at(tmp_path, "proof", where, LEAN) == []


def test_a_short_rest_has_no_limit_of_its_own(tmp_path: Path) -> None:
    """It isn't left to change: the clock is noted from two hours on, as ever."""
    assert limits_at(tmp_path, "rest", "time: 1 h", DOUGH) == []


def test_a_house_limit_goes_before_it_and_is_there_once(tmp_path: Path) -> None:
    ours = "house_limits:\n  - {for: hold-cold, limit: at 3 °C, reason: Ours.}\n"
    found = limits_at(tmp_path, "retard", "in: walk-in\n    time: 12 h", DOUGH, ours)
    assert [limit.hazard for limit in found] == ["cold_hold"]
