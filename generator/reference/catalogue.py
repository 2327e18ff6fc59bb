"""``shared/words/<language>.yaml``: the frame's words in another language, read when a site asks
for them, and not by every command.

A message is a text of the frame with a place for whatever differs from page to page: ``{}`` for a
figure, ``{x}``, ``{y}`` for a name or a text that is translated by itself. A figure is copied as
it stands (``told.js``), never written anew, so it is the same in every language.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from generator.files.finding import Refused
from generator.files.source_text import read_file

FOLDER = "words"
_PLACE = re.compile(r"\{(\w*)\}")
_GROUPS = ("joins", "messages", "scripts", "reference")


@dataclass(frozen=True)
class Term:
    """A term of the list: English, the other language, and the source it is from; ``source`` is
    empty where the choice is ours."""

    term: str
    words: str
    source: str = ""
    note: str = ""


@dataclass(frozen=True)
class Catalogue:
    """The words of one language: its code, its own name, the terms, and the messages.

    ``messages`` are those of pages, ``scripts`` those a script may show, ``reference`` the texts
    of the pages of reference.
    """

    code: str
    name: str
    same: frozenset[str]
    terms: tuple[Term, ...]
    joins: Mapping[str, str]
    messages: Mapping[str, str]
    scripts: Mapping[str, str]
    reference: Mapping[str, str]

    @property
    def all(self) -> dict[str, str]:
        """Every message."""
        return {**self.reference, **self.scripts, **self.messages}


def places(message: str) -> list[str]:
    """The places of a message, sorted: two messages that say the same have the same ones."""
    return sorted("" if name.isdigit() else name for name in _PLACE.findall(message))


def read_catalogues(shared: Path) -> dict[str, Catalogue]:
    """Every language under ``shared/words`` by its code. Raises Refused for a file that can't be
    read, or a message whose places aren't those of its English."""
    files = sorted((shared / FOLDER).glob("*.yaml"))
    return {path.stem: _read(path, path.stat().st_mtime_ns) for path in files}


@lru_cache(8)
def _read(path: Path, stamp: int) -> Catalogue:
    """One language; ``stamp`` is another one for another state of the file."""
    name = f"shared/{FOLDER}/{path.name}"
    document = read_file(path, name)
    for finding in document.findings:
        raise Refused("words-unread", f"{finding.place}: {finding.message}", finding.help)
    tree = document.tree
    if not isinstance(tree, Mapping) or not isinstance(tree.get("language"), str):
        raise Refused(
            "words-unread", f"{name} doesn't say its language.", "Write `language:` and its name."
        )
    groups = {key: _texts(tree.get(key), f"{name}: {key}") for key in _GROUPS}
    for key in _GROUPS[1:]:
        for english, words in groups[key].items():
            _check(name, english, words)
    return Catalogue(
        path.stem,
        str(tree["language"]),
        frozenset(map(str, tree.get("same") or ())),
        tuple(_terms(tree.get("terms"), name)),
        groups["joins"],
        groups["messages"],
        groups["scripts"],
        groups["reference"],
    )


def _texts(tree: object, name: str) -> dict[str, str]:
    if tree is None:
        return {}
    if not isinstance(tree, Mapping) or not all(isinstance(v, str) for v in tree.values()):
        raise Refused("words-unread", f"{name} is no list of texts.", "Write text: text.")
    return {str(key): str(value) for key, value in tree.items()}


def _check(name: str, english: str, words: str) -> None:
    if not words.strip():
        raise Refused("words-unread", f"{name}: `{english}` has no words.", "Write them.")
    if places(english) != places(words):
        raise Refused(
            "words-unread",
            f"{name}: `{words}` has other places than `{english}`.",
            "Each {} and {x} must be there as often.",
        )


def _terms(tree: object, name: str) -> Iterator[Term]:
    for entry in tree if isinstance(tree, list) else ():
        facts = _texts(entry, f"{name}: terms")
        if not {"term", "words"} <= facts.keys() <= {"term", "words", "source", "note"}:
            raise Refused("words-unread", f"{name}: a term without its words.", "Write both.")
        yield Term(**facts)
