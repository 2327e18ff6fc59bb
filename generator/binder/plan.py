"""What to replace, discard, add and keep in a binder: sheets compared by what is printed on
them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from generator.binder.sheet_changes import sheet_changes
from generator.binder.sheets import Record
from generator.records.print_register import PrintedBinder, PrintedSheet, formula_of
from generator.views import facts as engine
from generator.views.facts import Change, Facts


@dataclass(frozen=True)
class Printed:
    """A sheet as it is in the binder now: ``record`` is its content where it is known, ``facts``
    are those of its formula. ``today`` is the hash it has if its own standards are computed with
    this program and today's reference data; empty where that isn't known."""

    key: str
    number: str
    id: str
    revision: str
    hash: str
    record: Record | None = None
    facts: Facts | None = None
    today: str = ""


@dataclass(frozen=True)
class Then:
    """What is known of a sheet that was printed: see ``Printed``."""

    record: Record | None = None
    facts: Facts | None = None
    today: str = ""


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

    @property
    def same_revision(self) -> bool:
        """Whether a sheet is replaced by one of the same revision."""
        old, new = self.old, self.new
        return old is not None and new is not None and old.revision == new["control"]["revision"]

    @property
    def moved_by(self) -> str:
        """What changed a sheet whose standards didn't change; empty where they did, or it isn't
        known."""
        old, new = self.old, self.new
        if old is None or new is None or not old.today or old.today != new["control"]["hash"]:
            return ""
        return "the reference data" if old.record is not None else "the program"


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


def held_at(
    sheets: Sequence[Record], facts: Mapping[str, Facts], today: Mapping[str, str]
) -> tuple[Printed, ...]:
    """Computed sheets as what a binder holds; ``facts`` are those of their formulas by id,
    ``today`` their hashes with today's reference data, by key."""
    return tuple(
        Printed(
            s["key"],
            s["number"],
            s["control"]["id"],
            s["control"]["revision"],
            s["control"]["hash"],
            s,
            facts.get(formula_of(s["key"])),
            today.get(s["key"], ""),
        )
        for s in sheets
        if s["kind"] != "cover"
    )


def held_by(
    binder: PrintedBinder | None, find: Callable[[PrintedSheet], Then]
) -> tuple[Printed, ...]:
    """What the register says is in a binder. ``find`` gives what can be computed again of a printed
    sheet."""
    if binder is None:
        return ()
    return tuple(
        Printed(s.sheet, str(number), s.id, s.revision, s.hash, then.record, then.facts, then.today)
        for number, s in (*binder.sheets.items(), *binder.given_twice.items())
        if s.discarded is None
        for then in (find(s),)
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


def _of_the_formula(old: Facts | None, new: Facts | None) -> tuple[Change, ...]:
    """What the formula says differently that its sheets show only in other words or through their
    weights: how long it is used, the vessel, the percentage of a line."""
    if old is None or new is None:
        return ()
    return tuple(
        c if c.group == "dates" else replace(c, name=f"{c.name}, in the formula")
        for c in engine.fact_changes(old, new)
        if c.group in ("dates", "vessel", "formula")
    )
