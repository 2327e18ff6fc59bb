"""How a source is called, and what kind of copy it is."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Literal, cast

from generator.files.source_text import Mapping, read_bytes

ReadAs = Literal["code", "agency", "adopting-state", "secondary", "none"]
"""What a copy is, the nearest to the enacting body first."""
READ_AS: tuple[ReadAs, ...] = ("code", "agency", "adopting-state", "secondary", "none")
MARKS: dict[ReadAs, str] = {"secondary": "secondary copy", "none": "not read at first hand"}
"""What is said behind the name of a copy that is nobody's own text."""


def named(title: str, read_as: ReadAs) -> str:
    """A source's title, marked where the copy is secondary or none was read."""
    mark = MARKS.get(read_as)
    return f"{title} ({mark})" if mark else title


def title_of(shared: Path, key: str) -> str:
    """What a source is called, by its ``key`` in ``sources.yaml`` of the folder ``shared``: its
    entry alone is read, and as typed. The key itself where there is none."""
    path = shared / "sources.yaml"
    text = path.read_text(encoding="utf-8", errors="replace") if path.is_file() else ""
    found = re.search(rf"^{re.escape(key)}:\n(?:[ #].*\n|\n)*", text + "\n", re.MULTILINE)
    tree = read_bytes(found[0].encode(), "shared/sources.yaml").tree if found is not None else None
    entry = tree.get(key) if isinstance(tree, Mapping) else None
    if not isinstance(entry, Mapping):
        return key
    return named(str(entry.get("title", key)), cast(ReadAs, entry.get("read_as", "secondary")))
