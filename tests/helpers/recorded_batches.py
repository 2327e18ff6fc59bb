"""Records of batches given as plain rows, joined in memory; and random ones."""

from __future__ import annotations

import datetime
import functools
import random
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from conftest import BASE, ROOT

from generator.intake.standards import Standards, read_standards
from generator.records.made import MadeBatch
from generator.reference.library import Library, read_reference
from generator.resolve.made import History, join_history
from generator.resolve.names import Names

FIRST = datetime.date(2026, 11, 2)
SUPPLIERS = ("", "Alder", "Birch")


@dataclass(frozen=True)
class Row:
    """A line of a batch: item, lot (None: not written), supplier, grams (None: not weighed)."""

    item: str
    lot: str | None
    supplier: str = ""
    grams: int | None = 100


@dataclass(frozen=True)
class Made:
    """A batch: its formula, own number, day counted from FIRST, lines, finished grams."""

    formula: str
    lot: str
    day: int
    rows: tuple[Row, ...]
    grams: int | None = 1000

    @property
    def id(self) -> str:
        return f"{self.formula}-{self.lot}"


@functools.cache
def _read() -> tuple[Standards, Library]:
    return read_standards(Path(BASE), ROOT / "shared"), read_reference(ROOT / "shared")


def history_of(batches: Iterable[Made]) -> History:
    """The history of some batches, over the base kitchen, which has none of their items."""
    standards, library = _read()
    made = {b.id: _record(b, standards) for b in batches}
    names = Names(replace(standards, made=made), library)
    return join_history(names, {}, datetime.date(2027, 1, 1))


def _record(batch: Made, standards: Standards) -> MadeBatch:
    used: list[dict[str, str]] = []
    for row in batch.rows:
        line = {"item": row.item}
        if row.lot is not None:
            line["lot"] = row.lot
        if row.supplier:
            line["from"] = row.supplier
        if row.grams is not None:
            line["weight"] = f"{row.grams} g"
        used.append(line)
    tree: dict[str, object] = {
        "formula": batch.formula,
        "revision": "1",
        "lot": batch.lot,
        "day": (FIRST + datetime.timedelta(days=batch.day)).isoformat(),
        "used": used,
    }
    if batch.grams is not None:
        tree["made"] = f"{batch.grams} g"
    return MadeBatch.model_validate(tree, context={"units": standards.units})


def random_batches(rng: random.Random) -> tuple[list[Made], Mapping[str, frozenset[str]]]:
    """Batches of a few formulas over a few ingredients, split lots and one number of two suppliers
    among them, lots that nobody wrote, now and then a circle; and the items of each formula."""
    formulas = [f"f{n}" for n in range(rng.randint(2, 5))]
    items = ["v", "w", "x"]
    rings = rng.random() < 0.3
    made: list[Made] = []
    for n in range(rng.randint(2, 12)):
        formula = rng.choice(formulas)
        earlier = [b for b in made if rings or b.formula != formula]
        rows: list[Row] = []
        for _ in range(rng.randint(0, 4)):
            rows.append(_row(rng, items, earlier))
        made.append(Made(formula, f"b{n}", rng.randint(0, 9), tuple(rows), _grams(rng, 1000)))
    if rings and len(made) > 1:
        first, last = made[0], made[-1]
        made[0] = replace(first, rows=(*first.rows, Row(last.formula, last.lot)))
    recorded = {b.formula for b in made}
    lines = {
        f: frozenset(i for i in (*items, *sorted(recorded)) if i != f and rng.random() < 0.25)
        for f in formulas
    }
    return made, lines


def _row(rng: random.Random, items: Sequence[str], earlier: Sequence[Made]) -> Row:
    grams = _grams(rng, 300)
    if earlier and rng.random() < 0.5:
        source = rng.choice(earlier)
        lot = source.lot if rng.random() < 0.85 else None
        if rng.random() < 0.05:
            lot = "gone"
        elif lot is not None and rng.random() < 0.05:
            lot = lot.replace("b", "b-")  # a number copied wrong
        return Row(source.formula, lot, "", grams)
    lot = rng.choice(["L1", "L2", "l 1", "L-1", None])
    return Row(rng.choice(items), lot, rng.choice(SUPPLIERS), grams)


def _grams(rng: random.Random, most: int) -> int | None:
    return rng.randint(1, most) if rng.random() < 0.9 else None
