"""What lies under standards/ and is read by nothing: reported, so that no recipe vanishes in
silence."""

from __future__ import annotations

import difflib
import os
import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path

from generator.files.finding import Finding, Place, Severity
from generator.intake.entries import Entry, entries_of, entry_of, folder_unreadable

FOLDERS = ("formulas", "processes", "ingredients", "equipment", "stations", "plans", "records")
ALONE = ("kitchen.yaml", "print-register.yaml")
"""Files that are in ``standards`` itself."""
OFFICE = "office"
"""Prices and suppliers: never opened by a crew build."""
_YAML = re.compile(r"(?i)(^|\.)ya?ml(\.txt)?$")
_MOST = 20_000


def unread_files(standards: Path, top: str, root: Path) -> list[Finding]:
    """A finding for everything in ``standards`` that is where nothing looks for it, or can't be
    looked at: a YAML file a warning, another file a note, a link out of the project an error.

    ``top`` is how findings name the folder, ``root`` the project with all links followed. Links to
    folders are not followed; hidden files of other programs are left out.
    """
    if not os.path.lexists(standards):
        return []
    entry = entry_of(standards, root)
    if entry.kind != "folder":
        return [entry.finding(top, as_file=False)]
    looked = _Looked(standards, top, root)
    looked.into(())
    return looked.found


@dataclass
class _Looked:
    """Going through the folders, and what was found."""

    standards: Path
    top: str
    root: Path
    found: list[Finding] = field(default_factory=list)
    count: int = 0

    def into(self, inside: tuple[str, ...]) -> None:
        folder = self.standards.joinpath(*inside)
        file = "/".join([self.top, *inside])
        try:
            entries = entries_of(folder, self.root)
        except OSError as error:
            if not (len(inside) == 1 and inside[0] in FOLDERS):  # reported where it is read
                self.found.append(folder_unreadable(error, file))
            return
        for entry in entries:
            self.count += 1
            if self.count > _MOST:
                self.stop(file)
                return
            self.found.extend(self.about(entry, inside))
            if entry.kind == "folder" and not entry.is_link and self.is_searched(entry, inside):
                self.into((*inside, entry.path.name))

    def is_searched(self, entry: Entry, inside: tuple[str, ...]) -> bool:
        name = entry.path.name
        return not name.startswith(".") and (bool(inside) or name.lower() != OFFICE)

    def stop(self, file: str) -> None:
        if self.found and self.found[-1].code == "files-too-many":
            return
        words = f"There are more than {_MOST} files and folders here. The rest was not read."
        help = "Keep only standards here."
        self.found.append(Finding("files-too-many", "error", words, Place(file), help))

    def about(self, entry: Entry, inside: tuple[str, ...]) -> Iterator[Finding]:
        """What is reported of one entry of a folder: at most one finding."""
        name = entry.path.name
        file = "/".join([self.top, *inside, name])
        hidden = name.startswith(".")
        if _is_read(inside, name) or (not inside and name.lower() == OFFICE):
            return
        if not entry.is_sound and (not hidden or entry.kind == "outside"):
            yield _severe(entry.finding(file))
        elif entry.kind == "folder":
            yield from _of_a_folder(entry, file)
        elif _YAML.search(name):
            help = _help(inside, name, self.top)
            yield _unread(file, "warning", "Nothing reads this file.", help)
        elif not hidden:
            yield _unread(file, "note", "Nothing reads this file.", "Standards end in .yaml.")


def _of_a_folder(entry: Entry, file: str) -> Iterator[Finding]:
    """A folder that can hold no standards, though it looks as if it did."""
    words = ""
    if entry.is_link:
        words = "a link to a folder"
    elif _YAML.search(entry.path.name):
        words = "a folder with a file's name"
    if words:
        yield _unread(file, "warning", f"Nothing reads this: it is {words}.", "Move its files up.")


def _severe(finding: Finding) -> Finding:
    """An error for a link out of the project; a warning for what no formula can be."""
    return finding if finding.code == "link-outside" else replace(finding, severity="warning")


def _unread(file: str, severity: Severity, words: str, help: str) -> Finding:
    return Finding("file-not-read", severity, words, Place(file), help)


def _is_read(inside: tuple[str, ...], name: str) -> bool:
    """Whether what is so named is looked at where its folder is read, and reported there."""
    if not inside:
        return name in ALONE or name in FOLDERS
    ending = name.lower()
    return len(inside) == 1 and inside[0] in FOLDERS and ending.endswith((".yaml", ".yml"))


def _help(inside: tuple[str, ...], name: str, top: str) -> str:
    known = ", ".join(FOLDERS)
    ending = name[name.find(".") :].lower()
    if ending.endswith(".txt"):
        return "Its name ends in .txt. Standards end in .yaml."
    if not inside and ending != ".yaml":
        return "Only kitchen.yaml belongs here. Its name ends in .yaml."
    if not inside:
        return f"Only kitchen.yaml belongs here. Move it into one of {known}."
    if inside[0] in FOLDERS:
        return f"Folders inside {top}/{inside[0]} are not read. Move it up into {top}/{inside[0]}."
    near = difflib.get_close_matches(inside[0].lower(), FOLDERS, n=1, cutoff=0.7)
    if near:
        return f"Did you mean the folder {top}/{near[0]}?"
    return f"Folders read: {known}."
