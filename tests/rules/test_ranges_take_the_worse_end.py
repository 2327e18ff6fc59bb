"""A range is never laxer than either of its ends: what one end alone is an error for, the range is
an error for too, and what is computed of it is the stricter of the two."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from conftest import BASE, compute, edit

from generator.sheet.manual import Broken, Manual

BAKED = "processes/baked.yaml"
PORK = "formulas/pork-bake.yaml"
HOUSE = "equipment/house.yaml"
HELD = "  - do: hold-hot\n    at: {}\n  - do: chill\n"
CHILL = "target: to 4 °C"

CASES = [
    # what it is, the file, what stands there, what is written, the two ends, the end that fails
    ("core", PORK, "core 72 °C", "core {}", "60 °C", "74 °C", {"target-below-limit"}),
    ("hold", PORK, "core 72 °C", "core 67 °C for {}", "30 s", "2 min", {"target-below-limit"}),
    ("chilled to", BAKED, CHILL, "target: to {}", "3 °C", "9 °C", {"target-above-limit"}),
    ("chill time", BAKED, CHILL, f"{CHILL}\n    time: {{}}", "4 h", "9 h", {"chill-too-slow"}),
    (
        "held hot at",
        BAKED,
        "  - do: chill\n",
        "  - do: hold-hot\n    target: at {}\n  - do: chill\n",
        "50 °C",
        "65 °C",
        {"target-below-limit"},
    ),
    ("place held hot", BAKED, "  - do: chill\n", HELD, "50 °C", "65 °C", {"held-hot-where"}),
    (
        "air",
        HOUSE,
        "Cold room, air: 3 °C",
        "Cold room, air: {}",
        "2 °C",
        "9 °C",
        {"air-above-limit"},
    ),
    (
        "waits",
        BAKED,
        "  - do: grind\n    add: [meat]\n",
        "  - do: grind\n    add: [meat]\n    time: {}\n",
        "1 h",
        "9 h",
        {"between-too-long"},
    ),
    (
        "by time",
        BAKED,
        "  - do: chill\n",
        "  - do: hold-by-time\n    procedure: One\n    time: {}\n  - do: chill\n",
        "3 h",
        "9 h",
        {"time-control-time"},
    ),
]


def found(case: tuple[object, ...], figure: str, work: Path) -> Manual | Broken:
    _, file, old, new, *_ = case
    shutil.copytree(BASE, work)
    edit(work, str(file), str(old), str(new).format(figure))
    return compute(work)


@pytest.mark.parametrize("case", CASES, ids=[str(c[0]) for c in CASES])
@pytest.mark.parametrize("between", ["{} to {}", "{}–{}"])
def test_a_range_fails_where_one_end_does(
    case: tuple[object, ...], between: str, tmp_path: Path
) -> None:
    _, _, _, _, low, high, codes = case
    assert isinstance(codes, set) and isinstance(low, str) and isinstance(high, str)
    ends = [found(case, end, tmp_path / f"e{n}") for n, end in enumerate((low, high))]
    both = found(case, between.format(low, high), tmp_path / "both")
    errors = [{f.code for f in one.errors} for one in ends]
    range_errors = {f.code for f in both.errors}
    assert any(codes <= one for one in errors), [f.message for one in ends for f in one.findings]
    assert not all(codes <= one for one in errors), "one of the ends alone would do"
    assert range_errors >= errors[0] | errors[1]
