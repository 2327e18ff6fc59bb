"""The guide's pages as text: the kitchen spelled out in them."""

from __future__ import annotations

import re
from pathlib import Path

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
    return places
