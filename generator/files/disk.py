"""Files written whole, all of them or none, under a lock; what a disk refused, in one sentence."""

from __future__ import annotations

import errno
import json
import os
import re
import shutil
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from generator.files.finding import Refused

try:
    import fcntl
except ImportError:  # a system without file locks: see ``locked``
    fcntl = None  # type: ignore[assignment]

LOCKS = fcntl is not None
"""Whether the system has file locks that it frees when a process dies."""

UNCHANGED = "everything is as it was"
_WAIT_S = 60
_DISK = {
    getattr(errno, name)
    for name in (
        "ENOSPC",
        "EDQUOT",
        "EFBIG",
        "EROFS",
        "EACCES",
        "EPERM",
        "EIO",
        "ENOENT",
        "ENOTDIR",
        "EISDIR",
        "ELOOP",
        "ENAMETOOLONG",
        "EMFILE",
        "ENFILE",
        "EBUSY",
        "EXDEV",
        "ENXIO",
        "ENODEV",
        "ESTALE",
        "ENOTEMPTY",
        "EEXIST",
        "ETXTBSY",
        "EPIPE",
        "EBADF",
        "EINVAL",
        "ENOLCK",
        "ENOTSUP",
    )
    if hasattr(errno, name)
}


def is_the_disks(error: BaseException) -> bool:
    """Whether an error is the disk's or the rights', and no fault of the program."""
    return isinstance(error, OSError) and error.errno in _DISK


def reason_of(error: OSError) -> str:
    """What the system says went wrong, in words."""
    reasons = error.args[0] if len(error.args) == 1 and isinstance(error.args[0], list) else None
    if reasons:  # shutil gathers them: (from, to, why)
        return str(reasons[0][-1])
    return error.strerror or str(error) or "unknown reason"


def not_written(what: Path | str, error: OSError, left: str = UNCHANGED) -> Refused:
    """The refusal for what a disk didn't take: ``what`` is the place, ``left`` what is as it was.

    Another file that was in the way (a page that can't be read) is named as well.
    """
    words = f"{what} can't be written: {reason_of(error)}"
    named, place = str(error.filename or ""), Path(what)
    if named and Path(named).name != place.name and f"/.{place.name}" not in named:
        words += f" ({named})"
    return Refused("file-not-written", f"{words}; {left}.")


def made_folder(folder: Path) -> list[Path]:
    """Make a folder and those above it; returns those that weren't there, the innermost first.

    Raises OSError; what was made until then is taken away again.
    """
    missing = [f for f in (folder, *folder.parents) if not f.exists()]
    made: list[Path] = []
    try:
        for one in reversed(missing):
            one.mkdir(exist_ok=True)
            made.insert(0, one)
        if not folder.is_dir():
            raise OSError(errno.ENOTDIR, os.strerror(errno.ENOTDIR), str(folder))
    except BaseException:
        take_away(made)
        raise
    return made


def write_new(path: Path, text: str) -> Path:
    """A file written whole where none was, its folders with it; nothing of them is left where it
    can't be. Raises Refused."""
    try:
        made = made_folder(path.parent)
    except OSError as error:
        raise not_written(path, error) from None
    try:
        write_together({path: text.encode()}, fresh=True)
    except Refused:
        take_away(made)
        raise
    return path


def take_away(folders: list[Path]) -> None:
    """Remove folders that were made and are empty still, the innermost first."""
    with suppress(OSError):
        for one in folders:
            one.rmdir()


def followed(path: Path) -> Path:
    """The file a path names in the end: links are followed, one that leads nowhere too.

    Raises OSError for links that lead round in a circle, and for what isn't a file.
    """
    try:
        real = path.resolve()
    except RuntimeError:
        real = path
    if real.is_symlink():
        raise OSError(errno.ELOOP, os.strerror(errno.ELOOP), str(path))
    if real.exists() and not real.is_file():
        word = errno.EISDIR if real.is_dir() else errno.EINVAL
        raise OSError(word, "it is not a file", str(path))
    return real


def write_together(
    files: Mapping[Path, bytes], fresh: bool = False, journal: Path | None = None
) -> None:
    """Write all the files whole, or none: written beside their places and flushed to the disk, then
    moved in one by one; if one can't be, those moved already are put back. Links are followed.

    With ``fresh`` no file may be there already. With a ``journal`` a run that is killed between two
    moves is undone by ``undone``. Raises Refused, and every file is as it was.
    """
    staged: dict[Path, Path] = {}
    kept: dict[Path, Path | None] = {}
    moved: list[Path] = []
    at = Path()
    try:
        try:
            for at, content in files.items():
                place = followed(at)
                staged[place] = _staged(place, content)
            for place in staged:
                at, kept[place] = place, None if fresh else _kept(place)
            if journal is not None:
                _note(journal, staged, kept)
            for place in staged:
                at = place
                _move_in(staged[place], place, fresh)
                moved.append(place)
            for folder in dict.fromkeys(place.parent for place in staged):
                sync_folder(folder)
        except BaseException:
            _put_back({place: kept[place] for place in moved})
            raise
    except OSError as error:
        raise not_written(at, error) from None
    finally:
        for left in (journal, *staged.values(), *kept.values()):
            _forget(left)


def _forget(path: Path | None) -> None:
    if path is not None:
        with suppress(OSError):
            path.unlink(missing_ok=True)


def _note(journal: Path, staged: Mapping[Path, Path], kept: Mapping[Path, Path | None]) -> None:
    """Write down, flushed, what is about to be moved where, and what was there."""
    moves = [
        {"place": str(p), "from": str(s), "file": s.stat().st_ino, "kept": str(kept[p] or "")}
        for p, s in staged.items()
    ]
    aside = _staged(journal, json.dumps(moves).encode())
    try:
        aside.replace(journal)
    except BaseException:
        _forget(aside)
        raise
    sync_folder(journal.parent)


@dataclass(frozen=True)
class _Move:
    """One file a run meant to move in: to where, from where, its number on the disk, and where
    what it replaces is kept."""

    place: Path
    source: Path
    number: int
    kept: Path | None

    def is_done(self) -> bool:
        """Whether the file at its place is the very one that was written for it."""
        return (
            not self.source.exists()
            and self.place.exists()
            and self.place.stat().st_ino == self.number
        )

    def undo(self) -> None:
        """Put back what was at its place, or nothing. Raises OSError."""
        if self.kept is None:
            self.place.unlink()
        else:
            self.kept.replace(self.place)


def _noted(journal: Path) -> list[_Move]:
    """The moves a journal holds; none if it was not written to its end."""
    try:
        return [
            _Move(
                Path(m["place"]),
                Path(m["from"]),
                int(m["file"]),
                Path(m["kept"]) if m["kept"] else None,
            )
            for m in json.loads(journal.read_text(encoding="utf-8"))
        ]
    except (ValueError, KeyError, TypeError):
        return []


def undone(journal: Path) -> bool:
    """Undo what a run that was killed moved in, if it had not moved all. To be called under the
    lock its runs hold. Returns whether anything was put back.

    A file that somebody changed since is left. Raises OSError if the disk doesn't allow it.
    """
    if not journal.is_file():
        return False
    moves = _noted(journal)
    back = False
    if any(move.source.exists() for move in moves):
        for move in moves:
            if move.is_done():
                move.undo()
                back = True
    for move in moves:
        _forget(move.source)
        _forget(move.kept)
    journal.unlink()
    return back


def clear_staged(*places: Path) -> None:
    """Clear what killed runs left written beside files, and not moved in. To be called under the
    lock those runs hold. Raises OSError if the disk doesn't allow it."""
    for place in places:
        pattern = re.compile(re.escape(f".{place.name[:80]}-") + "[a-z0-9_]{8}")
        for left in place.parent.iterdir():
            if pattern.fullmatch(left.name) and left.is_file():
                left.unlink()


def _staged(place: Path, content: bytes) -> Path:
    """The content in a file beside its place, flushed to the disk."""
    handle, name = tempfile.mkstemp(prefix=f".{place.name[:80]}-", dir=place.parent)
    aside = Path(name)
    try:
        try:
            rest = memoryview(content)
            while rest:
                rest = rest[os.write(handle, rest) :]
            os.fsync(handle)
        finally:
            os.close(handle)
        aside.chmod(place.stat().st_mode & 0o777 if place.exists() else 0o644)
    except BaseException:
        with suppress(OSError):
            aside.unlink(missing_ok=True)
        raise
    return aside


def _kept(place: Path) -> Path | None:
    """A second name for what is at a place now, to put it back from; None if nothing is there."""
    if not place.exists():
        return None
    handle, name = tempfile.mkstemp(prefix=f".{place.name[:80]}-", dir=place.parent)
    os.close(handle)
    kept = Path(name)
    try:
        kept.unlink()
        try:
            os.link(place, kept)
        except OSError:  # not every disk can give a file two names
            shutil.copy2(place, kept)
    except BaseException:
        with suppress(OSError):
            kept.unlink(missing_ok=True)
        raise
    return kept


def _move_in(aside: Path, place: Path, fresh: bool) -> None:
    if fresh and place.exists():
        raise OSError(errno.EEXIST, os.strerror(errno.EEXIST), str(place))
    aside.replace(place)


def _put_back(before: Mapping[Path, Path | None]) -> None:
    for place, kept in before.items():
        with suppress(OSError):
            if kept is None:
                place.unlink(missing_ok=True)
            else:
                kept.replace(place)


def sync_folder(folder: Path) -> None:
    """Flush a folder's names to the disk, where the system can: a rename outlives a power cut."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno not in (errno.EINVAL, errno.ENOTSUP):  # a disk that has nothing to flush
            raise
    finally:
        os.close(handle)


def lock_of(path: Path) -> Path:
    """The lock file of a file where folders can't be locked: beside it, hidden, there only while
    somebody writes."""
    return path.with_name(f".{path.name}.lock")


@contextmanager
def locked(path: Path, wait: Callable[[], None] = lambda: None) -> Iterator[None]:
    """Hold the right to write a file for the block; other processes wait for it, after ``wait`` was
    called.

    Its folder is locked, so nothing is left lying about, and the system frees the lock of a process
    that died. Where the system or the disk has no such locks (Windows, some network disks), a lock
    file beside it is the lock: one left by a process that died is refused after a minute, with its
    name. Raises Refused if the lock can't be had.
    """
    try:
        free = _flocked(path.parent, wait) or _claimed(lock_of(path), wait)
    except OSError as error:
        raise not_written(path, error) from None
    try:
        yield
    finally:
        free()


def held(lock: Path) -> int:
    """A file opened, made if need be, and locked at once. Raises OSError if another process holds
    it."""
    handle = os.open(lock, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o644)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BaseException:
        os.close(handle)
        raise
    return handle


def freed(handle: int | None) -> None:
    """Let go of what ``held`` gave, if it gave anything."""
    if handle is not None:
        os.close(handle)


def _flocked(folder: Path, wait: Callable[[], None]) -> Callable[[], None] | None:
    """The lock on a folder, or None where there is none to be had."""
    if not LOCKS:
        return None
    handle = os.open(folder, os.O_RDONLY | os.O_CLOEXEC)
    try:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            wait()
            fcntl.flock(handle, fcntl.LOCK_EX)
    except OSError as error:
        os.close(handle)
        if error.errno in (errno.EBADF, errno.ENOTSUP, errno.ENOLCK, errno.ENOSYS, errno.EINVAL):
            return None
        raise
    except BaseException:
        os.close(handle)
        raise
    return lambda: os.close(handle)


def _claimed(lock: Path, wait: Callable[[], None]) -> Callable[[], None]:
    """The lock by making its file, which only one can: for systems without file locks."""
    reported, until = False, time.monotonic() + _WAIT_S
    while True:
        try:
            os.close(os.open(lock, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o644))
            return lambda: lock.unlink(missing_ok=True)
        except FileExistsError:
            if not reported:
                reported = True
                wait()
            if time.monotonic() > until:
                raise OSError(
                    errno.EBUSY,
                    f"another command has used {lock.name} for a minute; delete it if none runs",
                ) from None
            time.sleep(0.05)
