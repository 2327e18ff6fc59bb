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
