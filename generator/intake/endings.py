"""Formulas read: a card with endings becomes one whole formula for each of them, as if it were
written out, so that no rule has to know of endings."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from pydantic import ValidationError

from generator.files.finding import Finding, Place
from generator.files.source_text import Mapping as Tree
from generator.files.source_text import Sequence, Text, copied, place_of
from generator.intake.cards import Card, EndingAt
from generator.intake.faults import findings_of, salvage
from generator.intake.reading import Reader, validated
from generator.records.ending import IN_PLACE, Ending
from generator.records.fields import ID_PATTERN, MOST_ID
from generator.records.formula import EndingOf, Formula
from generator.records.process import Process

_BY_STEP = ("targets", "times", "changes", "yield_tests", "house_limits")
"""What a formula says by the ids of its steps."""
_NOT_OF_STEPS = frozenset({"store", "date"})
"""House limits that are under no step's id."""
_OF_AN_ENDING = frozenset(field.alias or key for key, field in Ending.model_fields.items())


@dataclass
class Formulas:
    """All formulas, by id, the file of each that is named, and the cards parted into several."""

    records: dict[str, Formula] = field(default_factory=dict)
    files: dict[str, str] = field(default_factory=dict)
    cards: dict[str, Card] = field(default_factory=dict)


def read_formulas(reader: Reader, processes: Mapping[str, Process]) -> Formulas:
    """Every formula of the project; what is wrong goes to ``reader``. ``processes`` are those that
    could be read."""
    found = Formulas()
    found.files = {path.stem: reader.name_of(path) for path in reader.folder("formulas")}
    lost = set(found.files)
    for ident, tree, start in reader.trees("formulas"):
        endings = _endings(tree)
        if not endings:
            record = reader.record(Formula, tree, start, ident)
            if record is not None and ident not in reader.broken:
                found.records[ident] = record
            if not (isinstance(tree, Tree) and "endings" in tree):
                lost.discard(ident)
            continue
        lost.discard(ident)
        _read_card(reader, found, _Parting(ident, tree, start, endings, processes))
    _unread(reader, found, lost)
    return found


def _endings(tree: Any) -> dict[str, Tree]:
    """The endings of a card, by their ids, as far as they are any."""
    typed = tree.get("endings") if isinstance(tree, Tree) else None
    if not isinstance(typed, Tree):
        return {}
    return {i: one for i, one in typed.items() if ID_PATTERN.fullmatch(i) and isinstance(one, Tree)}


@dataclass(frozen=True)
class _Parting:
    """A card as typed, and what parts it."""

    id: str
    tree: Tree
    start: Place
    endings: dict[str, Tree]
    processes: Mapping[str, Process]

    @property
    def idents(self) -> tuple[str, ...]:
        """The ids of the formulas it becomes."""
        return tuple(f"{self.id}-{ending}" for ending in self.endings)

    def key_of(self, ending: str) -> Place:
        """Where an ending's id is typed."""
        return self.tree["endings"].keys_at[ending]  # type: ignore[no-any-return]

    @property
    def shared_steps(self) -> list[Any]:
        """The card's own steps, as typed."""
        return _list(self.tree.get("steps"))

    @property
    def on_process(self) -> bool:
        """Whether its endings follow the steps of a process."""
        return "process" in self.tree and "steps" not in self.tree

    def shared_ids(self) -> set[str]:
        """The ids of the steps all endings have."""
        process = self.processes.get(str(self.tree.get("process")))
        ids = process.step_ids() if self.on_process and process is not None else ()
        return {*ids, *_ids(self.shared_steps)}

    def shared_parts(self) -> set[str]:
        """The parts that go in at the steps all endings have."""
        process = self.processes.get(str(self.tree.get("process")))
        steps = process.steps if self.on_process and process is not None else ()
        return {p for s in steps for p in (*s.add, *s.work_on)} | _parts(self.shared_steps)


def _list(node: Any) -> list[Any]:
    return list(node) if isinstance(node, Sequence) else []


def _ids(steps: Iterable[Any]) -> set[str]:
    """The ids of steps as typed: their own, else their verbs."""
    return {str(s.get("id", s.get("do", ""))) for s in steps if isinstance(s, Tree)}


def _parts(steps: Iterable[Any]) -> set[str]:
    """What steps as typed take in by name."""
    found: set[str] = set()
    for step in steps:
        for key in ("add", "work_on") if isinstance(step, Tree) else ():
            typed = step.get(key)
            found |= {str(typed)} if isinstance(typed, Text) else set(map(str, _list(typed)))
    return found


def _read_card(reader: Reader, found: Formulas, card: _Parting) -> None:
    """A card's endings, each read as a formula; what is wrong with the card is reported once."""
    del found.files[card.id]
    file = card.start.file
    said = list(_said(card))
    sound = _sound(reader, card) and card.id not in reader.broken
    sound = sound and not any(f.is_error for f in said)
    whole = {f"{card.id}-{ending}": _whole(card, ending) for ending in card.endings}
    found.cards[card.id] = Card(card.id, _name(card), file, dict(_places(card, whole)))
    for ending, ident in zip(card.endings, card.idents, strict=True):
        if not _free(reader, found, card, ending, ident):
            continue
        found.files[ident] = file
        record = _read(reader, card, whole[ident], ident, sound)
        kept = record if record is not None else reader.salvaged.get(ident)
        if isinstance(kept, Formula):
            own = len(_list(card.endings[ending].get("steps")))
            kept.set_ending(
                EndingOf(card.id, _name(card), ending, card.idents, own, card.on_process)
            )
        if record is not None:
            found.records[ident] = record
    whose = frozenset(card.idents)
    reader.findings[:] = [
        replace(f, about=f.about | whose) if card.id in f.about else f for f in reader.findings
    ]
    reader.findings.extend(said)


def _read(reader: Reader, card: _Parting, tree: Tree, ident: str, sound: bool) -> Formula | None:
    """One ending's formula; None where it, or its card, has a fault, what is left is salvaged."""
    if sound:
        return reader.record(Formula, tree, card.start, ident)
    reader.named(ident, tree)
    reader.broken.add(ident)
    rest = salvage(Formula, reader.approved(Formula, tree), {"units": reader.units})
    if rest is not None:
        reader.salvaged[ident] = rest
    return None


def _sound(reader: Reader, card: _Parting) -> bool:
    """Whether the card as a whole can be read. What only its endings say counts as said."""
    tree = copied(reader.approved(Formula, card.tree))
    for key in IN_PLACE:
        given = next((one for one in card.endings.values() if key in one), None)
        if key not in tree and given is not None:
            tree[key], tree.keys_at[key] = given[key], given.keys_at[key]
    try:
        validated(Formula, tree, reader.units)
    except ValidationError as error:
        context = {"units": reader.units}
        reader.findings += findings_of(error, Formula, tree, card.start, card.id, context)
        return False
    return True


def _name(card: _Parting) -> str:
    return str(card.tree.get("name", card.id))


def _whole(card: _Parting, ending: str) -> Tree:
    """The tree of one ending's formula: what is shared, and what is its own."""
    whole: Tree = copied(card.tree)
    own = card.endings[ending]
    del whole["endings"]
    if "name" in whole:
        words = f"{whole['name']}, {ending.replace('-', ' ')}"
        whole["name"] = Text.of(words, place_of(whole["name"], card.start))
    for key, value in own.items():
        if key != "steps" and key in _OF_AN_ENDING:
            whole[key], whole.keys_at[key] = value, own.keys_at[key]
    steps = Sequence(place_of(card.tree.get("steps", own.get("steps")), own.place))
    steps += [*card.shared_steps, *_list(own.get("steps"))]
    whole["steps"] = steps
    whole.keys_at["steps"] = card.tree.keys_at.get("steps", own.keys_at.get("steps", own.place))
    _without_others(card, ending, whole)
    return whole


def _without_others(card: _Parting, ending: str, whole: Tree) -> None:
    """Take out what only another ending's steps mean: the parts they add, and what is said by their
    ids."""
    own = _list(card.endings[ending].get("steps"))
    rest = [s for i, e in card.endings.items() if i != ending for s in _list(e.get("steps"))]
    foreign = _parts(rest) - _parts(own) - card.shared_parts()
    ids = _ids(rest) - _ids(own) - card.shared_ids()
    _leave_out(whole, "parts", foreign)
    for key in _BY_STEP:
        _leave_out(whole, key, ids - _NOT_OF_STEPS)


def _leave_out(whole: Tree, key: str, idents: set[str]) -> None:
    """Take the entries of a group out; a group that is left empty goes, too."""
    group = whole.get(key)
    if not isinstance(group, Tree) or not idents & group.keys():
        return
    for ident in idents & group.keys():
        del group[ident]
    if not group and key != "parts":
        del whole[key]


def _places(card: _Parting, whole: Mapping[str, Tree]) -> Iterator[tuple[str, EndingAt]]:
    for ending, ident in zip(card.endings, card.idents, strict=True):
        name = str(whole[ident].get("name", ident))
        place = card.key_of(ending)
        last = max(_lines(card.endings[ending]), default=place.line)
        yield ident, EndingAt(ending, name, place, last)


def _lines(node: Any) -> Iterator[int]:
    """The lines of whatever is in a tree."""
    if isinstance(node, Tree):
        yield from (place.line for place in node.keys_at.values())
        for value in node.values():
            yield from _lines(value)
    elif isinstance(node, Sequence):
        for value in node:
            yield from _lines(value)
    elif isinstance(node, Text):
        yield node.place.line


def _free(reader: Reader, found: Formulas, card: _Parting, ending: str, ident: str) -> bool:
    """Whether an ending's id is free, and short enough; a finding if it isn't."""
    place = card.key_of(ending)
    about = frozenset({ident, *card.idents})
    if len(ident) > MOST_ID:
        message = f"`{ident}` is over {MOST_ID} letters long. An id must be shorter."
        help = "Shorten the ending's id, or the name of the file."
        reader.findings.append(Finding("id-form", "error", message, place, help, about=about))
        reader.broken.add(ident)
        return False
    if ident in found.files:
        message = f"This ending is called `{ident}`. So is the formula of {found.files[ident]}."
        help = "An id may be used once only. Rename one of them."
        reader.findings.append(Finding("id-twice", "error", message, place, help, about=about))
        reader.broken.add(ident)
        found.records.pop(ident, None)
        return False
    return True


def _said(card: _Parting) -> Iterator[Finding]:
    """What card and endings say twice, or for nothing; a card that ends in one way."""
    about = frozenset(card.idents)
    if len(card.endings) == 1 and len(card.tree["endings"]) == 1:
        yield Finding(
            "ending-alone",
            "warning",
            "This card has one ending.",
            card.tree.keys_at["endings"],
            "Write another ending, or write its steps as the formula's own and delete `endings`.",
            about=about,
        )
    for ending, own in card.endings.items():
        for key in own.keys() & card.tree.keys() & _OF_AN_ENDING - {*IN_PLACE, "name", "steps"}:
            yield Finding(
                "ending-says-twice",
                "error",
                f"`{key}` is said of the card, and of its ending `{ending}`.",
                own.keys_at[key],
                "Keep one of the two: the card's for all endings, or one in each ending.",
                about=about,
            )
    for key in IN_PLACE:
        if key in card.tree and all(key in own for own in card.endings.values()):
            yield Finding(
                "ending-replaces-all",
                "warning",
                f"Every ending has its own `{key}`. The card's is used nowhere.",
                card.tree.keys_at[key],
                "Take the line out.",
                about=about,
            )


def _unread(reader: Reader, found: Formulas, lost: set[str]) -> None:
    """Ids that may be endings of a file which can't be read are no unknown names: they wait for
    it."""
    known = {*found.records, *found.files}
    salvaged = [r for r in reader.salvaged.values() if isinstance(r, Formula)]
    named = {
        item
        for record in (*found.records.values(), *salvaged)
        for items in record.parts.values()
        for item in items
    }
    for card in lost:
        meant = frozenset(i for i in named - known if i.startswith(f"{card}-"))
        if not meant:
            continue
        reader.broken |= meant
        reader.findings[:] = [
            replace(f, about=f.about | meant) if card in f.about else f for f in reader.findings
        ]
