"""The guide's pages as text: the kitchen spelled out in them, and the changes to it they show."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

import yaml
from conftest import ROOT

GUIDE = ROOT / "site_demo" / "guide"
LEARN = sorted((GUIDE / "learn").glob("*.md"))
"""The pages of *Learn* in their order."""
PAGES = sorted(GUIDE.rglob("*.md"))
_FENCED = re.compile(r"^```([a-z]+)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
_FILE = re.compile(r"# (\S+\.ya?ml)\n")


def kitchen_of_the_guide(folder: Path) -> list[str]:
    """Write the kitchen that *Learn* spells out, file by file, into ``folder``.

    A file is a block of YAML whose first line is a comment with its place: `# standards/…`.
    Returns the places written.
    """
    places: list[str] = []
    for page in LEARN:
        for kind, body in fenced(page):
            if place := write_file(folder, kind, body):
                places.append(place)
    assert len(places) == len(set(places)), "a file is spelled out once"
    (folder / "pages").mkdir()  # the first page asks for the folder
    return places


def fenced(page: Path) -> list[tuple[str, str]]:
    """The blocks of a page in their order: what is in it (yaml, console, text, csv), and its text."""
    return _FENCED.findall(page.read_text(encoding="utf-8"))


def write_file(folder: Path, kind: str, body: str) -> str:
    """Write a block that spells out a file into ``folder``; its place there, "" for another block."""
    if kind == "csv":
        place = "chill-log.csv"
    elif kind == "yaml" and (found := _FILE.match(body)):
        place, body = found[1], body[found.end() :]
    else:
        return ""
    path = folder / place
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(body, encoding="utf-8")
    return place


@dataclass(frozen=True)
class Change:
    """A block of YAML laid over the guide's kitchen: its page, its files, the finding it shows."""

    page: str
    files: tuple[tuple[str, str], ...]
    asks: str


def changes() -> list[Change]:
    """Every block whose first line is `# in standards/…`, or `# in standards/…, asks: CODE`."""
    return [
        change
        for page in PAGES
        for kind, body in fenced(page)
        if kind == "yaml" and (change := change_of(page, body))
    ]


def change_of(page: Path, block: str) -> Change | None:
    """A block of YAML as a change; None where it is none."""
    if not block.startswith("# in "):
        return None
    asks = re.match(r"# in \S+, asks: (\S+)\n", block)
    pieces = re.split(r"^# in ([^\s,]+)(?:, asks: \S+)?\n", block, flags=re.MULTILINE)[1:]
    files = tuple(zip(pieces[::2], pieces[1::2], strict=True))
    return Change(page.stem, files, asks[1] if asks else "")


def lay_over(folder: Path, change: Change) -> None:
    """Write a change into a kitchen: its top keys take the place of the file's own, or are
    added."""
    for place, body in change.files:
        path = folder / place
        path.parent.mkdir(exist_ok=True)
        old = yaml.load(path.read_text("utf-8"), yaml.BaseLoader) if path.is_file() else {}
        new = {**old, **yaml.load(body, yaml.BaseLoader)}
        text = yaml.safe_dump(new, allow_unicode=True, sort_keys=False, width=1000)
        path.write_text(text, encoding="utf-8")
