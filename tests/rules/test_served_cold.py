"""Where the law sets no days, what is kept says how long it keeps; what goes to the guest at once
doesn't: nothing of it is kept."""

from __future__ import annotations

from pathlib import Path

import honest_kitchens
import pytest
from conftest import compute
from honest_kitchens import lay_out

CODE = "{model: us-food-code, edition: 2022, adopted_by: Weir County Health Rule 4}"
ENGLAND = "{model: uk-england, edition: 2013, adopted_by: the law of England}"
PLATE = "- {do: plate, add: [a]}\n"
SERVE, STORE = "- do: serve\n", "- {do: store, in: walk-in}\n"
ROAST = "- {do: roast, with: oven, target: core 75 °C for 1 min}\n"
CHILL = "- {do: chill, in: blast, target: to 4 °C, time: 1 h}\n"
COLD = "- {do: rest, id: rest%s, in: walk-in, time: %s}\n"


def england(monkeypatch: pytest.MonkeyPatch) -> None:
    assert CODE in honest_kitchens.KITCHEN
    laid = honest_kitchens.KITCHEN.replace(CODE, ENGLAND)
    monkeypatch.setattr(honest_kitchens, "KITCHEN", laid)


@pytest.mark.parametrize(
    "process",
    [
        PLATE + SERVE,
        PLATE.replace("}", ", time: 10 min}") + SERVE,
        PLATE.replace("}", ", in: walk-in}") + SERVE,
        PLATE + COLD % (1, "6 h") + SERVE,
        PLATE + COLD % (1, "6 h") + "- do: label\n" + SERVE,
        PLATE + COLD % (1, "20 h") + SERVE,
        PLATE + SERVE + "- {do: clean, with: oven}\n",  # somebody cleans up behind it
    ],
)
def test_what_is_served_at_once_needs_no_life(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, process: str
) -> None:
    england(monkeypatch)
    spec = {"parts": {"a": {"ham": "8 kg", "cream": "1 kg"}}, "process": process}
    manual = compute(lay_out(tmp_path, spec))
    assert [f.message for f in manual.findings if f.is_error] == []
    dates = manual.sheets["dish"].walk.dates
    assert dates is not None and dates.day is None
    assert dates.words == "It is served at once. Nothing of it is kept."


@pytest.mark.parametrize(
    "process",
    [
        PLATE,
        PLATE + STORE,
        PLATE + STORE + SERVE,
        PLATE + COLD % (1, "1 day") + SERVE,
        PLATE + COLD % (1, "20 h") + COLD % (2, "20 h") + SERVE,
        PLATE + ROAST + CHILL + STORE + SERVE,
        PLATE + "- {do: display, in: walk-in}\n",
        PLATE + "- {do: pack}\n" + STORE,
    ],
)
def test_what_is_kept_is_asked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, process: str
) -> None:
    england(monkeypatch)
    spec = {"parts": {"a": {"ham": "8 kg", "cream": "1 kg"}}, "process": process}
    codes = {f.code for f in compute(lay_out(tmp_path, spec)).findings if f.is_error}
    assert codes == {"keeps-missing"}


def test_a_part_made_ahead_keeps_by_its_own_figure(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its own formula is asked, the plate it goes on isn't."""
    england(monkeypatch)
    for keeps, asked in (("", True), ("keeps: {cold: 2 days}\n", False)):
        pot = {"parts": {"a": {"ham": "8 kg"}}, "process": PLATE + STORE, "formula": keeps}
        spec = {"parts": {"a": {"pot": "8 kg"}}, "process": PLATE + SERVE, "also": {"pot": pot}}
        found = compute(lay_out(tmp_path / f"{asked}", spec)).findings
        about = [f.about for f in found if f.code == "keeps-missing"]
        assert about == ([frozenset({"pot"})] if asked else [])
