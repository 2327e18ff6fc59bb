"""Raw soy is boiled for 10 minutes (University of Guelph, Natural toxins in fruits and vegetables:
lectins are highest in red and white kidney beans and soybeans)."""

from __future__ import annotations

import itertools
from pathlib import Path

import honest_kitchens
import pytest
from conftest import compute
from honest_kitchens import lay_out

SOY = {"species": "none", "allergens": "soybeans", "tcs": "no", "arrives": "ambient"}
SOAK = "- {do: soak, add: [a], in: walk-in, time: 12 h}\n"
BLEND = "- do: puree\n"
SERVE = "- do: serve\n"
BEANS = SOY | {"name": "Soybeans", "state": "raw", "form": "dry"}


def found(
    folder: Path, monkeypatch: pytest.MonkeyPatch, process: str, soy: dict[str, str], more: str = ""
) -> str:
    """How severe the finding is; nothing where there is none."""
    monkeypatch.setitem(honest_kitchens.PANTRY, "soy", soy)
    parts = {"a": {"soy": "1 kg", "water": "8 kg"}}
    lay_out(folder, {"parts": parts, "formula": more, "process": process})
    codes = [f.severity for f in compute(folder).findings if f.code == "soy-not-boiled"]
    assert len(codes) < 2
    return codes[0] if codes else ""


@pytest.mark.parametrize(
    ("heat", "how"),
    [
        ("", "error"),
        ("- {do: warm, with: pot, time: 20 min}\n", "error"),
        ("- {do: pasteurise, with: pot, target: core 75 °C, time: 20 min}\n", "error"),
        ("- {do: simmer, with: pot, time: 20 min}\n", "warning"),  # how hot, nobody says
        ("- {do: simmer, with: pot, time: 2 h}\n", "warning"),
        ("- {do: simmer, with: pot, target: core 85 °C, time: 2 h}\n", "error"),
        ("- {do: simmer, with: pot, at: 92 °C, time: 20 min}\n", "error"),
        ("- {do: boil, with: pot, target: core 60 °C, time: 20 min}\n", "error"),
        ("- {do: boil, with: pot, time: 9 min}\n", "warning"),
        ("- {do: boil, with: pot}\n", "warning"),
        ("- {do: boil, with: pot, time: 8 to 12 min}\n", "warning"),
        ("- {do: boil, with: pot, time: 10 min}\n", ""),
        ("- {do: boil, with: pot, target: core 98 °C, time: 12 min}\n", ""),
        ("- {do: simmer, with: pot, at: 98 °C, time: 20 min}\n", ""),
        ("- {do: boil, with: pressure-pot}\n", ""),
        ("- {do: steam, with: oven, time: 40 min}\n", ""),
        ("- {do: roast, with: oven, at: 180 °C, time: 30 min}\n", ""),
    ],
)
@pytest.mark.parametrize("ground", [True, False])
def test_how_it_is_heated(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, heat: str, how: str, ground: bool
) -> None:
    steps = SOAK + (BLEND if ground else "") + heat + SERVE
    assert found(tmp_path, monkeypatch, steps, BEANS) == how


@pytest.mark.parametrize(
    ("soy", "asked"),
    [
        (BEANS | {"name": "Soya beans, dried", "state": "ready-to-eat"}, True),
        (BEANS | {"name": "Black soybeans"}, True),
        ({**BEANS, "name": "Organic beans", "other_names": "Soya beans"}, True),
        (SOY | {"name": "Soy milk", "state": "raw", "form": "liquid"}, True),
        (SOY | {"name": "Soybean milk, unboiled", "state": "raw", "form": "liquid"}, True),
        ({k: v for k, v in BEANS.items() if k != "state"}, True),
        (SOY | {"name": "Soy milk", "state": "pasteurised", "form": "liquid"}, False),
        (SOY | {"name": "Soya drink", "state": "ready-to-eat", "form": "liquid"}, False),
        (BEANS | {"name": "Roasted soybeans", "state": "ready-to-eat"}, False),
        (BEANS | {"name": "Soybean oil", "state": "ready-to-eat"}, False),
        (BEANS | {"name": "Soybean paste, fermented", "state": "ready-to-eat"}, False),
        (BEANS | {"name": "Soy flour"}, False),
        (BEANS | {"name": "White beans", "allergens": "none"}, False),
    ],
)
def test_which_food_is_asked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, soy: dict[str, str], asked: bool
) -> None:
    assert bool(found(tmp_path, monkeypatch, SOAK + BLEND + SERVE, soy)) is asked


def test_boiled_by_whoever_buys_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    steps = SOAK + BLEND + "- {do: store, in: walk-in}\n"
    more = "cooked_later: Whoever buys it boils it.\n"
    assert not found(tmp_path, monkeypatch, steps, BEANS, more)


@pytest.mark.parametrize(
    ("first", "then"),
    list(itertools.product(("", "6", "12"), ("", "6", "12"))),
)
def test_boiled_in_either_of_two_formulas(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, first: str, then: str
) -> None:
    """By hand: one boil of 10 minutes and more is enough, two short ones aren't."""
    boil = "- {do: boil, with: pot, time: %s min}\n"
    monkeypatch.setitem(honest_kitchens.PANTRY, "soy", BEANS)
    milk = SOAK + BLEND + (boil % first if first else "")
    chill = "- {do: chill, in: blast, target: to 4 °C, time: 1 h}\n" if first else ""
    dish = "- {do: mix, add: [b]}\n" + (boil % then if then else "") + SERVE
    spec = {
        "parts": {"b": {"milk": "5 kg"}},
        "process": dish,
        "also": {
            "milk": {"parts": {"a": {"soy": "1 kg", "water": "8 kg"}}, "process": milk + chill}
        },
    }
    codes = {
        f.severity
        for f in compute(lay_out(tmp_path, spec)).findings
        if f.code == "soy-not-boiled" and "dish" in f.about
    }
    worst = "" if "12" in (first, then) else "warning" if first or then else "error"
    assert codes == ({worst} - {""})
