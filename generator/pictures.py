"""Pictures named in the standards: raster files under the pages folder, nothing else."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from generator.finding import Finding, Place
from generator.intake.standards import Standards

_DOCS_DIR = re.compile(r"^docs_dir:\s*[\"']?([^\"'#\n]+?)[\"']?\s*(?:#.*)?$", re.MULTILINE)
_STARTS = (b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff")


def pages_folder(project: Path) -> Path:
    """The folder of hand-written pages: ``docs_dir`` of mkdocs.yml, by default ``docs``."""
    try:
        text = (project / "mkdocs.yml").read_text(encoding="utf-8", errors="replace")
    except OSError:
        return project / "docs"
    match = _DOCS_DIR.search(text)
    return project / (match[1].strip() if match else "docs")


def picture_findings(standards: Standards, folder: Path) -> list[Finding]:
    """What is wrong with the pictures the standards name; ``folder`` is the pages folder."""
    found: list[Finding] = []
    for picture, place, about in _named(standards):
        reason = _wrong(folder, picture)
        if reason:
            meant = _meant(folder, picture)
            write = (place.mended(meant),) if meant and meant != picture else ()
            found.append(
                Finding("picture-refused", "error", f"The picture `{picture}` {reason}.", place,
                        "Put a .png, .jpg or .webp file into the pages folder.", write, about=frozenset({about}))
            )  # fmt: skip
    return found


def _named(standards: Standards) -> Iterator[tuple[str, Place, str]]:
    for ident, formula in standards.formulas.items():
        if formula.picture:
            yield formula.picture, formula.place("picture"), ident
    for ident, process in standards.processes.items():
        for step in process.steps:
            if step.picture:
                yield step.picture, step.place("picture"), f"process:{ident}"


def _wrong(folder: Path, picture: str) -> str:
    path = folder / picture
    if not path.is_file():
        return "is not in the pages folder"
    inside = [path, *(p for p in path.parents if folder in p.parents)]
    if any(p.is_symlink() for p in inside):
        return "is a link, not a file"
    with path.open("rb") as file:
        start = file.read(12)
    webp = start[:4] == b"RIFF" and start[8:] == b"WEBP"
    return "" if webp or start.startswith(_STARTS) else "is not a raster picture"


def _meant(folder: Path, picture: str) -> str:
    """A picture in the pages folder whose name differs in capitals or ending only, or nothing."""
    wanted = Path(picture)
    beside = folder / wanted.parent
    if not beside.is_dir():
        return ""
    for path in sorted(beside.iterdir()):
        if path.is_file() and path.stem.casefold() == wanted.stem.casefold():
            found = path.relative_to(folder).as_posix()
            return found if not _wrong(folder, found) else ""
    return ""
