"""Food carried to another place is held hot or cold on the way: no preparation, by no law."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import compute, edit

BAKED = "processes/baked.yaml"


def limits_at(kitchen: Path, step: str, before: str) -> tuple[set[str], set[str]]:
    """The hazards limited at a step that carries, put in ``before`` another, and the errors."""
    edit(kitchen, BAKED, before, f"{step}{before}")
    manual = compute(kitchen)
    limits = manual.walks["pork-bake"].limits if "pork-bake" in manual.walks else ()
    return {x.hazard for x in limits if x.step == "away"}, {f.code for f in manual.errors}


@pytest.mark.parametrize(
    "verb", ["transport", "transport\n    does: handles", "van\n    does: carries"]
)
@pytest.mark.parametrize(
    ("before", "hazard"),
    [("  - do: chill\n", "hot_hold"), ("  - do: store\n    in: cold-room", "cold_hold")],
)
def test_the_limit_of_how_it_came_is_in_force_on_the_way(
    verb: str, before: str, hazard: str, kitchen: Path
) -> None:
    """Food Code 3-501.16(A): 135 °F or hotter, 41 °F or colder, except in preparation, cooking and
    cooling, or where time is the control."""
    step = f"  - do: {verb}\n    id: away\n    time: 45 min\n"
    hazards, errors = limits_at(kitchen, step, before)
    assert hazards == {hazard} and not errors


def test_it_is_asked_for_its_time_or_place(kitchen: Path) -> None:
    hazards, errors = limits_at(kitchen, "  - do: transport\n    id: away\n", "  - do: chill\n")
    assert hazards == {"hot_hold"} and errors == {"wait-unknown"}


def test_hot_food_carried_in_the_cold_is_cooled(kitchen: Path) -> None:
    step = "  - do: transport\n    id: away\n    in: cold-room\n    time: 45 min\n"
    edit(kitchen, BAKED, "  - do: chill\n    in: blast\n    target: to 4 °C\n", step)
    limits = compute(kitchen).walks["pork-bake"].limits
    assert {x.hazard for x in limits if x.step == "away"} == {"cool"}


@pytest.mark.parametrize("time", ["5 min", "45 min", "3 h"])
def test_cold_food_is_carried_in_something_that_keeps_it_cold(kitchen: Path, time: str) -> None:
    """For however short a time: the way is no preparation."""
    step = f"  - do: transport\n    id: away\n    time: {time}\n"
    edit(kitchen, BAKED, "  - do: store\n", f"{step}  - do: store\n")
    found = [f for f in compute(kitchen).findings if f.place.file.endswith(BAKED)]
    assert [(f.code, f.severity) for f in found] == [("carried-warm", "warning")]
    edit(kitchen, BAKED, f"    time: {time}\n", f"    time: {time}\n    in: cold-room\n")
    assert not [f for f in compute(kitchen).findings if f.place.file.endswith(BAKED)]
