"""Batter of flour and water out of the cold, by the FDA's hours for hydrated batter mixes: 3 h in all
above 70 °F (21.1 °C), 12 h from 50 to 70 °F (the guide on hazards of fish, chapter 15, as quoted)."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from conftest import BASE, compute

from generator.sheet.manual import Manual

LINES = """\
plain-flour: {name: Plain flour, species: none, state: raw, form: dry, allergens: wheat, tcs: no}
ale: {name: Ale, species: none, state: ready-to-eat, form: liquid, allergens: wheat, tcs: no}
baking-powder: {name: Baking powder, species: none, state: ready-to-eat, form: dry, allergens: none, tcs: no}
dry-yeast: {name: Dry yeast, species: none, state: ready-to-eat, form: dry, allergens: none, tcs: no}
"""


def asked(folder: Path, *steps: str, lines: str = "plain-flour: 1 kg, ale: 1.2 kg") -> bool:
    """Whether batter by these steps is asked about."""
    root = folder / "kitchen"
    shutil.copytree(BASE, root)
    (root / "standards/ingredients/batter.yaml").write_text(LINES)
    (root / "standards/formulas/batter.yaml").write_text(
        "name: Batter\nrevision: 1\neffective: 2026-01-05\napproved: R. Osei\nstation: range\n"
        f"parts: {{all: {{{lines}}}}}\nbatches: [2 kg total]\nkeeps: {{dry: 1 day}}\nsteps:\n"
        "  - {do: whisk, add: all, time: 10 min}\n" + "".join(f"  - {step}\n" for step in steps)
    )
    manual = compute(root)
    assert isinstance(manual, Manual), manual.errors
    mine = [f for f in manual.findings if "batter" in f.about]
    assert not any(
        f.code not in ("batter-left-warm", "in-no-formula", "flour-eaten-raw")
        for f in mine
        if f.severity == "error"
    )
    return any(f.code == "batter-left-warm" for f in mine)


CHILLED = "{do: rest, id: r2, in: cold-room, time: 8 h}"
COLD = "{do: store, in: cold-room}"


@pytest.mark.parametrize(
    ("steps", "found"),
    [
        (["{do: rest, time: 2 h 50 min}", COLD], False),
        (["{do: rest, time: 2 h 51 min}", COLD], True),
        (["{do: rest, time: 5 h}", COLD], True),
        (["{do: rest, time: 2 to 5 h}", COLD], True),
        (["{do: rest, in: cold-room, time: 5 h}", COLD], False),
        # several times count together, however cold it is in between
        (["{do: rest, time: 2 h}", CHILLED, "{do: rest, id: r3, time: 2 h}", COLD], True),
        (["{do: rest, time: 11 h, at: 18 °C}", COLD], False),
        (["{do: rest, time: 12 h, at: 18 °C}", COLD], True),
        (["{do: rest, time: 11 h, at: 18 to 25 °C}", COLD], True),
        (["do: store"], True),
        ([COLD], False),
        (["{do: proof, time: 5 h}", COLD], False),
    ],
)
def test_the_hours_out_of_the_cold(tmp_path: Path, steps: list[str], found: bool) -> None:
    assert asked(tmp_path, *steps) == found


@pytest.mark.parametrize(
    "lines",
    [
        "plain-flour: 1 kg, ale: 600 g",  # a dough
        "plain-flour: 1 kg, baking-powder: 40 g",  # dry
        "plain-flour: 1 kg, ale: 1.2 kg, dry-yeast: 10 g",  # rises
        "plain-flour: 100 g, ale: 1.2 kg",  # bound, not batter
    ],
)
def test_what_is_no_batter_is_not_asked(tmp_path: Path, lines: str) -> None:
    assert not asked(tmp_path, "{do: rest, time: 5 h}", COLD, lines=lines)
