"""Files under standards/ that nothing reads: told, so that a recipe doesn't vanish in silence."""

from __future__ import annotations

import difflib
import os
import re
from collections.abc import Iterator
from pathlib import Path

from generator.finding import Finding, Place

FOLDERS = ("formulas", "processes", "ingredients", "equipment", "stations")
ALONE = ("kitchen.yaml", "print-register.yaml")
"""Files that stand in ``standards`` itself."""
OFFICE = "office"
"""Prices and suppliers: never opened by a crew build."""
_YAML = re.compile(r"(?i)\.ya?ml(\.txt)?$")
_MOST = 2000


def unread_files(standards: Path, top: str) -> list[Finding]:
    """A warning for every YAML file in ``standards`` that stands where nothing looks for it.

    ``top`` is how findings name the folder. Links are not followed.
    """
    found: list[Finding] = []
    for folder, name in _files(standards):
        inside = [p for p in folder.split("/") if p]
        ending = name[name.find(".") :]
        if _is_read(inside, name):
            continue
        file = "/".join([top, *inside, name])
        found.append(
            Finding("file-not-read", "warning", "Nothing reads this file.", Place(file), _help(inside, ending, top))
        )  # fmt: skip
    return found


def _files(standards: Path) -> Iterator[tuple[str, str]]:
    """Folder and name of every YAML file, hidden ones and the office left out."""
    count = 0
    for path, folders, names in os.walk(standards):
        relative = os.path.relpath(path, standards).replace(os.sep, "/")
        inside = "" if relative == "." else relative
        folders[:] = sorted(
            f for f in folders if not f.startswith(".") and (inside or f.lower() != OFFICE)
        )
        for name in sorted(names):
            count += 1
            if count > _MOST:
                return
            if _YAML.search(name) and not name.startswith("."):
                yield inside, name


def _is_read(inside: list[str], name: str) -> bool:
    if not inside:
        return name in ALONE
    # an ending in other letters is an error of its own, told where the folder is read
    return len(inside) == 1 and inside[0] in FOLDERS and not name.lower().endswith(".txt")


def _help(inside: list[str], ending: str, top: str) -> str:
    known = ", ".join(FOLDERS)
    if ending.lower().endswith(".txt"):
        return "Its name ends in .txt; standards end in .yaml."
    if not inside and ending.lower() != ".yaml":
        return "Only kitchen.yaml stands here; its name ends in .yaml."
    if not inside:
        return f"Only kitchen.yaml stands here. Move it into one of {known}."
    if inside[0] in FOLDERS:
        return f"Folders inside {top}/{inside[0]} are not read. Move it up into {top}/{inside[0]}."
    near = difflib.get_close_matches(inside[0].lower(), FOLDERS, n=1, cutoff=0.7)
    if near:
        return f"Did you mean the folder {top}/{near[0]}?"
    return f"Folders read: {known}."
