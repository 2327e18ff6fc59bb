"""Molluscs served raw on request: oysters, clams, mussels and scallops are never frozen for it, by
their names alone (Food Code 3-402.11(B), and 1-201.10 for what molluscan shellfish is)."""

from __future__ import annotations

from pathlib import Path

import honest_kitchens
import pytest
from conftest import compute
from honest_kitchens import lay_out

SHUCK = "- {do: shuck, does: handles, add: [all]}\n"
SERVE = "- do: serve\n"
FREEZE = (
    "- {do: freeze, add: [all], in: freezer, time: 1 day}\n- {do: thaw, in: walk-in, time: 1 day}\n"
)
ON_REQUEST = "undercooked: On request, with the advisory.\n"


def codes(
    folder: Path,
    monkeypatch: pytest.MonkeyPatch,
    name: str,
    process: str = SHUCK + SERVE,
    more: str = "",
    parts: tuple[str, ...] = ("shell",),
    species: str = "mollusc",
) -> set[str]:
    """The codes of the errors of a kitchen that serves what is called so raw."""
    record = {"name": name, "species": species, "state": "raw", "form": "intact", "arrives": "cold"}
    record["allergens"] = "fish (cod)" if species == "fish" else "molluscs"
    if more:
        record["parasites"] = f"{{freed_by: {more}, record: Letter 3}}"
    text = honest_kitchens.written(record).replace("'", "")
    shell = honest_kitchens.yaml.load(text, honest_kitchens.LOADER)
    monkeypatch.setitem(honest_kitchens.PANTRY, "shell", shell)
    lay_out(
        folder,
        {
            "parts": {"all": dict.fromkeys(parts, "2 kg")},
            "formula": ON_REQUEST,
            "process": process,
            "kitchen": "allergens: eu\n",
        },
    )
    return {f.code for f in compute(folder).findings if f.is_error}


@pytest.mark.parametrize(
    "name",
    [
        "Live oysters",
        "Oysters, live, Colchester",  # a word nobody knows tells no other food
        "Mussels in the shell",
        "Littleneck clams",
        "Hand-dived king scallops",
        "Cockles",
        "Huîtres",
        "Scallop, shucked",
    ],
)
def test_shellfish_is_not_frozen(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    assert codes(tmp_path, monkeypatch, name) == set()


@pytest.mark.parametrize(
    ("name", "species"),
    [
        ("Squid", "mollusc"),
        ("Octopus tentacles", "mollusc"),
        ("Whelks", "mollusc"),
        ("Mixed oysters and squid", "mollusc"),
        ("Oyster mushroom squid", "mollusc"),
        ("Seafood of the day", "mollusc"),  # which isn't said
        ("Cod oysters", "fish"),  # a cut of its head
    ],
)
def test_any_other_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, species: str
) -> None:
    assert "parasites-not-frozen" in codes(tmp_path, monkeypatch, name, species=species)


def test_fish_beside_it_is_frozen_still(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    found = codes(tmp_path, monkeypatch, "Live oysters", parts=("shell", "char"))
    assert "parasites-not-frozen" in found


def test_frozen_for_another_reason_it_is_asked_for_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = codes(tmp_path, monkeypatch, "Scallops, roe off", FREEZE + SHUCK[:-14] + "}\n" + SERVE)
    assert "parasites-not-frozen" not in found


@pytest.mark.parametrize(("name", "doubted"), [("Oysters", False), ("Squid", True)])
def test_a_stated_fact_that_the_name_denies(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, doubted: bool
) -> None:
    found = codes(tmp_path, monkeypatch, name, more="molluscan-shellfish")
    assert bool(found) is doubted, found
