"""Only what changed: the sheets of binders to replace since a revision, a day or the register."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from generator.binder.change_sheet import change_sheet, read_sheet
from generator.binder.documents import finished, station_binder, station_sheets
from generator.binder.numbering import taken_of
from generator.binder.plan import Move, Plan, Then, held_at, held_by, plan_of
from generator.binder.sheet_changes import listed_with_bars, marked
from generator.binder.sheets import Record, hash_of
from generator.changes.history import commit_of, committed_on, standards_at
from generator.files.finding import Refused
from generator.measures.marks import written_with
from generator.measures.words import breakable, counted, date
from generator.records.print_register import PrintedSheet, formula_of
from generator.sheet.manual import Broken, Manual, make_manual
from generator.views.facts import Facts
from generator.views.sheet_facts import facts_of_all

REGISTER = "register"


@dataclass(frozen=True)
class Changed:
    """One station's binder: its plan, all its sheets now (cover first), since when, and its next
    issue (empty without a register)."""

    station: str
    plan: Plan
    sheets: tuple[Record, ...]
    since: str
    issue: str = ""


@dataclass(frozen=True)
class ChangedBinders:
    """The binders asked for, and in words what can't be said of them."""

    binders: tuple[Changed, ...]
    doubts: tuple[str, ...] = ()


def changed_since(manual: Manual, stations: Sequence[str], since: str, site: str) -> ChangedBinders:
    """What changed in the binders of ``stations`` (empty: of all that make or made something)
    since ``since``: a git revision, a day, or the word ``register`` for what the print register
    says was printed.

    Raises Refused: no register, no checkout, no such revision.
    """
    if since == REGISTER:
        return _since_register(manual, stations, site)
    return _since_revision(manual, stations, since, site)


def _making(found: Manual | Broken) -> set[str]:
    """The stations that make something; where nothing could be computed, none."""
    if isinstance(found, Broken):
        return set()
    return {s for sheet in found.sheets.values() for s in sheet.formula.formula.station}


def _asked(manual: Manual, stations: Sequence[str], held: Collection[str]) -> list[str]:
    """The stations to look at, in the kitchen's order: those asked for, else those that make
    something and those whose binders hold something."""
    kitchen, known = manual.house.kitchen, manual.house.stations
    order = [*kitchen.stations, *(s for s in known if s not in kitchen.stations)]
    wanted = stations or {*_making(manual), *held}
    return [s for s in order if s in wanted]


def _gone(manual: Manual, held: Collection[str]) -> tuple[str, ...]:
    """Binders of stations that aren't there any more."""
    return tuple(
        f"there is no station {s} any more: take its whole binder out."
        for s in held
        if s not in manual.house.stations
    )


def _since_revision(
    manual: Manual, stations: Sequence[str], since: str, site: str
) -> ChangedBinders:
    zone = manual.house.kitchen.time_zone
    commit = commit_of(manual.project, since, zone, manual.as_of)
    day = min(committed_on(manual.project, commit, zone), manual.as_of)
    words = f"since {date(day)}, commit {commit[:8]}"
    with standards_at(manual.project, commit) as folder:
        old = make_manual(folder, day)
        held = _making(old)
        before = facts_of_all(old) if isinstance(old, Manual) else {}
        facts = (before, facts_of_all(manual))
        hashes = _hashes_today(manual, commit)
        found = [
            _compared(manual, old, facts, hashes, station, words, site)
            for station in _asked(manual, stations, held)
        ]
    doubts = _gone(manual, held)
    if old.errors:
        names = ", ".join(s.name for s in old.stopped.values()) or "the whole kitchen"
        errors = breakable(counted(len(old.errors), "error"))
        doubts += (
            f"at {commit[:8]} the standards had {errors}: {names} couldn't be computed then. "
            "Its sheets "
            "are listed as new; take out older ones by hand.",
        )
    return ChangedBinders(tuple(found), doubts)


def _compared(
    manual: Manual,
    old: Manual | Broken,
    facts: tuple[dict[str, Facts], dict[str, Facts]],
    today: Mapping[str, str],
    station: str,
    since: str,
    site: str,
) -> Changed:
    """A station's binder as the old manual would have printed it, and as it is now; ``facts`` are
    those of all formulas then and now, ``today`` the hashes of the old sheets with today's
    reference data."""
    taken = taken_of(manual.standards.register)
    before: list[Record] = []
    if isinstance(old, Manual) and station in _making(old):
        before = station_binder(old, station, taken, "")  # nobody prints its codes again
    numbers = {**taken, **{s["key"]: int(s["number"]) for s in before if s["number"]}}
    sheets = station_binder(manual, station, numbers, site)
    if station not in _making(manual):
        sheets = [s for s in sheets if s["kind"] == "cover"] if before else []
    cover = next((s["control"]["hash"] for s in before if s["kind"] == "cover"), "")
    plan = plan_of(held_at(before, facts[0], today), cover, sheets, facts[1])
    return Changed(station, plan, tuple(sheets), since)


def _since_register(manual: Manual, stations: Sequence[str], site: str) -> ChangedBinders:
    register = manual.standards.register
    if register is None:
        raise Refused(
            "register-missing",
            "There is no print register to compare with.",
            "Print a whole binder first with --register; it writes standards/print-register.yaml.",
        )
    memory, facts = _Memory(manual), facts_of_all(manual)
    found: list[Changed] = []
    for station in _asked(manual, stations, register.binders):
        binder = register.binders.get(station)
        sheets = station_binder(manual, station, taken_of(register), site)
        now = {s["key"]: s["control"]["hash"] for s in sheets}
        held = held_by(binder, memory.finder(now))
        cover = binder.cover if binder is not None and binder.cover is not None else ""
        plan = plan_of(held, cover, sheets, facts)
        issue = (binder.issue if binder is not None else 0) + 1
        since = f"issue {issue}"
        if binder is not None and binder.sheets:
            last = max(s.printed for s in binder.sheets.values())
            since = f"from issue {binder.issue}, {date(last)}, to issue {issue}"
        found.append(Changed(station, plan, tuple(sheets), since, str(issue)))
    return ChangedBinders(tuple(found), _gone(manual, register.binders))


def _hashes_today(manual: Manual, commit: str) -> dict[str, str]:
    """The hashes of all sheets of the standards at a commit, computed with this program and today's
    reference data on the manual's day; none where they can't be computed."""
    try:
        with standards_at(manual.project, commit, reference=False) as folder:
            old = make_manual(folder, manual.as_of)
            if isinstance(old, Broken):
                return {}
            return {
                s["key"]: hash_of(s) for at in old.house.stations for s in station_sheets(old, at)
            }
    except Refused:
        return {}


class _Memory:
    """Sheets as they were printed, computed again from the commits the register names."""

    def __init__(self, manual: Manual) -> None:
        self.manual = manual
        self.sheets: dict[tuple[str, datetime.date], dict[str, Then]] = {}
        self.today: dict[str, dict[str, str]] = {}

    def sheet(self, printed: PrintedSheet) -> Then:
        """What is known of a printed sheet; no content where it isn't what was printed."""
        commit = printed.commit
        if commit is None:
            return Then()
        if commit not in self.today:
            self.today[commit] = _hashes_today(self.manual, commit)
        key = (commit, printed.printed)
        if key not in self.sheets:
            self.sheets[key] = self._all(*key)
        today = self.today[commit].get(printed.sheet, "")
        found = self.sheets[key].get(printed.sheet, Then())
        if found.record is None or found.record["control"]["hash"] != printed.hash:
            return Then(today=today)
        return replace(found, today=today)

    def finder(self, now: Mapping[str, str]) -> Callable[[PrintedSheet], Then]:
        """``sheet`` for those whose hash isn't what it is ``now``; the others needn't be known."""
        return lambda s: self.sheet(s) if now.get(s.sheet) != s.hash else Then()

    def _all(self, commit: str, day: datetime.date) -> dict[str, Then]:
        taken = taken_of(self.manual.standards.register)
        try:
            with standards_at(self.manual.project, commit) as folder:
                old = make_manual(folder, day)
                if isinstance(old, Broken):
                    return {}  # not what was printed: nothing with errors is
                facts = facts_of_all(old)
                return {
                    s["key"]: Then(s, facts.get(formula_of(s["key"])))
                    for at in old.house.stations
                    for s in station_binder(old, at, taken, "")
                }
        except Refused:
            return {}  # its history is gone: the hash still says that it changed


def changed_sheets(manual: Manual, changed: Changed, site: str) -> list[Record]:
    """What to print for one station: change sheet, who has read it, cover, the sheets
    themselves."""
    plan = changed.plan
    if not plan.moves:
        return []
    with written_with(manual.writing):
        first = change_sheet(
            manual, changed.station, plan, changed.since, changed.issue, changed.sheets
        )
        read = read_sheet(manual, changed.station, plan, changed.since, changed.issue)
    new = [_with_bars(m, plan) for m in plan.moves if m.new is not None]
    cover = [s for s in new if s["kind"] == "cover"]
    rest = [s for s in new if s["kind"] != "cover"]
    apart = [finished(s, "", site) for s in (first, read) if s is not None]
    return [*apart, *cover, *rest]


def _with_bars(move: Move, plan: Plan) -> Record:
    """The new sheet of a move, with a bar in the margin beside what changed; on the cover beside
    the sheets that are put in."""
    assert move.new is not None
    if move.new["kind"] == "cover":
        put_in = {m.new["key"] for m in plan.moves if m.new is not None}
        return listed_with_bars(move.new, put_in) if move.old is not None else move.new
    before = move.old.record if move.old is not None else None
    return marked(before, move.new) if before is not None else move.new
