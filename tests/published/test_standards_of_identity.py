"""The standards of identity of 9 CFR 319: the rows of the pack against standards_of_identity.csv."""

from __future__ import annotations

import csv
from fractions import Fraction
from pathlib import Path

from conftest import ROOT

from generator.reference.library import read_reference
from generator.reference.row_kinds import CompositionRow

with (Path(__file__).parent / "standards_of_identity.csv").open(encoding="utf-8") as lines:
    PUBLISHED = list(csv.DictReader(lines))
PACK = read_reference(ROOT / "shared").packs["us-9cfr-424"]
SIDES = {"<=": "max", ">=": "min"}


def test_every_bound_is_as_published_and_none_is_invented() -> None:
    held = {
        (row.applies, row.constituent.replace("-", " "), row.bound, row.percent, row.clause)
        for _, row in PACK.rows_of(CompositionRow)
    }
    assert len(held) == len(PACK.rows_of(CompositionRow))
    assert held == {
        (
            row["standard"],
            row["constituent"],
            SIDES[row["comparator"]],
            Fraction(row["percent"]),
            row["clause"],
        )
        for row in PUBLISHED
        if row["basis"] == "seen"
    }
