"""Food smoked or dried to keep it by a variance (Food Code 3-502.11), the parasites of fish that is
never cooked (3-402.11), and raw meat warmed for one guest."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import compute
from honest_kitchens import lay_out

PLAN = (
    "authorisations:\n  - {for: %s, authority: State, document: Variance 9, "
    "from: 2026-01-01, until: %s}\n"
)
FREEZE = "- {do: freeze%s, in: freezer, at: -20 °C, time: 8 days}\n"
THAW = "- {do: thaw, in: walk-in, time: 24 h}\n"
KEEP = "- {do: chill, in: blast, target: to 3 °C, time: 2 h}\n- {do: store, in: walk-in}\n"
SMOKE = "- {do: smoke%s, at: 24 °C, time: 12 h}\n"
ADD = ", add: [a]"
CHAR = {"a": {"char": "10 kg", "salt": "400 g"}}
KEEPING = "smoked_for: keeping\nkeeps: {cold: 5 days}\n"


def errors(
    folder: Path, process: str, formula: str, plan: str = "", parts: object = CHAR
) -> set[str]:
    spec = {"parts": parts, "formula": formula, "process": process, "kitchen": plan}
    lay_out(folder, spec)
    return {f.code for f in compute(folder).findings if f.is_error}


IN_FORCE, OVER = PLAN % ("smoke", "2027-01-01"), PLAN % ("smoke", "2026-02-01")
FREED = (
    FREEZE % ADD + THAW + SMOKE % "" + KEEP,
    SMOKE % ADD + FREEZE % "" + THAW + "- {do: store, in: walk-in}\n",
)


@pytest.mark.parametrize("process", FREED)
def test_cold_smoked_fish_by_a_variance_is_ready_once_it_was_frozen(
    tmp_path: Path, process: str
) -> None:
    assert errors(tmp_path, process, KEEPING, IN_FORCE) == set()


def test_never_frozen_its_parasites_are_alive(tmp_path: Path) -> None:
    assert errors(tmp_path, SMOKE % ADD + KEEP, KEEPING, IN_FORCE) == {"parasites-not-frozen"}


@pytest.mark.parametrize("process", FREED)
@pytest.mark.parametrize(
    ("formula", "plan"),
    [
        (KEEPING, ""),
        (KEEPING, OVER),
        (KEEPING.replace("keeping", "flavour"), IN_FORCE),
        (KEEPING.replace("smoked_for: keeping\n", ""), IN_FORCE),
    ],
)
def test_without_the_variance_or_for_its_flavour_it_is_raw_and_warm(
    tmp_path: Path, process: str, formula: str, plan: str
) -> None:
    """Left unsaid, the hours out of the cold count too, whatever is on file."""
    found = errors(tmp_path, process, formula, plan)
    assert {"between-too-long", "raw-not-cooked"} <= found


def test_smoked_meat_by_a_variance_is_ready(tmp_path: Path) -> None:
    parts = {"a": {"pork-loin": "10 kg", "salt": "400 g"}}
    assert errors(tmp_path, SMOKE % ADD + KEEP, KEEPING, IN_FORCE, parts) == set()


@pytest.mark.parametrize("frozen", [True, False])
def test_fish_dried_or_fermented_by_a_plan_has_parasites_too(tmp_path: Path, frozen: bool) -> None:
    for effect, plan in (("dry", "dry"), ("ferment", "ferment")):
        first = FREEZE % ADD + THAW if frozen else ""
        process = f"{first}- {{do: {effect}{'' if frozen else ADD}, time: 2 days, at: 22 °C}}\n"
        found = errors(
            tmp_path / effect,
            process + KEEP,
            "keeps: {cold: 5 days}\n",
            PLAN % (plan, "2027-01-01"),
        )
        assert ("parasites-not-frozen" in found) is not frozen, effect


@pytest.mark.parametrize("plan", [True, False])
def test_meat_dried_warm_by_a_plan_isnt_cooked_in_two_goes(tmp_path: Path, plan: bool) -> None:
    process = "- {do: dry, add: [a], at: 63 °C, time: 8 h, loses: 50 %}\n- do: store\n"
    formula = "not_tcs: {reason: Dry, document: Log, water_activity: 0.80}\nkeeps: {dry: 30 days}\n"
    parts = {"a": {"beef-joint": "5 kg", "salt": "100 g"}}
    held = PLAN % ("dry", "2027-01-01") if plan else ""
    found = errors(tmp_path, process, formula, held, parts)
    assert ("part-cook-unsaid" in found) is not plan
    assert not (plan and found)


STEAK = {"a": {"ribeye": "180 g", "butter": "20 g"}}
TO_A_GUEST = "makes: {portion: 200 g}\nbatches: [1 portion]\nto_order: yes\n"


@pytest.mark.parametrize(
    ("formula", "between", "unsaid"),
    [
        (TO_A_GUEST + "undercooked: The menu carries the reminder.\n", "", False),
        (TO_A_GUEST, "", True),
        (TO_A_GUEST + "undercooked: The menu.\n", "- {do: rest, time: 10 min}\n", True),
        (TO_A_GUEST + "undercooked: The menu.\n", "- {do: chill, in: blast}\n", True),
    ],
)
def test_raw_meat_warmed_and_served_at_once_on_request(
    tmp_path: Path, formula: str, between: str, unsaid: bool
) -> None:
    process = (
        "- {do: chop, add: [a]}\n- {do: warm, with: pot, time: 3 min, target: core 40 °C}\n"
        + between
        + "- do: serve\n"
    )
    assert ("part-cook-unsaid" in errors(tmp_path, process, formula, "", STEAK)) is unsaid
