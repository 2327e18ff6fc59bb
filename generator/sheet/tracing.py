"""A lot followed through the records of batches: forward into everything that holds it or may, and
backward to all that a batch came from. A closure over a graph; circles and any depth are followed.

What isn't written can't be ruled out: a line without a lot, a batch without its lines, may hold it.
Weights are exact; a made-ahead batch counts as evenly mixed.
"""

from __future__ import annotations

import datetime
import difflib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from graphlib import CycleError, TopologicalSorter

from generator.files.finding import Refused, clipped
from generator.records.made import UsedLot, bare_lot, in_order, same_lot
from generator.resolve.made import History, JoinedBatch, MadeOf

MIXED = (
    "As weighed in. Of a made-ahead batch: its share of the lot, evenly mixed, × what was used of "
    "it ÷ what it weighed."
)


@dataclass(frozen=True)
class Match:
    """What a number names: a lot of an ``item`` that was bought, from a supplier ("": not written);
    or a batch of the formula ``item``, with its ``records`` (none: it was used, and has none)."""

    item: str
    lot: str
    supplier: str = ""
    made_here: bool = False
    records: tuple[str, ...] = ()


@dataclass(frozen=True)
class Holding:
    """A batch that holds a lot, or (``surely`` false) may hold it, and ``why``: by its own lines,
    or through the batches ``through``. ``lot_g`` is how much of the lot, None where nobody can
    know."""

    batch: JoinedBatch
    surely: bool
    why: str
    through: tuple[str, ...]
    lot_g: Fraction | None


@dataclass(frozen=True)
class Origin:
    """What a batch came from, at any depth: a line of the record ``of``; with the batch it came
    from where that has a record."""

    of: str
    used: UsedLot
    made_here: bool
    batches: tuple[str, ...]


@dataclass(frozen=True)
class Traced:
    """What is known of one match: ``holds`` everything that holds it or may, by day; ``origins``
    what its own batches came from; ``used_g`` how much of it went into batches by their records,
    None where a weight is missing."""

    match: Match
    holds: tuple[Holding, ...]
    origins: tuple[Origin, ...]
    used_g: Fraction | None


class _Anything:
    """What can't be read may hold any item."""

    def __contains__(self, item: object) -> bool:
        return True


_Items = set[str] | _Anything


@dataclass
class Graph:
    """The batches and what is in them; ``lines`` are the items of each formula as it is today,
    ``revisions`` which revision that is, ``outputs`` its by-products. Of the formulas ``unread``
    nobody knows what is in them."""

    history: History
    lines: Mapping[str, frozenset[str]] = field(default_factory=dict)
    revisions: Mapping[str, int] = field(default_factory=dict)
    unread: frozenset[str] = frozenset()
    outputs: Mapping[str, frozenset[str]] = field(default_factory=dict)
    into: dict[str, list[str]] = field(default_factory=dict)
    """By the id of a record, those of the batches that surely hold it."""

    def __post_init__(self) -> None:
        for batch in self.batches:
            for one in _sources(batch):
                self.into.setdefault(one, []).append(batch.id)

    @property
    def batches(self) -> Iterable[JoinedBatch]:
        return self.history.batches.values()

    def find(self, text: str, item: str = "", supplier: str = "") -> list[Match]:
        """What a number names: bought lots, batches by their own number or by their record's name.
        Raises Refused for a number nobody wrote down, with the nearest."""
        wanted, whose = same_lot(text), supplier.strip().casefold()
        found = [
            m
            for m in self.known()
            if (same_lot(m.lot) == wanted or text in m.records)
            and item in ("", m.item)
            and (not whose or m.made_here or m.supplier.casefold() in (whose, ""))
        ]
        if not found:
            raise self._unknown(text, item, supplier)
        return found

    def known(self) -> list[Match]:
        """Every lot and batch that is written anywhere, in the order of their items."""
        found: dict[tuple[str, str, str, bool], Match] = {}
        own: dict[tuple[str, str], list[JoinedBatch]] = {}
        for batch in self.batches:
            own.setdefault(batch.key, []).append(batch)
        for (formula, lot), batches in own.items():
            ids = tuple(b.id for b in batches)
            match = Match(formula, batches[0].record.lot, "", True, ids)
            found[formula, lot, "", True] = match
        for batch in self.batches:
            for part in batch.made_of:
                used = part.used
                if used.lot is None or part.batches:
                    continue
                whose = "" if part.made_here else used.from_.casefold()
                key = (used.item, same_lot(used.lot), whose, part.made_here)
                supplier = "" if part.made_here else used.from_
                found.setdefault(key, Match(used.item, used.lot, supplier, part.made_here))
        return [found[key] for key in sorted(found, key=_by_item)]

    def _unknown(self, text: str, item: str, supplier: str) -> Refused:
        known = self.known()
        alike = [m.lot for m in known if bare_lot(m.lot) == bare_lot(text)]
        lots = list(dict.fromkeys([*alike, *(m.lot for m in known)]))
        near = alike or difflib.get_close_matches(text.strip()[:60], lots, n=3, cutoff=0.6)
        narrowed = "".join(
            f" {words} {clipped(value)}"
            for words, value in (("of", item), ("from", supplier))
            if value
        )
        help = f"Nearest: {', '.join(dict.fromkeys(near))}." if near else "No number is like it."
        if not known:
            help = "No batch is recorded yet: kitchen-manual record BATCH."
        help += " A lot that nobody wrote down can be in any batch: look at the labels too."
        words = f"No record has a lot {clipped(text)}{narrowed}."
        return Refused("lot-unknown", words, help)

    def alike(self, match: Match) -> tuple[Match, ...]:
        """Other numbers of the same item that may be this one, misread or written shorter."""
        bare = bare_lot(match.lot)
        return tuple(
            m
            for m in self.known()
            if m.item == match.item
            and same_lot(m.lot) != same_lot(match.lot)
            and bare_lot(m.lot) == bare
        )

    def trace(self, match: Match) -> Traced:
        """Everything that holds what a number names, or may, and what it came from."""
        sure, maybe = self._reached(match)
        grams = self._grams(match, set(sure))
        holds = [
            Holding(self.history.batches[i], True, why, self._through(i, sure), grams.get(i))
            for i, why in sure.items()
        ]
        holds += [
            Holding(self.history.batches[i], False, why, self._through(i, {**sure, **maybe}), None)
            for i, why in maybe.items()
        ]
        holds.sort(key=lambda h: (h.batch.record.day, in_order(h.batch.id)))
        origins = tuple(self.origins(match.records))
        return Traced(match, tuple(holds), origins, self._used(match))

    def origins(self, start: Sequence[str]) -> Iterator[Origin]:
        """Every line that went into some batches, at any depth, each once."""
        due, seen = list(start), set(start)
        while due:
            ident = due.pop(0)
            for part in self.history.batches[ident].made_of:
                yield Origin(ident, part.used, part.made_here, part.batches)
                for one in part.batches:
                    if one not in seen:
                        seen.add(one)
                        due.append(one)

    def _through(self, ident: str, held: Mapping[str, str]) -> tuple[str, ...]:
        """Which of the batches that hold it went into this one."""
        batch = self.history.batches[ident]
        return tuple(dict.fromkeys(one for one in _sources(batch) if one in held and one != ident))

    def _reached(self, match: Match) -> tuple[dict[str, str], dict[str, str]]:
        """Which batches hold it, and which may, each with why, by the ids of their records."""
        sure: dict[str, str] = dict.fromkeys(match.records, "it is this batch")
        for batch in self.batches:
            if batch.id not in sure and any(_is(part, match) == "is" for part in batch.made_of):
                sure[batch.id] = "by its own line"
        self._close(sure)
        maybe: dict[str, str] = {}
        for batch in self.batches:
            why = self._unwritten(batch, match) if batch.id not in sure else ""
            if why:
                maybe[batch.id] = why
        while True:
            self._close(maybe, but=sure)
            more = dict(self._through_unwritten({**sure, **maybe}))
            if not more:
                return sure, maybe
            maybe |= more

    def _close(self, held: dict[str, str], but: Iterable[str] = ()) -> None:
        """All that holds what some batches hold, at any depth, is put to them."""
        due = list(held)
        while due:
            for ident in self.into.get(due.pop(), ()):
                if ident not in held and ident not in but:
                    held[ident] = "through a batch it is made of"
                    due.append(ident)

    def _unwritten(self, batch: JoinedBatch, match: Match) -> str:
        """Why a batch may hold a bought lot, though it doesn't say so; empty if it can't."""
        for part in batch.made_of:
            is_it = _is(part, match)
            if is_it == "may":
                return "whose lot it is isn't written"
            if is_it == "alike":
                return f"its lot {clipped(part.used.lot or '')} is written nearly alike"
        lost = next(self._without_record(batch, match.item), "")
        if lost:
            return lost
        if match.made_here and match.records:
            return ""  # asked of batches by their days, below
        if not self._lacks(batch, match.item):
            return ""
        return self._unknown_lines(batch) or f"its lot of {match.item} isn't written"

    def _lacks(self, batch: JoinedBatch, item: str) -> bool:
        """Whether an item is in a batch or may be, by its lines or its formula's, and no lot of
        it."""
        mine = [part.used for part in batch.made_of if part.used.item == item]
        if mine:
            return any(used.lot is None for used in mine)
        if self._unknown_lines(batch):
            return True
        return item in self.lines.get(batch.record.formula, frozenset())

    def _unknown_lines(self, batch: JoinedBatch) -> str:
        """Why nobody knows all that went into a batch; empty where its formula says it."""
        record = batch.record
        if record.formula in self.unread:
            return f"what goes into {record.formula} can't be read, and no lot of it is written"
        today = self.revisions.get(record.formula, record.revision)
        if record.revision != today:
            return (
                f"it was made by revision {record.revision}, and revision {today} is held: what "
                "else went in isn't known"
            )
        return ""

    def _without_record(self, batch: JoinedBatch, item: str) -> Iterator[str]:
        """Of each made-ahead lot in a batch that nobody recorded, and whose formula has an item in
        it, at any depth, or can't be read: why the batch may hold it."""
        for part in batch.made_of:
            used = part.used
            if not part.made_here or used.lot is None or part.batches or used.item == item:
                continue
            if item in self._inside(used.item):
                yield f"its {used.item} {clipped(used.lot)} has no record"

    def _inside(self, formula: str) -> _Items:
        """What is in a formula, at any depth; everything where one of them can't be read."""
        found, due = set[str](), [formula]
        while due:
            ident = due.pop()
            if ident in self.unread:
                return _Anything()
            inner = self.lines.get(ident, frozenset())
            due += [i for i in inner if i not in found]
            found |= inner
        return found

    def _through_unwritten(self, held: Mapping[str, str]) -> Iterator[tuple[str, str]]:
        """The batches that are made of a formula of which a batch holds it, don't say of which
        batch, and were made on its day or later."""
        first: dict[str, datetime.date] = {}
        for ident in held:
            record = self.history.batches[ident].record
            for formula in (record.formula, *self.outputs.get(record.formula, ())):
                first[formula] = min(record.day, first.get(formula, record.day))
        for batch in self.batches:
            if batch.id in held:
                continue
            for formula, day in first.items():
                if batch.record.day >= day and self._lacks(batch, formula):
                    yield batch.id, f"its batch of {formula} isn't written"
                    break

    def _used(self, match: Match) -> Fraction | None:
        """How much of it went into batches, by their own lines."""
        total = Fraction(0)
        for batch in self.batches:
            for part in batch.made_of:
                if _is(part, match) == "is":
                    if part.used.weight is None:
                        return None
                    total += part.used.weight.value
        return total

    def _grams(self, match: Match, held: set[str]) -> dict[str, Fraction | None]:
        """How much of it is in each batch that surely holds it: parts before what they go into; in
        a circle nobody can know."""
        graph = {i: {s for s in _sources(self.history.batches[i]) if s in held} for i in held}
        graph |= {
            ident: set() for ident in match.records
        }  # it is all of these, whatever is in them
        found: dict[str, Fraction | None] = {}
        while True:
            try:
                order = list(TopologicalSorter(graph).static_order())
                break
            except CycleError as error:
                for ident in error.args[1]:
                    found[str(ident)] = None
                    graph[str(ident)] = set()
        for ident in order:
            if ident not in found:
                found[ident] = self._grams_in(ident, match, found)
        return found

    def _grams_in(
        self, ident: str, match: Match, found: Mapping[str, Fraction | None]
    ) -> Fraction | None:
        """How much of it is in a batch: its own lines, and its parts' shares."""
        batch = self.history.batches[ident]
        if ident in match.records:
            return batch.record.made.value if batch.record.made is not None else None
        total = Fraction(0)
        for part in batch.made_of:
            grams: Fraction | None = Fraction(0)
            weight = part.used.weight
            if _is(part, match) == "is":
                grams = weight.value if weight is not None else None
            elif _is(part, match):
                grams = None  # perhaps
            elif any(one in found for one in part.batches):
                grams = self._share(part, found)
            if grams is None:
                return None
            total += grams
        return total

    def _share(self, part: MadeOf, found: Mapping[str, Fraction | None]) -> Fraction | None:
        """How much of it a line brings of the batch it came from; never more than is in that."""
        if len(part.batches) != 1 or part.used.weight is None:
            return None
        source = self.history.batches[part.batches[0]].record
        inside = found.get(part.batches[0])
        if inside is None or source.made is None or source.formula != part.used.item:
            return None  # of a by-product nobody knows how much went with it
        return inside * min(Fraction(1), part.used.weight.value / source.made.value)


def _by_item(key: tuple[str, str, str, bool]) -> tuple[object, ...]:
    """Where a lot is among all: by its item, its number, its supplier, bought before made here."""
    item, lot, supplier, made_here = key
    return item, in_order(lot), supplier, made_here, lot


def _sources(batch: JoinedBatch) -> Iterator[str]:
    """The records of the batches a batch is made of."""
    for part in batch.made_of:
        yield from part.batches


def _is(part: MadeOf, match: Match) -> str:
    """Whether a line is of what a number names: "is", "may" (whose lot it is isn't written on one
    of the two), "alike" (the number is, but for signs that are misread or left out), or "" for
    no."""
    if part.used.lot is None or part.made_here != match.made_here:
        return ""
    if part.batches:
        return "is" if set(part.batches) & set(match.records) else ""
    lot, whose = part.used.lot, _whose(part, match)
    if part.used.item != match.item or not whose or bare_lot(lot) != bare_lot(match.lot):
        return ""
    if match.records or same_lot(lot) != same_lot(match.lot):
        return "alike"
    return whose


def _whose(part: MadeOf, match: Match) -> str:
    """Whether a line's lot is of the same supplier: "is", "may" where one isn't written, or ""."""
    ours, theirs = part.used.from_.casefold(), match.supplier.casefold()
    if match.made_here or ours == theirs:
        return "is"
    return "may" if not ours or not theirs else ""
