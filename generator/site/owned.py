"""Whose files lie in a folder of ours: those a run wrote and listed, and those somebody put
there."""

from __future__ import annotations

import filecmp
import json
import os
import shutil
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from generator.files.finding import Refused
from generator.measures.words import breakable, counted

_SHOWN = 5


@dataclass(frozen=True)
class Listed:
    """What the mark of a folder lists: the ``files`` a run wrote (None: an older version's mark,
    which lists none), and those of somebody else's it has ``kept`` and reported already."""

    files: frozenset[str] | None = None
    kept: frozenset[str] = frozenset()


def listed(folder: Path, mark: str) -> Listed:
    """What a folder's mark lists. A mark that can't be read lists nothing."""
    with suppress(OSError, ValueError):
        found = json.loads((folder / mark).read_text(encoding="utf-8"))
        if isinstance(found, dict):
            files, kept = found.get("files"), found.get("kept")
            if isinstance(files, list) and isinstance(kept, list):
                return Listed(frozenset(map(str, files)), frozenset(map(str, kept)))
    return Listed()


def finish(folder: Path, new: Path, mark: str, words: str) -> str:
    """Write the list of a run's own files into ``new``, and lay beside them what somebody put into
    ``folder``. Returns what to say of files kept for the first time; empty if there are none.

    ``words`` say on the mark who wrote it. Raises Refused if a file of somebody else's has a name
    the run wrote too; OSError if the disk doesn't allow it.
    """
    own = sorted(_files(new))
    before = listed(folder, mark)
    others = sorted(p for p in _files(folder) if p != mark and not _was_ours(p, before))
    for path in others:
        _lay(folder / path, new / path, path, before.files is not None)
    kept = [p for p in others if p not in own]
    text = json.dumps({"by": words, "files": own, "kept": kept}, ensure_ascii=False, indent=0)
    (new / mark).write_text(text + "\n", encoding="utf-8")
    first = [p for p in kept if p not in before.kept]
    if not first:
        return ""
    names = ", ".join(first[:_SHOWN]) + (" …" if len(first) > _SHOWN else "")
    which = breakable(f"{counted(len(first), 'file')} that no build made")
    return f"kept in {folder.name}: {which}: {names}"


def _was_ours(path: str, before: Listed) -> bool:
    """Whether a run wrote a file. Where no list says so, what hosts read at the top (CNAME,
    .htaccess, .nojekyll, .well-known/) is somebody else's."""
    if before.files is not None:
        return path in before.files
    top, _, below = path.partition("/")
    return not (top.startswith(".") or (not below and "." not in top))


def _files(folder: Path) -> Iterator[str]:
    """Every file, link and empty folder below a folder, by its path in it; links aren't
    followed."""
    top = len(os.path.join(folder, ""))  # noqa: PTH118 (a path object a file takes too long)
    for at, folders, files in os.walk(folder):
        here = os.path.join(at, "")[top:]  # noqa: PTH118
        here = here.replace(os.sep, "/")
        links = [name for name in folders if Path(at, name).is_symlink()]
        for name in (*files, *links):
            yield f"{here}{name}"
        if here and not files and not folders:
            yield here.rstrip("/")


def _lay(source: Path, place: Path, name: str, certain: bool) -> None:
    """Lay one of somebody's files at its place in the new folder: the same file, or a copy."""
    blocked = any(p.exists() and not p.is_dir() for p in place.parents)
    taken = place.exists() or place.is_symlink()
    if taken and not blocked and (not certain or _alike(source, place)):
        return
    if blocked or taken:
        raise Refused(
            "file-in-the-way",
            f"{source} was put there by hand. This run makes a file of that name.",
            "Move it away or rename it. Nothing was changed.",
        )
    if source.is_dir() and not source.is_symlink():
        place.mkdir(parents=True, exist_ok=True)
        return
    lay_file(source, place)


def lay_file(source: Path, place: Path) -> None:
    """Lay a file at a place where none is: a link again, or the same file under a second name, or a
    copy. Raises OSError."""
    place.parent.mkdir(parents=True, exist_ok=True)
    if source.is_symlink():
        place.symlink_to(source.readlink())
        return
    try:
        os.link(source, place)
    except OSError:  # not every disk can give a file two names
        shutil.copy2(source, place)


def _alike(source: Path, place: Path) -> bool:
    """Whether two places hold the same file, or are folders both."""
    if source.is_dir() and place.is_dir():
        return True
    return source.is_file() and place.is_file() and filecmp.cmp(source, place, shallow=False)
