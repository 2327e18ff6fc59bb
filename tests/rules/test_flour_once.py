"""One list of what flour is called, and one sum of a food's share of it, asked by dough, by batter, by
what is eaten raw, by what drinks water and by what ferments; and where starch is none of it."""

from __future__ import annotations

from pathlib import Path

import honest_kitchens
import pytest
from conftest import compute
from honest_kitchens import lay_out

GRAIN = {"species": "none", "state": "raw", "form": "dry", "allergens": "wheat", "tcs": "no"}
SERVE = "- do: serve\n"
NAMES = ("Wheat flour", "Semolina", "Farine T55", "Weizenmehl, Mehl", "Harina de trigo")
OTHERS = ("Almond flour", "Toasted flour", "Heat-treated flour", "Flour tortillas")


def found(
    folder: Path,
    monkeypatch: pytest.MonkeyPatch,
    name: str,
    process: str,
    more: dict[str, str],
    **facts: str,
) -> set[str]:
    """The codes of a kitchen with 1 kg of what is called so, and more in the same part."""
    monkeypatch.setitem(honest_kitchens.PANTRY, "meal", {"name": name, **GRAIN, **facts})
    ale = {"name": "Ale", "species": "none", "state": "ready-to-eat", "form": "liquid"}
    monkeypatch.setitem(honest_kitchens.PANTRY, "ale", ale | {"allergens": "wheat", "tcs": "no"})
    spec = {"parts": {"a": {"meal": "1 kg", **more}}, "process": process}
    return {f.code for f in compute(lay_out(folder, spec)).findings}


MIX = "- {do: mix, add: [a], time: 10 min}\n"


@pytest.mark.parametrize("name", [*NAMES, "Tempura mix", "Batter mix", "Rice flour"])
def test_each_name_is_flour_for_all_that_ask(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    warm = MIX + "- {do: rest, time: 6 h}\n"
    batter = found(tmp_path / "a", monkeypatch, name, warm + SERVE, {"ale": "1.2 kg"})
    assert {"batter-left-warm", "flour-eaten-raw"} <= batter
    dry = found(tmp_path / "b", monkeypatch, name, MIX + SERVE, {"sugar": "1 kg"})
    assert "flour-eaten-raw" in dry
    dough = found(
        tmp_path / "c", monkeypatch, name, warm + SERVE, {"water": "600 g", "yeast": "10 g"}
    )
    assert "kept-by-change" not in dough  # a dough rises; it is no liquid with a culture in it


@pytest.mark.parametrize("name", OTHERS)
def test_what_is_no_raw_flour_of_grain(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    nuts = {"allergens": "tree nuts (almond)"} if "Almond" in name else {}
    warm = MIX + "- {do: rest, time: 6 h}\n" + SERVE
    codes = found(tmp_path, monkeypatch, name, warm, {"ale": "1.2 kg"}, **nuts)
    assert not codes & {"batter-left-warm", "flour-eaten-raw"}


def test_starch_is_flour_in_a_batter_and_not_when_it_is_eaten(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Starch and water wet by the litre is batter; the FDA's word on raw flour is of milled
    grain."""
    parts = {"ale": "3 kg", "flour": "500 g"}
    warm = MIX + "- {do: rest, time: 6 h}\n" + SERVE
    alone = found(tmp_path / "a", monkeypatch, "Potato starch", MIX + SERVE, {"sugar": "1 kg"})
    assert "flour-eaten-raw" not in alone
    with_it = found(tmp_path / "b", monkeypatch, "Potato starch", warm, parts)
    without = found(tmp_path / "c", monkeypatch, "Sugar", warm, parts)
    assert ("batter-left-warm" in with_it, "batter-left-warm" in without) == (True, False)


@pytest.mark.parametrize(
    ("grams", "dough"), [("3 kg", True), ("2.9 kg", True), ("3.1 kg", False), ("9 kg", False)]
)
def test_a_fourth_is_dough(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, grams: str, dough: bool
) -> None:
    """1 kg in 4 kg is a fourth."""
    warm = MIX + "- {do: rest, time: 6 h}\n" + SERVE
    codes = found(tmp_path, monkeypatch, "Wheat flour", warm, {"ale": grams})
    assert ("batter-left-warm" in codes) is dough
