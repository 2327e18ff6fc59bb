"""Spices strained out of ghee count as under it until a step says so; what is offered does."""

from __future__ import annotations

from pathlib import Path

from conftest import compute, edit
from honest_kitchens import PANTRY, lay_out

NEW = {
    "x-ghee": {"name": "Ghee", "species": "none", "state": "ready-to-eat", "allergens": ["milk"]},
    "x-spice": {"name": "Green cardamom", "species": "none", "state": "raw", "allergens": "none"},
}


def test_the_line_offered_takes_them_out(tmp_path: Path) -> None:
    PANTRY.update({i: {**facts, "tcs": "no", "arrives": "ambient"} for i, facts in NEW.items()})
    try:
        parts = {"fat": {"x-ghee": "1 kg"}, "spices": {"x-spice": "50 g"}}
        process = (
            "  - do: fry\n    add: [fat, spices]\n    at: 120 °C\n    time: 20 min\n"
            "  - do: strain\n  - do: store\n    in: walk-in\n"
        )
        formula = "keeps: {cold: 7 days}\n"
        lay_out(tmp_path, {"parts": parts, "formula": formula, "process": process})
    finally:
        for ident in NEW:
            del PANTRY[ident]
    (error,) = compute(tmp_path).errors
    assert error.code == "not-covered" and "packing without air" in error.message
    line = "leaves: {strained: {share: 100 %, of: spices}}"
    assert "Strained out, or drained off, before? Until a step says so" in error.help
    assert f"`{line}`" in error.help
    edit(tmp_path, "processes/work.yaml", "  - do: strain\n", f"  - do: strain\n    {line}\n")
    assert compute(tmp_path).errors == ()
