"""What was read of a file is kept by its bytes: read again it is the same, and no other file's."""

from __future__ import annotations

import os
import pickle
import shutil
from pathlib import Path
from typing import Any

import pytest
from conftest import AS_OF, ROOT, lay

from generator.files import source_text
from generator.files.kept import NOTHING, Kept
from generator.intake import reading
from generator.intake.restored import pickled, unpickled
from generator.intake.standards import Standards
from generator.reference.shared_data import folder_for
from generator.sheet import inputs
from generator.sheet.manual import Manual, make_manual

APPROVAL = "approval: {formulas: {revision: 4, effective: 2026-02-01, approved: Ana}}\n"


def read(project: Path, kept: Kept) -> Standards:
    found = make_manual(project, AS_OF, kept=kept)
    kept.tidied()
    assert isinstance(found, Manual)
    return found.standards


def counted(patch: pytest.MonkeyPatch, module: Any, name: str) -> list[Any]:
    """What a function is called with from now on."""
    calls: list[Any] = []
    true = getattr(module, name)

    def call(*given: Any) -> Any:
        calls.append(given[1])
        return true(*given)

    patch.setattr(module, name, call)
    return calls


def test_what_was_read_once_is_parsed_no_more(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    project, cache = lay("base", tmp_path / "k"), tmp_path / "cache"
    first = read(project, Kept(cache))
    parsed = counted(monkeypatch, source_text, "read_bytes")
    made = counted(monkeypatch, reading, "validated")
    again = read(project, Kept(cache))
    assert not [one for one in parsed if one.startswith("standards/")] and not made
    assert again == first
    salad = project / "standards/formulas/rice-salad.yaml"
    salad.write_text(salad.read_text("utf-8").replace("2 kg", "3 kg", 1), "utf-8")
    assert read(project, Kept(cache)) == read(project, NOTHING)
    assert parsed.count("standards/formulas/rice-salad.yaml") == 2, "once kept, once without"


def test_a_files_name_and_the_kitchens_approval_count(tmp_path: Path) -> None:
    """The same bytes under another name have other places; the same file is approved otherwise where
    the kitchen approves it."""
    project, cache = lay("base", tmp_path / "k"), tmp_path / "cache"
    read(project, Kept(cache))
    standards = project / "standards"
    salad, other = standards / "formulas/rice-salad.yaml", standards / "formulas/other-salad.yaml"
    other.write_bytes(salad.read_bytes())
    assert read(project, Kept(cache)) == read(project, NOTHING)
    found = read(project, Kept(cache)).formulas["other-salad"]
    assert found.place("name").file == "standards/formulas/other-salad.yaml"
    kept = ("revision:", "effective:", "approved:")
    text = "".join(
        line for line in salad.read_text("utf-8").splitlines(True) if not line.startswith(kept)
    )
    salad.write_text(text, "utf-8")
    kitchen = standards / "kitchen.yaml"
    plain = kitchen.read_text("utf-8")
    for approval in (APPROVAL, APPROVAL.replace("4", "5"), APPROVAL.replace("Ana", "Bo")):
        kitchen.write_text(plain + approval, "utf-8")
        for _ in range(2):
            now = read(project, Kept(cache))
            assert now == read(project, NOTHING)
            assert f"revision: {now.formulas['rice-salad'].revision}" in approval


def test_the_decimal_mark_and_the_cup_count(tmp_path: Path) -> None:
    project, cache = lay("base", tmp_path / "k"), tmp_path / "cache"
    read(project, Kept(cache))
    kitchen = project / "standards/kitchen.yaml"
    plain = kitchen.read_text("utf-8")
    for words in ("cup: metric\n", "decimal: comma\n", ""):
        kitchen.write_text(plain + words, "utf-8")
        first, second = (make_manual(project, AS_OF, kept=Kept(cache)) for _ in range(2))
        clean = make_manual(project, AS_OF)
        assert first.findings == second.findings == clean.findings, words
        if isinstance(clean, Manual) and isinstance(second, Manual):
            assert second.standards == clean.standards


def test_the_reference_data_is_read_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    project, cache = lay("base", tmp_path / "k"), tmp_path / "cache"
    shutil.copytree(ROOT / "shared", project / "shared")
    with (project / "shared/units.yaml").open("a", encoding="utf-8") as file:
        file.write("# Other bytes, so that nobody has read it in this process.\n")
    first = inputs.kept_library(folder_for(project), Kept(cache), "a")
    monkeypatch.setattr(inputs, "read_reference", lambda folder: pytest.fail("read again"))
    again = inputs.kept_library(folder_for(project), Kept(cache), "a")
    assert again.packs == first.packs and again.folder == first.folder
    assert again is not first


def test_bytes_from_elsewhere_call_nothing(tmp_path: Path) -> None:
    class Evil:
        def __reduce__(self) -> Any:
            return os.mkdir, (str(tmp_path / "was-here"),)

    for data in (pickle.dumps(Evil()), b"", b"x", pickle.dumps(os.system)):
        with pytest.raises(ValueError, match=r"^|."):
            unpickled(data)
    assert not (tmp_path / "was-here").exists()
    assert pickled(lambda: 1) is None
