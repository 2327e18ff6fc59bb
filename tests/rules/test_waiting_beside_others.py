"""Food that only lies in the cold needs nobody: other food doesn't wait for it, unless it is taken
before that is, or with it."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from conftest import compute, edit

from generator.resolve.joined import Comes, JoinedStep
from generator.resolve.ways import waited_for

HEAD = """steps:
  - {do: mix, add: [meat, bind, seasoning], time: 41 min}
  - {do: divide, gives: today, leaves: {tomorrow: {share: 50 %, then: used-again}}}
"""
IN_THE_COLD = "  - {do: rest, work_on: tomorrow, in: cold-room, time: 12 h, gives: rested}\n"
BAKE = "with: range-oven, at: 180 °C, target: core 72 °C, loses: 10 %"
TAIL = "  - {do: chill, in: blast, target: to 4 °C}\n  - {do: store, in: cold-room}\n"
FIRST = f"  - {{do: bake, work_on: today, {BAKE}, gives: baked}}\n"
LATER = f"  - {{do: bake, id: second, work_on: rested, {BAKE}}}\n  - {{do: pack, add: baked}}\n"
WITH_IT = f"  - {{do: bake, work_on: [today, rested], {BAKE}}}\n"
OTHER_FIRST = (
    f"  - {{do: bake, id: second, work_on: rested, {BAKE}, gives: other, time: 1 h}}\n"
    f"  - {{do: bake, work_on: today, {BAKE}}}\n  - {{do: pack, add: other}}\n"
)


@pytest.mark.parametrize(
    ("middle", "waits"),
    [
        (IN_THE_COLD + FIRST + LATER, ""),
        (IN_THE_COLD.replace("rest,", "store,") + FIRST + LATER, ""),
        (IN_THE_COLD + WITH_IT, "12 h 41 min"),
        (IN_THE_COLD + OTHER_FIRST, "13 h 41 min"),
        (IN_THE_COLD.replace(" in: cold-room,", "") + FIRST + LATER, "12 h 41 min"),
        (IN_THE_COLD.replace("rest,", "trim,") + FIRST + LATER, "12 h 41 min"),
    ],
)
def test_the_other_half_in_the_cold(kitchen: Path, middle: str, waits: str) -> None:
    old = "process: baked\ntargets: {bake: core 72 °C}\n"
    makes = "{fill_weight: 900 g, vessel: dish, unit: dish, units: dishes, portion: 150 g}"
    edit(kitchen, "formulas/pork-bake.yaml", old, HEAD + middle + TAIL)
    edit(kitchen, "formulas/pork-bake.yaml", makes, "{portion: 150 g}")
    edit(kitchen, "formulas/pork-bake.yaml", "[4 dishes, 8 dishes]", "[20 portions]")
    words = [f.message for f in compute(kitchen).findings if f.message.startswith("Today waits")]
    assert bool(words) == bool(waits), words
    assert all(waits in one.replace("\u00a0", " ").replace("\u202f", " ") for one in words)


def _step(number: int, cold: bool, comes: tuple[int, ...]) -> JoinedStep:
    step = object.__new__(JoinedStep)
    for name, value in {
        "number": number,
        "effects": frozenset({"waits"}),
        "cold": "here" if cold else None,
        "comes": tuple(Comes(n) for n in comes),
    }.items():
        object.__setattr__(step, name, value)
    return step


def test_nothing_is_left_out_that_comes_back_before(tmp_path: Path) -> None:
    """Over random ways: a step in the cold is left out exactly where no way leads from it to a step
    up to the one that takes the food, found by following every way from its end."""
    by, left_out = random.Random(5), 0
    for _ in range(300):
        many = by.randint(4, 9)
        steps = {
            n: _step(
                n, by.random() < 0.5, tuple(by.sample(range(1, n), min(n - 1, by.randint(0, 2))))
            )
            for n in range(1, many + 1)
        }
        left, taken = sorted(by.sample(range(1, many + 1), 2))
        reached = {n: {c.number for c in s.comes} for n, s in steps.items()}
        for n in sorted(steps):
            reached[n] |= {m for c in list(reached[n]) for m in reached[c]}
        for n in range(left + 1, taken):
            needed = any(n in reached[m] for m in range(n + 1, taken + 1))
            waited = n in waited_for(steps, left, taken)
            assert waited == (needed or steps[n].cold is None), (n, left, taken)
            left_out += not waited
    assert left_out > 100
