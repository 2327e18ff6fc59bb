"""The glossary as data: terms of the trade, and other names of the same food."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, TypeVar

from pydantic import Field

from generator.files.finding import Finding, Place
from generator.files.source_text import Mapping
from generator.intake.reading import EVERYTHING, Reader
from generator.records.fields import Id, WordList, Words, YesNo
from generator.records.record import Record

_R = TypeVar("_R", bound=Record)


class Term(Record):
    """One term: what it means, where it matters, and for a term of law the clause and its copy."""

    term: Words
    also: WordList = ()
    means: Words
    matters: Words = ""
    legal: YesNo = False
    clause: Words = ""
    source: Id | None = None


class OtherName(Record):
    """One food and what else it is called."""

    name: Words
    also: WordList = Field(min_length=1)
    note: Words = ""
    source: Id | None = None


class Searched(Record):
    """What a cook types when she looks for something, and the words the manual has for it; any of
    them will do."""

    typed: WordList = Field(min_length=1)
    finds: WordList = Field(min_length=1)


@dataclass(frozen=True)
class Glossary:
    """Terms, other names and what is typed into the search, each under its id."""

    terms: dict[str, Term]
    other_names: dict[str, OtherName]
    searched: dict[str, Searched]

    def sources(self) -> Iterator[tuple[str, Place]]:
        """Every source named, and where."""
        entries: list[Term | OtherName] = [*self.terms.values(), *self.other_names.values()]
        for entry in entries:
            if entry.source is not None:
                yield entry.source, entry.place("source")


def read_glossary(reader: Reader) -> Glossary:
    """``shared/glossary.yaml``; faults go to the reader's findings."""
    name = f"{reader.top}/glossary.yaml"
    path = reader.root / reader.top / "glossary.yaml"
    if not path.is_file():
        reader.findings.append(
            Finding(
                "reference-missing",
                "error",
                f"{name} is missing.",
                Place(name),
                "Copy it from the installation.",
                about=frozenset({EVERYTHING}),
            )
        )
        return Glossary({}, {}, {})
    tree = reader.take(reader.document(path), EVERYTHING)
    glossary = Glossary(
        _entries(reader, tree, "terms", Term),
        _entries(reader, tree, "other_names", OtherName),
        _entries(reader, tree, "searched", Searched),
    )
    reader.findings.extend(_faults(glossary))
    return glossary


def _entries(reader: Reader, tree: Any, key: str, model: type[_R]) -> dict[str, _R]:
    group = tree.get(key) if isinstance(tree, Mapping) else None
    if not isinstance(group, Mapping):
        if tree is not None:
            reader.findings.append(
                Finding(
                    "group-expected",
                    "error",
                    f"Write `{key}:` with its entries here.",
                    Place(f"{reader.top}/glossary.yaml"),
                    about=frozenset({EVERYTHING}),
                )
            )
        return {}
    records: dict[str, _R] = {}
    for ident, inner in group.items():
        record = reader.record(model, inner, group.keys_at[ident], EVERYTHING)
        if record is not None:
            record.set_place(group.keys_at[ident])
            records[ident] = record
    return records


def _faults(glossary: Glossary) -> Iterator[Finding]:
    """A term of law without its clause or copy; one word that means two things."""
    for term in glossary.terms.values():
        if term.legal and not (term.clause and term.source):
            yield Finding(
                "term-without-clause",
                "error",
                f"{term.term} is a term of law. By which clause? Read where?",
                term.place(),
                "Give `clause` and `source`, or delete `legal`.",
                about=frozenset({EVERYTHING}),
            )
    for said in (
        [(t.term, t.also, t.place()) for t in glossary.terms.values()],
        [(o.name, o.also, o.place()) for o in glossary.other_names.values()],
    ):
        seen: dict[str, str] = {}
        for name, also, place in said:
            for word in (name, *also):
                first = seen.setdefault(word.lower(), name)
                if first != name:
                    yield Finding(
                        "term-twice",
                        "error",
                        f"“{word}” means {first} and {name}.",
                        place,
                        "A word means one thing here.",
                        about=frozenset({EVERYTHING}),
                    )
