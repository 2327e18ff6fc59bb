"""What lies in a folder of standards: files, and what only looks like one."""

from __future__ import annotations

import errno
import os
import stat
from dataclasses import dataclass
from operator import attrgetter
from pathlib import Path

from generator.files.finding import Finding, Place

_REGULAR = ("file", "folder")
_HELP = {
    "outside": "Copy the file into the project.",
    "nowhere": "Delete the link, or put the file itself here.",
    "circle": "Delete the link, or put the file itself here.",
    "unreadable": "Ask its owner for the right to read it.",
}
_OTHER = "Move it away. Standards are plain files."


@dataclass(frozen=True)
class Entry:
    """One name in a folder. ``kind`` is ``file``, ``folder``, or why it is neither."""

    path: Path
    kind: str
    words: str = ""
    is_link: bool = False

    @property
    def is_sound(self) -> bool:
        return self.kind in _REGULAR

    def finding(self, file: str, as_file: bool = True) -> Finding:
        """What keeps it from being read, as an error; ``file`` is how findings name it."""
        code, words, help = "file-unreadable", self.words, _HELP.get(self.kind, _OTHER)
        if self.kind == "folder" and as_file:
            words, help = "a folder with a file's name", "Rename the folder, or move its files up."
        elif self.kind == "file":
            words, help = "a file where a folder is expected", "Move it. Its name is for a folder."
        elif self.kind == "outside":
            code = "link-outside"
        return Finding(code, "error", f"This is {words}.", Place(file), help)


def entry_of(path: Path, root: Path) -> Entry:
    """What ``path`` is, without opening it. A link counts as what it leads to, if that lies under
    ``root``, the project's folder with all links followed."""
    return _entry(path, root, _is_inside(path.parent, root))


def _is_inside(folder: Path, root: Path) -> bool:
    """Whether ``folder``, with all links followed, lies under ``root``. One that is named below
    ``root`` is looked at from there on; any other, or one behind a link, from the top."""
    below, start = os.fspath(folder), os.fspath(root)
    if below == start:
        return True
    if below.startswith(start + os.sep) and ".." not in folder.parts:
        try:
            while below != start:
                if stat.S_ISLNK(os.lstat(below).st_mode):
                    return folder.resolve().is_relative_to(root)
                below = below.rpartition(os.sep)[0]
        except OSError:
            return folder.resolve().is_relative_to(root)
        return True
    return folder.resolve().is_relative_to(root)


def _entry(path: Path, root: Path, inside: bool) -> Entry:
    """``inside``: the folder of ``path`` is one under ``root``, whatever links lead to it."""
    try:
        mode = path.lstat().st_mode
    except OSError as error:
        return Entry(path, "unreadable", _unreadable(error))
    is_link = stat.S_ISLNK(mode)
    if is_link or not inside:
        try:
            target = path.resolve(strict=True)
        except RuntimeError:  # a circle, before Python 3.13
            return Entry(path, "circle", "a link that leads back to itself", True)
        except OSError as error:
            if error.errno == errno.ELOOP:
                return Entry(path, "circle", "a link that leads back to itself", True)
            return Entry(path, "nowhere", "a link that leads nowhere", True)
        if not target.is_relative_to(root):
            words = "a link that leads out of the project" if is_link else "outside the project"
            return Entry(path, "outside", words, is_link)
        mode = target.stat().st_mode
    kind, words = _kind(mode)
    return Entry(path, kind, words, is_link)


def _kind(mode: int) -> tuple[str, str]:
    if stat.S_ISREG(mode):
        return "file", ""
    if stat.S_ISDIR(mode):
        return "folder", ""
    if stat.S_ISFIFO(mode):
        return "pipe", "a pipe between programs, not a file"
    if stat.S_ISSOCK(mode):
        return "socket", "a socket between programs, not a file"
    return "device", "a device, not a file"


def _unreadable(error: OSError) -> str:
    return f"something that can't be looked at: {error.strerror or 'unknown reason'}"


def entries_of(folder: Path, root: Path) -> list[Entry]:
    """What lies in ``folder``, by name. Raises OSError where it can't be listed."""
    with os.scandir(folder) as found:
        listed = sorted(found, key=attrgetter("name"))
    inside = _is_inside(folder, root)
    looked = inside and os.access(folder, os.X_OK)  # else no name in it can be looked at
    return [
        (looked and _listed(folder, one)) or _entry(folder / one.name, root, inside)
        for one in listed
    ]


def _listed(folder: Path, found: os.DirEntry[str]) -> Entry | None:
    """A plain file or a folder, as the list of ``folder`` says without another look; None for
    anything else."""
    try:
        if found.is_file(follow_symlinks=False):
            return Entry(folder / found.name, "file")
        if found.is_dir(follow_symlinks=False):
            return Entry(folder / found.name, "folder")
    except OSError:
        return None
    return None


def folder_unreadable(error: OSError, file: str) -> Finding:
    """A folder that can't be listed, as a finding."""
    words = f"This folder can't be opened: {error.strerror or 'unknown reason'}."
    return Finding("folder-unreadable", "error", words, Place(file), _HELP["unreadable"])
