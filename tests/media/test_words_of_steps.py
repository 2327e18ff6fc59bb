"""What a step is done to, in its sentence, whatever the order of its parts; what a mould weighs at each
filling. From kitchens of one file."""

from __future__ import annotations

import itertools
from pathlib import Path
from typing import Any

import pytest
from conftest import AS_OF
from honest_kitchens import lay_out, read

from generator.binder.batch_sheet import batch_sheets
from generator.sheet.manual import Manual, make_manual
from generator.sheet.sheet import Sheet
from generator.views.sentences import sentences_of

ROAST = """\
  - do: roast
    with: oven
    at: 180 °C
    target: from the formula
  - do: serve
"""
COLD = "    in: walk-in\n    time: 24 h\n"
LEFT = "  - do: drain\n    leaves: {spent: {share: %s, of: marinade, then: thrown-away}}\n"


def made(folder: Path, process: str, **more: Any) -> tuple[Manual, Sheet]:
    spec = {**read("meat-marinated-cold"), "process": process, **more}
    manual = make_manual(lay_out(folder, spec), AS_OF)
    return manual, manual.sheets["dish"]  # type: ignore[union-attr]


def said(folder: Path, process: str, **more: Any) -> list[str]:
    return [
        words.replace("\xa0", " ")
        for words in sentences_of(made(folder, process, **more)[1]).values()
    ]


PARTS = {
    "meat": {"pork-loin": "5 kg"},
    "marinade": {"oil": "20 %", "water": "20 %", "salt": "1.2 %"},
}


@pytest.mark.parametrize("order", list(itertools.permutations(["meat", "marinade"])))
@pytest.mark.parametrize("verb", ["marinate", "brine"])
def test_meat_lies_in_its_marinade_whichever_comes_first(
    tmp_path: Path, order: tuple[str, ...], verb: str
) -> None:
    at_once = f"  - do: {verb}\n    add: [{', '.join(order)}]\n{COLD}{ROAST}"
    one_by_one = (
        f"  - do: mix\n    add: [{order[0]}]\n  - do: {verb}\n    add: [{order[1]}]\n{COLD}{ROAST}"
    )
    done = {"marinate": "marinated", "brine": "brined"}[verb]
    for n, process in enumerate((at_once, one_by_one)):
        found = said(tmp_path / str(n), process, parts=PARTS)[-3:]
        assert found == [
            f"{verb.capitalize()} the meat in the marinade in the walk-in",
            f"Roast the {done} meat in the deck oven",
            "Serve the roasted meat",
        ]


@pytest.mark.parametrize(
    ("share", "named"),
    [("100 %", "meat"), ("80 %", "meat"), ("50 %", "meat"), ("20 %", "meat and marinade")],
)
def test_what_food_merely_lay_in_is_not_named_once_it_is_drained(
    tmp_path: Path, share: str, named: str
) -> None:
    process = f"  - do: soak\n    add: [meat, marinade]\n{COLD}{LEFT % share}{ROAST}"
    found = said(tmp_path, process, parts=PARTS)
    assert found[1:3] == ["Drain the meat and marinade", f"Roast the {named} in the deck oven"]


def test_what_is_dry_is_named_as_it_is_written(tmp_path: Path) -> None:
    parts = {**PARTS, "marinade": {"salt": "2 %"}}
    found = said(
        tmp_path, f"  - do: marinate\n    add: [meat, marinade]\n{COLD}{ROAST}", parts=parts
    )
    assert found[0].startswith("Marinate the meat in the marinade")


@pytest.mark.parametrize("verb", ["fill", "shape"])
def test_a_mould_filled_again_has_its_weight_then_too(tmp_path: Path, verb: str) -> None:
    """5 kg of meat in moulds of 500 g are 10; with 20 + 20 + 1.2 % of it put on there are 7060 g, by hand."""
    process = f"  - do: cut\n    add: [meat]\n  - do: {verb}\n  - do: {verb}\n    id: again\n    add: [marinade]\n{ROAST}"
    formula = (
        "targets: {roast: core 75 °C}\n"
        "makes: {fill_weight: 500 g, unit: mould}\nbatches: [10 moulds, 5 moulds]\n"
    )
    manual, sheet = made(tmp_path, process, parts=PARTS, formula=formula)
    (batch,) = batch_sheets(manual, sheet)
    (block,) = [b.get("yields") or b for b in batch["blocks"] if b["form"] in ("release", "yields")]
    rows = {
        row["size"].replace("\xa0", " "): dict(zip(block["names"], row["cells"], strict=True))
        for row in block["rows"]
    }
    for size, filled, again in (("10 moulds", "5000", "7060"), ("5 moulds", "2500", "3530")):
        shown = {name: words.replace("\xa0", " ") for name, words in rows[size].items()}
        assert shown["Filled"] == f"{filled} g" and shown["At step 3"] == f"{again} g"
