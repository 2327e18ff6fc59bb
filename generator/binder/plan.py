"""What to replace, discard, add and keep in a binder: sheets compared by what is printed on
them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from generator.binder.sheet_changes import sheet_changes
from generator.binder.sheets import Record
from generator.changes import facts as engine
from generator.changes.facts import Change, Facts
from generator.records.print_register import PrintedBinder, PrintedSheet


@dataclass(frozen=True)
class Printed:
    """A sheet as it is in the binder now: ``record`` is its content where it is known, ``facts``
    are those of its formula."""

    key: str
    number: str
    id: str
    revision: str
    hash: str
    record: Record | None = None
    facts: Facts | None = None


@dataclass(frozen=True)
class Move:
    """One sheet to replace, discard or add. ``old`` is None for one to add, ``new`` for one to
    discard; ``differences`` are empty where the old sheet's words aren't known."""

    old: Printed | None
    new: Record | None
    differences: tuple[Change, ...] = ()

    @property
    def number(self) -> str:
        if self.new is not None:
            return str(self.new["number"])
        assert self.old is not None
        return self.old.number


@dataclass(frozen=True)
class Plan:
    """The moves of one binder in the order of its numbers, and how many sheets stay."""

    moves: tuple[Move, ...]
    kept: int

    def numbers(self, how: str) -> tuple[str, ...]:
        """The numbers to ``replace``, ``discard`` or ``add``; the cover has none."""
        wanted = {"replace": (True, True), "discard": (True, False), "add": (False, True)}[how]
        return tuple(
            m.number
            for m in self.moves
            if m.number and (m.old is not None, m.new is not None) == wanted
        )


def held_at(sheets: Sequence[Record], facts: Mapping[str, Facts]) -> tuple[Printed, ...]:
    """Computed sheets as what a binder holds; ``facts`` are those of their formulas by id."""
    return tuple(
        Printed(
            s["key"],
            s["number"],
            s["control"]["id"],
            s["control"]["revision"],
            s["control"]["hash"],
            s,
            facts.get(formula_of(s["key"])),
        )
        for s in sheets
        if s["kind"] != "cover"
    )


def held_by(
    binder: PrintedBinder | None, find: Callable[[PrintedSheet], tuple[Record | None, Facts | None]]
) -> tuple[Printed, ...]:
    """What the register says is in a binder. ``find`` gives the content of a printed sheet and the
    facts of its formula, or None where they can't be computed again."""
    if binder is None:
        return ()
    return tuple(
        Printed(s.sheet, str(number), s.id, s.revision, s.hash, *find(s))
        for number, s in (*binder.sheets.items(), *binder.given_twice.items())
        if s.discarded is None
    )


def plan_of(
    held: Sequence[Printed], cover_hash: str, sheets: Sequence[Record], facts: Mapping[str, Facts]
) -> Plan:
    """What to do with a binder that holds ``held`` so that it holds ``sheets`` (cover among them).

    A sheet is replaced where its hash differs; what is only computed for another day stays. One
    whose number was given twice is taken out under its old number and put in under its new one. The
    cover lists every sheet, so it goes with whatever moves, and by its own ``cover_hash``.
    ``facts`` are those of the formulas now, by id.
    """
    before: Mapping[str, Printed] = {p.key: p for p in held}
    after = [s for s in sheets if s["kind"] != "cover"]
    put_in = list(_put_in(before, after, facts))
    moves = sorted([*put_in, *_taken_out(before, after)], key=lambda m: int(m.number))
    cover = next((s for s in sheets if s["kind"] == "cover"), None)
    if cover is not None and (moves or cover_hash != cover["control"]["hash"]):
        old = Printed(cover["key"], "", cover["control"]["id"], "", cover_hash) if held else None
        moves.append(Move(old, cover))
    return Plan(tuple(moves), len(after) - len(put_in))


def _taken_out(before: Mapping[str, Printed], after: Sequence[Record]) -> list[Move]:
    """The sheets to discard: those that no sheet of the same number replaces."""
    stay = {(s["key"], s["number"]) for s in after}
    return [Move(p, None) for p in before.values() if (p.key, p.number) not in stay]


def _put_in(
    before: Mapping[str, Printed], after: Sequence[Record], facts: Mapping[str, Facts]
) -> Iterator[Move]:
    """The sheets to add, and those to put in the place of an earlier one."""
    for sheet in after:
        old = before.get(sheet["key"])
        if old is None or old.number != sheet["number"]:
            yield Move(None, sheet)
        elif old.hash != sheet["control"]["hash"]:
            found = sheet_changes(old.record, sheet) if old.record is not None else ()
            of_the_formula = _of_the_formula(old.facts, facts.get(formula_of(sheet["key"])))
            yield Move(old, sheet, (*of_the_formula, *found))


def formula_of(key: str) -> str:
    """The formula a sheet's key is of; empty for a sheet of no formula."""
    _, _, rest = key.partition("/")
    ident, _, kind = rest.partition("/")
    return ident if kind.partition("/")[0] == "batch" else ""


def _of_the_formula(old: Facts | None, new: Facts | None) -> tuple[Change, ...]:
    """What the formula says differently that its sheets show only through their weights: the
    percentage of a line, the vessel."""
    if old is None or new is None:
        return ()
    return tuple(
        replace(c, name=f"{c.name}, in the formula")
        for c in engine.fact_changes(old, new)
        if c.group == "formula" and c.name != "Contains"
    )
