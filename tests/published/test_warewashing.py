"""Washing, sanitising and the power cut against a second reading of their sources.

Rows: warewashing.csv, whose `source` keys are in sources.csv. What a dish or a bucket is held to on the page is
worked out by hand from the same figures in tests/rules/test_routines.py.
"""

from __future__ import annotations

import csv
from fractions import Fraction
from pathlib import Path

from conftest import ROOT
from each_row import each_row

from generator.measures.temperature import Temperature
from generator.reference.library import read_reference
from generator.reference.row_kinds import PowerCutRow, SanitiserRow, WarewashRow

HERE = Path(__file__).parent
PACKS = read_reference(ROOT / "shared").packs
NEW, OLD = PACKS["us-food-code-2022"], PACKS["us-food-code-2013"]
with (HERE / "warewashing.csv").open(encoding="utf-8", newline="") as lines:
    ROWS = {row["row"]: row for row in csv.DictReader(lines)}
KINDS = SanitiserRow | WarewashRow | PowerCutRow


def figure(text: str) -> Fraction | None:
    return Fraction(text) if text else None


@each_row("ident", ROWS)
def test_a_row_is_as_it_was_read(ident: str) -> None:
    published, row = ROWS[ident], NEW.rows[ident]
    assert isinstance(row, KINDS)
    assert row.clause == published["clause"]
    heat = Temperature.of(published["F"], "°F") if published["F"] else None
    assert row.value == heat
    if not isinstance(row, SanitiserRow):
        assert row.bound == {">=": "min", "<=": "max"}[published["comparator"]]
    if not isinstance(row, PowerCutRow):
        beside = Temperature.of(published["C"], "°C") if published["C"] else None
        assert row.printed == beside
    if isinstance(row, SanitiserRow):
        for key in ("strength_from", "strength_below", "strength_most", "ph_most", "hardness_most"):
            assert getattr(row, key) == figure(published[key]), key
    time = {
        SanitiserRow: getattr(row, "contact", None),
        WarewashRow: getattr(row, "hold", None),
        PowerCutRow: getattr(row, "within", None),
    }[type(row)]
    assert (time.seconds if time else None) == figure(published["seconds"])


def test_every_row_with_a_figure_was_read_twice() -> None:
    held = {
        ident
        for ident, row in NEW.rows.items()
        if isinstance(row, KINDS) and ident != "other-sanitiser"
    }
    assert held == set(ROWS)


def test_the_edition_before_has_the_same_rows() -> None:
    assert all(OLD.rows[ident] == NEW.rows[ident] for ident in ROWS)


def test_england_holds_none() -> None:
    assert not any(isinstance(row, KINDS) for row in PACKS["uk-england"].rows.values())
