"""How raw milk is pasteurised: the pack's rows against the tables of 21 CFR 1240.61 typed a second
time, and the limit of a step that heats it."""

from __future__ import annotations

import csv
from fractions import Fraction
from pathlib import Path

import pytest
from conftest import ROOT, compute
from honest_kitchens import lay_out

from generator.measures.temperature import Temperature
from generator.reference.library import read_reference
from generator.reference.row_kinds import CookRow
from generator.rules.basics.limit import HeatingLimit
from generator.sheet.manual import Manual

with (Path(__file__).parent / "milk.csv").open(encoding="utf-8", newline="") as lines:
    PUBLISHED = list(csv.DictReader(lines))
PACKS = read_reference(ROOT / "shared").packs
PERMIT = (
    "authorisations:\n  - {for: raw-milk, authority: State, document: Permit 9, "
    "from: 2026-01-01, until: 2027-01-01}\n"
)
CHILL = "  - do: chill\n    in: blast\n    target: to 4 °C\n    time: 90 min\n"
STORE = "  - do: store\n    in: walk-in\n"


@pytest.mark.parametrize("pack", ["us-food-code-2022", "us-food-code-2013"])
def test_the_rows_are_the_published_ones(pack: str) -> None:
    rows = [row for _, row in PACKS[pack].rows_of(CookRow) if (row.group or "").startswith("milk")]
    held = {
        (row.group, row.value, row.printed, row.hold.seconds)
        for row in rows
        if row.hold is not None
    }
    assert held == {
        (
            p["group"],
            Temperature.of(p["temp_F"], "°F"),
            Temperature.of(p["temp_C_printed"], "°C"),
            Fraction(p["hold_seconds"]),
        )
        for p in PUBLISHED
    }
    assert all(row.document == "21 CFR 1240.61" for row in rows)


def heated(
    folder: Path, target: str, *, fat: str = "", more: str = "", formula: str = "", end: str = STORE
) -> Manual:
    """Raw milk that a permit lets in, pasteurised to a target."""
    parts = {"milk": {"milk": "5 kg"}}
    if more:
        parts["milk"][more] = "500 g"
    line = f"    target: {target}\n" if target else ""
    spec = {
        "kitchen": PERMIT,
        "parts": parts,
        "formula": formula or "keeps: {cold: 5 days}\n",
        "process": f"  - do: pasteurise\n    add: [milk]\n{line}    time: 40 min\n{CHILL}{end}",
    }
    lay_out(folder, spec)
    said = f"\n  composition: {{fat: {fat}, source: dairy}}" if fat else ""
    for path in (folder / "standards/ingredients").glob("*.yaml"):
        text = path.read_text(encoding="utf-8")
        path.write_text(
            text.replace("state: pasteurised", f"state: raw{said}", 1), encoding="utf-8"
        )
    manual = compute(folder)
    assert isinstance(manual, Manual)
    return manual


def limits(manual: Manual) -> list[HeatingLimit]:
    return [lm for lm in manual.walks["dish"].limits if isinstance(lm, HeatingLimit)]


@pytest.mark.parametrize(
    ("target", "fat", "fine"),
    [
        ("core 64 °C for 30 min", "3.5 %", True),
        ("core 64 °C for 29 min", "3.5 %", False),
        ("core 62 °C for 30 min", "3.5 %", False),
        ("core 74 °C for 15 s", "3.5 %", True),
        ("core 64 °C for 30 min", "10 %", False),  # from 10 % on, 5 °F more
        ("core 67 °C for 30 min", "10 %", True),
        ("core 64 °C for 30 min", "", False),  # nobody knows its fat
        ("core 74 °C for 15 s", "", False),
        ("core 77 °C for 15 s", "", True),
        ("core 50 °C", "3.5 %", False),
        ("", "3.5 %", True),
    ],
)
def test_the_target_is_held_against_them(tmp_path: Path, target: str, fat: str, fine: bool) -> None:
    """Each 1 °C above its row: the probe reads to ±1 °C."""
    manual = heated(tmp_path, target, fat=fat)
    assert {f.code for f in manual.errors} == (set() if fine else {"target-below-limit"})
    if fine:
        (limit,) = limits(manual)
        assert limit.source.clause.startswith("1240.61(b)")


def test_a_mix_for_freezing_asks_for_more(tmp_path: Path) -> None:
    frozen = "keeps: {frozen: 60 days}\neaten_frozen: yes\n"
    end = "  - do: freeze\n    in: freezer\n    target: to -18 °C\n  - do: store\n    in: freezer\n"
    low = heated(tmp_path / "low", "core 67 °C for 30 min", fat="3.5 %", formula=frozen, end=end)
    assert "target-below-limit" in {f.code for f in low.errors}
    high = heated(tmp_path / "high", "core 70 °C for 30 min", fat="3.5 %", formula=frozen, end=end)
    assert "target-below-limit" not in {f.code for f in high.errors}, high.errors


def test_pasteurised_once_it_is_no_raw_milk_any_more(tmp_path: Path) -> None:
    """A later step that heats it again has no such limit."""
    again = (
        "  - do: simmer\n    id: again\n    target: core 75 °C\n    time: 10 min\n  - do: serve\n"
    )
    manual = heated(
        tmp_path, "core 64 °C for 30 min", fat="3.5 %", formula="to_order: no\n", end=again
    )
    assert [limit.step for limit in limits(manual) if "1240" in limit.source.clause] == [
        "pasteurise"
    ]
