"""Food canned in the house: Food Code 3-201.12 has it come from a plant (read in 2VAC5-585-280)."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest
from conftest import compute
from honest_kitchens import lay_out

DRY = "keeps: {dry: 300 days}\nnot_tcs: {reason: Kept closed, document: A book%s}\n"
BEANS = {"a": {"beans": "4 kg", "water": "8 kg"}}
COOK = "- {do: boil, add: [a], with: pot, time: 1 h}\n"
JARS = "- {do: pack, how: Into jars. Close them.}\n"
STORE = "- do: store\n"


def found(folder: Path, process: str, formula: str, parts: object = BEANS) -> set[str]:
    lay_out(folder, {"parts": parts, "formula": formula, "process": process})
    return {f.code for f in compute(folder).findings if f.is_error}


HEATED = (
    "- {do: boil, id: again, with: pot, time: 45 min}\n",
    "- {do: simmer, with: pot, time: 45 min}\n",
    "- {do: steam, with: pressure-pot, time: 75 min}\n",
    "- {do: process, does: cooks, with: pressure-pot, time: 75 min}\n",
)


@pytest.mark.parametrize("heat", HEATED)
def test_what_is_closed_and_then_heated_is_canned_whatever_paper_is_named(
    tmp_path: Path, heat: str
) -> None:
    assert "canned-here" in found(tmp_path, COOK + JARS + heat + STORE, DRY % "")


@pytest.mark.parametrize(
    "said",
    [
        "Pressure can it at 70 kPa.",
        "Process the jars for 90 min.",
        "Hot-fill the jars and turn them over.",
        "Wait until the lids pop.",
        "Seal the jars while they boil.",
    ],
)
def test_so_is_what_its_words_say_is_canned(tmp_path: Path, said: str) -> None:
    process = COOK + f"- {{do: fill, how: {said}}}\n" + STORE
    assert "canned-here" in found(tmp_path, process, DRY % "")


def test_so_is_what_its_own_reason_calls_canned(tmp_path: Path) -> None:
    formula = (DRY % "").replace("Kept closed", "Canned")
    assert "canned-here" in found(tmp_path, COOK + STORE, formula)


@pytest.mark.parametrize("heat", HEATED)
@pytest.mark.parametrize(
    "otherwise",
    [
        (JARS, "keeps: {cold: 4 days}\n", "- {do: chill, in: blast, target: to 3 °C}\n"),
        (JARS, DRY % ", water_activity: 0.80", ""),
        ("", DRY % "", ""),
        (JARS + "- {do: unpack, loses: 1 %}\n", DRY % "", ""),
    ],
)
def test_cold_dry_or_open_it_is_not(
    tmp_path: Path, heat: str, otherwise: tuple[str, str, str]
) -> None:
    """Kept cold it has the rules of cold food; a water activity keeps it in any pack; a pot that
    is filled with open food, or a jar that is emptied first, closes nothing."""
    close, formula, then = otherwise
    assert "canned-here" not in found(tmp_path, COOK + close + heat + then + STORE, formula)


def test_full_of_sugar_or_baked_in_its_tin_it_is_not(tmp_path: Path) -> None:
    sugar = {"a": {"sugar": "6 kg", "water": "2 kg"}}
    boiled = COOK + JARS + HEATED[0] + STORE
    assert "canned-here" not in found(tmp_path / "sugar", boiled, DRY % "", sugar)
    dough = {"a": {"flour": "6 kg", "water": "3 kg"}}
    baked = (
        "- {do: mix, add: [a]}\n- {do: fill, how: Into tins.}\n"
        "- {do: bake, with: oven, at: 220 °C, time: 40 min}\n" + STORE
    )
    assert "canned-here" not in found(tmp_path / "dough", baked, DRY % "", dough)


WORK = {
    "cooks": COOK,
    "closes": JARS,
    "opens": "- {do: unpack, loses: 1 %}\n",
    "waits": "- {do: rest, time: 10 min}\n",
    "boils": "- {do: poach, id: %s, with: pot, time: 30 min}\n",
}


@pytest.mark.slow
@pytest.mark.parametrize("order", list(itertools.product(WORK, repeat=3)))
def test_in_any_order_it_is_canned_where_heat_meets_a_closed_jar(
    tmp_path: Path, order: tuple[str, ...]
) -> None:
    """Walked by hand: a jar is closed by `closes` and opened by `opens`."""
    process, closed, canned = COOK.replace("boil", "boil, id: first"), False, False
    for number, what in enumerate(order):
        text = WORK[what].replace("%s", f"s{number}").replace("add: [a], ", "")
        if what == "cooks":
            text = text.replace("do: boil", f"do: boil, id: c{number}")
        elif "id:" not in text:
            verb = text.split("do: ")[1].split(",")[0]
            text = text.replace(f"do: {verb}", f"do: {verb}, id: s{number}")
        process += text
        canned = canned or (closed and what in ("cooks", "boils"))
        closed = what == "closes" or (closed and what != "opens")
    codes = found(tmp_path, process + STORE, DRY % "")
    assert ("canned-here" in codes) is canned, (process, codes)
