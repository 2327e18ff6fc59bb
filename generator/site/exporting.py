"""The manual as a plain Markdown tree, for any builder."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from functools import partial
from pathlib import Path

from generator.files.disk import not_written
from generator.files.finding import Refused
from generator.files.progress import counted_off
from generator.files.replacing import healed, is_ours, swapped_in
from generator.pages import ASSETS, ON_DEMAND, STATIC
from generator.resolve.pictures import leads_out, pages_folder, published
from generator.sheet.manual import Manual
from generator.site.owned import finish
from generator.site.papers import make_site_pages

MARK = ".kitchen-manual-export"


def _copied(project: Path, pages: Path, source: str, target: str) -> None:
    """One file of the pages folder: nothing from outside the project, and of a picture only its
    dots. Raises Refused."""
    path = Path(source)
    name = path.relative_to(pages).as_posix()
    if leads_out(path, (project, pages)):
        raise Refused(
            "link-outside", f"{name} is a link out of the project.", "Copy the file into it."
        )
    data = published(path, name)
    if data is None:
        shutil.copy2(source, target)
    else:
        Path(target).write_bytes(data)


def export_tree(
    manual: Manual, folder: Path, report: Callable[[str], None] = lambda words: None
) -> int:
    """Write every page as a Markdown file below ``folder``, with the look and the pictures.

    An earlier export is replaced; files that none wrote are kept, and ``report`` names them
    once. Returns the number of pages. Raises Refused for a folder that holds something else, or a
    disk that doesn't take it; ``folder`` is then as it was.
    """
    try:
        for words in healed(folder):
            report(words)
        return _exported(manual, folder, report)
    except OSError as error:
        raise not_written(folder, error) from None


def _exported(manual: Manual, folder: Path, report: Callable[[str], None]) -> int:
    if not is_ours(folder, MARK):
        raise Refused("folder-not-empty", f"{folder} has other files.", "Name a new folder.")
    pages = make_site_pages(manual)
    written = pages_folder(manual.project)
    with swapped_in(folder) as new:
        own = {folder.resolve(), new.parent.resolve()}  # an export may lie among the pages
        if written.is_dir():
            shutil.copytree(
                written,
                new,
                ignore=lambda at, names: [n for n in names if Path(at, n).resolve() in own],
                copy_function=partial(_copied, manual.project, written),
            )
        for page in counted_off("Writing files", pages):
            path = new / page.uri
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(page.text, encoding="utf-8")
        assets = new / "assets"
        assets.mkdir(exist_ok=True)
        for name in (*ASSETS, *ON_DEMAND):
            shutil.copy(STATIC / name, assets / name)
        kept = finish(
            folder, new, MARK, "written by kitchen-manual export; replaced at the next one"
        )
    if kept:
        report(kept)
    return len(pages)
