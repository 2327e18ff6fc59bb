"""Food that is cooked already and simmers for hours shows by a core target that it is hot."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import compute
from honest_kitchens import lay_out
from test_fixes_hold import pasted

PARTS = {"pot": {"ham": "5 kg", "water": "100 %"}}


def written(project: Path, verb: str, formula: str = "", before: str = "") -> Path:
    process = (
        f"{before}  - do: {verb}\n    id: long\n{'' if before else '    add: [pot]' + chr(10)}"
        "    at: 92 °C\n    time: 5 h\n  - do: serve\n"
    )
    return lay_out(project, {"parts": PARTS, "formula": formula, "process": process})


@pytest.mark.parametrize("verb", ["simmer", "poach", "braise", "stew", "boil", "confit", "roast"])
def test_the_line_offered_is_enough(verb: str, tmp_path: Path) -> None:
    project = written(tmp_path, verb)
    (found,) = compute(project).findings
    assert found.code == "target-missing" and "cooked already" in found.help
    assert found.write == ("targets: {long: core 59 °C}",)
    path = project / "standards/formulas/dish.yaml"
    path.write_text(path.read_text(encoding="utf-8") + found.write[0] + "\n", encoding="utf-8")
    manual = compute(project)
    assert manual.findings == () and "dish" in manual.sheets


def test_it_is_put_to_the_targets_there_are(tmp_path: Path) -> None:
    first = "  - do: simmer\n    id: first\n    add: [pot]\n    time: 20 min\n"
    first += "    target: from the formula\n"
    project = written(tmp_path, "poach", "targets: {first: core 60 °C}\n", first)
    cold = "  - do: chill\n    in: blast\n    target: to 4 °C\n"
    path = project / "standards/processes/work.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("  - do: poach", f"{cold}  - do: poach"), encoding="utf-8")
    (found,) = compute(project).findings
    assert found.write == ("targets: {first: core 60 °C, long: core 75 °C for 15 s}",)
    assert pasted(project, found, found.write[0]) == []


def test_four_hours_need_no_target(tmp_path: Path) -> None:
    project = written(tmp_path, "simmer")
    path = project / "standards/processes/work.yaml"
    text = path.read_text(encoding="utf-8").replace("time: 5 h", "time: 4 h")
    path.write_text(text, encoding="utf-8")
    assert compute(project).errors == ()
