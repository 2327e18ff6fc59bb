"""What was computed once, kept for the next run under the hash of all that went into it.

The folder lies outside every project, in the user's cache, and may be deleted at any time. Nothing
in it is believed: it must be this user's own and closed to others, each file carries the SHA-256 of
its name and its content, and what isn't as it was written counts as not there. A disk that is full
or read-only costs the keeping, never the run.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import json
import os
import stat
import sys
import time
from collections.abc import Callable, Hashable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any, Final, TypeVar

import generator

ASKED = "KITCHEN_MANUAL_CACHE"
"""The variable that names the folder to keep in; `off` keeps nothing."""
OFF: Final = "off"
_NAME = "kitchen-manual"
_MAGIC = b"kept 1\n"
_HASH = 32
_MOST_UNUSED_S = 7 * 24 * 3600
_MOST_UNUSED = 3
"""What no run asked for in a week is deleted, and what is more than so many times what this run
asked for."""
_MADE_WITH = ("jinja2", "markupsafe", "pydantic", "pydantic-core", "pyyaml")
_T = TypeVar("_T")


def hash_of(*parts: str | bytes) -> str:
    """The SHA-256 of some texts, each told from the next by its length."""
    found = hashlib.sha256()
    for part in parts:
        data = part.encode() if isinstance(part, str) else part
        found.update(b"%d:" % len(data))
        found.update(data)
    return found.hexdigest()


def hash_of_files(folder: Path, suffixes: Iterable[str] = ()) -> str:
    """The SHA-256 of every file below a folder, with its name; of those that end in ``suffixes``
    where any are named. Raises OSError."""
    ends = tuple(suffixes)
    found = hashlib.sha256()
    for at, folders, names in os.walk(folder):
        folders[:] = sorted(name for name in folders if name != "__pycache__")
        for name in sorted(names):
            if not ends or name.endswith(ends):
                path = Path(at) / name
                data = hashlib.sha256(path.read_bytes()).hexdigest()
                found.update(f"{path.relative_to(folder).as_posix()}\0{data}\n".encode())
    return found.hexdigest()


@lru_cache(maxsize=1)
def program_hash() -> str:
    """The hash of the program as it lies on disk when first asked, with what it is made with."""
    source = hash_of_files(Path(generator.__file__).parent)
    return hash_of(sys.version, source, *(f"{name} {_version(name)}" for name in _MADE_WITH))


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return ""


def usual_folder(environment: Mapping[str, str] = os.environ) -> Path | None:
    """Where this user's kept results lie; None where nothing is to be kept, or where nobody can
    say whose a folder is."""
    asked = environment.get(ASKED, "")
    if asked == OFF or not hasattr(os, "getuid"):
        return None
    if asked:
        return Path(asked).absolute()
    base = Path(environment.get("XDG_CACHE_HOME", ""))
    if base.is_absolute():
        return base / _NAME
    with contextlib.suppress(RuntimeError):
        home = Path.home()
        return home / ("Library/Caches" if sys.platform == "darwin" else ".cache") / _NAME
    return None


def kept_of(project: Path, remembers: bool = False) -> Kept:
    """What is kept of a project: in a folder of its own, so that no other project's run deletes
    it."""
    folder = usual_folder()
    mine = hash_of(str(project.resolve()))[:16]
    return Kept(folder / mine if folder is not None else None, remembers)


class _NotOurs(Exception):
    """The folder is somebody else's, or open to others."""


@dataclass(eq=False)
class Kept:
    """Results of this run and earlier ones. Without a ``folder`` none go to disk; what
    ``remembers`` keeps them in this process, too, from one run to the next (``turned``).

    ``words`` say why the folder isn't used; empty where it is, or where none was asked for.
    ``used`` counts the results that were not made anew.
    """

    folder: Path | None = None
    remembers: bool = False
    words: str = ""
    used: int = 0
    _open: int | None = field(default=None, repr=False)
    _now: dict[Hashable, Any] = field(default_factory=dict, repr=False)
    _before: dict[Hashable, Any] = field(default_factory=dict, repr=False)
    _asked: set[str] = field(default_factory=set, repr=False)
    _full: bool = False
    _last: list[Callable[[], None]] = field(default_factory=list, repr=False)
    _tables: dict[str, Table] = field(default_factory=dict, repr=False)

    @property
    def keeps(self) -> bool:
        """Whether anything is kept at all."""
        return self.remembers or self.folder is not None

    def of(
        self,
        key: str,
        make: Callable[[], _T],
        written: Callable[[_T], bytes | None],
        read: Callable[[bytes], _T],
    ) -> _T:
        """What is kept under ``key``: remembered, read from disk, or made now and kept.

        ``written`` may say None: that isn't kept on disk. What ``read`` can't make sense of
        (ValueError) is made anew. Without a ``key`` it is made, and not kept.
        """
        if not key or not self.keeps:
            return make()
        for held in (self._now, self._before):
            if key in held:
                self._asked.add(hash_of(key))
                self.used += 1
                found: _T = held[key]
                return self._remembered(key, found)
        data = self._load(key)
        if data is not None:
            with contextlib.suppress(ValueError):
                found = read(data)
                self.used += 1
                return self._remembered(key, found)
        made = make()
        if self._ready():
            new = written(made)
            if new is not None:
                self._store(key, new)
        return self._remembered(key, made)

    def still(self, key: str) -> None:
        """What is under ``key`` is in use, though nobody asks for it in this run."""
        self._asked.add(hash_of(key))
        for held in (self._now, self._before):
            if key in held:
                self._remembered(key, held[key])

    def there(self, key: str, read: Callable[[bytes], _T]) -> _T | None:
        """What the disk holds under ``key``; None where it is nothing that ``read`` makes sense
        of."""
        data = self._load(key)
        if data is not None:
            with contextlib.suppress(ValueError):
                return read(data)
        return None

    def put(self, key: str, data: bytes) -> None:
        """Keep ``data`` on disk under ``key``, in place of what was there."""
        if self._ready():
            self._store(key, data)

    def remembered(self, key: Hashable, make: Callable[[], _T]) -> _T:
        """What this process has under ``key``, or makes now; nothing of it goes to disk. It is
        shared from run to run, so nobody may change it."""
        if not self.remembers:
            return make()
        for held in (self._now, self._before):
            if key in held:
                found: _T = held[key]
                return self._remembered(key, found)
        return self._remembered(key, make())

    def _remembered(self, key: Hashable, value: _T) -> _T:
        if self.remembers:
            self._now[key] = value
        return value

    def turned(self) -> None:
        """Another run begins in this process: what the last one didn't ask for is forgotten."""
        self._before, self._now = self._now, {}
        self._full, self.words = False, ""

    def at_last(self, write: Callable[[], None]) -> None:
        """Have ``write`` keep what is gathered until the run is over."""
        self._last.append(write)

    def table(self, about: str) -> Table:
        """Small results about one thing, in one file."""
        if about not in self._tables:
            self._tables[about] = Table(self, about)
        return self._tables[about]

    # The folder.

    def _ready(self) -> bool:
        """Whether the folder is open, or can be: this user's, closed to others, no link."""
        if self.folder is None or self._full:
            return False
        if self._open is None:
            try:
                self._open = _opened(self.folder)
            except _NotOurs as error:
                self.words = f"{self.folder} {error}. Nothing is kept there."
            except OSError as error:
                self.words = f"{self.folder} can't be used: {error.strerror}. Nothing is kept."
            self._full = self._open is None
        return self._open is not None

    def _load(self, key: str) -> bytes | None:
        """What the disk holds under a key, if it is as it was written."""
        if not self._ready():
            return None
        name = hash_of(key)
        try:
            handle = os.open(name, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK, dir_fd=self._open)
        except OSError:
            return None
        try:
            raw = _own_bytes(handle)
        except OSError:
            return None
        finally:
            os.close(handle)
        start = len(_MAGIC) + _HASH
        data = raw[start:]
        if raw[:start] != _MAGIC + _seal(key, data):
            return None
        self._asked.add(name)
        return data

    def _store(self, key: str, data: bytes) -> None:
        """Write a result under its key, whole or not at all."""
        name = hash_of(key)
        work = f"{name[:16]}.{os.getpid()}.new"
        try:
            flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW
            handle = os.open(work, flags, 0o600, dir_fd=self._open)
            with os.fdopen(handle, "wb") as file:
                file.write(_MAGIC + _seal(key, data) + data)
            os.rename(work, name, src_dir_fd=self._open, dst_dir_fd=self._open)
            self._asked.add(name)
        except OSError as error:
            with contextlib.suppress(OSError):
                os.unlink(work, dir_fd=self._open)
            if not isinstance(error, FileExistsError):
                self._full = True
                self.words = f"{self.folder} can't be written: {error.strerror}."

    def tidied(self) -> None:
        """Delete what no run has asked for in a week, and the oldest of what is too much; close
        the folder."""
        waiting, self._last, self._tables = self._last, [], {}
        for write in waiting:
            write()
        if self._open is None:
            return
        try:
            with contextlib.suppress(OSError):
                self._tidy(self._open)
        finally:
            self.left()

    def left(self) -> None:
        """Close the folder, and leave all that is in it: a run that computed nothing says nothing
        about what is still in use."""
        if self._open is not None:
            os.close(self._open)
            self._open, self._asked = None, set()

    def _tidy(self, handle: int) -> None:
        now = time.time()
        others: list[tuple[float, str]] = []
        with os.scandir(handle) as entries:
            for entry in entries:
                if entry.name not in self._asked and entry.is_file(follow_symlinks=False):
                    others.append((entry.stat(follow_symlinks=False).st_mtime, entry.name))
        others.sort(reverse=True)
        room = _MOST_UNUSED * max(len(self._asked), 100)
        for number, (at, name) in enumerate(others):
            if number >= room or now - at > _MOST_UNUSED_S:
                with contextlib.suppress(OSError):
                    os.unlink(name, dir_fd=handle)


class Table:
    """Small results that are asked for by the thousand, all in one file: read when the first is
    asked for, written at the end of the run if there is more. Each is JSON, and is made by this
    program of what its key is the hash of, and of nothing else."""

    def __init__(self, kept: Kept, about: str) -> None:
        self._kept, self._key = kept, hash_of("table", about, program_hash())
        self._before: dict[str, Any] | None = None
        self._now: dict[str, Any] = {}
        self._more = False
        kept.at_last(self._write)

    def of(self, key: str, make: Callable[[], Any]) -> Any:
        """What is under ``key``, made now or kept. Nobody may change it."""
        if self._before is None:
            self._before = self._kept.there(self._key, _table_of) or {}
        if key in self._before:
            self._now[key] = self._before[key]
        elif key not in self._now:
            self._now[key], self._more = make(), True
        return self._now[key]

    def _write(self) -> None:
        if self._more:
            # While a process remembers, it asks for what is new alone.
            rest = self._before if self._kept.remembers and self._before else {}
            found = {**rest, **self._now}
            self._kept.put(self._key, json.dumps(found, separators=(",", ":")).encode())


def _table_of(data: bytes) -> dict[str, Any]:
    found = json.loads(data)
    if not isinstance(found, dict):
        raise ValueError("no table")
    return found


NOTHING: Final = Kept()
"""Keeps nothing: every result is made."""


def _seal(key: str, data: bytes) -> bytes:
    """What shows that a file holds what was written into it under its key."""
    return bytes.fromhex(hash_of(key, data))


def _own_bytes(handle: int) -> bytes:
    """What is in a plain file of this user's. Raises OSError for anything else."""
    found = os.fstat(handle)
    if not stat.S_ISREG(found.st_mode) or found.st_uid != os.getuid():
        raise OSError(errno.EINVAL, "it is no plain file of this user's")
    with os.fdopen(handle, "rb", closefd=False) as file:
        return file.read()


def _opened(folder: Path) -> int:
    """A handle of the folder, made if it isn't there. Raises OSError, or _NotOurs."""
    folder.parent.mkdir(parents=True, exist_ok=True)
    with contextlib.suppress(FileExistsError):
        folder.mkdir(mode=0o700)
    if folder.is_symlink():
        raise _NotOurs("is a link")
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW)
    found = os.fstat(handle)
    if found.st_uid != os.getuid():
        os.close(handle)
        raise _NotOurs("belongs to somebody else")
    if stat.S_IMODE(found.st_mode) & 0o022:
        os.close(handle)
        raise _NotOurs("may be written by others")
    return handle
