"""Grain soaked warm and drunk uncooked needs the cold (a county's inspectors on horchata), and a
paper on food as it was isn't one on the same food with water in it."""

from __future__ import annotations

import itertools
import random
from pathlib import Path

import pytest
from conftest import compute
from honest_kitchens import lay_out

NEEDS = {"between-too-long", "display-uncontrolled", "keeps-dry"}
RICE = {"a": {"rice": "2 kg", "water": "8 kg"}}
SERVE = "- do: serve\n"


def asked(folder: Path, process: str, parts: object = RICE, **more: object) -> set[str]:
    lay_out(folder, {"parts": parts, "formula": "", "process": process, **more})
    return {f.code for f in compute(folder).findings if f.is_error} & NEEDS


@pytest.mark.parametrize(
    ("process", "needs"),
    [
        ("- {do: soak, add: [a], time: 12 h}\n- do: puree\n", True),
        ("- {do: rest, add: [a], time: 5 h}\n- do: puree\n", True),
        ("- {do: soak, add: [a], time: 4 h}\n- do: puree\n", False),
        ("- {do: soak, add: [a], time: 12 h, in: walk-in}\n- do: puree\n", False),
        ("- {do: soak, add: [a], time: 12 h}\n- {do: boil, with: pot, time: 1 h}\n", False),
        ("- {do: soak, add: [a], time: 3 h}\n- {do: rest, time: 5 h}\n- do: puree\n", True),
    ],
)
def test_rice_soaked_warm_and_never_cooked(tmp_path: Path, process: str, needs: bool) -> None:
    assert bool(asked(tmp_path, process + SERVE)) is needs


@pytest.mark.parametrize("item", ["rice", "beans"])
def test_water_that_is_only_gained_counts(tmp_path: Path, item: str) -> None:
    process = "- {do: soak, add: [a], time: 12 h, gains: 40 %}\n- do: puree\n" + SERVE
    assert asked(tmp_path, process, {"a": {item: "2 kg"}})


@pytest.mark.parametrize("item", ["sugar"])
def test_what_is_no_raw_grain_doesnt(tmp_path: Path, item: str) -> None:
    process = "- {do: soak, add: [a], time: 12 h}\n" + SERVE
    assert not asked(tmp_path, process, {"a": {item: "2 kg", "water": "2 kg"}})


@pytest.mark.slow
@pytest.mark.parametrize(
    "steps", list(itertools.product(("soak", "stand", "cold", "boil"), repeat=3))
)
def test_any_order_of_three_steps(tmp_path: Path, steps: tuple[str, ...]) -> None:
    """By hand: from the step in which it has been wet and warm for more than four hours it needs
    the cold, and may be out of it for four hours more. Boiled, it does by another rule."""
    text = {
        "soak": "- {do: soak, id: s%d%s, time: 150 min}\n",
        "stand": "- {do: rest, id: s%d%s, time: 150 min}\n",
        "cold": "- {do: rest, id: s%d%s, time: 150 min, in: walk-in}\n",
        "boil": "- {do: boil, id: s%d%s, with: pot, time: 1 h}\n",
    }
    add = [", add: [a]", "", ""]
    process = "".join(text[what] % (n, add[n]) for n, what in enumerate(steps))
    found = asked(tmp_path, process + SERVE)
    wet, out, expected = 0.0, 0.0, False
    for what in steps:
        warm = 2.5 if what in ("soak", "stand") else 0.0
        wet, out = wet + warm, out + warm if warm and wet + warm > 4 else 0.0
        expected = expected or out > 4
    if "boil" not in steps:
        assert bool(found) is expected, steps


COOKED = {
    "parts": {"b": {"rice": "4 kg", "water": "6 kg"}},
    "formula": "not_tcs: {reason: Lye water, document: pH log}\nkeeps: {dry: 2 days}\n",
    "process": "- {do: boil, add: [b], with: pot, time: 1 h}\n- do: store\n",
}


@pytest.mark.parametrize(
    ("parts", "process", "needs"),
    [
        ({"base-food": "4 kg"}, "- {do: grind, add: [a]}\n", False),
        ({"base-food": "4 kg", "salt": "40 g"}, "- {do: grind, add: [a]}\n", False),
        ({"base-food": "4 kg", "water": "1 kg"}, "- {do: grind, add: [a]}\n", True),
        ({"base-food": "4 kg"}, "- {do: soak, add: [a], time: 1 h, gains: 20 %}\n", True),
    ],
)
def test_a_paper_is_of_the_food_as_it_was(
    tmp_path: Path, parts: dict[str, str], process: str, needs: bool
) -> None:
    process += "- {do: rest, time: 10 h}\n" + SERVE
    found = asked(tmp_path, process, {"a": parts}, also={"base-food": COOKED})
    assert bool(found) is needs


HOURS = {"3 h": 3.0, "1 h": 1.0, "90 min": 1.5}
UNTIMED = 9.0
"""More than any soak may last."""


def soaks(rng: random.Random) -> tuple[str, list[float]]:
    """One or two steps that soak, and how warm and long each is: 0 is in the cold, for a night."""
    steps, hours = "", []
    for step in range(rng.randint(1, 2)):
        time = rng.choice(list(HOURS)) if rng.random() < 0.9 else ""
        cold = rng.random() < 0.3
        said = ", in: walk-in, time: 12 h" if cold else f", time: {time}" if time else ""
        steps += f"- {{do: soak, id: s{step}{said}}}\n"
        hours.append(0 if cold else HOURS.get(time, UNTIMED))
    return steps.replace("id: s0", "id: s0, add: [a]"), hours


def too_long(chain: list[list[float]]) -> bool:
    """By hand: four hours are the most, in all formulas made ahead, and at a stretch in the last; a
    night in the cold ends a stretch."""
    *ahead, last = chain
    before = [hours for link in ahead for hours in link]
    stretch = sum(before) if before and before[-1] else 0
    longest = sum(before)
    for hours in last:
        stretch = stretch + hours if hours else 0
        longest = max(longest, stretch)
    return longest > 4


@pytest.mark.parametrize("item", ["rice", "mung"])
@pytest.mark.parametrize("many", [12, pytest.param(150, marks=pytest.mark.slow)])
def test_soaking_is_added_up_through_formulas(tmp_path: Path, item: str, many: int) -> None:
    """What is soaked in a chain of formulas, and eaten uncooked: boiled in the last, it is asked of
    nothing here."""
    rng, found = random.Random(f"{item} {many}"), set()
    for number in range(many):
        links = [soaks(rng) for _ in range(rng.randint(1, 3))]
        cooked = rng.random() < 0.2
        parts, also = {"a": {item: "2 kg", "water": "4 kg"}}, {}
        for link, (steps, _) in enumerate(links[:-1]):
            also[f"pot-{link}"] = {"parts": parts, "formula": "", "process": steps}
            parts = {"a": {f"pot-{link}": "6 kg"}}
        end = "- {do: boil, with: pot, time: 1 h}\n" if cooked else "- do: puree\n"
        folder = tmp_path / str(number)
        folder.mkdir()
        dish = {"parts": parts, "formula": "", "process": links[-1][0] + end + SERVE, "also": also}
        lay_out(folder, dish)
        codes = {f.code for f in compute(folder).findings if f.is_error}
        asked = bool(codes & {"between-too-long", "wait-unknown"})
        by_hand = too_long([hours for _, hours in links]) and not cooked
        assert asked is by_hand, (links, cooked, codes)
        found.add(asked)
    assert found == {True, False}
