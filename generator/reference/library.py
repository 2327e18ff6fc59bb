"""The whole of ``shared/`` read once: the library every kitchen draws on."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Final, TypeVar

from generator.files.finding import Finding, Place
from generator.files.source_text import Mapping
from generator.intake.reading import EVERYTHING, Reader
from generator.measures.marks import written_with
from generator.measures.times import read_time
from generator.measures.units import load_units
from generator.records.label_law import LabelLaw
from generator.records.record import Record
from generator.reference.cautions import Caution, read_cautions
from generator.reference.foods import CheckPoint, Foodstuff, Medium
from generator.reference.glossary import Glossary, read_glossary
from generator.reference.known_names import KnownNames, read_known_names
from generator.reference.packs import Pack, read_packs
from generator.reference.rows import (
    READ_AS,
    AllergenList,
    FindingWords,
    HazardWords,
    NaturalPoison,
    Plant,
    ReadAs,
    SaidEffect,
    SourceRecord,
    UsualAmount,
    Verb,
    WorkingRule,
)

_R = TypeVar("_R", bound=Record)


PREPARATION: Final = "preparation"
"""The working rule that the rules of law ask for where a pack sets no figure."""


_NONE = read_time("0 s")


@dataclass(frozen=True)
class Library:
    """Reference data: typed, with the findings of reading it."""

    folder: Path
    sources: dict[str, SourceRecord]
    verbs: dict[str, Verb]
    said: dict[str, SaidEffect]
    hazards: dict[str, HazardWords]
    allergens: dict[str, AllergenList]
    foodstuffs: dict[str, Foodstuff]
    plants: dict[str, Plant]
    known_names: KnownNames
    packs: dict[str, Pack]
    working_rules: dict[str, WorkingRule]
    usual_amounts: dict[str, UsualAmount]
    natural_poisons: dict[str, NaturalPoison]
    check_points: dict[str, CheckPoint]
    media: dict[str, Medium]
    cautions: dict[str, Caution]
    explanations: dict[str, FindingWords]
    glossary: Glossary
    label_laws: dict[str, LabelLaw]
    files: int
    findings: tuple[Finding, ...] = field(repr=False)

    @property
    def preparation(self) -> WorkingRule:
        """How long food may be out of the cold and the heat in preparation; no time at all where
        the rule can't be read, which is an error of its own."""
        return self.working_rules.get(PREPARATION) or WorkingRule.model_construct(
            name="Our working rule for preparation",
            noted=_NONE,
            most=_NONE,
            why="It couldn't be read.",
        )

    @cached_property
    def said_words(self) -> tuple[str, ...]:
        """All the words of steps that say an effect."""
        return tuple(word for said in self.said.values() for word in said.words)

    @cached_property
    def densest(self) -> tuple[Fraction, str]:
        """The heaviest measured foodstuff, in g for a ml, and its name."""
        found = (Fraction(0), "")
        for stuff in self.foodstuffs.values():
            units = load_units(self.folder, stuff.measures)
            for word, amount in stuff.weighs.items():
                unit, _ = units.find(word)
                if unit is not None and unit.kind == "volume" and unit.factor:
                    found = max(found, (amount.value / unit.factor, stuff.name))
        return found

    def source_title(self, key: str) -> str:
        """A source's title for people, marked where it is a secondary copy; the key itself if it
        isn't known."""
        source = self.sources.get(key)
        return source.named if source else key

    def read_as(self, keys: Iterable[str]) -> ReadAs:
        """What is the best of some copies: a row rests on that one."""
        found = [self.sources[key].read_as for key in keys if key in self.sources]
        return min(found, key=READ_AS.index, default="none")


def read_reference(shared: Path) -> Library:
    """Read ``shared``; faults come back in ``findings``. Raises BrokenData for the units alone.

    Unchanged files are not read twice in one process: an edit of a formula needs no new library.
    """
    stamps = tuple(sorted(_stamps(os.fspath(shared))))
    with written_with("point"):  # reference data is one for all kitchens
        return _read(shared, stamps)


def _stamps(folder: str) -> Iterable[tuple[str, int, int]]:
    """Each YAML file in a folder and those below it, when it was changed and its size."""
    try:
        with os.scandir(folder) as found:
            entries = list(found)
    except OSError:
        return  # what is missing is reported where it is read
    for entry in entries:
        if entry.is_dir(follow_symlinks=False):
            yield from _stamps(entry.path)
        if entry.name.endswith(".yaml"):
            status = entry.stat()
            yield entry.path, status.st_mtime_ns, status.st_size


@lru_cache(maxsize=4)
def _read(shared: Path, stamps: tuple[tuple[str, int, int], ...]) -> Library:
    """The reading itself; ``stamps`` are others for another state of the folder."""
    reader = Reader(shared.parent, shared.name)
    reader.units = load_units(shared)
    library = Library(
        shared,
        _group(reader, "sources", "", SourceRecord),
        _group(reader, "verbs", "verbs", Verb),
        _group(reader, "verbs", "said", SaidEffect),
        _group(reader, "hazards", "hazards", HazardWords),
        _group(reader, "allergens", "lists", AllergenList),
        _group(reader, "foodstuffs", "foodstuffs", Foodstuff),
        _group(reader, "plants", "plants", Plant),
        read_known_names(reader),
        read_packs(reader),
        _group(reader, "working-rules", "working_rules", WorkingRule, needed=(PREPARATION,)),
        _group(reader, "usual-amounts", "usual_amounts", UsualAmount),
        _group(reader, "natural-poisons", "poisons", NaturalPoison),
        _group(reader, "check-points", "check_points", CheckPoint),
        _group(reader, "check-points", "media", Medium),
        read_cautions(reader),
        _group(reader, "findings", "findings", FindingWords),
        read_glossary(reader),
        _group(reader, "labelling", "laws", LabelLaw),
        reader.files,
        (),
    )
    findings = tuple(dict.fromkeys([*reader.findings, *_unknown_sources(library)]))
    return replace(library, findings=findings)


def _group(
    reader: Reader, file: str, key: str, model: type[_R], needed: tuple[str, ...] = ()
) -> dict[str, _R]:
    """The entries of a file under a key; those ``needed`` that aren't there are findings."""
    path = reader.root / reader.top / f"{file}.yaml"
    name = f"{reader.top}/{file}.yaml"
    about = frozenset({EVERYTHING})
    if not path.is_file():
        reader.findings.append(
            Finding(
                "reference-missing",
                "error",
                f"{name} is missing.",
                Place(name),
                "Copy it from the installation.",
                about=about,
            )
        )
        return {}
    tree = reader.take(reader.document(path), EVERYTHING)
    entries = (tree.get(key) if key else tree) if isinstance(tree, Mapping) else None
    if not isinstance(entries, Mapping):
        if tree is not None:
            reader.findings.append(
                Finding(
                    "group-expected",
                    "error",
                    f"Write `{key}:` with its entries here.",
                    Place(name),
                    about=about,
                )
            )
        return {}
    records: dict[str, _R] = {}
    for ident, inner in entries.items():
        record = reader.record(model, inner, entries.keys_at[ident], EVERYTHING)
        if record is not None:
            record.set_place(entries.keys_at[ident])
            records[ident] = record
    for ident in needed:
        if ident not in entries:
            reader.findings.append(
                Finding(
                    "reference-missing",
                    "error",
                    f"{name} has no `{ident}`.",
                    Place(name),
                    "Copy it from the installation.",
                    about=about,
                )
            )
    return records


def _unknown_sources(library: Library) -> list[Finding]:
    first: dict[str, Place] = {}
    for key, place in _sources_named(library):
        if key not in library.sources:
            first.setdefault(key, place)
    return [
        Finding(
            "source-unknown",
            "error",
            f"`{key}` is not in sources.yaml.",
            place,
            "Enter the source, or fix the key.",
            about=frozenset({EVERYTHING}),
        )
        for key, place in first.items()
    ]


def _sources_named(library: Library) -> Iterator[tuple[str, Place]]:
    """Every source the reference data name, with the place."""
    for pack in library.packs.values():
        yield pack.facts.source, pack.facts.place("source")
        for row in pack.rows.values():
            yield from ((key, row.place("read_in")) for key in row.read_in)
        for definition in pack.definitions.values():
            yield from ((key, definition.place("read_in")) for key in definition.read_in)
    for kind in (
        library.foodstuffs,
        library.check_points,
        library.cautions,
        library.allergens,
        library.usual_amounts,
        library.natural_poisons,
    ):
        for one in kind.values():
            yield one.source, one.place("source")
    for listed in library.allergens.values():
        if listed.guidance:
            yield listed.guidance, listed.place("guidance")
    for law in library.label_laws.values():
        yield law.source, law.place("source")
        yield from law.copies()
    yield from library.glossary.sources()
