"""Rule packs: dated law as data, one folder a pack."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property
from typing import Any, TypeVar

from generator.files.finding import Finding, Place
from generator.intake.reading import EVERYTHING, Reader, top_of
from generator.reference.row_kinds import (
    CookRow,
    FoodRow,
    HoldRow,
    OneOf,
    PartCookRow,
    ReheatRow,
    Row,
    RowHead,
    ThawRow,
)
from generator.reference.rows import Definition, Group, PackFacts, Topic

_R = TypeVar("_R", bound=RowHead)
_F = TypeVar("_F", bound=FoodRow)


@dataclass(frozen=True)
class Pack:
    """One rule pack: its facts, its groups in rising rank, its rows by id.

    ``topics`` says which rows a topic file holds, ``topic_groups`` which groups. Rows shared from
    another pack are among the rows, and name that pack's document where it isn't this one's.
    ``ours`` are the hazards whose rows a house limit took the place of.
    """

    id: str
    facts: PackFacts
    groups: dict[str, Group]
    definitions: dict[str, Definition]
    rows: dict[str, Row]
    topics: dict[str, tuple[str, ...]] = field(default_factory=dict)
    topic_groups: dict[str, tuple[str, ...]] = field(default_factory=dict)
    ours: frozenset[str] = frozenset()

    def class_of(self, species: str | None) -> str:
        """What a species is classed as, as meat, poultry or fish; "" where the pack doesn't
        say."""
        found = self.definitions.get(species or "")
        return found.group_as or "" if found is not None else ""

    @property
    def ranking(self) -> tuple[str, ...]:
        """The ranked cooking groups, lowest first: a mixture takes the highest in it."""
        return tuple(ident for ident, group in self.groups.items() if group.ranked)

    def members(self, group: str) -> tuple[str, ...]:
        """The groups whose rows a group may use: its own, or those it borrows by its data."""
        held = self.groups.get(group)
        return held.rows_of if held is not None and held.rows_of else (group,)

    def rows_of(self, kind: type[_R], hazard: OneOf | None = None) -> list[tuple[str, _R]]:
        """The rows of a kind, or of one ``hazard`` of a kind that has several, in the order of the
        data."""
        found: list[tuple[str, _R]] | None = self._found.get((kind, hazard))
        if found is None:
            rows: list[tuple[str, _R]] = self._by_kind.get(kind, [])
            found = [(ident, row) for ident, row in rows if hazard in (None, row.hazard)]
            self._found[kind, hazard] = found
        return list(found)

    def row(self, kind: type[_R], ident: str) -> _R:
        """The row of an id that is known to be of a kind."""
        found = self.rows[ident]
        assert isinstance(found, kind), f"{ident} is no {kind.__name__}"
        return found

    def cook_rows(self, group: str) -> list[tuple[str, CookRow]]:
        """The cooking rows of a group, in the order of the data."""
        return [(ident, row) for ident, row in self.rows_of(CookRow) if row.group == group]

    @cached_property
    def _found(self) -> dict[tuple[type, OneOf | None], list[tuple[str, Any]]]:
        """The rows of each kind and hazard that was asked for: every step asks for the same."""
        return {}

    @cached_property
    def _found_for(self) -> dict[tuple[type, OneOf | None, str], tuple[str, Any] | None]:
        """The same, for each kind of food or procedure."""
        return {}

    @cached_property
    def _by_kind(self) -> dict[type, list[tuple[str, Any]]]:
        found: dict[type, list[tuple[str, Any]]] = {}
        for ident, row in self.rows.items():
            for kind in type(row).__mro__:
                found.setdefault(kind, []).append((ident, row))
        return found

    def row_for(
        self, kind: type[_F], applies: str, hazard: OneOf | None = None
    ) -> tuple[str, _F] | None:
        """The row of a kind, or of one ``hazard`` of a kind that has several, for a kind of food or
        procedure; or None."""
        asked = (kind, hazard, applies)
        if asked not in self._found_for:
            rows = self.rows_of(kind, hazard)
            self._found_for[asked] = next((one for one in rows if one[1].applies == applies), None)
        return self._found_for[asked]


def row_group(row: Row) -> str | None:
    """The group of foods a row speaks of, if it is of a kind that has groups and names one."""
    return row.group if isinstance(row, CookRow | PartCookRow | HoldRow) else None


def read_packs(reader: Reader) -> dict[str, Pack]:
    """Every complete pack under ``shared/limits``; faults go to the reader's findings."""
    folder = reader.root / reader.top / "limits"
    read: dict[str, Pack] = {}
    if not folder.is_dir():
        return read
    for place in sorted(p for p in folder.iterdir() if p.is_dir()):
        pack = _read_pack(reader, place.name)
        if pack is not None:
            read[place.name] = pack
    packs: dict[str, Pack] = {}
    for ident, pack in read.items():
        shared = _with_shared(reader, pack, read)
        if shared is not None and not _unknown_groups(reader, shared):
            packs[ident] = shared
    return packs


def _read_pack(reader: Reader, ident: str) -> Pack | None:
    facts: PackFacts | None = None
    groups: dict[str, Group] = {}
    definitions: dict[str, Definition] = {}
    rows: dict[str, Row] = {}
    topics: dict[str, tuple[str, ...]] = {}
    topic_groups: dict[str, tuple[str, ...]] = {}
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
        topics[topic.topic] = tuple(topic.rows)
        topic_groups[topic.topic] = tuple(topic.groups)
        groups.update(topic.groups)
        definitions.update(topic.definitions)
        for row_id, row in topic.rows.items():
            if row_id in rows:
                reader.findings.append(
                    Finding(
                        "id-twice",
                        "error",
                        f"The row `{row_id}` is in two files.",
                        row.place(),
                        "A row id may be used once in a pack.",
                        about=frozenset({EVERYTHING}),
                    )
                )
            rows[row_id] = row
    if facts is None or not facts.complete or set(facts.topics) - set(topics):
        missing = ", ".join(sorted(set(facts.topics) - set(topics))) if facts else "pack.yaml"
        reader.findings.append(_incomplete(reader, ident, missing or "marked so"))
        return None
    return Pack(ident, facts, groups, definitions, rows, topics, topic_groups)


def _incomplete(reader: Reader, ident: str, missing: str) -> Finding:
    return Finding(
        "pack-incomplete",
        "error",
        f"The rule pack {ident} is not complete (missing: {missing}).",
        Place(f"{reader.top}/limits/{ident}"),
        "An incomplete pack can't be chosen.",
        about=frozenset({f"pack:{ident}"}),
    )


def _with_shared(reader: Reader, pack: Pack, read: dict[str, Pack]) -> Pack | None:
    """A pack with the rows, groups and definitions it takes from others; None if one of them is
    missing.

    What the pack holds itself comes first and is never overwritten. A topic brings its groups in
    their rank; a row alone brings its group where that has no rank.
    """
    missing = _not_held(pack, read)
    if missing:
        reader.findings.append(_incomplete(reader, pack.id, missing))
        return None
    whole = replace(
        pack,
        rows=dict(pack.rows),
        groups=dict(pack.groups),
        definitions=dict(pack.definitions),
        topics=dict(pack.topics),
    )
    for other_id, names in pack.facts.shares.items():
        for name in names:
            _share(whole, read[other_id], name)
    if pack.facts.definitions_of is not None:
        for species, definition in read[pack.facts.definitions_of].definitions.items():
            whole.definitions.setdefault(species, definition)
    added = [g for g in whole.groups if g not in pack.groups and whole.groups[g].ranked]
    if pack.ranking and added:
        reader.findings.append(_ranked_twice(reader, pack, added))
        return None
    return whole


def _not_held(pack: Pack, read: dict[str, Pack]) -> str:
    """What a pack takes from others that they don't hold, in words; empty if they hold all."""
    for other_id, names in pack.facts.shares.items():
        other = read.get(other_id)
        held = {*other.rows, *other.topics} if other is not None else set()
        missing = [name for name in names if name not in held]
        if other is None or missing:
            return ", ".join(f"{name} of {other_id}" for name in missing) or other_id
    definitions_of = pack.facts.definitions_of
    return definitions_of if definitions_of is not None and definitions_of not in read else ""


def _share(whole: Pack, other: Pack, name: str) -> None:
    """Take a topic or a row of another pack into ``whole``."""
    document = "" if other.facts.same_model(whole.facts) else other.facts.document
    for row_id in other.topics.get(name, (name,)):
        row = other.rows[row_id]
        if document and not row.document:
            row = row.model_copy(update={"document": document})
        whole.rows.setdefault(row_id, row)
        named = row_group(row)
        group = other.groups.get(named or "")
        if named is not None and group is not None and not group.ranked:
            whole.groups.setdefault(named, group)
    if name in other.topics:
        whole.topics.setdefault(name, other.topics[name])
        for group_id in other.topic_groups[name]:
            whole.groups.setdefault(group_id, other.groups[group_id])


def _ranked_twice(reader: Reader, pack: Pack, added: list[str]) -> Finding:
    """Two packs' groups in one ranking, which nobody ranked against each other."""
    return Finding(
        "group-ranked-twice",
        "error",
        f"The rule pack {pack.id} ranks groups of its own and shares ranked ones "
        f"({', '.join(added)}).",
        Place(f"{reader.top}/limits/{pack.id}"),
        "Share the topic as it is, or write all its groups in one ranking.",
        about=frozenset({f"pack:{pack.id}"}),
    )


def _unknown_groups(reader: Reader, pack: Pack) -> bool:
    """Whether a row or a group of a pack names a group, or a group a row, that it doesn't hold;
    each is reported where it is written."""
    unknown = [(word, place) for word, place in _groups_named(pack) if word not in pack.groups]
    for group in pack.groups.values():
        if group.asks_row is not None and group.asks_row not in pack.rows:
            unknown.append((group.asks_row, group.place("asks_row")))
    for word, place in dict.fromkeys(unknown):
        reader.findings.append(
            Finding(
                "group-unknown",
                "error",
                f"The rule pack {pack.id} has no `{word}`, and it is named here.",
                place,
                "Write it under `groups` of its topic, or share the topic that has it.",
                about=frozenset({f"pack:{pack.id}"}),
            )
        )
    return bool(unknown)


def _groups_named(pack: Pack) -> list[tuple[str, Place]]:
    """The groups that a pack's rows and groups name, each with its place."""
    rows = pack.rows.values()
    named = [(word, r.place("group")) for r in rows if (word := row_group(r)) is not None]
    lent = (r for r in rows if isinstance(r, ReheatRow))
    named += [(r.rows_of, r.place("rows_of")) for r in lent if r.rows_of is not None]
    for group in pack.groups.values():
        for key in ("rows_of", "when_both", "instead_of"):
            named += [(other, group.place(key)) for other in getattr(group, key)]
    return named


_DUTIES = frozenset({"opened-package"})
"""How a row binds that asks for something more and permits nothing, as taking fish out of its
pack."""


def strictest(packs: list[Pack]) -> Pack:
    """The strictest of several editions of one model, for a kitchen whose own edition isn't held.

    Everything is the newest edition's, but a timed row of a group holds the longest of the times
    the editions give that group at that temperature, and falls away where one of them has no such
    row: what isn't in all of them isn't relied on. The same goes for every other row, but those of
    a duty beside a limit (``_DUTIES``), which bind if one edition has them. ``packs`` holds at
    least one.
    """
    newest = max(packs, key=lambda p: p.facts.edition)
    rows: dict[str, Row] = {}
    for ident, row in newest.rows.items():
        duty = isinstance(row, ThawRow) and row.how in _DUTIES
        in_all = duty or all(_held_by(pack, ident, row) for pack in packs)
        found = _longest(newest, packs, row) if in_all else None
        if found is not None:
            rows[ident] = found
    held = " and ".join(sorted(p.facts.edition for p in packs))
    facts = newest.facts.model_copy(update={"edition": f"the stricter of {held}"})
    return replace(newest, facts=facts, rows=rows)


def _longest(newest: Pack, packs: list[Pack], row: Row) -> Row | None:
    """A row of the newest edition, a timed row with the longest time of all editions; None where
    one of them gives no time at its temperature."""
    if not isinstance(row, CookRow) or row.group is None:
        return row
    longest = _hold_in(newest, row)
    for pack in packs:
        hold = _hold_in(pack, row)
        if hold is None or longest is None:
            return None
        if hold[0] > longest[0]:
            longest = hold
    return longest[1] if longest is not None else None


def _held_by(pack: Pack, ident: str, row: Row) -> bool:
    """Whether an edition has the row; a timed row is looked for by its figures
    (:func:`_hold_in`)."""
    return ident in pack.rows or isinstance(row, CookRow)


def _hold_in(pack: Pack, row: CookRow) -> tuple[Fraction, CookRow] | None:
    """How long a pack's own group holds at a row's temperature, and the row that says so."""
    assert row.group is not None
    found = [
        (r.hold.seconds if r.hold else Fraction(0), r)
        for _, r in pack.cook_rows(row.group)
        if r.value == row.value and r.bound == row.bound and r.applies == row.applies
    ]
    if not found:
        return None
    seconds, longest = max(found, key=lambda f: f[0])
    document = longest.document or pack.facts.document
    return seconds, longest.model_copy(update={"document": document})
