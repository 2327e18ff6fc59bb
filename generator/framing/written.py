"""Pages written by hand: what they are called."""

from __future__ import annotations

from html import unescape

from generator.pages.escape import escape


def title_of(typed: object) -> str:
    """A page's title, from its front matter, its heading or its file's name, as text that stays
    text."""
    return str(escape(unescape(str(typed))))
