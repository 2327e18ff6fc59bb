"""What lies in a folder, beside a plain oracle: every link followed from the top, each name looked at."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from generator.intake.entries import entries_of, entry_of


@pytest.fixture
def root(tmp_path: Path) -> Path:
    """A project with plain files, a pipe, and links of all kinds; one beside it, and one that links
    to it."""
    root, other = tmp_path / "project", tmp_path / "project-2"
    for folder in (root / "a/b/c", other / "b"):
        folder.mkdir(parents=True)
    for folder in (root, root / "a", root / "a/b", root / "a/b/c", other, other / "b"):
        (folder / "one.yaml").write_text("name: One\n")
        (folder / "inside").symlink_to(root / "a/b")
        (folder / "out").symlink_to(other)
        (folder / "back").symlink_to(other / "back-to-project")
        (folder / "nowhere").symlink_to("gone")
        (folder / "circle").symlink_to("circle")
        (folder / "of-a-file").symlink_to(root / "one.yaml")
        (folder / "out.yaml").symlink_to(other / "one.yaml")
        os.mkfifo(folder / "pipe")
    (other / "back-to-project").symlink_to(root)
    return root


def kind_by_looking(path: Path, root: Path) -> str:
    """The kind of a path, all links followed from the top of the disk."""
    try:
        found = path.stat()
    except OSError:
        return "none"
    if not Path(os.path.realpath(path)).is_relative_to(root):
        return "outside"
    if stat.S_ISREG(found.st_mode):
        return "file"
    return "folder" if stat.S_ISDIR(found.st_mode) else "pipe"


WAYS = (
    *("", "a", "a/b", "a/b/c", "inside", "a/inside/c", "out", "out/b", "a/out/b", "back"),
    *("back/a/b", "a/back/a/out", "inside/../b", "../project/a", "../project-2", "../project-2/b"),
    *("../project-2/back-to-project/a", "../project-2/inside", "a/../../project-2"),
)
"""Ways to a folder, from the project: straight, through links, and round about."""


@pytest.mark.parametrize("way", WAYS)
def test_what_is_listed_is_what_a_look_at_each_finds(root: Path, way: str) -> None:
    folder = root / way
    listed = entries_of(folder, root)
    assert [one.path.name for one in listed] == sorted(one.name for one in folder.iterdir())
    for one in listed:
        expected = kind_by_looking(one.path, root)
        found = one.kind if one.kind not in ("nowhere", "circle") else "none"
        assert found == expected, one
        assert one.is_link is one.path.is_symlink() or expected == "outside"
        assert entry_of(one.path, root) == one
