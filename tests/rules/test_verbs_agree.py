"""Older sentences count their verb by the food's name: "Oysters are", not by how many names."""

from __future__ import annotations

from pathlib import Path

import honest_kitchens
import pytest
from conftest import compute
from honest_kitchens import lay_out

SERVE = "- do: serve\n"
ROAST = "- {do: roast, add: [a], with: oven, target: core 75 °C for 1 min}\n"
CHILL = "- {do: chill, in: blast, target: to 4 °C, time: 1 h}\n"
MIX = "- {do: mix, add: [a]}\n"
RAW = {"species": "chicken", "state": "raw", "form": "intact", "allergens": "none"}
FISH = RAW | {"species": "fish", "allergens": "fish (char)"}


@pytest.mark.parametrize(
    ("record", "process", "formula", "one", "many"),
    [
        (RAW, MIX + SERVE, "", "is raw here.", "are raw here."),
        (RAW, MIX + "- {do: store, in: walk-in}\n", "", "cooks it.", "cooks them."),
        (
            FISH,
            MIX + SERVE,
            "undercooked: On request.\n",
            "is served raw or undercooked, so it must be freed",
            "are served raw or undercooked, so they must be freed",
        ),
        (RAW, MIX + "- do: rest\n" + ROAST[:-1] + "\n", "", "how long does ", "how long do "),
        (
            RAW | {"state": "ready-to-eat"},
            MIX + "- {do: rest, time: 9 h}\n" + SERVE,
            "",
            "Dish is between",
            "Dish is between",
        ),
    ],
)
@pytest.mark.parametrize(("name", "plural"), [("Wing", False), ("Wings", True), ("Bass", False)])
def test_of_one_food(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    record: dict[str, str],
    process: str,
    formula: str,
    one: str,
    many: str,
    name: str,
    plural: bool,
) -> None:
    monkeypatch.setitem(honest_kitchens.PANTRY, "food", {"name": name, **record})
    process = (
        process.replace("add: [a], with: oven", "with: oven") if "rest\n" in process else process
    )
    spec = {"parts": {"a": {"food": "4 kg"}}, "formula": formula, "process": process}
    texts = " ".join(f.message for f in compute(lay_out(tmp_path, spec)).findings)
    assert (many if plural else one) in texts, texts


@pytest.mark.parametrize(
    ("called", "words"), [("dish", "Dish is cold before hold hot. No step reheats it.")]
)
def test_held_hot_from_cold(tmp_path: Path, called: str, words: str) -> None:
    process = ROAST + CHILL + "- {do: hold-hot, target: core 60 °C}\n" + SERVE
    spec = {"parts": {"a": {"thigh": "4 kg"}}, "process": process}
    assert words in [f.message for f in compute(lay_out(tmp_path, spec)).findings]
    pots = {"parts": {"a": {"thigh": "4 kg"}}, "process": ROAST + CHILL}
    hot = MIX + "- {do: hold-hot, target: core 60 °C}\n" + SERVE
    spec = {"parts": {"a": {"thighs": "4 kg"}}, "process": hot, "also": {"thighs": pots}}
    found = [f.message for f in compute(lay_out(tmp_path / "more", spec)).findings]
    assert "Thighs are cold before hold hot. No step reheats them." in found
