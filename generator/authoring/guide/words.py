"""Words of the guide's made parts: code, lists, sentences."""

from __future__ import annotations


def code(text: str) -> str:
    """A text as Markdown's code."""
    return f"`{text}`"


def listed(words: list[str], joint: str = "or") -> str:
    """Words as a list in a sentence: a, b or c."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {joint} {words[-1]}"


def sentence(text: str) -> str:
    """A text that ends as a sentence does."""
    return text if text.endswith((".", "?", "!")) else text + "."
