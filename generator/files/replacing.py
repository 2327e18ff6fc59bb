"""A folder of ours replaced as a whole: made aside, then swapped in; nothing is left half-way.

A work folder ``.NAME-xxxxxxxx`` is beside the folder while it is made. It holds ``lock`` (held
as long as its process lives), ``.gitignore`` (git sees none of it), ``read-me.txt``, ``new`` and,
where the system can't exchange two folders in one move, for an instant ``old``.
"""

from __future__ import annotations

import ctypes
import errno
import os
import re
import shutil
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from generator.files.disk import LOCKS, freed, held, made_folder, take_away

_HOLDS = {"lock", ".lock", ".gitignore", "read-me.txt", "new", "old"}
_UNLOCKED_S = 60 if LOCKS else 86_400
_AT_CWD, _EXCHANGE = -100, 2


def is_ours(folder: Path, mark: str) -> bool:
    """Whether ``folder`` may be replaced: not there, empty, or with the file ``mark`` in it.

    A link never is: what it points to may be somebody else's.
    """
    if folder.is_symlink():
        return False
    if not folder.exists():
        return True
    return folder.is_dir() and (not any(folder.iterdir()) or (folder / mark).is_file())


@contextmanager
def swapped_in(folder: Path) -> Iterator[Path]:
    """A new folder to make and fill, put in the place of ``folder`` when the block ends well.

    What killed runs left is put right first (``healed``). After any exception ``folder`` is as it
    was. Raises OSError if the disk doesn't allow it.
    """
    made = made_folder(folder.parent)
    try:
        healed(folder)
        with made_aside(folder) as aside:
            yield aside / "new"
            _swap(aside / "new", folder, aside / "old")
    finally:
        take_away(made)  # those that are empty: nothing was put in


@contextmanager
def made_aside(folder: Path) -> Iterator[Path]:
    """A work folder beside ``folder``, there as long as the block. Raises OSError."""
    aside = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", dir=folder.parent))
    lock = None
    try:
        lock = _occupied(aside, folder)
        yield aside
    finally:
        shutil.rmtree(aside, ignore_errors=True)
        freed(lock)


def _occupied(aside: Path, folder: Path) -> int | None:
    """The work folder marked as in use: the lock's handle, or None on a system without locks."""
    (aside / ".gitignore").write_text("*\n")
    (aside / "read-me.txt").write_text(
        f"{folder.name} is made here. If no command runs, this folder is left from one that "
        "was killed:\n"
        f"the next `build`, `serve` or `export` clears it. If {folder.name} is missing, `old` "
        "is what it\n"
        f"was, and the same command puts it back.\n"
    )
    if not LOCKS:
        return None
    # Locked first, named second: whoever finds ``lock`` finds it held while its process lives.
    handle = held(aside / ".lock")
    try:
        (aside / ".lock").rename(aside / "lock")
    except BaseException:
        freed(handle)
        raise
    return handle


def healed(folder: Path) -> list[str]:
    """Put right what killed runs left beside ``folder``; returns what was done, in words.

    A folder that is missing because a run was killed between its two moves is put back; work
    folders that no living process holds are cleared. Nothing else is touched.
    """
    reported: list[str] = []
    for aside in sorted(_work_of(folder), key=lambda p: p.stat().st_mtime, reverse=True):
        dead, lock = _is_dead(aside)
        if not dead:
            continue
        try:
            if (aside / "old").is_dir() and not folder.exists() and not folder.is_symlink():
                (aside / "old").rename(folder)
                reported.append(
                    f"{folder} was missing: a command was killed as it replaced it. It is back"
                )
            shutil.rmtree(aside, ignore_errors=True)
        finally:
            freed(lock)
    return reported


def being_made(folder: Path) -> bool:
    """Whether ``folder`` is being made by another run now, or a killed one has left anything."""
    return bool(_work_of(folder))


def _work_of(folder: Path) -> list[Path]:
    """The work folders beside a folder."""
    pattern = re.compile(re.escape(f".{folder.name}-") + "[a-z0-9_]{8}")
    if not folder.parent.is_dir():
        return []
    return [p for p in folder.parent.iterdir() if pattern.fullmatch(p.name) and _is_work(p)]


def _is_work(path: Path) -> bool:
    """Whether a folder holds nothing but what a work folder holds."""
    with suppress(OSError):
        return (
            path.is_dir() and not path.is_symlink() and {p.name for p in path.iterdir()} <= _HOLDS
        )
    return False


def _is_dead(aside: Path) -> tuple[bool, int | None]:
    """Whether nobody works in a work folder, and the lock's handle, held now, if it has one.

    Without a lock (killed before it locked, or an older version's) a minute's age says so; on a
    system without locks a day's.
    """
    lock = aside / "lock"
    if not LOCKS or not lock.is_file():
        return time.time() - aside.stat().st_mtime > _UNLOCKED_S, None
    try:
        return True, held(lock)
    except OSError:
        return False, None


def _swap(new: Path, folder: Path, old: Path) -> None:
    """Put ``new`` in the place of ``folder``: in one move where the system has it, else in two."""
    if not folder.exists():
        new.rename(folder)
        return
    if exchange(new, folder):
        return
    folder.rename(old)
    try:
        new.rename(folder)
    except BaseException:
        old.rename(folder)
        raise


def exchange(one: Path, other: Path) -> bool:
    """Exchange two names in one move (Linux renameat2 with RENAME_EXCHANGE, renameat2(2)); nobody
    ever sees one of them missing. False where the system or the disk has no such move.

    Raises OSError if the disk doesn't allow it.
    """
    call = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None) if _LINUX else None
    if call is None:
        return False
    if not call(_AT_CWD, os.fsencode(one), _AT_CWD, os.fsencode(other), _EXCHANGE):
        return True
    number = ctypes.get_errno()
    if number in (errno.EINVAL, errno.ENOSYS, errno.ENOTSUP):
        return False
    raise OSError(number, os.strerror(number), str(other))


_LINUX = sys.platform.startswith("linux")
