"""Seeds that are sprouted here: Food Code 3-502.11 asks for a variance (read in WAC 246-215-03535)."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import compute
from honest_kitchens import lay_out

VARIANCE = (
    "authorisations:\n  - {for: sprout, authority: State, document: Variance 9, "
    "from: 2026-01-01, until: 2027-01-01}\n"
)
SOAK = "- {do: soak, add: [a], time: 8 h, gains: 100 %}\n"
STAND = "- {do: rest, time: 4 days}\n"
SERVE = "- do: serve\n"


def codes(folder: Path, process: str, water: bool = False, kitchen: str = "") -> set[str]:
    parts = {"a": {"mung": "1 kg", **({"water": "200 %"} if water else {})}}
    lay_out(folder, {"parts": parts, "formula": "", "process": process, "kitchen": kitchen})
    return {f.code for f in compute(folder).findings if f.is_error}


@pytest.mark.parametrize("water", [False, True])
@pytest.mark.parametrize(
    "process",
    [
        SOAK + STAND + SERVE,
        "- {do: soak, add: [a], time: 24 h}\n" + SERVE,
        "- {do: season, add: [a], gains: 100 %}\n" + STAND + SERVE,
        SOAK + "- {do: rest, until: Sprouts are 5 cm long.}\n" + SERVE,
        "- {do: wash, add: [a]}\n" + STAND + SERVE,
        "- {do: mix, add: [a], how: Rinse them. Drain.}\n" + STAND + SERVE,
        SOAK + "- {do: rest, time: 10 h, how: Leave them to germinate.}\n" + SERVE,
    ],
)
def test_seeds_wet_and_warm_are_sprouts_whether_or_not_the_water_is_weighed(
    tmp_path: Path, process: str, water: bool
) -> None:
    """And whether or not the time is written, where the words say that they sprout."""
    assert "sprouts-unsaid" in codes(tmp_path, process, water)


@pytest.mark.parametrize(
    "process",
    [
        SOAK + SERVE,
        "- {do: soak, add: [a], time: 24 h}\n- {do: boil, time: 40 min}\n" + SERVE,
        "- {do: soak, add: [a], time: 24 h, in: walk-in}\n" + SERVE,
        "- {do: rest, add: [a], time: 4 days}\n" + SERVE,
    ],
)
def test_soaked_for_a_night_cold_or_cooked_they_are_seeds(tmp_path: Path, process: str) -> None:
    assert "sprouts-unsaid" not in codes(tmp_path, process)


@pytest.mark.parametrize("verb", ["do: sprout", "do: rest, does: sprouts"])
def test_to_sprout_them_needs_a_variance(tmp_path: Path, verb: str) -> None:
    process = SOAK + f"- {{{verb}, time: 4 days}}\n" + SERVE
    none, held = tmp_path / "none", tmp_path / "held"
    for folder in (none, held):
        folder.mkdir()
    assert codes(none, process) == {"kept-by-change"}
    assert codes(held, process, kitchen=VARIANCE) == set()
