"""A line offered under "Write:", pasted, takes its finding away and brings no other, at no step:
over honest kitchens with one slip each."""

from __future__ import annotations

import random
import re
from pathlib import Path
from typing import Any

import pytest
from conftest import compute, edit
from honest_kitchens import CASES, lay_out, read

from generator.files.finding import Finding

TIMES = ["1 min", "20 min", "2 h", "3 h 30 min", "5 h", "9 h", "30 h"]
TEMPERATURES = [
    *("5 °C", "8 °C", "20 °C", "40 °C", "57 °C", "63 °C", "70 °C", "100 °C"),
    *("40 °F", "170 °F", "200 °F"),
]
DAYS = ["3 days", "7 days", "9 days", "30 days"]
SLIPS = (
    (r"(time: ).*", TIMES),
    (r"(\bat: ).*", TEMPERATURES),
    (r"(target: to ).*", TEMPERATURES),
    (r"(core )-?[0-9.]+ °[CF]", TEMPERATURES),
    (r"((?:cold|dry): )\d+ days?", DAYS),
)
LIKELY = {"target-within-probe-error"}
"""What the same figure in the other scale may bring: it is the likely meaning, and offered first."""
Place = tuple[str, str, int, int]


def with_a_slip(spec: dict[str, Any], by: random.Random) -> dict[str, Any]:
    """The kitchen with one figure in its process or its formula changed."""
    found = [
        (key, match, others)
        for key in ("process", "formula")
        for pattern, others in SLIPS
        for match in re.finditer(pattern, spec.get(key, ""))
    ]
    if not found:
        return spec
    key, match, others = by.choice(found)
    text = spec[key]
    slip = match[1] + by.choice(others)
    return {**spec, key: text[: match.start()] + slip + text[match.end() :]}


def at(found: Finding) -> Place:
    return found.code, found.place.file, found.place.line, found.place.column


def pasted(project: Path, found: Finding, line: str) -> list[Finding]:
    """What is found once ``line`` stands where the finding is; the file is put back."""
    path = project / found.place.file
    text = path.read_text(encoding="utf-8")
    lines = text.splitlines(keepends=True)
    old = lines[found.place.line - 1]
    lines[found.place.line - 1] = old[: len(old) - len(old.lstrip())] + line + "\n"
    path.write_text("".join(lines), encoding="utf-8")
    after = list(compute(project).findings)
    path.write_text(text, encoding="utf-8")
    return after


def hold(seed: int, kitchens: int, folder: Path) -> int:
    """Paste every line offered in so many kitchens; how many there were."""
    by, lines = random.Random(seed), 0
    for number in range(kitchens):
        project = folder / str(number)
        lay_out(project, with_a_slip(read(by.choice(CASES)), by))
        findings = compute(project).findings
        known = {at(f) for f in findings}
        for found in findings:
            for line in found.write:
                after = [at(f) for f in pasted(project, found, line) if f.code not in LIKELY]
                assert at(found) not in after, (found.message, line)
                assert set(after) <= known, (found.message, line, set(after) - known)
                lines += 1
    return lines


def test_each_line_offered_brings_nothing_new(tmp_path: Path) -> None:
    assert hold(17, 50, tmp_path) > 10


@pytest.mark.slow
def test_each_line_offered_brings_nothing_new_in_2000_kitchens(tmp_path: Path) -> None:
    lines = hold(18, 2000, tmp_path)
    print(f"{lines} lines pasted")
    assert lines > 400


FACTS = {
    "name": ["Century egg", "Duck eggs", "Smoked duck", "Duck leg", "Tofu", "Beans in a tin"],
    "species": ["egg", "duck", "none"],
    "state": ["raw", "ready-to-eat", "pasteurised", ""],
    "tcs": ["yes", "no", ""],
    "sealed": ["yes", "", ""],
    "arrives": ["ambient", "cold", "hot", ""],
    "commercially_packed": ["yes", ""],
}
"""What an ingredient may say of itself; what is empty is left out."""


def hold_of_facts(seed: int, kitchens: int, project: Path) -> int:
    """Paste every line offered for so many ingredients of facts thrown together: none brings a
    finding of that ingredient that wasn't there."""
    by, lines = random.Random(seed), 0
    shelf = project / "standards/ingredients/thrown.yaml"
    for _ in range(kitchens):
        facts = {key: by.choice(values) for key, values in FACTS.items()}
        said = ", ".join(f"{key}: {value}" for key, value in facts.items() if value)
        shelf.write_text(f"thrown: {{{said}, allergens: eggs}}\n", encoding="utf-8")
        findings = [f for f in compute(project).findings if f.place.file.endswith("thrown.yaml")]
        known = {f.code for f in findings}
        for found in findings:
            for line in found.write:
                if f"species: {facts['species']}" not in line:
                    continue  # what animal it is decides what else is asked of it
                after = [
                    f.code
                    for f in pasted(project, found, line)
                    if f.place.file.endswith("thrown.yaml")
                ]
                assert set(after) <= known, (said, found.message, line, after)
                lines += 1
    return lines


@pytest.mark.parametrize("kitchens", [40, pytest.param(400, marks=pytest.mark.slow)])
def test_a_fact_offered_contradicts_no_other(kitchen: Path, kitchens: int) -> None:
    edit(
        kitchen,
        "formulas/rice-salad.yaml",
        "cooked-rice: 2 kg",
        "cooked-rice: 2 kg\n    thrown: 90 g",
    )
    assert hold_of_facts(19, kitchens, kitchen) > kitchens / 5
