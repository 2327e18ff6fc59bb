"""Raw garlic in fat: kept in the refrigerator and used within a week (the Food Standards Agency on
garlic in oil, as quoted), it is asked for no plan of packing without air; it needs the cold still."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import compute
from honest_kitchens import lay_out
from test_served_cold import england

MIX = "- {do: mix, add: [a], time: 10 min}\n"
STORE = "- {do: store, in: walk-in}\n"
BUTTER = {"a": {"butter": "5 kg", "garlic": "500 g"}}
OIL = {"a": {"oil": "5 kg", "garlic": "500 g"}}


def codes(
    folder: Path, parts: dict[str, dict[str, str]], keeps: str, process: str = MIX + STORE
) -> set[str]:
    formula = f"keeps: {{{keeps}}}\n" if keeps else ""
    manual = compute(lay_out(folder, {"parts": parts, "formula": formula, "process": process}))
    return {f.code for f in manual.findings if f.is_error}


@pytest.mark.parametrize("parts", [BUTTER, OIL, {"a": {"ghee": "5 kg", "garlic": "4 kg"}}])
@pytest.mark.parametrize("keeps", ["", "cold: 2 days", "cold: 6 days", "cold: 7 days"])
@pytest.mark.parametrize("process", [MIX + STORE, MIX + "- {do: fill, time: 10 min}\n" + STORE])
def test_a_week_in_the_cold_asks_for_no_plan(
    tmp_path: Path, parts: dict[str, dict[str, str]], keeps: str, process: str
) -> None:
    assert codes(tmp_path, parts, keeps, process) == set()


@pytest.mark.parametrize(
    ("parts", "keeps", "process"),
    [
        (BUTTER, "cold: 8 days", MIX + STORE),
        (OIL, "cold: 3 weeks", MIX + STORE),
        # other food under the fat, and garlic that was cooked in it
        ({"a": BUTTER["a"] | {"trout": "2 kg"}}, "cold: 3 days", MIX + STORE),
        ({"a": OIL["a"] | {"trout": "2 kg"}}, "cold: 7 days", MIX + STORE),
        (
            OIL,
            "cold: 5 days",
            "- {do: confit, add: [a], with: pot, target: core 96 °C}\n"
            "- {do: chill, in: blast, target: to 4 °C, time: 1 h}\n" + STORE,
        ),
        (OIL, "cold: 5 days", MIX.replace("mix", "vacuum-pack") + STORE),
    ],
)
def test_longer_or_other_food_asks_for_it(
    tmp_path: Path, parts: dict[str, dict[str, str]], keeps: str, process: str
) -> None:
    assert "not-covered" in codes(tmp_path, parts, keeps, process)


@pytest.mark.parametrize("parts", [BUTTER, OIL])
def test_out_of_the_cold_it_is_refused(tmp_path: Path, parts: dict[str, dict[str, str]]) -> None:
    assert codes(tmp_path, parts, "dry: 7 days", MIX + "- do: store\n") >= {"keeps-dry"}


@pytest.mark.parametrize(
    ("keeps", "found"),
    [
        ("cold: 6 days", set()),
        ("cold: 9 days", set()),  # up to 10 without air by the agency's guidance on packing
        ("cold: 12 days", {"keeps-beyond-law"}),
        ("", {"keeps-missing"}),
    ],
)
def test_in_england(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, keeps: str, found: set[str]
) -> None:
    england(monkeypatch)
    assert codes(tmp_path, BUTTER, keeps) == found
