"""What files are at a moment: their content, and what the disk says of them, so that a later look
tells whether any changed.

The disk's word for a file is its number, its size and the times of its last write and of its last
change, in ns. Nobody can set the last of them, so a file that was written over, touched, replaced
or given other rights differs in it, as long as the look was later than the change.
"""

from __future__ import annotations

import hashlib
import os
import stat
import time
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path

Mark = tuple[int, int, int, int]
"""A file's number, its size in bytes, when it was written and when it was changed, in ns."""
FOLDER: Mark = (0, 0, 0, 0)
"""What stands for a folder: its own times change with files that come and go."""
_SURE_S = 0.02
"""A file changed twice within a tick of the disk's clock, at most 10 ms, has one time for both."""
_TRIES = 10


class Unsure(Exception):
    """It can't be said for sure what the files are."""


def mark_of(found: os.stat_result) -> Mark:
    """What the disk says of a file."""
    return found.st_ino, found.st_size, found.st_mtime_ns, found.st_ctime_ns


def marks_below(top: Path, left: Collection[str] = (), links: bool = True) -> dict[str, Mark]:
    """What the disk says of each file and folder below ``top``, by its path in it. What is in a
    folder called one of ``left`` at the top isn't looked at. Links aren't followed; without
    ``links`` one makes all unsure, as do devices and pipes. A folder that isn't there is empty.

    Raises Unsure, also where a file is being changed now.
    """
    return _sure(lambda: dict(_below(top, left, links)) if top.exists() else {})


def _sure(look: Callable[[], dict[str, Mark]]) -> dict[str, Mark]:
    """What a look at some files finds, once none of them is being changed. Raises Unsure where that
    doesn't come."""
    for _ in range(_TRIES):
        found = look()
        newest = max((mark[3] for mark in found.values()), default=0)
        if newest < (time.time() - _SURE_S) * 1e9:
            return found
        time.sleep(_SURE_S)
    raise Unsure


def _below(top: Path, left: Collection[str], links: bool) -> Iterator[tuple[str, Mark]]:
    waiting = [("", str(top))]
    while waiting:
        inside, folder = waiting.pop()
        try:
            with os.scandir(folder) as entries:
                for entry in entries:
                    name = f"{inside}{entry.name}"
                    if entry.is_dir(follow_symlinks=False):
                        yield name, FOLDER
                        if inside or entry.name.lower() not in left:
                            waiting.append((f"{name}/", entry.path))
                        continue
                    found = entry.stat(follow_symlinks=False)
                    if not links and not stat.S_ISREG(found.st_mode):
                        raise Unsure
                    yield name, mark_of(found)
        except OSError:
            raise Unsure from None


@dataclass(frozen=True)
class Looked:
    """Files as they were read at a moment: the hash of their names and contents, and what the disk
    said of them."""

    digest: str
    marks: Mapping[tuple[str, str], Mark]


def marks_of(
    folders: Mapping[Path, Collection[str]], files: Iterable[Path]
) -> dict[tuple[str, str], Mark]:
    """What the disk says of some ``files``, those that are there, and of all below some
    ``folders``, each with what isn't looked into at its top; by where they are. Raises Unsure."""
    found: dict[tuple[str, str], Mark] = {}
    for top, left in folders.items():
        if top.is_symlink():
            raise Unsure
        marks = marks_below(top, left, links=False)
        found |= {(str(top), name): mark for name, mark in marks.items()}
    for file in files:
        marks = _sure(partial(_alone, file))
        found |= {(str(file.parent), name): mark for name, mark in marks.items()}
    return found


def _alone(file: Path) -> dict[str, Mark]:
    """What the disk says of a plain file, by its name; empty where there is none. Raises Unsure."""
    try:
        found = file.lstat()
    except FileNotFoundError:
        return {}
    except OSError:
        raise Unsure from None
    if not stat.S_ISREG(found.st_mode):
        raise Unsure
    return {file.name: mark_of(found)}


def looked_at(folders: Mapping[Path, Collection[str]], files: Iterable[Path] = ()) -> Looked:
    """Some ``files`` and all below some ``folders`` as they are read now, each folder with what
    isn't looked into at its top. Raises Unsure."""
    marks = marks_of(folders, files)
    found = hashlib.sha256()
    for place in sorted(marks):
        read = b"" if marks[place] == FOLDER else _content(Path(*place))
        found.update("\0".join(place).encode("utf-8", "surrogateescape") + b"\0" + read)
    return Looked(found.hexdigest(), marks)


def _content(path: Path) -> bytes:
    try:
        return hashlib.sha256(path.read_bytes()).digest()
    except OSError:
        raise Unsure from None
