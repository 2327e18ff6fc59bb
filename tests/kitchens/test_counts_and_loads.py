"""Properties of random kitchens: counts are whole and the same everywhere, no load is over what its
machine takes or under what it needs, what is proposed is taken, and sizes there and back agree."""

from __future__ import annotations

import dataclasses
import json
import math
import random
import re
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from conftest import compute
from counted_kitchens import Made, lay_counted

from generator.answers.batch import batch_data, batch_text
from generator.binder.batch_sheet import batch_sheets
from generator.files.finding import Refused
from generator.pages.escape import escape
from generator.pages.formula import formula_pages
from generator.records.formula import Size
from generator.scaling.batch import factor_for
from generator.sheet.manual import Manual
from generator.sheet.sheet import Batch, Sheet, make_batch
from generator.sheet.walk import Walk


def sizes(dice: random.Random, made: Made, walk: Walk, many: int) -> list[Size]:
    """Random sizes of a formula, in whatever it can be asked for."""
    figures = walk.figures
    found: list[Size] = []
    for _ in range(many):
        times = Fraction(dice.randint(5, 600), 100)
        kinds = ["total", "base", "yield"]
        if figures.fills:
            kinds += ["fills", "fills"]
        if figures.portion or figures.per_fill:
            kinds.append("portions")
        kind = dice.choice(kinds)
        if kind in ("fills", "portions"):
            value = Fraction(max(1, int(made.count * times)))
        else:
            at_one = {"total": figures.total, "base": figures.base, "yield": figures.yielded}[kind]
            value = Fraction(round(at_one * times * 10), 10)
        found.append(Size(kind, value))  # type: ignore[arg-type]
    return found


def as_equal(spaces: list[int]) -> bool:
    return max(spaces) - min(spaces) <= 1


def followed(batch: Batch, step: str, spaces: list[int]) -> bool:
    """Whether the loads are those of a step before, each of them in one or several as equal ones:
    what comes out of one never goes in together with another."""
    steps = [one.step for one in batch.step_loads]
    for before in batch.step_loads[: steps.index(step)]:
        small, extra = divmod(sum(spaces), before.loads.count)
        rest = list(spaces)
        for share in (small + (n < extra) for n in range(before.loads.count)):
            part: list[int] = []
            while rest and sum(part) < share:
                part.append(rest.pop(0))
            if sum(part) != share or not as_equal(part):
                break
        else:
            return before.loads.count > 1 and not rest
    return False


def counted_at(made: Made, step: str, batch: Batch) -> Fraction:
    """How many pieces or fills are at a step of a batch, exactly."""
    if made.kind == "piece":
        return made.count * batch.factor
    if made.kind == "tub":
        return made.count * batch.factor / (1 if step == "mix" else made.to_a_fill)
    yields = batch.yields
    assert yields.filled_g is not None and yields.fill_g is not None
    return yields.filled_g / yields.fill_g


def hold_loads(made: Made, batch: Batch) -> None:
    """Each machine's loads, against what the kitchen was made of, worked out here."""
    for one in batch.step_loads:
        if one.step not in made.steps:
            continue
        machine, at_one, counted = made.steps[one.step]
        mass = at_one * batch.factor
        where = f"{made.ident} {batch.label} {one.step}"
        loads = one.loads
        if not (counted and counted_at(made, one.step, batch) >= 1):
            assert not loads.pieces and loads.count * loads.grams == mass, where
            smallest = largest = loads.grams
        else:
            exact = counted_at(made, one.step, batch)
            each, fills = mass / exact, math.floor(exact)
            rest = mass - fills * each
            assert sum(loads.pieces) == fills and len(loads.pieces) == loads.count, where
            assert loads.rest == bool(rest), where
            weights = [n * each for n in loads.pieces]
            weights[-1] += rest
            assert sum(weights) == mass, where
            smallest, largest = min(weights), max(weights)
            assert loads.grams == largest, where
            spaces = [*loads.pieces[:-1], loads.pieces[-1] + (1 if rest else 0)]
            assert max(spaces) <= (machine.places or max(spaces)), where
            assert as_equal(spaces) or followed(batch, one.step, spaces), where
        assert machine.most is None or largest <= machine.most, where
        assert machine.least is None or smallest >= machine.least, where


def hold_pieces(made: Made, batch: Batch) -> None:
    """All that was put in is in the fills, the last of which holds what is left."""
    yields = batch.yields
    line = next(ln for ln in batch.lines if ln.whole_pieces)
    assert line.count == made.count * batch.factor
    assert yields.portions == math.floor(line.count * made.portions / made.to_a_fill)
    assert line.exact_g == line.line.grams * batch.factor
    assert yields.fills is not None and yields.fill_g is not None
    assert yields.fills * made.to_a_fill + yields.rest_pieces == line.count
    if yields.filled_g is not None:
        assert yields.fills * yields.fill_g + yields.rest_g == yields.filled_g
    for one in batch.step_loads:
        in_fills = made.kind == "tub" and one.step != "mix"
        counted = yields.fills if in_fills else line.count
        assert not one.loads.pieces or sum(one.loads.pieces) == counted


def hold_counts(manual: Manual, sheet: Sheet, made: Made, batch: Batch) -> None:
    """Wherever the formula's own word stands behind a figure, it is the batch's count, or that of
    one load."""
    yields = batch.yields
    if made.kind in ("piece", "tub"):
        hold_pieces(made, batch)
    count = yields.portions if made.kind == "portion" else yields.fills
    part_filled = {1} if yields.rest_pieces else set()  # "1 tub of 4 legs"
    allowed = part_filled | {count} | {n for one in batch.step_loads for n in one.loads.pieces}
    alone = dataclasses.replace(sheet, batches=(batch,))
    page = formula_pages(dataclasses.replace(manual, sheets={sheet.id: alone}))[0]
    sheets = batch_sheets(manual, alone)
    paper = json.dumps(sheets, ensure_ascii=False)
    blocks = [b for s in sheets for b in s["blocks"]]
    table = next(b.get("yields", b) for b in blocks if b["form"] == "yields" or "yields" in b)
    (row,) = table["rows"]
    figures = zip(table["names"], row["cells"], strict=True)
    counted = {name.lower(): figure.replace("\u2009", "") for name, figure in figures}
    assert counted[f"{made.unit}s"] == str(count)
    data = batch_data(alone, batch, manual.walks)
    assert data["fills"] == yields.fills and data["portions"] == yields.portions
    texts = {
        "text": batch_text(alone, batch, manual.walks),
        "page": str(page.html),
        "paper": paper,
    }
    asked = {int(batch.size.value)} if batch.size.kind in ("fills", "portions") else set()
    for where, text in texts.items():
        plain = re.sub(r"<[^>]+>", "", text.replace("\\u00a0", " ")).replace("\u2009", "")
        found = {int(n) for n in re.findall(rf"(\d+)[\s\u00a0]+{made.unit}s?\b", plain)}
        assert found <= allowed | asked, f"{made.ident} {batch.label}, {where}: {found}, {allowed}"
        told = where == "paper" or not count or count in found
        legs = made.portions != made.to_a_fill or made.kind != "tub"
        legs = legs or f"{yields.portions} piece" in plain.replace("\u00a0", " ")
        assert legs, f"{made.ident} {batch.label}: no pieces in the {where}"
        assert told, f"{made.ident} {batch.label}: no count in the {where}"
    assert escape(made.unit) == made.unit


def hold_sizes(walk: Walk, batch: Batch) -> None:
    """A batch asked for by what it gives is the same batch."""
    figures, yields = walk.figures, batch.yields
    for kind, grams in (
        ("total", yields.total_g),
        ("base", yields.base_g),
        ("yield", yields.yield_g),
    ):
        assert factor_for(kind, grams, figures) == batch.factor
    if yields.fills and not yields.rest_g:
        assert factor_for("fills", Fraction(yields.fills), figures) == batch.factor


UNITS = {"kg": 1000, "g": 1}


def hold_proposals(manual: Manual, walk: Walk, refused: Refused) -> int:
    """What a refusal proposes is taken, and so is every larger size where it says so."""
    found = re.match(r"Make (.+?)\.(?: |$)", refused.help)
    proposed = found[1].split(", or ") if found else []
    for words in proposed:
        sized = re.fullmatch(
            r"([\d.]+)\u00a0(unit[a-z]|k?g)(?:s| total)?( or more| at most)?", words
        )
        assert sized, refused.help
        figure, unit, more = sized.groups()
        kind = "total" if unit in UNITS else "fills" if walk.figures.fills else "portions"
        value = Fraction(figure) * UNITS.get(unit, 1)
        for times in range(6 if more == " or more" else 1):
            larger = value * (1 + times) ** 2 if kind == "total" else value + times
            make_batch(manual.house, walk, Size(kind, larger))  # type: ignore[arg-type]
    return len(proposed)


def hold(folder: Path, seed: int, many: int, each: int, drawn: int) -> dict[str, int]:
    """A kitchen of random formulas, each at random sizes. ``drawn``: of every so many sizes one is
    put on page and paper."""
    made = lay_counted(folder, seed, many)
    manual = compute(folder)
    assert isinstance(manual, Manual)
    dice = random.Random(seed)
    found = {"made": 0, "refused": 0, "proposed": 0, "drawn": 0}
    for one in made:
        walk = manual.walks[one.ident]
        for size in sizes(dice, one, walk, each):
            try:
                batch = make_batch(manual.house, walk, size)
            except Refused as refused:
                found["refused"] += 1
                found["proposed"] += hold_proposals(manual, walk, refused)
                continue
            found["made"] += 1
            hold_loads(one, batch)
            hold_sizes(walk, batch)
            if one.kind != "plain" and one.ident in manual.sheets and found["made"] % drawn == 0:
                hold_counts(manual, manual.sheets[one.ident], one, batch)
                found["drawn"] += 1
    return found


def test_random_formulas_count_alike_everywhere(tmp_path: Path) -> None:
    found = hold(tmp_path / "kitchen", 17, 25, 12, 4)
    assert found["made"] > 125 and found["refused"] > 18, found
    assert found["proposed"] > 12 and found["drawn"] > 12, found


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(20))
def test_2000_random_formulas_count_alike_everywhere(seed: int, tmp_path: Path) -> None:
    found = hold(tmp_path / "kitchen", 1000 + seed, 100, 12, 4)
    assert found["made"] > 500 and found["proposed"] > 50, found


def test_a_kitchen_made_of_counts_is_read(tmp_path: Path) -> None:
    """The random kitchens are what they are meant to be: of every kind some are computed."""
    made = lay_counted(tmp_path / "kitchen", 3, 40)
    manual: Any = compute(tmp_path / "kitchen")
    computed = {one.kind for one in made if one.ident in manual.sheets}
    assert computed == {"piece", "fill", "volume", "portion", "tub", "plain"}
