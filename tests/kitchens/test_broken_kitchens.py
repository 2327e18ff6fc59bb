"""Broken kitchens: each case's findings, word for word.

``UPDATE_EXPECTED=1`` writes what is found now; read the difference before committing it.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from conftest import BROKEN, READ, compute, edit, lay
from mutants import accounted

from generator.files import source_text
from generator.files.finding import as_text
from generator.pages import make_pages
from generator.sheet.manual import Manual

CASES = sorted(p.name for p in BROKEN.iterdir() if p.is_dir() and p.name != "base")


def as_told(manual: Manual) -> str:
    return "\n".join(as_text(f) for f in manual.findings) + "\n"


def told(project: Path) -> str:
    return as_told(compute(project))


def test_there_are_enough_cases() -> None:
    assert len(CASES) >= 45


def test_the_clean_kitchen_is_clean(kitchen: Path) -> None:
    manual = compute(kitchen)
    assert manual.findings == ()
    assert set(manual.sheets) == {"pork-bake", "house-spice", "rice-salad"}


@pytest.mark.parametrize("case", CASES)
def test_findings(case: str, tmp_path: Path) -> None:
    """Each is found in these words, and no formula vanishes in silence."""
    manual = compute(lay(case, tmp_path / "kitchen"))
    accounted(manual)
    found = as_told(manual)
    expected = BROKEN / case / "expected.txt"
    if os.environ.get("UPDATE_EXPECTED"):
        expected.write_text(found, encoding="utf-8")
    assert found == expected.read_text(encoding="utf-8")
    assert found.strip(), "a broken kitchen has a finding"


@pytest.mark.parametrize("case", CASES[::20])
def test_a_tree_is_left_as_it_was_read(
    case: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """So that ``conftest`` may read a file once for all kitchens that have it."""
    documents = []

    def noted(raw: bytes, file: str) -> source_text.Document:
        document = READ(raw, file)
        documents.append((raw, document))
        return document

    monkeypatch.setattr(source_text, "read_bytes", noted)
    make_pages(compute(lay(case, tmp_path / "kitchen")))
    assert len(documents) > 5
    for raw, document in documents:
        fresh = READ(raw, document.file)
        assert (document.tree, document.findings) == (fresh.tree, fresh.findings), document.file


def test_not_utf_8(kitchen: Path) -> None:
    path = kitchen / "standards" / "stations" / "pass.yaml"
    path.write_bytes("name: Pass\nabout: Café\n".encode("latin-1"))
    assert told(kitchen).startswith(
        "standards/stations/pass.yaml:2:11: error: This file isn't UTF-8 text. [not-utf-8]\n"
        "    2 | about: Caf\N{REPLACEMENT CHARACTER}\n"
        "      |           ^\n"
        "      Save it again as UTF-8; in most editors: Save with encoding, UTF-8.\n"
    )


def test_too_large(kitchen: Path) -> None:
    path = kitchen / "standards" / "stations" / "pass.yaml"
    path.write_text("name: Pass\n" + "# filler\n" * 130_000)
    assert (
        "standards/stations/pass.yaml: error: This file has 1170011 bytes; at most 1048576 are "
        "read." in told(kitchen)
    )


def test_nested_too_deep(kitchen: Path) -> None:
    path = kitchen / "standards" / "stations" / "pass.yaml"
    path.write_text("name: " + "[" * 40 + "]" * 40 + "\n")
    assert (
        "pass.yaml:1:26: error: This is nested more than 20 levels deep. [nested-too-deep]"
        in told(kitchen)
    )


def test_an_alias_bomb_is_refused_at_once(kitchen: Path) -> None:
    path = kitchen / "standards" / "stations" / "pass.yaml"
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 10)}]" for i in range(1, 12)]
    path.write_text("\n".join(lines) + "\n")
    assert "`&a0` names a place to point to. [alias-refused]" in told(kitchen)


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
    """Targets mostly stand one a line; a fault in the second is not the first one's."""
    old = "targets: {bake: core 72 °C}"
    edit(kitchen, "formulas/pork-bake.yaml", old, "targets:\n  chill: to 3 °C\n  bake: core 60 °C")
    assert told(kitchen).splitlines()[:3] == [
        "standards/formulas/pork-bake.yaml:20:9: error: The bake target, core 60 °C, is below "
        "the limit for "
        "comminuted meat and raw eggs pooled or held: 145 °F (63 °C) for 3 min. "
        "[target-below-limit]",
        "   20 |   bake: core 60 °C",
        "      |         ^^^^^^^^^^",
    ]
    assert "      Write: bake: core 71 °C\n         or: bake: core 70 °C for 17 s\n" in told(
        kitchen
    )
    edit(kitchen, "formulas/pork-bake.yaml", "  bake: core 60 °C", "  bake:\n    core: 60 °C")
    assert "   21 |     core: 60 °C\n      |     ^^^^^^^^^^^\n" in told(kitchen)
    assert "      Write: core 71 °C\n         or: core 70 °C for 17 s\n" in told(kitchen)


def test_a_holding_target_of_the_formula_is_mended_there(kitchen: Path) -> None:
    edit(kitchen, "processes/baked.yaml", "  - do: chill\n", "  - do: hold-hot\n  - do: chill\n")
    old = "targets: {bake: core 72 °C}"
    edit(kitchen, "formulas/pork-bake.yaml", old, old[:-1] + ", hold-hot: at 50 °C}")
    assert "Write: targets: {bake: core 72 °C, hold-hot: at 59 °C}\n" in told(kitchen)


def test_a_caution_switched_off_is_found_by_its_key(kitchen: Path) -> None:
    path = kitchen / "standards/formulas/pork-bake.yaml"
    more = "cautions_off:\n  raw-pork: One board only\n  raw-porc: One board only\n"
    path.write_text(path.read_text(encoding="utf-8") + more, encoding="utf-8")
    assert "pork-bake.yaml:23:3: error: There is no caution `raw-porc`" in told(kitchen)


def test_a_verb_of_the_kitchens_own_may_change_nothing(kitchen: Path) -> None:
    """It has to say so: left out, nobody knows whether it cooks."""
    edit(kitchen, "processes/toss.yaml", "  - do: chill", "  - do: garnish\n  - do: chill")
    assert [f.code for f in compute(kitchen).findings] == ["verb-unknown"]
    edit(kitchen, "processes/toss.yaml", "garnish\n", "garnish\n    does: handles\n")
    assert compute(kitchen).findings == ()
    edit(kitchen, "processes/toss.yaml", "does: handles", "does: [none, cooks]")
    assert [f.code for f in compute(kitchen).findings] == ["word-unknown"]


def test_a_verb_nobody_knows_is_never_written_for_another(kitchen: Path) -> None:
    """`stew` is near `store`; who took that offer would lose the cooking limit."""
    edit(kitchen, "processes/baked.yaml", "do: bake", "do: stew")
    (found,) = compute(kitchen).errors
    assert (found.code, found.write) == ("verb-unknown", ())
    assert "store" in found.help and "does: cooks" in found.help
