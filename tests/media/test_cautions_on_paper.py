"""Where cautions go on a batch sheet, over random kitchens: at most two whole boxes a step, the
rest before the work, a DANGER always at its step, each whole once and a line after that."""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest
from conftest import compute, lay

from generator.binder.batch_sheet import batch_sheets
from generator.binder.cautions_block import MOST_WHOLE, of_what_is_weighed, placed
from generator.sheet.cautioning import ASK_FIRST, Notice
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet

MACHINES = (
    "slicer: {kind: slicer, name: Slicer}\n"
    "grinder: {kind: grinder, name: Grinder}\n"
    "cutter: {kind: cutter, name: Bowl cutter}\n"
    "kettle: {kind: kettle, name: Kettle}\n"
    "fryer: {kind: fryer, name: Fryer}\n"
    "stick: {kind: blender, name: Stick blender}\n"
)
STEPS = (
    "  - do: slice\n    with: slicer\n",
    "  - do: grind\n    id: grind-again\n    with: grinder\n",
    "  - do: cut\n    with: cutter\n",
    "  - do: cut\n    id: cut-by-hand\n",
    "  - do: boil\n    with: kettle\n    time: 1 h\n",
    "  - do: fry\n    with: fryer\n    at: 180 °C\n    time: 10 min\n",
    "  - do: mix\n    id: blend\n    with: stick\n",
    "  - do: mix\n    id: mix-again\n    with: bowl-mixer\n",
    "  - do: rest\n    time: 20 min\n",
)


def checked(sheet: Sheet) -> Counter[str]:
    """Hold a sheet's cautions to the rules; what was found of each severity."""
    found, said = placed(sheet), Counter[str]()
    before = [n.id for n, _ in found.before]
    above = [n.id for n in found.above]
    weighed = {n.id for n in of_what_is_weighed(sheet)}
    assert len(set(before)) == len(before), "one text each in the strip"
    assert not any(n.severity == "danger" for n, _ in found.before), "never moved to the strip"
    for number, notices in sheet.notices.by_step.items():
        boxes = found.boxes[number]
        must = [n for n in boxes if n.severity == "danger" or n.words.startswith(ASK_FIRST)]
        assert len(boxes) <= max(MOST_WHOLE, len(must)), number
        assert all(n.whole for n in boxes) and len({n.id for n in boxes}) == len(boxes)
        for notice in notices:
            said[notice.severity] += 1
            here = notice in boxes
            assert here or notice in found.lines[number], "box or line, never neither"
            assert here or not (notice.whole and notice.severity == "danger"), (number, notice.id)
            if notice.whole and not here:
                assert notice.id in before, "whole before the work, with its step"
                steps = dict((n.id, at) for n, at in found.before)[notice.id]
                assert number in steps
    for notice in (*sheet.notices.page, *sheet.notices.before):
        said[notice.severity] += 1
        assert notice.id in {*before, *above, *weighed}, notice.id
    return said


def whole_of(sheet: Sheet) -> Counter[str]:
    """How often each caution of a sheet is whole on it."""
    found = placed(sheet)
    ids = [n.id for n in found.above] + [n.id for n, _ in found.before]
    return Counter(ids + [n.id for boxes in found.boxes.values() for n in boxes])


@pytest.mark.parametrize("many", [12, pytest.param(300, marks=pytest.mark.slow)])
def test_random_kitchens_keep_each_caution_at_its_place(many: int, tmp_path: Path) -> None:
    """Random steps with machines that hurt: computed whole, from YAML to the sheet."""
    dice, said = random.Random(1907), Counter[str]()
    project = lay("base", tmp_path / "kitchen")
    house = project / "standards/equipment/house.yaml"
    house.write_text(house.read_text() + MACHINES)
    process = project / "standards/processes/baked.yaml"
    head, _, rest = process.read_text().partition("  - do: mix\n")
    computed = 0
    for _ in range(many):
        steps = "".join(dice.sample(STEPS, dice.randint(2, 7)))
        process.write_text(f"{head}{steps}  - do: mix\n{rest}")
        manual = compute(project)
        for sheet in manual.sheets.values() if isinstance(manual, Manual) else ():
            computed += sheet.id == "pork-bake"
            said += checked(sheet)
            assert max(whole_of(sheet).values(), default=0) <= 1, "whole once on a sheet"
            (paper,) = batch_sheets(manual, sheet)
            drawn = [b for b in paper["blocks"] if b["form"] == "notice"]
            assert all(b["severity"] != "notice" for b in drawn)
    assert computed >= many / 2 and said["warning"] > many and said["caution"] > many, said


def test_random_heaps_of_cautions_keep_each_at_its_place(demo: Manual) -> None:
    """Any cautions the demo knows heaped on any of its formulas' steps, DANGERs among them."""
    dice = random.Random(19)
    known = {n.id: n for sheet in demo.sheets.values() for n in sheet.notices.all}
    pool = [replace(n, whole=True) for n in known.values()]
    pool += [replace(n, id=f"d-{n.id}", severity="danger") for n in pool[:6]]
    dangers = 0
    for _ in range(400):
        sheet = dice.choice(list(demo.sheets.values()))
        seen: set[str] = set()
        by_step: dict[int, tuple[Notice, ...]] = {}
        for walked in sheet.walk.steps:
            heap = dice.sample(pool, dice.randint(0, 7))
            by_step[walked.step.number] = tuple(replace(n, whole=n.id not in seen) for n in heap)
            seen |= {n.id for n in heap}
        notices = replace(sheet.notices, by_step=by_step, page=(), before=())
        heaped = replace(sheet, raised=SimpleNamespace(notices=notices))
        dangers += checked(heaped)["danger"]
        assert max(whole_of(heaped).values(), default=0) <= 1
    assert dangers > 400
