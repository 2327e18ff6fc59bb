"""The guide's pages as text: the kitchen spelled out in them, and the changes to it they show."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

import yaml
from conftest import ROOT

GUIDE = ROOT / "site_demo" / "guide"
_BLOCK = re.compile(r"^```yaml\n# (\S+\.ya?ml)\n(.*?)^```$", re.MULTILINE | re.DOTALL)


def kitchen_of_the_guide(folder: Path) -> list[str]:
    """Write the kitchen that the first page spells out, file by file, into ``folder``.

    A file is a block of YAML whose first line is a comment with its place: `# standards/…`.
    Returns the places written.
    """
    text = (GUIDE / "01-start.md").read_text(encoding="utf-8")
    places: list[str] = []
    for place, body in _BLOCK.findall(text):
        path = folder / place
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(body, encoding="utf-8")
        places.append(place)
    assert len(places) == len(set(places)), "a file is spelled out once"
    (folder / "pages").mkdir()  # the page asks for the folder
    commands = (GUIDE / "09-commands.md").read_text(encoding="utf-8")
    (log,) = re.findall(r"^```csv\n(.*?)^```$", commands, re.MULTILINE | re.DOTALL)
    (folder / "chill-log.csv").write_text(log, encoding="utf-8")
    return places


@dataclass(frozen=True)
class Change:
    """A block of YAML laid over the guide's kitchen: its page, its files, the finding it shows."""

    page: str
    files: tuple[tuple[str, str], ...]
    asks: str


def changes() -> list[Change]:
    """Every block whose first line is `# in standards/…`, or `# in standards/…, asks: CODE`."""
    found: list[Change] = []
    for path in sorted(GUIDE.glob("*.md")):
        for block in re.findall(
            r"^```yaml\n(.*?)^```$", path.read_text(encoding="utf-8"), re.M | re.S
        ):
            if not block.startswith("# in "):
                continue
            asks = re.match(r"# in \S+, asks: (\S+)\n", block)
            pieces = re.split(r"^# in ([^\s,]+)(?:, asks: \S+)?\n", block, flags=re.MULTILINE)[1:]
            files = tuple(zip(pieces[::2], pieces[1::2], strict=True))
            found.append(Change(path.stem, files, asks[1] if asks else ""))
    return found


def lay_over(folder: Path, change: Change) -> None:
    """Write a change into a kitchen: its top keys take the place of the file's own, or are
    added."""
    for place, body in change.files:
        path = folder / place
        old = yaml.load(path.read_text("utf-8"), yaml.BaseLoader) if path.is_file() else {}
        new = {**old, **yaml.load(body, yaml.BaseLoader)}
        text = yaml.safe_dump(new, allow_unicode=True, sort_keys=False, width=1000)
        path.write_text(text, encoding="utf-8")
