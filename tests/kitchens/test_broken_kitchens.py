"""Broken kitchens: each case's findings, word for word, and that each fix fixes.

``UPDATE_EXPECTED=1`` writes what is found now into the tables; read the difference before
committing it.
"""

from __future__ import annotations

import dataclasses
import functools
import os
from pathlib import Path

import pytest
from broken_kitchens import BASES, KITCHENS, TABLES, expect, read_table, replaced
from conftest import READ, compute, edit, lay
from mutants import accounted

from generator.files import source_text
from generator.files.finding import Finding, as_text
from generator.pages import make_pages
from generator.sheet.manual import Broken, Manual

CASES = sorted(KITCHENS)
ELSEWHERE = {
    "unit-weight-missing",
    "fill-missing",
    "portion-missing",
    "slice-needs-length",
    "target-missing",
}
"""Findings whose fix is in another place than the line they quote."""


def as_reported(manual: Manual) -> str:
    return "\n".join(as_text(f) for f in manual.findings) + "\n"


def reported(project: Path) -> str:
    return as_reported(compute(project))


def test_every_broken_kitchen_stands_in_a_table() -> None:
    """A folder of changed files, or a table of another ending, would be read by nobody."""
    assert len(CASES) >= 330
    assert {p.name for p in TABLES.iterdir() if p.suffix != ".yaml"} == set()
    assert {p.name for p in TABLES.parent.iterdir() if p.is_dir() and p.name != "__pycache__"} == {
        "base",
        "broken",
        "england",
        "honest",
        "second_kitchen",
        "unsafe",
    }


def test_a_place_to_edit_stands_once() -> None:
    edit = {"file": "a.yaml", "old": "salt: 1", "new": "salt: 2"}
    assert replaced("salt: 1 %\n", edit) == "salt: 2 %\n"
    for text, times in (("pepper: 1\n", 0), ("salt: 1\nsalt: 10\n", 2)):
        with pytest.raises(AssertionError, match=f"stands {times} times in a.yaml"):
            replaced(text, edit)


@pytest.mark.parametrize(
    ("entry", "why"),
    [
        ("{file: a.yaml, old: x, new: y, text: z}", "an edit is"),
        ("{file: a.yaml, old: x}", "an edit is"),
        ("{file: a.yaml, old: x, new: x}", "left as is"),
        ("{file: a.yaml, old: x, new: 5}", "quote"),
        ("{file: a.yaml, old: x, new: }", "quote"),
    ],
)
def test_an_edit_that_can_not_be_meant_is_refused(tmp_path: Path, entry: str, why: str) -> None:
    table = tmp_path / "t.yaml"
    table.write_text(f"- name: one\n  edits:\n    - {entry}\n  expected: |\n    x\n")
    with pytest.raises(AssertionError, match=why):
        read_table(table)


def test_what_is_expected_is_written_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of the first, a middle and the last entry of a table; and back to what it was."""
    monkeypatch.delenv("PYTEST_XDIST_WORKER", raising=False)  # its own copy of the table
    for name in ("alias", "many-at-once", max(read_table(TABLES / "syntax.yaml"))):
        table = tmp_path / "syntax.yaml"
        table.write_bytes((TABLES / "syntax.yaml").read_bytes())
        before, was = table.read_text(encoding="utf-8"), KITCHENS[name]
        monkeypatch.setitem(KITCHENS, name, dataclasses.replace(was, table=table))
        expect(name, "a.yaml:1:1: error: One.\n\n    1 | x\n")
        assert read_table(table)[name].expected == "a.yaml:1:1: error: One.\n\n    1 | x\n"
        expect(name, was.expected)
        assert table.read_text(encoding="utf-8") == before


def test_the_clean_kitchen_is_clean(kitchen: Path) -> None:
    manual = compute(kitchen)
    assert manual.findings == ()
    assert set(manual.sheets) == {"pork-bake", "house-spice", "rice-salad"}


@pytest.mark.parametrize("base", BASES)
def test_what_a_broken_kitchen_is_laid_over_has_no_error(base: str, tmp_path: Path) -> None:
    manual = compute(lay(base, tmp_path / "kitchen"))
    assert manual.errors == () and not manual.stopped


@pytest.mark.parametrize("case", CASES)
def test_findings_and_their_fixes(case: str, tmp_path: Path) -> None:
    """Each is found in these words, no formula vanishes in silence, and each fix fixes. (Its pages
    are drawn once too, of the kitchen written with commas: ``test_decimal_mark``.)"""
    project = lay(case, tmp_path / "kitchen")
    manual = compute(project)
    accounted(manual)
    found = as_reported(manual)
    assert found.strip(), "a broken kitchen has a finding"
    if os.environ.get("UPDATE_EXPECTED"):
        expect(case, found)
    else:
        assert found == KITCHENS[case].expected
    for finding in manual.findings:
        if finding.place.line and finding.code not in ELSEWHERE:
            fixes(finding, project, manual, case in MORE_THAN_THE_LINE)


MORE_THAN_THE_LINE = {"decimal-word", "house-limit-unknown"}
"""Kitchens whose fix lets another line be read otherwise, or lets a limit apply at last."""


def fixes(found: Finding, project: Path, before: Manual | Broken, chained: bool = False) -> None:
    """The line a finding says to write, written, takes the finding away and brings no error: not on
    that line, and nowhere else unless the fix is ``chained``: lets other lines be read."""
    path = project / found.place.file
    whole = path.read_text(encoding="utf-8")
    known = {(f.code, f.place.file, f.place.line) for f in before.errors}
    for fix in found.write:
        lines = whole.split("\n")
        old = lines[found.place.line - 1]
        lines[found.place.line - 1] = old[: len(old) - len(old.lstrip())] + fix
        path.write_text("\n".join(lines), encoding="utf-8")
        after = compute(project)
        left = {
            (f.code, f.place.line, f.place.column)  # one of several on the line
            for f in after.findings
            if f.place.file == found.place.file
        }
        assert (found.code, found.place.line, found.place.column) not in left, fix
        new = {(f.code, f.place.file, f.place.line) for f in after.errors} - known
        if chained:
            new = {at for at in new if at[1:] == (found.place.file, found.place.line)}
        assert new == set(), fix
    path.write_text(whole, encoding="utf-8")


_used, _fresh = (functools.lru_cache(512)(READ) for _ in range(2))
"""Files read for these kitchens, and once more for nobody: what one kitchen changed in a tree is
still changed when the next is done."""


@pytest.mark.parametrize("case", CASES[::20])
def test_a_tree_is_left_as_it_was_read(
    case: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """So that ``conftest`` may read a file once for all kitchens that have it."""
    documents = []

    def noted(raw: bytes, file: str) -> source_text.Document:
        document = _used(raw, file)
        documents.append((raw, document))
        return document

    monkeypatch.setattr(source_text, "read_bytes", noted)
    make_pages(compute(lay(case, tmp_path / "kitchen")))
    assert len(documents) > 5
    for raw, document in documents:
        fresh = _fresh(raw, document.file)
        assert document is not fresh
        assert (document.tree, document.findings) == (fresh.tree, fresh.findings), document.file


def test_not_utf_8(kitchen: Path) -> None:
    path = kitchen / "standards" / "stations" / "pass.yaml"
    path.write_bytes("name: Pass\nabout: Café\n".encode("latin-1"))
    assert reported(kitchen).startswith(
        "standards/stations/pass.yaml:2:11: error: This file isn't UTF-8 text. [not-utf-8]\n"
        "    2 | about: Caf\N{REPLACEMENT CHARACTER}\n"
        "      |           ^\n"
        "      Save it again as UTF-8. In most editors: Save with encoding, UTF-8.\n"
    )


def test_too_large(kitchen: Path) -> None:
    path = kitchen / "standards" / "stations" / "pass.yaml"
    path.write_text("name: Pass\n" + "# filler\n" * 130_000)
    assert (
        "standards/stations/pass.yaml: error: This file has 1170011 bytes. At most 1048576 are "
        "read." in reported(kitchen)
    )


def test_nested_too_deep(kitchen: Path) -> None:
    path = kitchen / "standards" / "stations" / "pass.yaml"
    path.write_text("name: " + "[" * 40 + "]" * 40 + "\n")
    assert (
        "pass.yaml:1:26: error: This is nested more than 20 levels deep. [nested-too-deep]"
        in reported(kitchen)
    )


def test_an_alias_bomb_is_refused_at_once(kitchen: Path) -> None:
    path = kitchen / "standards" / "stations" / "pass.yaml"
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 10)}]" for i in range(1, 12)]
    path.write_text("\n".join(lines) + "\n")
    assert "`&a0` names a place to point to. [alias-refused]" in reported(kitchen)


def test_a_broken_formula_stops_only_itself(kitchen: Path) -> None:
    edit(kitchen, "formulas/pork-bake.yaml", "salt: 1.6 %", "salt: 1.6")
    manual = compute(kitchen)
    assert set(manual.stopped) == {"pork-bake"}
    assert set(manual.sheets) == {"house-spice", "rice-salad"}


def test_a_formula_made_of_a_broken_one_is_stopped(kitchen: Path) -> None:
    edit(kitchen, "formulas/house-spice.yaml", "nutmeg: 30 %", "nutmeg: 40 %")
    manual = compute(kitchen)
    assert set(manual.stopped) == {"pork-bake", "house-spice"}


def test_a_broken_ingredient_stops_what_it_is_in(kitchen: Path) -> None:
    edit(kitchen, "ingredients/all.yaml", "species: pork", "species: porc")
    manual = compute(kitchen)
    assert set(manual.stopped) == {"pork-bake"}
    assert [f.code for f in manual.errors] == ["species-unknown"]


def test_a_target_is_found_on_its_own_line(kitchen: Path) -> None:
    """Targets mostly are one a line; a fault in the second is not the first one's."""
    old = "targets: {bake: core 72 °C}"
    edit(kitchen, "formulas/pork-bake.yaml", old, "targets:\n  chill: to 3 °C\n  bake: core 60 °C")
    assert reported(kitchen).splitlines()[:3] == [
        "standards/formulas/pork-bake.yaml:20:9: error: The bake target, core 60 °C, is below "
        "the limit for "
        "comminuted meat and raw eggs pooled or held: 145 °F (63 °C) for 3 min. "
        "[target-below-limit]",
        "   20 |   bake: core 60 °C",
        "      |         ^^^^^^^^^^",
    ]
    assert "      Write: bake: core 71 °C\n         or: bake: core 70 °C for 17 s\n" in reported(
        kitchen
    )
    edit(kitchen, "formulas/pork-bake.yaml", "  bake: core 60 °C", "  bake:\n    core: 60 °C")
    assert "   21 |     core: 60 °C\n      |     ^^^^^^^^^^^\n" in reported(kitchen)
    assert "      Write: core 71 °C\n         or: core 70 °C for 17 s\n" in reported(kitchen)


def test_a_holding_target_of_the_formula_is_fixed_there(kitchen: Path) -> None:
    edit(kitchen, "processes/baked.yaml", "  - do: chill\n", "  - do: hold-hot\n  - do: chill\n")
    old = "targets: {bake: core 72 °C}"
    edit(kitchen, "formulas/pork-bake.yaml", old, old[:-1] + ", hold-hot: at 50 °C}")
    assert "Write: targets: {bake: core 72 °C, hold-hot: at 59 °C}\n" in reported(kitchen)


def test_a_caution_switched_off_is_found_by_its_key(kitchen: Path) -> None:
    path = kitchen / "standards/formulas/pork-bake.yaml"
    more = "cautions_off:\n  raw-pork: One board only\n  raw-porc: One board only\n"
    path.write_text(path.read_text(encoding="utf-8") + more, encoding="utf-8")
    assert "pork-bake.yaml:23:3: error: There is no caution `raw-porc`" in reported(kitchen)


def test_a_verb_of_the_kitchens_own_may_change_nothing(kitchen: Path) -> None:
    """It has to say so: left out, nobody knows whether it cooks."""
    edit(kitchen, "processes/toss.yaml", "  - do: chill", "  - do: garnish\n  - do: chill")
    assert [f.code for f in compute(kitchen).findings] == ["verb-unknown"]
    edit(kitchen, "processes/toss.yaml", "garnish\n", "garnish\n    does: handles\n")
    assert compute(kitchen).findings == ()
    edit(kitchen, "processes/toss.yaml", "does: handles", "does: [none, cooks]")
    assert [f.code for f in compute(kitchen).findings] == ["word-unknown"]


def test_a_verb_nobody_knows_is_never_written_for_another(kitchen: Path) -> None:
    """`stove` is near `store`; who took that offer would lose the cooking limit."""
    edit(kitchen, "processes/baked.yaml", "do: bake", "do: stove")
    (found,) = compute(kitchen).errors
    assert (found.code, found.write) == ("verb-unknown", ())
    assert "store" in found.help and "does: cooks" in found.help


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("baek", "bake"),
        ("hot-hold", "hold-hot"),
        ("defrost", "thaw"),
        ("deep-fry", "fry"),
        ("mince", "grind"),
        ("par-cook", "part-cook"),
        ("pasteurize", "pasteurise"),
        ("dry-cure", "cure"),
        ("prove", "proof"),
        ("rethermalise", "regenerate"),
        ("xyzzy", ""),
    ],
)
def test_a_miss_proposes_three_verbs_at_most(kitchen: Path, typed: str, meant: str) -> None:
    """The nearest first, by spelling or by another name; and how to add one, always."""
    edit(kitchen, "processes/toss.yaml", "  - do: chill", f"  - do: {typed}\n  - do: chill")
    (found,) = compute(kitchen).errors
    hint, _, how = found.help.partition("To use your own")
    assert "write `does` below it" in how
    assert hint.startswith(f"Did you mean `{meant}`") if meant else hint == ""
    assert hint.count("`") <= 6
