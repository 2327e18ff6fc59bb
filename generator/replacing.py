"""A folder or file of ours replaced as a whole: written aside, then swapped in; nothing is left half-way."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from generator.finding import Refused


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

    After any exception ``folder`` is as it was. Raises OSError if the disk doesn't allow it.
    """
    folder.parent.mkdir(parents=True, exist_ok=True)
    aside = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", dir=folder.parent))
    try:
        yield aside / "new"
        _swap(aside / "new", folder, aside / "old")
    finally:
        shutil.rmtree(aside, ignore_errors=True)


def _swap(new: Path, folder: Path, old: Path) -> None:
    replaced = folder.exists()
    if replaced:
        folder.rename(old)
    try:
        new.rename(folder)
    except OSError:
        if replaced:
            old.rename(folder)
        raise


def file_swapped_in(path: Path, content: bytes) -> None:
    """Write a file aside and put it in the place of ``path`` in one move.

    Raises Refused if the disk doesn't allow it; ``path`` is then as it was.
    """
    aside: Path | None = None
    try:
        with tempfile.NamedTemporaryFile(
            dir=path.parent, prefix=f".{path.name}-", delete=False
        ) as file:
            aside = Path(file.name)
            file.write(content)
        aside.chmod(0o644)
        aside.replace(path)
    except OSError as error:
        if aside is not None:
            aside.unlink(missing_ok=True)
        raise Refused(
            "file-not-written", f"{path} can't be written: {error.strerror or error}.",
            "Name a file in a folder that is there.",
        ) from None  # fmt: skip
