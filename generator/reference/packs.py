"""Rule packs: dated law as data, one folder a pack."""

from __future__ import annotations

from dataclasses import dataclass

from generator.finding import Finding, Place
from generator.intake.reading import EVERYTHING, Reader, top_of
from generator.reference.rows import Definition, Group, PackFacts, Row, Topic


@dataclass(frozen=True)
class Pack:
    """One rule pack: its facts, its groups in rising rank, its rows by id."""

    id: str
    facts: PackFacts
    groups: dict[str, Group]
    definitions: dict[str, Definition]
    rows: dict[str, Row]

    @property
    def ranking(self) -> tuple[str, ...]:
        """The ranked cooking groups, lowest first: a mixture takes the highest in it."""
        return tuple(ident for ident, group in self.groups.items() if group.ranked)

    def rows_of(self, hazard: str, group: str | None = None) -> list[tuple[str, Row]]:
        """The rows of a hazard, optionally of one group, in the order of the data."""
        return [
            (ident, row)
            for ident, row in self.rows.items()
            if row.hazard == hazard and (group is None or row.group == group)
        ]

    def row_for(self, hazard: str, applies: str) -> tuple[str, Row] | None:
        """The row of a hazard for a kind of food or procedure, or None."""
        for ident, row in self.rows_of(hazard):
            if row.applies == applies:
                return ident, row
        return None


def read_packs(reader: Reader) -> dict[str, Pack]:
    """Every pack under ``shared/limits``; faults go to the reader's findings."""
    folder = reader.root / reader.top / "limits"
    packs: dict[str, Pack] = {}
    if not folder.is_dir():
        return packs
    for place in sorted(p for p in folder.iterdir() if p.is_dir()):
        pack = _read_pack(reader, place.name)
        if pack is not None:
            packs[place.name] = pack
    return packs


def _read_pack(reader: Reader, ident: str) -> Pack | None:
    facts: PackFacts | None = None
    groups: dict[str, Group] = {}
    definitions: dict[str, Definition] = {}
    rows: dict[str, Row] = {}
    held: set[str] = set()
    for path in reader.folder(f"limits/{ident}"):
        document = reader.document(path)
        tree = reader.take(document, EVERYTHING)
        if tree is None:
            continue
        start = top_of(tree, document.file)
        if path.stem == "pack":
            facts = reader.record(PackFacts, tree, start, EVERYTHING)
            continue
        topic = reader.record(Topic, tree, start, EVERYTHING)
        if topic is None:
            continue
        held.add(topic.topic)
        groups.update(topic.groups)
        definitions.update(topic.definitions)
        for row_id, row in topic.rows.items():
            if row_id in rows:
                reader.findings.append(
                    Finding(
                        "id-twice",
                        "error",
                        f"The row `{row_id}` stands in two files.",
                        row.place(),
                        "Row ids are unique in a pack.",
                        about=frozenset({EVERYTHING}),
                    )
                )
            rows[row_id] = row
    if facts is None or not facts.complete or set(facts.topics) - held:
        missing = ", ".join(sorted(set(facts.topics) - held)) if facts else "pack.yaml"
        reader.findings.append(
            Finding(
                "pack-incomplete",
                "error",
                f"The rule pack {ident} is not complete (missing: {missing or 'marked so'}).",
                Place(f"{reader.top}/limits/{ident}"),
                "An incomplete pack can't be chosen.",
                about=frozenset({f"pack:{ident}"}),
            )
        )
        return None
    return Pack(ident, facts, groups, definitions, rows)
