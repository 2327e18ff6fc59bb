"""Words of a step that say more than its keys: asked about, in either decimal mark."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import compute, edit

BAKED = "processes/baked.yaml"
BAKE = "  - do: bake\n"


def asked(kitchen: Path, how: str) -> list[str]:
    edit(kitchen, BAKED, BAKE, f"{BAKE}    how: {how}\n")
    return [f.message for f in compute(kitchen).findings if f.code == "words-say-more"]


@pytest.mark.parametrize("figure", ["55 °C", "55,5 °C", "55.5 °C", "131 °F", "55°C"])
def test_a_figure_far_below_the_target_is_asked_about(kitchen: Path, figure: str) -> None:
    """The target is 72 °C; a figure of the other decimal mark is a figure too."""
    (message,) = asked(kitchen, f"Take it out at {figure}, while it is glassy.")
    assert figure in message and "72 °C" in message.replace("\u00a0", " ")


@pytest.mark.parametrize("figure", ["64 °C", "180 °C", "20 °C", "2000 °C", "5 °C"])
def test_what_may_be_an_ovens_or_carries_on_is_not(kitchen: Path, figure: str) -> None:
    assert asked(kitchen, f"Take it out at {figure}.") == []


def test_a_word_for_work_that_no_step_does(kitchen: Path) -> None:
    (message,) = asked(kitchen, "Draw the air out in the vacuum bag first.")
    assert "vacuum" in message and "packs-without-air" in message


@pytest.mark.parametrize(
    ("how", "said"),
    [
        ("Then keep warm on the back of the stove.", True),
        ("It is held hot in the steam table.", True),
        ("Keep the oven hot and the tins warm.", False),
        ("Keep warm water beside it.", True),  # asked: another word than "keep warm" settles it
    ],
)
def test_holding_hot_in_words_alone_is_asked_about(kitchen: Path, how: str, said: bool) -> None:
    messages = asked(kitchen, how)
    assert any("holds-hot" in m for m in messages) is said, messages


@pytest.mark.parametrize(
    "step",
    [
        "{do: pack, with: sealer}",
        "{do: bag, does: [packs, handles], with: sealer}",
        "{do: pack, how: Use the vac pac machine.}",
        "{do: pack, how: Press the air out and seal.}",
        "{do: sous-vide, does: [handles]}",
    ],
)
def test_packing_without_air_in_other_words_binds(kitchen: Path, step: str) -> None:
    """What keeps the air out has to be answered for: an error until the key or the words change."""
    machines = kitchen / "standards/equipment/house.yaml"
    sealer = "sealer: {kind: other, name: Chamber machine, station: range}\n"
    machines.write_text(machines.read_text(encoding="utf-8") + sealer, encoding="utf-8")
    edit(kitchen, BAKED, BAKE, f"  - {step}\n{BAKE}")
    codes = [f.code for f in compute(kitchen).errors]
    assert "words-say-more" in codes, [(f.code, f.message) for f in compute(kitchen).findings]


def test_a_vacuum_filler_packs_nothing(kitchen: Path) -> None:
    machines = kitchen / "standards/equipment/house.yaml"
    filler = "filler: {kind: other, name: Vacuum filler, station: range}\n"
    machines.write_text(machines.read_text(encoding="utf-8") + filler, encoding="utf-8")
    edit(kitchen, BAKED, "  - do: fill\n", "  - do: fill\n    with: filler\n")
    assert "words-say-more" not in [f.code for f in compute(kitchen).findings]


@pytest.mark.parametrize(
    ("at", "target", "code"),
    [
        ("64 °C", "core 76 °C", "core-out-of-reach"),
        ("75 °C", "core 76 °C", "core-out-of-reach"),
        ("76 °C", "core 76 °C", ""),
        ("64 to 80 °C", "core 76 °C", ""),
        ("75 °C", "core 74 to 78 °C", "temperature-implausible"),
    ],
)
def test_no_core_gets_hotter_than_what_heats_it(
    kitchen: Path, at: str, target: str, code: str
) -> None:
    edit(kitchen, BAKED, "at: 180 °C", f"at: {at}")
    edit(kitchen, "formulas/pork-bake.yaml", "bake: core 72 °C", f"bake: {target}")
    found = compute(kitchen).findings
    of_it = [f for f in found if f.code in ("core-out-of-reach", "temperature-implausible")]
    assert [f.code for f in of_it] == [code] * bool(code), [(f.code, f.message) for f in found]
    assert all(f.is_error == (code == "core-out-of-reach") for f in of_it)


@pytest.mark.parametrize("minutes", [119, 120, 180, 240])
def test_two_hours_between_is_noted(kitchen: Path, minutes: int) -> None:
    """What the guide says: from 2 hours a note, over 4 hours an error, however many steps it is."""
    rest = f"  - {{do: rest, time: {minutes - 30} min}}\n  - {{do: press, time: 30 min}}\n"
    edit(kitchen, "processes/toss.yaml", "  - do: chill\n", f"{rest}  - do: chill\n")
    found = [f for f in compute(kitchen).findings if f.code == "between-noted"]
    assert [f.severity for f in found] == ["note"] * (minutes >= 120)


def test_a_dough_that_rises_and_is_baked_is_not_noted(kitchen: Path) -> None:
    """Its time is what it stands for; without the baking, or by another verb, it is noted."""
    (kitchen / "standards/processes/dough.yaml").write_text(
        "name: Dough\nrevision: 1\neffective: 2026-01-01\napproved: chef\nparts: [all]\nsteps:\n  - {do: mix, add: [all], time: 10 min}\n"
        "  - {do: proof, time: 150 min}\n  - {do: bake, target: core 95 °C}\n  - do: serve\n",
        encoding="utf-8",
    )
    (kitchen / "standards/formulas/bun.yaml").write_text(
        "name: Bun\nrevision: 1\neffective: 2026-01-01\napproved: chef\nstation: range\nbase: all\n"
        "batches: [1 kg base]\nparts:\n  all:\n    cream: 600 g\n    whole-egg: 400 g\nprocess: dough\n",
        encoding="utf-8",
    )

    def noted() -> list[str]:
        manual = compute(kitchen)
        assert "bun" in manual.sheets, [f.message for f in manual.errors]
        return [f.code for f in manual.findings if f.code == "between-noted"]

    assert noted() == []
    edit(kitchen, "processes/dough.yaml", "do: proof", "do: rest")
    assert noted() == ["between-noted"]
