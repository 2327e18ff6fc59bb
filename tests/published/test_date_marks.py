"""Worked examples of the authorities that adopted the Food Code's seven days, freezing among them.

Where authorities differ (whether the day of freezing counts) a label is never later than any of
them. Sources of each row: the keys in its `source` column, titles in sources.csv.
"""

from __future__ import annotations

import csv
import datetime
from pathlib import Path

import pytest
from conftest import compute, edit, lay

from generator.sheet.labelling import Asked, Frozen, PartDay, date_mark
from generator.sheet.sheet import Sheet

HERE = Path(__file__).parent
with (HERE / "date_marks.csv").open(encoding="utf-8", newline="") as _lines:
    ROWS = list(csv.DictReader(_lines))
DAY = datetime.date.fromisoformat


@pytest.fixture(scope="module")
def sheets(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Sheet]:
    """A bake kept the seven days of the law, and a salad of bought rice."""
    kitchen = lay("base", tmp_path_factory.mktemp("dates") / "kitchen")
    edit(kitchen, "formulas/pork-bake.yaml", "5 days", "7 days")
    for formula, day in (("pork-bake", "2026-05-04"), ("rice-salad", "2026-06-01")):
        edit(kitchen, f"formulas/{formula}.yaml", f"effective: {day}", "effective: 2015-01-01")
    edit(kitchen, "formulas/rice-salad.yaml", "3 days", "7 days")
    manual = compute(kitchen)
    assert manual.errors == ()
    return manual.sheets


@pytest.mark.parametrize("row", ROWS, ids=lambda r: r["id"])
def test_a_published_example(sheets: dict[str, Sheet], row: dict[str, str]) -> None:
    stay = Frozen(DAY(row["frozen"]), DAY(row["thawed"])) if row["frozen"] else None
    made = DAY(row["made"])
    today = DAY(row["thawed"] or row["made"])
    if row["part"]:
        parts = {"cooked-rice": PartDay(DAY(row["part"]))}
        mark = date_mark(sheets["rice-salad"], Asked(made, parts, made, stay), today)
        assert mark.governed_by == "Cooked rice"
    else:
        mark = date_mark(sheets["pork-bake"], Asked(made, frozen=stay), today)
    assert mark.use_by is not None
    if row["days_left"]:
        assert mark.left == int(row["days_left"])
        assert (mark.use_by - DAY(row["thawed"])).days + 1 == int(row["days_left"])
    elif row["comparator"] == "=":
        assert mark.use_by == DAY(row["use_by"])
    else:
        late = (DAY(row["use_by"]) - mark.use_by).days
        assert 0 <= late <= 2, "earlier than the example by the day of freezing, and no more"
