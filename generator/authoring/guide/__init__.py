"""The parts of the guide that are made from the program and `shared/`: one function a part.

A page holds a part between `<!-- made: NAME -->` and `<!-- end -->`. Lists, no tables: a phone
shows them whole. The list of commands is made in `cli.guide`, which knows them.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from pathlib import Path

from generator.authoring.guide.amounts import (
    asked,
    foodstuffs,
    forms,
    times_and_temperatures,
    units,
)
from generator.authoring.guide.explained import cautions, findings
from generator.authoring.guide.keys import keys
from generator.authoring.guide.law import allergens, not_covered, packs, rows, species
from generator.authoring.guide.steps import effects, verbs
from generator.files.disk import write_together
from generator.reference.library import Library

Part = Callable[[Library], str]
"""Makes one part's Markdown out of the reference library."""
PARTS: dict[str, Part] = {
    "forms": forms,
    "asked": asked,
    "times-and-temperatures": times_and_temperatures,
    "units": units,
    "foodstuffs": foodstuffs,
    "effects": effects,
    "verbs": verbs,
    "species": species,
    "packs": packs,
    "rows": rows,
    "not-covered": not_covered,
    "allergens": allergens,
    "keys": keys,
    "findings": findings,
    "cautions": cautions,
}
"""Every part but the list of commands, by the name a page asks for it with."""
_PART = re.compile(r"(<!-- made: ([a-z-]+) -->\n)(.*?)(<!-- end -->)", re.DOTALL)


def parts_of(text: str) -> list[str]:
    """The names of the made parts on a page, in their order."""
    return [name for _, name, _, _ in _PART.findall(text)]


def made(text: str, parts: Mapping[str, Part], library: Library) -> str:
    """A page with every made part as the program gives it now. Raises KeyError for a part that
    isn't among ``parts``."""
    return _PART.sub(lambda m: f"{m[1]}\n{parts[m[2]](library)}\n\n{m[4]}", text)


def stale(folder: Path, parts: Mapping[str, Part], library: Library) -> dict[Path, str]:
    """The pages below ``folder`` whose made parts aren't current, with their text as it must be."""
    found: dict[Path, str] = {}
    for path in sorted(folder.rglob("*.md")):
        text = path.read_text(encoding="utf-8")
        now = made(text, parts, library)
        if now != text:
            found[path] = now
    return found


def write_parts(folder: Path, parts: Mapping[str, Part], library: Library) -> list[Path]:
    """Write the made parts of every page below ``folder``; the pages that changed. All of them are
    written or none. Raises Refused if the disk doesn't allow it."""
    pages = stale(folder, parts, library)
    write_together({path: text.encode() for path, text in pages.items()})
    return list(pages)
