"""The chef's own text in more than one language: ``how: {en: …, es: …}``.

The kitchen's own language goes on to the records; the others are kept beside it, by the text they
say. Texts nobody translated are counted in one note, where the kitchen says which languages its
crew reads.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from generator.files.finding import Finding, Place
from generator.files.source_text import Mapping, Sequence, Text, copied, place_of
from generator.measures.words import counted
from generator.records.kitchen import HOME

KEYS = (
    "name",
    "about",
    "note",
    "how",
    "until",
    "probe",
    "if_missed",
    "prepare",
    "looks_right",
    "looks_wrong",
)
"""The keys whose text may be in several languages."""
_COUNTED = frozenset(KEYS) - {"name", "about", "prepare", "probe"}
_CODE = re.compile(r"[a-z]{2}")


def in_languages(value: Any) -> bool:
    """Whether a value is a text in several languages: a group whose keys are their codes."""
    return isinstance(value, Mapping) and bool(value) and all(map(_CODE.fullmatch, value))


def _in_several(node: Any, said: bool = False) -> bool:
    """Whether any text of a tree is in several languages; ``said`` is whether this stands under a
    key whose text may be. A step that says nothing but `do: store` is no group of languages."""
    if isinstance(node, Mapping):
        return (said and in_languages(node)) or any(
            _in_several(value, key in KEYS) for key, value in node.items()
        )
    return isinstance(node, Sequence) and any(_in_several(value, said) for value in node)


@dataclass
class Told:
    """What a kitchen says in other languages. ``known`` are the languages there are words for,
    ``wanted`` those its crew reads besides its own; ``texts`` holds translations by language and
    text, ``untold`` the places of texts without one."""

    known: tuple[str, ...]
    wanted: tuple[str, ...] = ()
    findings: list[Finding] = field(default_factory=list)
    texts: dict[str, dict[str, str]] = field(default_factory=dict)
    untold: dict[str, list[Place]] = field(default_factory=dict)

    def plain(self, tree: Any, about: str) -> Any:
        """A tree with the kitchen's own language alone; faults are about the record ``about``."""
        if not isinstance(tree, Mapping | Sequence):
            return tree
        if _in_several(tree):  # else every text stays what it is, and nothing is changed
            tree = copied(tree)
        self._walk(tree, about)
        return tree

    def _walk(self, node: Any, about: str) -> None:
        for key, value in list(_items(node)):
            if isinstance(node, Mapping) and key in KEYS:
                node[key] = value = self._own(key, value, about)
            elif isinstance(value, Mapping | Sequence):
                self._walk(value, about)

    def _own(self, key: str, value: Any, about: str) -> Any:
        """The value of a key in the kitchen's own language."""
        if in_languages(value):
            return self._chosen(value, about)
        if isinstance(value, Sequence):
            for index, item in enumerate(value):
                value[index] = self._own(key, item, about)
        elif isinstance(value, Mapping):
            self._walk(value, about)
        elif isinstance(value, Text) and key in _COUNTED:
            self._count(value, self.wanted)
        return value

    def _chosen(self, value: Mapping, about: str) -> Any:
        for code, said in value.items():
            self._check(code, said, value.keys_at[code], about)
        if HOME not in value:
            self._fault(
                "language-missing",
                f"The text has no `{HOME}`, the kitchen's own language.",
                value.place,
                f"Write `{HOME}:` and the text. Checks, paper and answers use it.",
                about,
            )
            return next(iter(value.values()))
        own = value[HOME]
        for code in (c for c in value if c != HOME):
            self._keep(code, own, value[code], about)
        missing = tuple(code for code in self.wanted if code not in value)
        for line in _lines(own):
            if isinstance(line, Text):
                self._count(line, missing)
        return own

    def _check(self, code: str, said: Any, place: Place, about: str) -> None:
        """A language there are words for, and a text in it."""
        if code != HOME and code not in self.known:
            self._fault(
                "language-unknown",
                f"There are no words for the language `{code}`.",
                place,
                f"Languages here: {', '.join((HOME, *self.known))}.",
                about,
            )
        elif not _lines(said) or not all(line.strip() for line in _lines(said)):
            self._fault(
                "language-empty",
                f"The text in `{code}` is empty, or no text.",
                place,
                "Write it, or leave the language out.",
                about,
            )

    def _keep(self, code: str, own: Any, said: Any, about: str) -> None:
        ours, theirs = _lines(own), _lines(said)
        if len(ours) != len(theirs):
            self._fault(
                "language-lines",
                f"`{HOME}` has {counted(len(ours), 'line')} here, `{code}` has {len(theirs)}.",
                place_of(said, place_of(own, Place("?"))),
                "Write one line for each line.",
                about,
            )
            return
        kept = self.texts.setdefault(code, {})
        for line, words in zip(ours, theirs, strict=True):
            plain, told = " ".join(line.split()), " ".join(words.split())
            if kept.setdefault(plain, told) != told:
                self._fault(
                    "language-twice",
                    f"`{plain}` has another text in `{code}` elsewhere: {kept[plain]}",
                    place_of(words, place_of(said, Place("?"))),
                    "The same text has one translation. Make them the same.",
                    about,
                )

    def _count(self, text: Text, missing: tuple[str, ...]) -> None:
        for code in missing:
            self.untold.setdefault(code, []).append(text.place)

    def _fault(self, code: str, message: str, place: Place, help: str, about: str) -> None:
        self.findings.append(Finding(code, "error", message, place, help, about=frozenset({about})))

    def counted(self) -> Iterator[Finding]:
        """A note for each language the crew reads in which the chef's texts are missing."""
        for code, places in sorted(self.untold.items()):
            number = len(places)
            yield Finding(
                "language-untold",
                "note",
                f"{number} of the kitchen's own texts {'is' if number == 1 else 'are'} not in "
                f"`{code}`.",
                places[0],
                f"The first is here. Write it as {{{HOME}: …, {code}: …}}.",
            )


def _items(node: Any) -> Iterator[tuple[Any, Any]]:
    return iter(node.items()) if isinstance(node, Mapping) else iter(enumerate(node))


def _lines(value: Any) -> list[str]:
    """The lines of a text or of a list of texts; none for anything else."""
    if isinstance(value, str):
        return [value]
    if isinstance(value, Sequence) and all(isinstance(line, str) for line in value):
        return list(value)
    return []
