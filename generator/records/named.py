"""Text that has to name something that is there: a paper on file, a log, who approved, who cooks.

`document: pending` is a text like any other to YAML, and would lift a limit. A text that says only
that there is nothing, or nothing yet, is refused wherever a rule rests on what is named.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Annotated

from pydantic import PlainValidator

from generator.files.finding import Refused, clipped
from generator.records.fields import TEXT_SCHEMA, read_words, reader

_SAYS_NOTHING = frozenset(
    re.findall(
        r"\w+",
        """
    none no not non never nil null nothing nobody noone na yes ok okay true false tbd tba tbc
    todo pending applied requested awaited awaiting waiting expected coming come follow follows
    later soon unknown missing lost absent someone somebody anybody x xx xxx ninguno ninguna
    nada nadie pendiente
    """,
    )
)
_SAYS_LITTLE = frozenset(
    re.findall(
        r"\w+",
        """
    a an any applicable approved asked at all be been by do file files for from got has have
    here i is it its known letter log n needed now number on paper papers permit plan please
    procedure record records required so far sure the there to us was we will with yet document
    documents approval variance authorisation permission name chef done cooked
    """,
    )
)
"""Words that name nothing by themselves; with one of the others beside them they say so."""


def names_nothing(text: str) -> bool:
    """Whether a text says only that there is nothing, or nothing yet: of its words each is empty,
    and one says so. `No. 14` and `HACCP plan` name something.

    >>> [names_nothing(t) for t in ("not yet on file", "n/a", "?", "No. 14", "HACCP plan")]
    [True, True, True, False, False]
    """
    plain = re.sub(r"\bn[/.]? ?a\b", "na", text.lower().replace("_", " "))
    words = re.findall(r"\w+", plain)
    if not words:
        return True
    denied = any(word in _SAYS_NOTHING for word in words)
    return denied and all(word in _SAYS_NOTHING | _SAYS_LITTLE for word in words)


def _named(help: str) -> PlainValidator:
    return PlainValidator(reader(_reading(help)))


def _reading(help: str) -> Callable[[str], str]:
    def read(text: str) -> str:
        words = read_words(text)
        if names_nothing(words):
            raise Refused("nothing-named", f"`{clipped(words)}` names nothing.", help)
        return words

    return read


Paper = Annotated[
    str,
    _named(
        "Write the number or title of what is on file, or who gave it. Is there none yet? Then "
        "delete what rests on it."
    ),
    TEXT_SCHEMA,
]
"""A paper, a log or an authority that a rule rests on."""
Approver = Annotated[
    str,
    _named("Write who approved it. Did nobody yet? Delete the key: the page says draft."),
    TEXT_SCHEMA,
]
"""Who approved a standard."""
Said = Annotated[str, _named("Say it in a sentence. Is it not so? Delete the key."), TEXT_SCHEMA]
"""A sentence that lifts a limit: why it is so, who cooks it, how guests are informed."""
