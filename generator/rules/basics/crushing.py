"""The words of a step that open fruit and vegetables as a knife does, and further: pressed, juiced,
ground, mashed."""

from __future__ import annotations

import functools
import re
from collections.abc import Iterable

_CRUSHED = re.compile(
    r"^(?:juice|press)$|\b(?:juic(?:ed|ing)|squeez(?:e|ed|ing)|crush(?:e[ds]|ing)?|mash(?:e[ds]|ing)?"
    r"|pulp(?:ed|ing|s)?|liquidi[sz]e?(?:d|s|ing)?|pur[ée]e(?:d|s|ing)?"
    r"|grind(?! (?:[\w-]+ ){0,3}(?:pepper|peppercorns|salt|spices?|coffee|nutmeg)\b)"
    r"|(?:juice|press|blend) (?:it|them|out|through))\b",
    re.IGNORECASE,
)


def crushes(words: Iterable[str]) -> bool:
    """Whether any of some words of a step says that it crushes, presses or grinds."""
    return any(map(_crushes, words))


@functools.lru_cache(4096)
def _crushes(text: str) -> bool:
    return _CRUSHED.search(text) is not None


_JUICER = re.compile(r"\bjuic(?:e|ed|er|ing)\b", re.IGNORECASE)


def by_a_juicer(texts: Iterable[str]) -> bool:
    """Whether one of some texts of a step, its machine's name among them, says that it makes
    juice."""
    return any(_JUICER.search(text) for text in texts)
