"""Work by hand, piece by piece, over several steps that say no time: how long the food is out is
asked. The verbs are the trade's, not the rule's own list."""

from __future__ import annotations

import itertools
from pathlib import Path

import honest_kitchens
import pytest
from conftest import compute
from honest_kitchens import lay_out

SERVE, STORE = "- do: serve\n", "- {do: store, in: walk-in}\n"
HAM = {"a": {"ham": "8 kg"}}


def asked(
    folder: Path, steps: str, parts: dict[str, dict[str, str]] = HAM, end: str = STORE
) -> list[str]:
    """The messages of the question in a kitchen with these steps."""
    first, rest = steps.split("}", 1)
    process = f"{first}, add: [a]}}{rest}{end}"
    manual = compute(lay_out(folder, {"parts": parts, "formula": "", "process": process}))
    assert not [f.message for f in manual.findings if f.is_error and f.code != "raw-not-cooked"]
    return [f.message for f in manual.findings if f.code == "work-not-timed"]


@pytest.mark.parametrize(
    "steps",
    [
        "- {do: slice}\n- {do: portion}\n",
        "- {do: slice}\n- {do: portion}\n- {do: shape}\n",
        "- {do: slice, time: 20 min}\n- {do: portion}\n- {do: wrap}\n",  # one of three is timed
        "- {do: trim}\n- {do: mix}\n- {do: slice}\n",  # the order another, other work between
        "- {do: mix}\n- {do: roll}\n- {do: fill}\n",
        "- {do: dress-by-hand, does: fills}\n- {do: cut}\n",  # verbs of the kitchen's own
        "- {do: rest, time: 30 min}\n- {do: cut}\n- {do: stuff}\n",
        "- {do: cut}\n- {do: label}\n- {do: portion}\n",
    ],
)
@pytest.mark.parametrize("end", [STORE, SERVE])
def test_it_is_asked_once(tmp_path: Path, steps: str, end: str) -> None:
    (message,) = asked(tmp_path, steps, end=end)
    assert "stay out of the cold for this work?" in message


@pytest.mark.parametrize(
    "steps",
    [
        "- {do: slice}\n",  # one such step may leave it out
        "- {do: slice}\n- {do: label}\n- {do: pack}\n",
        "- {do: slice, time: 20 min}\n- {do: portion, time: 15 min}\n",
        "- {do: slice, time: 20 min}\n- {do: portion}\n",
        "- {do: slice, in: walk-in}\n- {do: portion, in: walk-in}\n",
        "- {do: slice}\n- {do: portion, in: walk-in}\n",
        "- {do: slice}\n- {do: rest, in: walk-in, time: 12 h}\n- {do: portion}\n",
        "- {do: slice, with: slicer}\n- {do: portion}\n",  # a machine is quick
        "- {do: mix}\n- {do: whisk}\n- {do: season}\n",  # all of it at once
    ],
)
def test_it_is_not(tmp_path: Path, steps: str, monkeypatch: pytest.MonkeyPatch) -> None:
    house = tmp_path / "house.yaml"
    text = (honest_kitchens.FOLDER / "house.yaml").read_text(encoding="utf-8")
    house.write_text(f"{text}slicer: {{kind: slicer, name: Slicer}}\n", encoding="utf-8")
    monkeypatch.setattr(honest_kitchens, "FOLDER", tmp_path)
    assert asked(tmp_path / "kitchen", steps) == []


@pytest.mark.parametrize(
    ("item", "is_asked"), [("potato", False), ("lemon", False), ("ham", True), ("thigh", True)]
)
def test_only_what_needs_the_cold(tmp_path: Path, item: str, is_asked: bool) -> None:
    found = asked(tmp_path, "- {do: trim}\n- {do: slice}\n", {"a": {item: "8 kg"}})
    assert bool(found) is is_asked


def test_hot_food_that_is_chilled_has_its_cooling_clock(tmp_path: Path) -> None:
    steps = (
        "- {do: roast, with: oven, target: core 74 °C}\n- {do: slice}\n- {do: portion}\n"
        "- {do: chill, in: blast, target: to 4 °C}\n"
    )
    assert asked(tmp_path, steps, {"a": {"thigh": "8 kg"}}) == []


KINDS = {
    "piece": "- {do: %s, id: %s}\n",
    "timed": "- {do: %s, id: %s, time: 10 min}\n",
    "cold": "- {do: %s, id: %s, in: walk-in}\n",
    "mixed": "- {do: mix, id: %s}\n",
}


@pytest.mark.parametrize("many", [3, pytest.param(5, marks=pytest.mark.slow)])
def test_any_order_of_steps(tmp_path: Path, many: int) -> None:
    """By hand: two pieces of work without a time, with no cold step between them. A cold step ends
    it, for it says no time that is shorter."""
    verbs, found = ("slice", "portion", "cut", "shape", "fill"), set()
    for number, kinds in enumerate(itertools.product(KINDS, repeat=many)):
        texts = [
            KINDS[k] % ((f"s{i}",) if k == "mixed" else (verbs[i], f"s{i}"))
            for i, k in enumerate(kinds)
        ]
        runs = [list(g) for cold, g in itertools.groupby(kinds, "cold".__eq__) if not cold]
        expected = sum(run.count("piece") > 1 for run in runs)
        got = asked(tmp_path / f"{number}", "".join(texts))
        assert len(got) == expected, kinds
        found.add(expected)
    assert {0, 1} <= found
