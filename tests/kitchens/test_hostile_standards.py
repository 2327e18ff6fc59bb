"""What a tired chef types instead: whatever it is, findings come out, sound ones, and no sheet
that rests on a fault."""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from conftest import BASE, compute, edit

from generator.files.finding import as_text
from generator.reference.library import read_reference
from generator.reference.shared_data import installed
from generator.sheet.manual import Broken, Manual

EXPLAINED = read_reference(installed()).explanations
FILES = sorted(p.relative_to(BASE).as_posix() for p in (BASE / "standards").rglob("*.yaml"))

TYPED = [
    "",
    "''",
    "no",
    "yes",
    "none",
    "null",
    "~",
    "1:30",
    "74",
    "74 °C",
    "0,5 °C",
    "1.6",
    "1.6 %",
    "5 kg",
    "1,500 kg",
    "0 g",
    "0 %",
    "100 %",
    "99999999 kg",
    "0.000001 g",
    "[a, b]",
    "[]",
    "{}",
    "{a: b}",
    "[[a]]",
    "[{a: b}]",
    "overnite",
    "2026-02-30",
    "core 75 °C",
    "to 4 °C",
    "core 75 °C for 0 s",
    "core 75",
    "at",
    "9 dishes",
    "5 fills",
    "TODO",
    "Ünïcode",
    "x" * 3000,
    "-1",
    "1e9",
    "&a x",
    "|\n  x",
    "meat",
    "pork-bake",
    "salt",
    "bowl-mixer",
    "raw",
    "chicken",
    "unicorn",
    "1 h",
    "36 h",
    "0 days",
    "1/00 min",
    "2 lb 1,500 oz",
    "1/0 cup",
    "9**9**9",
    "<b>x</b>",
    "{{ x }}",
    "../../etc/passwd",
]

SLIPS: dict[str, Callable[[str], str | None]] = {
    "left out": lambda line: None,
    "twice": lambda line: line + "\n" + line,
    "set in": lambda line: "  " + line,
    "set out": lambda line: line[1:],
    "no space": lambda line: line.replace(": ", ":"),
    "no colon": lambda line: line.replace(":", "", 1),
    "capitals": str.upper,
    "misspelt": lambda line: re.sub(r"^(\s*(?:- )?\w)", r"\1x", line),
    "cut": lambda line: line[: len(line) // 2],
}


def check(project: Path) -> Manual | Broken:
    """Compute a project; every finding must be one a chef can use."""
    manual = compute(project)
    for found in manual.findings:
        reported = as_text(found)
        assert found.code in EXPLAINED, reported
        assert found.message.endswith((".", "?")), reported
        assert len(found.message) < 300, reported[:200]
        assert not re.search(r"Fraction\(|<class|object at 0x|Traceback|\bnan\b", reported), (
            reported
        )
        place = found.place
        if place.line:
            lines = (project / place.file).read_text(encoding="utf-8").split("\n")
            assert lines[place.line - 1] == place.text, reported
            assert 1 <= place.column <= len(place.text) + 1, reported
    for ident in manual.sheets if isinstance(manual, Manual) else ():
        assert not any(ident in f.about for f in manual.errors), f"{ident} has a sheet and an error"
    return manual


@pytest.mark.parametrize("slip", SLIPS)
@pytest.mark.parametrize("file", FILES)
@pytest.mark.parametrize("every", [6, pytest.param(1, marks=pytest.mark.slow)])
def test_slips_of_the_hand(kitchen: Path, file: str, slip: str, every: int) -> None:
    """Property, every line of the clean kitchen, or each sixth, other ones for the next slip:
    nothing is raised, and what is found is sound."""
    path = kitchen / file
    whole = path.read_text(encoding="utf-8")
    lines = whole.split("\n")
    for number, line in enumerate(lines):
        if not line.strip() or (number + list(SLIPS).index(slip)) % every:
            continue
        changed = SLIPS[slip](line)
        rest = [] if changed is None else [changed]
        path.write_text("\n".join([*lines[:number], *rest, *lines[number + 1 :]]), "utf-8")
        manual = check(kitchen)
        if slip == "twice" or (slip == "misspelt" and "equipment" not in file):
            assert manual.findings, f"{line!r} {slip} went by without a word"


VALUES = re.compile(r"(?<=: )(?![\[{])[^,{}\[\]]+(?=[,}]|$)|(?<=[\[ ])[^,{}\[\]:]+(?=[,\]])")


@pytest.mark.parametrize("many", [10, pytest.param(40, marks=pytest.mark.slow)])
@pytest.mark.parametrize("file", FILES)
def test_anything_typed_where_a_value_stands(kitchen: Path, file: str, many: int) -> None:
    """Property, a fixed sample of every value in the clean kitchen against what is typed
    instead."""
    rng = random.Random(file)
    path = kitchen / file
    whole = path.read_text(encoding="utf-8")
    places = [
        (number, match.span())
        for number, line in enumerate(whole.split("\n"))
        for match in VALUES.finditer(line)
    ]
    pairs = [(place, typed) for place in places for typed in TYPED]
    for (number, (start, end)), typed in rng.sample(pairs, min(many, len(pairs))):
        lines = whole.split("\n")
        lines[number] = lines[number][:start] + typed + lines[number][end:]
        path.write_text("\n".join(lines), encoding="utf-8")
        check(kitchen)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("name: Harbour Room", "nmae: Harbour Room"),
        ("adopted_by: Port", "adoptd_by: Port"),
        ("stations: [pass, range]", "stations: [pass, range]\nauthorisations: [{%s}]"),
    ],
)
def test_a_key_misspelt_at_any_depth_is_reported_once(kitchen: Path, old: str, new: str) -> None:
    """Not once more as missing."""
    on_file = (
        "for: cure, authority: Port Sable, document: Variance 12, from: 2026-01-01, "
        "untli: 2027-01-01"
    )
    edit(kitchen, "kitchen.yaml", old, new.replace("%s", on_file))
    assert [f.code for f in compute(kitchen).findings] == ["key-unknown"]


def test_of_ingredients_that_cannot_be_read_none_is_called_unknown(kitchen: Path) -> None:
    """A list in the place of ids with their facts is one fault, not one for each line."""
    (kitchen / "standards/ingredients/all.yaml").write_text("- salt\n- cream\n", encoding="utf-8")
    assert [f.code for f in compute(kitchen).findings] == ["group-expected"]
