"""The print register's file: held by one command at a time, read again, and what a killed one left
undone."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from generator.files.disk import clear_staged, followed, locked, not_written, undone
from generator.files.finding import BrokenData, Refused
from generator.files.syntax import sides_of
from generator.intake.reading import Reader
from generator.intake.register import NAME, read_register
from generator.intake.standards import FOLDER
from generator.records.print_register import PrintRegister

UNDONE = "a printing was stopped half-way; the print register is unchanged, so print again"


def register_path(project: Path) -> Path:
    """Where the register of a project is written: a link is followed. Raises Refused."""
    path = project / FOLDER / NAME
    try:
        return followed(path)
    except OSError as error:
        raise not_written(path, error) from None


def journal_of(path: Path) -> Path:
    """What a printing writes down while it moves its files in; see ``files.disk.undone``."""
    return path.with_name(f".{path.name}.undo")


@contextmanager
def held(project: Path, report: Callable[[str], None]) -> Iterator[Path]:
    """Hold the register for the block: others wait. What a killed printing left half done is undone
    first, and reported. Yields the register's path. Raises Refused."""
    path = register_path(project)
    with locked(path, lambda: report("waiting for another command that writes the print register")):
        try:
            if undone(journal_of(path)):
                report(UNDONE)
            clear_staged(path, journal_of(path))
        except OSError as error:
            raise not_written(path, error) from None
        yield path


def put_right(project: Path, report: Callable[[str], None]) -> None:
    """Undo what a killed printing left half done, if there is anything. Raises Refused."""
    if journal_of(register_path(project)).is_file():
        with held(project, report):
            pass


def register_now(project: Path) -> PrintRegister | None:
    """The register as it is on the disk now. Raises BrokenData with its faults."""
    reader = Reader(project, FOLDER)
    found = read_register(reader)
    if any(f.is_error for f in reader.findings):
        raise BrokenData(reader.findings)
    return found


def text_of(path: Path) -> str:
    """The text of a register's file, empty if there is none. Raises Refused if it can't be read."""
    try:
        return path.read_text(encoding="utf-8-sig") if path.exists() else ""
    except (OSError, UnicodeDecodeError) as error:
        why = error.strerror if isinstance(error, OSError) else "it isn't UTF-8 text"
        raise Refused("register-unreadable", f"{path} can't be read: {why}.") from None


def registers_to_join(path: Path, other: Path | None) -> tuple[PrintRegister, PrintRegister, str]:
    """The two registers to join, and the text of ours: the two sides of a merge conflict in the
    register, or the register and an ``other`` file.

    Raises Refused: nothing to join; BrokenData: one of them has faults.
    """
    ours = text_of(path)
    sides = sides_of(ours.replace("\r\n", "\n").split("\n"))
    if other is None:
        if sides is None:
            raise Refused(
                "register-no-conflict",
                f"{NAME} has no merge conflict.",
                "Name the other branch's register, as `git show "
                "BRANCH:standards/print-register.yaml` "
                "writes it.",
            )
        first, second = ("\n".join(side) for side in sides)
        return _read(first), _read(second), first
    if not other.is_file():
        raise Refused("register-missing", f"There is no file {other}.", "Name the other register.")
    return _read(ours), _read(text_of(other)), ours


def _read(text: str) -> PrintRegister:
    if not text.strip():
        return PrintRegister.model_construct(binders={})
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / FOLDER).mkdir()
        (Path(folder) / FOLDER / NAME).write_text(text, encoding="utf-8")
        found = register_now(Path(folder))
    return found or PrintRegister.model_construct(binders={})
