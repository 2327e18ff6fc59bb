"""Sizes proposed of what is on hand, held against every size there is."""

from __future__ import annotations

import random
import re
from fractions import Fraction
from pathlib import Path

import pytest
from conftest import compute, edit, lay

from generator.cli.sizes import asked_batch
from generator.files.finding import Refused
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet

MIXERS = [
    ("4 kg", "500 g", 4),
    ("2 kg", "1.5 kg", 2),
    ("3 kg", "2.7 kg", 3),
    ("9 kg", "6 kg", 7),
]
"""How much the mixer takes at most, and at least; so many dishes do."""
TRIES = 40


def kitchen(folder: Path, most: str, least: str, dishes: int) -> Sheet:
    lay("base", folder)
    edit(
        folder,
        "equipment/house.yaml",
        "capacity: 4 kg, minimum: 500 g",
        f"capacity: {most}, minimum: {least}",
    )
    edit(folder, "equipment/house.yaml", "heat: convection, capacity: 20 kg", "heat: convection")
    edit(
        folder,
        "formulas/pork-bake.yaml",
        "batches: [4 dishes, 8 dishes]",
        f"batches: [{dishes} dishes]",
    )
    manual = compute(folder)
    assert isinstance(manual, Manual)
    return manual.sheets["pork-bake"]


def asked(sheet: Sheet, **size: object) -> str:
    """What is refused, its help; empty where it can be made."""
    try:
        asked_batch(sheet, {"on_hand": (), **size})
    except Refused as refused:
        return refused.help.replace("\u00a0", " ").replace("\u202f", " ")
    return ""


@pytest.mark.parametrize(("most", "least", "dishes"), MIXERS)
def test_what_is_proposed_is_what_the_stock_gives(
    tmp_path: Path, most: str, least: str, dishes: int
) -> None:
    """Of every number of dishes up to 60 it is known whether it can be made, and how much pork it
    takes: 10 % trim on top. What is proposed can be made and there is enough for it; none larger
    does. What needs more is the next that can be made, with the pork it needs, rounded up; "or
    more" is said only if every larger one can be made."""
    sheet = kitchen(tmp_path, most, least, dishes)
    figures = sheet.walk.figures
    assert figures.fills is not None
    pork = next(ln for ln in sheet.walk.lines if ln.joined.item == "pork-shoulder").grams
    takes = {n: pork * n / figures.fills / Fraction(9, 10) for n in range(1, 61)}
    fit = {n: not asked(sheet, fills_=str(n)) for n in takes}
    dice, refused = random.Random(17), 0
    for _ in range(TRIES):
        stock = Fraction(dice.randrange(100, 12_000))
        help = asked(sheet, on_hand=(f"pork-shoulder={int(stock)} g",))
        if not help:
            continue
        refused += 1
        enough = [n for n, ok in fit.items() if ok and takes[n] <= stock]
        after = [n for n, ok in fit.items() if ok and takes[n] > stock]
        made = re.search(r"Make (\d+) dish", help)
        assert (int(made[1]) if made else 0) == max(enough, default=0), help
        needs = re.search(r"For (\d+) dish(?:es)?( or more)? you need ([\d.]+) (k?g) of", help)
        assert needs is not None and int(needs[1]) == min(after), help
        assert bool(needs[2]) == all(fit[n] for n in fit if n >= min(after)), help
        grams = Fraction(needs[3]) * (1000 if needs[4] == "kg" else 1)
        assert takes[min(after)] <= grams < takes[min(after)] + 10
    assert refused or least == "500 g"


def test_two_items_are_named_where_both_run_short(tmp_path: Path) -> None:
    sheet = kitchen(tmp_path, "9 kg", "6 kg", 7)
    help = asked(sheet, on_hand=("pork-shoulder=1 kg", "whole-egg=2 each", "cream=5 l"))
    assert "of pork shoulder and " in help and "of whole egg" in help and "cream" not in help
    assert help.startswith("For ") and "Make " not in help
