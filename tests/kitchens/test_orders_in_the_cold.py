"""Several batches of a plan in one cold place: together, as many as it holds; what waits too long for
its turn is reported."""

from __future__ import annotations

import random
from fractions import Fraction
from pathlib import Path

import pytest
from planned_kitchens import manual_for, ordered, planned_kitchen

from generator.sheet.order import Order

FORMULA = """\
name: Pulse pot
revision: 1
effective: 2026-01-05
approved: R. Osei
station: range
parts:
  all: {{v: 2 kg, w: 2 kg}}
steps:
  - {{do: soak, add: all, in: cold-room, time: 12 h}}
  - {{do: boil, time: 20 min}}
  - {{do: chill, in: blast, target: to 3 °C, time: 60 min}}
  - {{do: store, in: cold-room}}
keeps: {{cold: 4 days}}
batches: [{size}]
"""


def order_for(folder: Path, batches: int, room: str = "", size: str = "4 kg total") -> Order:
    plan = f"name: Week\nday: 2026-12-10\nat: 18:00\ndishes:\n  - {{dish: pot, amount: {batches} batches}}\n"
    planned_kitchen(folder, {"pot": FORMULA.format(size=size)}, {"week": plan})
    house = folder / "standards/equipment"
    for file in house.glob("*.yaml"):
        text = file.read_text()
        file.write_text(text.replace("Blast chiller, air: 1 °C", f"Blast chiller, air: 1 °C{room}"))
    return ordered(manual_for(folder), "week")


def hours(order: Order, step: str) -> Fraction:
    (run,) = order.runs
    (seconds,) = (one.seconds for one in run.times.steps if one.step.id == step)
    assert seconds is not None
    return seconds / 3600


def test_a_cold_room_takes_all_batches_at_once(tmp_path: Path) -> None:
    """Five batches that soak for 12 h in one cold room soak for 12 h, not for 60."""
    order = order_for(tmp_path, 5)
    assert hours(order, "soak") == 12
    assert hours(order, "chill") == 1
    assert order.problems == ()


def test_batches_that_wait_hot_for_the_chiller_are_reported(tmp_path: Path) -> None:
    """One at a time: the fifth waits 4 h, and cooked food has 2 h to 70 °F (21 °C)."""
    order = order_for(tmp_path, 5, ", capacity: 4 kg")
    assert hours(order, "chill") == 5
    (problem,) = order.problems
    assert problem.code == "order-waits-too-long"
    words = problem.words.replace(" ", " ").replace("\u202f", " ").replace("\xa0", " ")
    assert "5 runs of Blast chiller" in words and "The last waits 4 h" in words


def test_a_larger_chiller_puts_it_right(tmp_path: Path) -> None:
    assert order_for(tmp_path, 5, ", capacity: 20 kg").problems == ()


@pytest.mark.parametrize("seed", range(4))
def test_runs_are_those_of_filling_it_batch_by_batch(tmp_path: Path, seed: int) -> None:
    """The oracle fills the chiller batch by batch until the next doesn't go in."""
    rng = random.Random(seed)
    batches, capacity = rng.randint(2, 9), rng.randint(40, 170)
    runs, there = 1, 0
    for _ in range(batches):
        if there + 40 > capacity:
            runs, there = runs + 1, 0
        there += 40
    order = order_for(tmp_path, batches, f", capacity: {capacity / 10} kg")
    assert hours(order, "chill") == runs
    assert bool(order.problems) == (runs > 2)  # its own first stage takes a part of the 2 h
