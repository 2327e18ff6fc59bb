"""The two tables of pH and water activity, cell by cell, through a kitchen's own formula.

Source: acidity.csv, read in Tennessee's and Texas' copies of 1-201.10(B). Every corner of every
cell is asked: where the table says that food needs no control the formula passes, where it asks for
an assessment it doesn't.
"""

from __future__ import annotations

import csv
from fractions import Fraction
from pathlib import Path

import pytest
from conftest import ROOT, lay
from test_acidified import pickled

from generator.reference.library import read_reference
from generator.reference.row_kinds import AcidityRow, Row

HERE = Path(__file__).parent
with (HERE / "acidity.csv").open(encoding="utf-8", newline="") as lines:
    CELLS = list(csv.DictReader(lines))
PACK = read_reference(ROOT / "shared").packs["us-food-code-2022"]
STEP = Fraction(1, 1000)


def corners(cell: dict[str, str], what: str) -> list[Fraction]:
    """The lowest and the highest figure that belong to a cell, in thousandths."""
    low, high = cell[f"{what}_low"], cell[f"{what}_high"]
    found = []
    if low:
        found.append(Fraction(low) + (STEP if cell[f"{what}_low_strict"] == ">" else 0))
    if high:
        found.append(Fraction(high) - (STEP if cell[f"{what}_high_strict"] == "<" else 0))
    return found


@pytest.mark.parametrize("cell", CELLS, ids=lambda c: c["id"])
def test_every_cell(cell: dict[str, str], tmp_path: Path) -> None:
    free = cell["result"] == "non-TCS"
    number = 0
    for ph in corners(cell, "ph"):
        for water in corners(cell, "aw"):
            number += 1
            manual = pickled(
                lay("base", tmp_path / f"kitchen{number}"),
                ph=f"{float(ph):.3f}",
                meter="0.01",
                water=f"{float(water):.3f}",
                packed=cell["table"] == "A",
            )
            codes = [f.code for f in manual.errors]
            assert codes == ([] if free else ["ph-above-limit", "keeps-dry"]), (ph, water)
    assert number


def test_every_row_is_of_a_published_cell() -> None:
    """The highest pH of each line of a table that needs no control is a row, and nothing else
    is."""
    held: set[tuple[str, str, str]] = set()
    for table, applies in (("A", "heated-then-packed"), ("B", "not-packed")):
        rows: list[Row] = [r for _, r in PACK.rows_of(AcidityRow) if r.applies == applies]
        for row in rows:
            aw = row.aw_most or row.aw_below
            ph = row.most or row.below
            held.add((table, str(float(aw)) if aw else "", str(float(ph)) if ph else ""))
    published: set[tuple[str, str, str]] = set()
    for table in "AB":
        lines_of = {}
        for cell in CELLS:
            if cell["table"] == table and cell["result"] == "non-TCS":
                lines_of[cell["aw_high"]] = cell["ph_high"]
        published |= {
            (table, str(float(aw)) if aw else "", str(float(ph)) if ph else "")
            for aw, ph in lines_of.items()
        }
    assert held == published
