"""The look and the scripts as they are published: without what only a maintainer reads."""

from __future__ import annotations

import re
from pathlib import Path

STATIC = Path(__file__).resolve().parent / "static"
SCRIPTS = ("manual.js", "bench.js", "paper.js")
"""The scripts of every page; a formula page fetches the others when a size is asked for."""
ASSETS = ("manual.css", *SCRIPTS, "size.js", "batch.js")
"""The look and the scripts, all in STATIC."""

_COMMENT = re.compile(r"^[ \t]*(?://[^\n]*|/\*.*?\*/[ \t]*)\n", re.MULTILINE | re.DOTALL)
_INDENT = re.compile(r"^\s+", re.MULTILINE)


def asset(name: str) -> str:
    """The text of one of ASSETS without comments on lines of their own and without indents.

    No text in them may run over a line's end: its indent would be lost.
    """
    text = (STATIC / name).read_text(encoding="utf-8")
    return _INDENT.sub("", _COMMENT.sub("", text))
