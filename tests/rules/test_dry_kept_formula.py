"""A formula of one's own that is kept dry comes in as warm as the room, like what is bought so."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import compute, edit

STORE = """flour: {name: Wheat flour, species: none, state: raw, form: dry, allergens: wheat, tcs: no}
butter: {name: Butter, species: none, state: ready-to-eat, allergens: milk, tcs: no}
"""
SHELLS = """name: Shells
revision: 1
effective: 2026-05-04
approved: R. Osei
station: range
parts:
  dough: {flour: 1 kg, butter: 500 g, whole-egg: 20 each}
steps:
  - {do: mix, add: dough, time: 5 min}
  - {do: bake, with: range-oven, at: 180 °C, target: core 96 °C, time: 35 min, loses: 30 %}
  - {do: cool, time: 30 min}
  - {do: store}
not_tcs: Choux baked dry and hollow.
KEEPS
batches: [1 kg total]
"""
PUFFS = """name: Puffs
revision: 1
effective: 2026-05-04
approved: R. Osei
station: range
parts:
  shells: {shells: 1 kg}
  custard: {cream: 1 kg}
steps:
  - {do: fill, add: [shells, custard], time: TIME, vessel: dish}
  - {do: store, in: cold-room}
keeps: {cold: 1 day}
batches: [2 kg total]
"""


@pytest.mark.parametrize(
    ("keeps", "limited"),
    [("keeps: {dry: 1 day}", True), ("", True), ("keeps: {cold: 1 day}", False)],
)
@pytest.mark.parametrize(("time", "late"), [("3 h", False), ("4 h", True)])
def test_it_is_on_the_clock_of_food_put_together_warm(
    keeps: str, limited: bool, time: str, late: bool, kitchen: Path
) -> None:
    """Food Code 3-501.14(B): to 41 °F within four hours of being put together, a bought part or
    one's own; left unsaid how the shells are kept, they count as warm."""
    folder = kitchen / "standards/formulas"
    (kitchen / "standards/ingredients/store.yaml").write_text(STORE, encoding="utf-8")
    (folder / "shells.yaml").write_text(SHELLS.replace("KEEPS", keeps), encoding="utf-8")
    (folder / "puffs.yaml").write_text(PUFFS.replace("TIME", time), encoding="utf-8")
    manual = compute(kitchen)
    limits = manual.walks["puffs"].limits if "puffs" in manual.walks else ()
    found = [(x.step, int(x.stages[-1].within_s)) for x in limits if x.hazard == "cool"]
    assert found == ([("store", 4 * 3600)] if limited else []), manual.errors
    codes = {f.code for f in manual.errors if "puffs" in f.place.file}
    assert codes == ({"chill-begun-too-late"} if limited and late else set())


def test_raw_dough_rests_in_the_cold_whatever_its_bread_needs(kitchen: Path) -> None:
    """What a formula says of the finished bread, `not_tcs`, says nothing of its raw dough."""
    dough = SHELLS.replace("KEEPS", "keeps: {dry: 1 day}").replace(
        "  - {do: bake", "  - {do: VERB, id: wait, in: cold-room, time: 3 days}\n  - {do: bake"
    )
    (kitchen / "standards/ingredients/store.yaml").write_text(STORE, encoding="utf-8")
    path = kitchen / "standards/formulas/shells.yaml"
    for verb in ("rest", "retard", "store", "wobble, does: none"):
        path.write_text(dough.replace("VERB", verb), encoding="utf-8")
        manual = compute(kitchen)
        assert "shells" in manual.walks, [f.message for f in manual.errors]
        limits = manual.walks["shells"].limits
        assert {x.hazard for x in limits if x.step == "wait"} & {"cool", "cold_hold"}, verb
    edit(kitchen, "equipment/house.yaml", "air: 3 °C", "air: 10 °C")
    assert "air-above-limit" in {f.code for f in compute(kitchen).errors}
