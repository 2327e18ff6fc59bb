"""Files written whole, all of them or none, under a lock; what a disk refused, in one sentence."""

from __future__ import annotations

import errno
import os
import shutil
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path

from generator.finding import Refused

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
        "ENOSPC", "EDQUOT", "EFBIG", "EROFS", "EACCES", "EPERM", "EIO", "ENOENT", "ENOTDIR", "EISDIR",
        "ELOOP", "ENAMETOOLONG", "EMFILE", "ENFILE", "EBUSY", "EXDEV", "ENXIO", "ENODEV", "ESTALE",
        "ENOTEMPTY", "EEXIST", "ETXTBSY", "EPIPE", "EBADF", "EINVAL", "ENOLCK", "ENOTSUP",
    )
    if hasattr(errno, name)
}  # fmt: skip


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


def write_together(files: Mapping[Path, bytes], fresh: bool = False) -> None:
    """Write all the files whole, or none: written beside their places and flushed to the disk, then
    moved in one by one; if one can't be, those moved already are put back. Links are followed.

    With ``fresh`` no file may be there already. Raises Refused, and every file is as it was.
    """
    staged: dict[Path, Path] = {}
    before: dict[Path, Path | None] = {}
    at = Path()
    try:
        try:
            for at, content in files.items():
                place = followed(at)
                staged[place] = _staged(place, content)
            for place in staged:
                at, kept = place, None if fresh else _kept(place)
                _move_in(staged[place], place, fresh)
                before[place] = kept
                sync_folder(place.parent)
        except BaseException:
            _put_back(before)
            raise
    except OSError as error:
        raise not_written(at, error) from None
    finally:
        for left in (*staged.values(), *(b for b in before.values() if b is not None)):
            with suppress(OSError):
                left.unlink(missing_ok=True)


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
    """The lock file of a file: beside it, hidden, there only while somebody writes."""
    return path.with_name(f".{path.name}.lock")


@contextmanager
def locked(path: Path, wait: Callable[[], None] = lambda: None) -> Iterator[None]:
    """Hold a file's lock for the block; other processes wait for it, after ``wait`` was called.

    The system frees the lock of a process that died. Where it has no file locks, the lock file
    itself is the lock: one left by a process that died is refused after a minute, with its name.
    Raises Refused if the lock file can't be written.
    """
    lock = lock_of(path)
    try:
        free = _flocked(lock, wait) if LOCKS else _claimed(lock, wait)
    except OSError as error:
        raise not_written(path, error) from None
    try:
        yield
    finally:
        free()


def held(lock: Path) -> int:
    """A file opened, made if need be, and locked at once. Raises OSError if another process holds it."""
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


def _flocked(lock: Path, wait: Callable[[], None]) -> Callable[[], None]:
    told = False
    while True:
        handle = os.open(lock, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o644)
        try:
            try:
                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                if not told:
                    told = True
                    wait()
                fcntl.flock(handle, fcntl.LOCK_EX)
            if _same(handle, lock):
                return lambda: _let_go(handle, lock)
        except BaseException:
            os.close(handle)
            raise
        os.close(handle)  # its holder deleted it meanwhile: the lock is another file now


def _same(handle: int, lock: Path) -> bool:
    """Whether the open file is still the one the name leads to."""
    try:
        there = lock.stat()
    except FileNotFoundError:
        return False
    held = os.fstat(handle)
    return (held.st_dev, held.st_ino) == (there.st_dev, there.st_ino)


def _let_go(handle: int, lock: Path) -> None:
    with suppress(OSError):
        lock.unlink(missing_ok=True)
    os.close(handle)


def _claimed(lock: Path, wait: Callable[[], None]) -> Callable[[], None]:
    """The lock by making its file, which only one can: for systems without file locks."""
    told, until = False, time.monotonic() + _WAIT_S
    while True:
        try:
            os.close(os.open(lock, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o644))
            return lambda: lock.unlink(missing_ok=True)
        except FileExistsError:
            if not told:
                told = True
                wait()
            if time.monotonic() > until:
                raise OSError(
                    errno.EBUSY, f"another command has held {lock.name} for a minute; delete it if none runs"
                ) from None  # fmt: skip
            time.sleep(0.05)
