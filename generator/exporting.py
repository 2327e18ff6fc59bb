"""The manual as a plain Markdown tree, for any builder."""

from __future__ import annotations

import shutil
from pathlib import Path

from generator.finding import Refused
from generator.manual import Manual
from generator.pages import STATIC, make_pages
from generator.pictures import pages_folder

MARK = ".kitchen-manual-export"


def export_tree(manual: Manual, folder: Path) -> int:
    """Write every page as a Markdown file below ``folder``, with the look and the pictures.

    An earlier export is replaced; anything else is left alone. Returns the number of pages.
    Raises Refused for a folder that holds something else.
    """
    if folder.exists():
        if not folder.is_dir() or (any(folder.iterdir()) and not (folder / MARK).is_file()):
            raise Refused("folder-not-empty", f"{folder} holds other files.", "Name a new folder.")
        shutil.rmtree(folder)
    written = pages_folder(manual.project)
    if written.is_dir():
        shutil.copytree(written, folder)
    folder.mkdir(parents=True, exist_ok=True)
    pages = make_pages(manual)
    for page in pages:
        path = folder / page.uri
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(page.text, encoding="utf-8")
    assets = folder / "assets"
    assets.mkdir(exist_ok=True)
    for name in ("manual.css", "manual.js"):
        shutil.copy(STATIC / name, assets / name)
    (folder / MARK).write_text("written by kitchen-manual export; replaced at the next export\n")
    return len(pages)
