"""The words of a food's name: small letters, the singular, no accents, nothing of style."""

from __future__ import annotations

import functools
import re
import unicodedata

Phrase = tuple[str, ...]
_STYLE = re.compile(
    r"\b((?:irish|french|italian|spanish|greek|english|scottish|welsh|danish|dutch|german|swiss|polish"
    r"|american|british|turkish|chinese|japanese|korean|thai|asian|indian|mexican|southern|northern"
    r"|sicilian|provencal|belgian|austrian|hungarian|bulgarian|farmhouse|country|home|house|old"
    r"|new york|restaurant|artisan|traditional)) styled?\b|\b\w+ styled?\b"
)
"""In the style of a place a food is that food; in that of another food, what stands behind."""
_NOT_YET = re.compile(
    r"\b(?:not(?: (?:yet|fully|quite|been))*|never|to be|must be|needs to be|yet to be|ready to"
    r"|part|partly|partially|un) ?(?:cook(?:ed)?|roast(?:ed)?|baked?|boil(?:ed)?|grill(?:ed)?|fry"
    r"|fried|heated|poach(?:ed)?|steam(?:ed)?|braised?|pasteuri[sz]ed)\b|\bhalf (?:cook|bak)ed\b"
)
"""What is to be cooked, or is in part alone, is raw."""


@functools.lru_cache(4096)
def plain_text(text: str) -> str:
    """Small letters without accents, hyphens between letters as spaces."""
    bare = unicodedata.normalize("NFKD", text.casefold().replace("’", "'").replace("œ", "oe"))
    bare = "".join(c for c in bare if not unicodedata.combining(c))
    apart = re.sub(r"(?<=\w)-(?=\w)", " ", bare)
    return _NOT_YET.sub("raw", _STYLE.sub(r"\1", apart))


@functools.lru_cache(4096)
def phrase_of(text: str) -> Phrase:
    """The words of a text in the singular; figures and signs are left out."""
    words = re.findall(r"[a-z']+", re.sub(r"\S*\d\S*", " ", plain_text(text)))
    return tuple(one for word in words if (one := _singular(word)))


def _singular(word: str) -> str:
    word = word.removesuffix("'s").removesuffix("s'").strip("'")
    if len(word) < 4 or word.endswith(("ss", "us")):
        return word
    if word.endswith("ie"):
        return word[:-2] + "y"  # as of its plural: cookies, brownies
    if word.endswith("ies") and len(word) > 4:
        return word[:-3] + "y"
    if word.endswith(("oes", "ches", "shes", "xes")) and len(word) > 4:
        return word[:-2]
    return word.removesuffix("s")
