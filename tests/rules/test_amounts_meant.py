"""An amount as cooks say it, which can't be read: the answer says what is likely meant, and its fix is
accepted when pasted."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from conftest import BASE, compute


def found(root: Path, amount: str) -> list[tuple[str, tuple[str, ...], str]]:
    shutil.rmtree(root, ignore_errors=True)
    shutil.copytree(BASE, root)
    file = root / "standards/formulas/pork-bake.yaml"
    text = file.read_text()
    assert "salt: 1.6 %" in text
    file.write_text(text.replace("salt: 1.6 %", f"salt: {amount}"))
    findings = compute(root).findings
    return [(f.message, f.write, f.help) for f in findings if f.code == "amount-unreadable"]


@pytest.mark.parametrize(
    ("typed", "fixes"),
    [
        ("40-50 g", ["salt: 40 g", "salt: 50 g"]),
        ("40 to 50 g", ["salt: 40 g", "salt: 50 g"]),
        ("g 48", ["salt: 48 g"]),
        ("half a cup", ["salt: 1/2 cup"]),
    ],
)
def test_the_fix_is_accepted(tmp_path: Path, typed: str, fixes: list[str]) -> None:
    ((message, write, _),) = found(tmp_path / "k", typed)
    assert f"`{typed}`" in message
    assert [fix.strip() for fix in write] == fixes
    for fix in fixes:
        assert found(tmp_path / "k", fix.removeprefix("salt: ")) == []


@pytest.mark.parametrize("typed", ["to taste", "a pinch", "a pinch of salt", "a dash", "q.s."])
def test_what_is_tasted_is_as_needed(tmp_path: Path, typed: str) -> None:
    ((_, _, help),) = found(tmp_path / "k", typed)
    assert "{amount: as needed, usual: 2 g}" in help
    assert found(tmp_path / "k", "{amount: as needed, usual: 2 g}") == []
