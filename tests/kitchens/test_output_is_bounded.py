"""A spoiled file costs little time and little text, however it is spoiled."""

from __future__ import annotations

import json
import re
import time
from collections.abc import Callable
from html import unescape
from pathlib import Path

import pytest
from click.testing import CliRunner
from conftest import compute, edit, lay
from synthetic import synthetic_kitchen

from generator.cli import cli
from generator.files.finding import (
    MOST_READ,
    Finding,
    Place,
    as_text,
    bounded,
    counts,
    printed,
    total_words,
)
from generator.pages.finding import finding_pages, stopped_pages
from generator.sheet.manual import Manual

pytestmark = pytest.mark.usefixtures("made_anew")

MOST_BYTES, MOST_SECONDS = 200_000, 2.0


@pytest.fixture(autouse=True)
def warm(clean: Manual) -> Manual:
    """Reference data is read once a process, before anything is timed."""
    return clean


def timed(project: Path) -> tuple[Manual, str, float]:
    begun = time.process_time()
    manual = compute(project)
    text = printed(manual.findings)
    return manual, text, time.process_time() - begun


SPOILED: dict[str, tuple[str, Callable[[str], str]]] = {
    "a megabyte of NULs": ("formulas/pork-bake.yaml", lambda text: "\0" * 1_000_000),
    "NULs in lines": ("formulas/pork-bake.yaml", lambda text: "\0\n" * 500_000),
    "200,000 tabs": ("formulas/pork-bake.yaml", lambda text: text + "\t\n" * 200_000),
    "200,000 tabs behind colons": (
        "formulas/pork-bake.yaml",
        lambda text: text + "a:\tb\n" * 200_000,
    ),
    "tabs behind colons on one line": (
        "formulas/pork-bake.yaml",
        lambda text: text + "a:\tb" * 200_000,
    ),
    "10,000 unknown keys": (
        "formulas/pork-bake.yaml",
        lambda text: text + "".join(f"k{i}: x\n" for i in range(10_000)),
    ),
    "10,000 unknown keys on one line": (
        "formulas/pork-bake.yaml",
        lambda text: text.replace(
            "targets: {", "targets: {" + "".join(f"k{i}: {{x: 1}}, " for i in range(10_000))
        ),
    ),
    "10,000 unknown keys in braces": (
        "formulas/pork-bake.yaml",
        lambda text: "{" + ", ".join(f"k{i}: x" for i in range(10_000)) + "}\n",
    ),
    "one key twice, 10,000 times": (
        "formulas/pork-bake.yaml",
        lambda text: text + "note: x\n" * 10_000,
    ),
    "10,000 lines without a unit": (
        "formulas/house-spice.yaml",
        lambda text: text.replace(
            "    nutmeg: 30 %", "\n".join(f"    n{i}: 3" for i in range(10_000))
        ),
    ),
    "5,000 unknown ingredients": (
        "formulas/house-spice.yaml",
        lambda text: text.replace(
            "    nutmeg: 30 %", "\n".join(f"    nutmeg-{i}: 1 g" for i in range(5_000))
        ),
    ),
    "10,000 names for ids": (
        "formulas/pork-bake.yaml",
        lambda text: text.replace(
            "base: meat", f"base: [{', '.join(f'Pork No {i}' for i in range(10_000))}]"
        ),
    ),
    "5,000 broken ingredients": (
        "ingredients/all.yaml",
        lambda text: text + "".join(f"i{i}:\n  nam: I{i}\n  species: pork\n" for i in range(5_000)),
    ),
    "10,000 ids that are none": (
        "ingredients/all.yaml",
        lambda text: text + "".join(f"Id {i}: {{name: x}}\n" for i in range(10_000)),
    ),
    "10,000 decimal commas": (
        "formulas/pork-bake.yaml",
        lambda text: text + "note: [" + ", ".join(["1,5"] * 10_000) + "]\n",
    ),
    "one long key": (
        "formulas/pork-bake.yaml",
        lambda text: text + "k" * 1000 + ": x\n" + '"' + "k" * 900_000 + '": x\n',
    ),
    "one long value": (
        "formulas/pork-bake.yaml",
        lambda text: text.replace("station: range", "station: " + "k" * 900_000),
    ),
    "one long word": (
        "ingredients/all.yaml",
        lambda text: text.replace("species: pork", "species: " + "p" * 900_000),
    ),
    "brackets": ("formulas/pork-bake.yaml", lambda text: "[" * 500_000),
    "brackets side by side": (
        "formulas/pork-bake.yaml",
        lambda text: text + "note: [" + "[], " * 50_000 + "]\n",
    ),
    "dashes": ("formulas/pork-bake.yaml", lambda text: "- " * 400_000),
    "question marks": ("formulas/pork-bake.yaml", lambda text: "? " * 400_000),
    "aliases": (
        "formulas/pork-bake.yaml",
        lambda text: text + "note: [" + "*a, " * 200_000 + "]\n",
    ),
    "escapes": (
        "formulas/pork-bake.yaml",
        lambda text: text + 'note: "' + "\\x1b" * 200_000 + '"\n',
    ),
    "no text": ("formulas/pork-bake.yaml", lambda text: "\udcff" * 1_000_000),
    "1,000 steps": ("processes/toss.yaml", lambda text: text + "  - {do: frobnicate}\n" * 1_000),
}


@pytest.mark.parametrize("how", SPOILED)
def test_a_spoiled_file_costs_little(kitchen: Path, how: str) -> None:
    file, spoil = SPOILED[how]
    path = kitchen / "standards" / file
    spoiled = spoil(path.read_text(encoding="utf-8"))
    path.write_bytes(spoiled.encode("utf-8", "surrogateescape"))
    manual, text, seconds = timed(kitchen)
    size = len(text.encode("utf-8"))
    print(f"\n{how}: {seconds:.2f} s, {size} bytes, {total_words(manual.findings)}")
    assert manual.errors
    assert size <= MOST_BYTES
    assert seconds <= MOST_SECONDS
    assert len(json.dumps([f.message for f in manual.findings])) < 5_000_000


def test_three_thousand_broken_formulas_cost_no_more_than_sound_ones(tmp_path: Path) -> None:
    """3,000 sound formulas take minutes of a test's day: 100 of each are compared."""
    sound = synthetic_kitchen(tmp_path / "sound", 100)
    broken = synthetic_kitchen(tmp_path / "broken", 100)
    spoil_all(broken)
    _, _, with_none = timed(sound)
    _, _, with_all = timed(broken)
    print(f"\n100 sound {with_none:.2f} s, 100 broken {with_all:.2f} s")
    assert with_all <= with_none


def spoil_all(project: Path) -> None:
    for path in (project / "standards/formulas").glob("made-*.yaml"):
        text = path.read_text(encoding="utf-8")
        path.write_text(text.replace("process: ", "process: no-").replace(": 1 %", ": 1"), "utf-8")


@pytest.mark.slow
def test_three_thousand_broken_formulas(tmp_path: Path) -> None:
    sound = synthetic_kitchen(tmp_path / "sound", 3000)
    broken = synthetic_kitchen(tmp_path / "broken", 3000)
    spoil_all(broken)
    _, _, with_none = timed(sound)
    manual, text, with_all = timed(broken)
    print(f"\n3,000 sound {with_none:.1f} s, broken {with_all:.1f} s, {len(text)} bytes")
    assert len(manual.stopped) >= 3000
    assert with_all <= with_none and len(text.encode("utf-8")) <= MOST_BYTES


@pytest.mark.parametrize("many", [320, pytest.param(1000, marks=pytest.mark.slow)])
def test_hundreds_of_broken_formulas_are_cut_with_their_number(many: int, tmp_path: Path) -> None:
    project = synthetic_kitchen(tmp_path / "kitchen", many)
    spoil_all(project)
    ran = CliRunner().invoke(cli, ["check", "--project", str(project), "--as-of", "2026-11-25"])
    assert ran.exit_code == 1
    assert len(ran.output.encode("utf-8")) <= MOST_BYTES
    rest = re.search(r"^and ([\d,]+) errors.* more\. Fix these first\.$", ran.output, re.MULTILINE)
    assert rest is not None
    shown = len(re.findall(r": error: ", ran.output))
    total = counts(compute(project).findings)["error"]
    assert shown + int(rest[1].replace(",", "")) == total
    assert f"{total:,} errors" in ran.output.splitlines()[-1]


def test_twenty_of_a_kind_and_the_number_of_the_rest(kitchen: Path) -> None:
    path = kitchen / "standards/formulas/pork-bake.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text + "a:\tb\n" * 4096, encoding="utf-8")
    manual = compute(kitchen)
    reported = printed(manual.findings)
    assert reported.count("There is a tab here") == 20
    assert reported.endswith(
        "      and 4,076 more [tab-indent] in standards/formulas/pork-bake.yaml"
    )
    assert counts(manual.findings)["error"] == 4096
    assert total_words(manual.findings) == "4,096 errors"
    for form, words in (
        ("json", f'"more": {4096 - MOST_READ}'),
        ("github", "And 4%2C076 more"),
        ("text", "4,096 errors"),
    ):
        command = ["check", "--project", str(kitchen), "--as-of", "2026-11-25", "--format", form]
        ran = CliRunner().invoke(cli, command)
        assert ran.exit_code == 1
        assert words in ran.output or words.replace("%2C", ",") in ran.output


def test_other_files_and_other_codes_have_their_own_twenty() -> None:
    def of(code: str, file: str) -> list[Finding]:
        return [Finding(code, "error", f"No. {i}.", Place(file, i + 1)) for i in range(25)]

    kept = bounded([*of("a", "x"), *of("b", "x"), *of("a", "y")])
    assert len(kept) == 60 and [f.more for f in kept if f.more] == [5, 5, 5]
    assert counts(kept)["error"] == 75
    assert counts(bounded(kept)) == counts(kept), "bounded twice counts the same"


@pytest.mark.parametrize("column", [1, 40, 150, 5_000, 9_990])
def test_a_long_line_is_clipped_round_the_place(column: int) -> None:
    line = "".join(chr(97 + i % 26) for i in range(10_000))
    place = Place("x.yaml", 7, column, line, 6)
    _, quoted, caret, *_ = as_text(Finding("a", "error", "Wrong.", place)).split("\n")
    assert len(quoted) < 180
    start = caret.index("^")
    assert quoted[start : start + 6] == line[column - 1 : column + 5]
    assert caret.count("^") == 6


def test_a_fault_longer_than_the_line_printed_is_marked_from_its_start() -> None:
    place = Place("x.yaml", 7, 3, "a " + "b" * 10_000, 10_000)
    _, quoted, caret, *_ = as_text(Finding("a", "error", "Wrong.", place)).split("\n")
    assert quoted.startswith("    7 | a bbb") and quoted.endswith("…") and len(quoted) < 180
    assert caret.startswith("      |   ^^^") and len(caret) <= len(quoted)


def test_looking_places_up_grows_in_a_straight_line(tmp_path: Path) -> None:
    """Four times the lines take about four times as long, not sixteen."""
    spent = []
    for many in (2_000, 8_000):
        project = lay("base", tmp_path / str(many))
        lines = "\n".join(f"    nutmeg-{i}: 1" for i in range(many))
        edit(project, "formulas/house-spice.yaml", "    nutmeg: 30 %", lines)
        spent.append(min(timed(project)[2] for _ in range(2)))
    print(f"\n2,000 lines {spent[0]:.2f} s, 8,000 lines {spent[1]:.2f} s")
    assert spent[1] < 8 * spent[0] + 0.2


def test_a_page_of_findings_is_bounded_too(kitchen: Path) -> None:
    """`serve` shows them in the page: one line of 240,000 signs, and 4,096 faults of a kind."""
    path = kitchen / "standards/formulas/pork-bake.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text + "".join(f"k{i}: x\n" for i in range(4096)), encoding="utf-8")
    path = kitchen / "standards/formulas/rice-salad.yaml"
    path.write_text(path.read_text("utf-8") + "a: {" + "b: c, " * 40_000 + "}\n", "utf-8")
    manual = compute(kitchen)
    pages = [*stopped_pages(manual), *finding_pages(manual)]
    assert len(pages) == 3
    assert max(len(page.html) for page in pages) < MOST_BYTES
    assert any("and 4,076 more in this file" in unescape(page.html) for page in pages)
