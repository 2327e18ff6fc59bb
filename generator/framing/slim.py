"""Scripts and style sheets without what only their maintainer reads."""

from __future__ import annotations

import re

_COMMENT = re.compile(r"/\*(?!!).*?\*/", re.DOTALL)
_QUOTED = re.compile(r"(\"[^\"]*\"|'[^']*')")
_LINES = re.compile(r"\s+")
_BLANKS = re.compile(r" ?([{};,>]) ?|(?<=:) ")


def slim(script: str) -> str:
    """A script without its lines of comment and its indents.

    A text that goes over several lines would be changed: ours hold none (a test looks).
    """
    lines = (line.strip() for line in script.splitlines())
    return "".join(f"{line}\n" for line in lines if line and not line.startswith("//"))


def slim_sheet(css: str) -> str:
    """A style sheet without comments, line ends, indents and the blanks round its signs.

    A text in quotation marks keeps its blanks; a blank before a colon is a descendant's and stays.
    """
    pieces = _QUOTED.split(_COMMENT.sub("", css))
    pieces[::2] = [_BLANKS.sub(r"\1", _LINES.sub(" ", piece)) for piece in pieces[::2]]
    return "".join(pieces).replace(";}", "}").strip() + "\n"
