"""Kitchens that are unsafe by time or temperature: the exact words, and what fixes them.

``UPDATE_EXPECTED=1`` writes what is found now; read the difference before committing it.
"""

from __future__ import annotations

import os
import textwrap
from pathlib import Path
from typing import Any

import pytest
import yaml
from conftest import compute
from honest_kitchens import UNSAFE, lay_out, read

from generator.files.finding import as_text

OF_THE_FOOD = {"fact-contradicted", "target-missing"}
"""Findings whose fix says what the food is, and what follows from that is found at last; or is a
line of its own beside the quoted one."""
NOTED = {"between-noted", "served-off-the-heat"}
"""What is said of a time that is within the rule, and two hours or more."""
CASES = sorted(p.stem for p in UNSAFE.glob("*.yaml"))


def fixed(spec: dict[str, Any]) -> dict[str, Any]:
    """The kitchen with what fixes it written in."""
    changed = dict(spec)
    if not isinstance(changed["parts"], str):
        changed["parts"] = yaml.dump(changed["parts"], sort_keys=False)
    for where, old, new in spec["mend"]:
        assert old in changed[where], f"{old!r} is not in {where}"
        changed[where] = changed[where].replace(old, new, 1) if old else changed[where] + new
    return changed


def test_there_are_cases() -> None:
    assert len(CASES) >= 20


@pytest.mark.parametrize("case", CASES)
def test_what_is_found(case: str, tmp_path: Path) -> None:
    spec = read(case, UNSAFE)
    manual = compute(lay_out(tmp_path, spec))
    reported = "\n".join(as_text(f) for f in manual.findings) + "\n"
    if os.environ.get("UPDATE_EXPECTED"):
        path = UNSAFE / f"{case}.yaml"
        head = path.read_text(encoding="utf-8").split("expected: |\n")[0]
        path.write_text(head + "expected: |\n" + textwrap.indent(reported, "  "), encoding="utf-8")
    assert reported == read(case, UNSAFE)["expected"]


@pytest.mark.parametrize("case", CASES)
def test_what_fixes_it(case: str, tmp_path: Path) -> None:
    manual = compute(lay_out(tmp_path, fixed(read(case, UNSAFE))))
    assert [(f.code, f.message) for f in manual.findings if f.code not in NOTED] == []
    assert "dish" in manual.sheets


@pytest.mark.parametrize("case", CASES)
def test_each_line_offered_clears_its_finding(case: str, tmp_path: Path) -> None:
    """A line offered under "Write:", pasted over the quoted one, takes its finding away, and brings
    no other."""
    spec = read(case, UNSAFE)
    lay_out(tmp_path, spec)
    before = compute(tmp_path).findings
    known = {(f.code, f.place.file, f.place.line) for f in before}
    for finding in before:
        for line in finding.write:
            path = tmp_path / finding.place.file
            text = path.read_text(encoding="utf-8")
            lines = text.splitlines(keepends=True)
            old = lines[finding.place.line - 1]
            lines[finding.place.line - 1] = old[: len(old) - len(old.lstrip())] + line + "\n"
            path.write_text("".join(lines), encoding="utf-8")
            found = [f for f in compute(tmp_path).findings if f.code not in NOTED]
            after = {(f.code, f.place.file, f.place.line) for f in found}
            assert (finding.code, finding.place.file, finding.place.line) not in after, line
            if finding.code not in OF_THE_FOOD:
                assert after <= known, line
            path.write_text(text, encoding="utf-8")
