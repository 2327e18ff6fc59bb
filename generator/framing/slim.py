"""Scripts and style sheets without what only their maintainer reads."""

from __future__ import annotations

import re

_COMMENT = re.compile(r"/\*(?!!).*?\*/", re.DOTALL)


def slim(script: str) -> str:
    """A script without its lines of comment and its indents.

    A text that goes over several lines would be changed: ours hold none (a test looks).
    """
    lines = (line.strip() for line in script.splitlines())
    return "".join(f"{line}\n" for line in lines if line and not line.startswith("//"))


def slim_sheet(css: str) -> str:
    """A style sheet without comments, line ends and indents."""
    lines = (line.strip() for line in _COMMENT.sub("", css).splitlines())
    return "\n".join(line for line in lines if line) + "\n"
