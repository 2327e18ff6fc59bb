"""Figures that changed under an unchanged revision: what the chef's own text says now against what
it said when a sheet was printed, or was committed last.

Both are computed by this program with today's reference data and on one day, so whatever differs
is the standards' own doing. Where that is so nobody approved what the sheet says: it is a draft.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from generator.changes.history import (
    commit_of,
    commits_of_revision,
    differing,
    standards_at,
)
from generator.files.finding import Finding, Refused, with_more
from generator.measures.words import breakable, counted, date
from generator.records.print_register import PrintedSheet, formula_of
from generator.sheet.manual import Broken, Manual, make_manual
from generator.sheet.sheet import Sheet
from generator.views.facts import Change, Facts, fact_changes, pair_of
from generator.views.sheet_facts import facts_in

UNRAISED = "revision-not-raised"
_REVISION = "Revision"
_NAMED = 2
"""Changes a finding names; the others are counted."""
_FIRST = ("limits", "dates", "formula")


@dataclass(frozen=True)
class Anchor:
    """What a formula is compared with: its revision and its facts at a commit, and whether somebody
    had ``approved`` them."""

    revision: int
    facts: Facts
    approved: bool


Unraised = tuple[tuple[Change, ...], str]
"""What changed under an unchanged revision, and since when."""


@dataclass(frozen=True)
class Compared:
    """The formulas whose figures changed under their revision, each with what changed and since
    when; and the printed sheets whose standards can't be had again, by station."""

    unraised: Mapping[str, Unraised]
    unknown: tuple[tuple[str, int, PrintedSheet], ...] = ()


def compared(manual: Manual, idents: Collection[str] | None = None) -> Compared:
    """A manual against its print register and, where that doesn't know a formula at this revision,
    against its last commit; of some formulas alone where their ``idents`` are given. What was
    changed back, is of another revision, or was discarded, is no change."""
    asked = manual.sheets.keys() if idents is None else idents
    found: dict[str, Unraised] = {}
    unknown: list[tuple[str, int, PrintedSheet]] = []
    memory, settled = _Memory(manual), set[str]()
    for station, number, printed in _printed(manual):
        ident = formula_of(printed.sheet)
        if ident not in asked:
            continue
        changes: tuple[Change, ...] | None = _went_back(manual, ident, printed.revision)
        if not changes:
            changes = _since_printed(manual, memory, ident, printed)
        if changes is None:
            unknown.append((station, number, printed))
            continue
        settled.add(ident)
        if changes:
            found.setdefault(ident, (changes, _since(number, printed)))
    rest = set(asked) - settled
    return Compared({**found, **_since_committed(manual, memory, rest)}, tuple(unknown))


def at_revision(manual: Manual, ident: str, revision: int) -> Manual | None:
    """The standards as they were when a formula had an earlier ``revision``: of the commit a batch
    sheet of it was printed from, by the register, else of the last commit that states it. None
    where neither is to be had, or it had errors then."""
    for commit in dict.fromkeys(_commits(manual, ident, revision)):
        with suppress(Refused), standards_at(manual.project, commit, reference=False) as folder:
            old = make_manual(folder, manual.as_of, history=False)
            sheet = None if isinstance(old, Broken) else old.sheets.get(ident)
            if sheet is not None and sheet.formula.formula.revision == revision:
                assert isinstance(old, Manual)
                return old
    return None


def _commits(manual: Manual, ident: str, revision: int) -> Iterator[str]:
    """The commits at which a formula had a revision: printed ones first."""
    register = manual.standards.register
    for binder in register.binders.values() if register is not None else ():
        for one in (*binder.sheets.values(), *binder.given_twice.values()):
            if formula_of(one.sheet) == ident and one.revision == str(revision) and one.commit:
                yield one.commit
    file = manual.standards.formula_files.get(ident)
    if file is not None:
        yield from commits_of_revision(manual.project, file, revision)


def _since_printed(
    manual: Manual, memory: _Memory, ident: str, printed: PrintedSheet
) -> tuple[Change, ...] | None:
    """What a formula says differently since a sheet was printed; None where that can't be known."""
    then = memory.at(printed.commit, ident) if printed.commit else None
    return _changes(manual, ident, then) if then is not None else None


def _since_committed(
    manual: Manual, memory: _Memory, idents: Collection[str]
) -> dict[str, Unraised]:
    """The formulas of ``idents`` whose approved figures changed since the last commit."""
    found: dict[str, Unraised] = {}
    for ident, then in memory.last().items():
        if ident not in idents or not then.approved:
            continue
        back = _went_back(manual, ident, str(then.revision))
        if changes := back or _changes(manual, ident, then):
            found[ident] = changes, "since the last commit"
    return found


def _since(number: int, printed: PrintedSheet) -> str:
    return f"since sheet {number} was printed on {date(printed.printed)}"


def _went_back(manual: Manual, ident: str, then: str) -> tuple[Change, ...]:
    """The change of a revision that is lower than it was: the same number would be given to other
    figures again. Empty where it isn't."""
    now = manual.sheets[ident].formula.formula.revision
    if not then.isdecimal() or int(then) <= now:
        return ()
    return (Change("control", "", _REVISION, then, str(now)),)


def _printed(manual: Manual) -> Iterator[tuple[str, int, PrintedSheet]]:
    """The batch sheets that the register says are in a binder, of formulas that have the revision
    they were printed at, or a lower one."""
    register = manual.standards.register
    for station, binder in register.binders.items() if register is not None else ():
        for number, one in (*binder.sheets.items(), *binder.given_twice.items()):
            sheet = manual.sheets.get(formula_of(one.sheet))
            if sheet is None or one.discarded is not None:
                continue
            printed = int(one.revision) if one.revision.isdecimal() else 0
            if printed >= sheet.formula.formula.revision:
                yield station, number, one


class _Memory:
    """Formulas as they were at commits: each commit is computed once, and not at all where nothing
    of the standards differs from what is on the disk."""

    def __init__(self, manual: Manual) -> None:
        self.manual = manual
        self.known: dict[str, Mapping[str, Anchor] | None] = {}
        self.differs: dict[str, bool] = {}

    def at(self, commit: str, ident: str) -> Anchor | None:
        """A formula at a commit; None where it can't be computed again: the history isn't here, or
        it had errors."""
        if commit not in self.known:
            try:
                self.known[commit] = self._all(commit)
            except Refused:
                self.known[commit] = None  # a shallow clone, a history written anew
        found = self.known[commit]
        return None if found is None else found.get(ident)

    def last(self) -> Mapping[str, Anchor]:
        """All formulas at the last commit; none without git."""
        zone = self.manual.house.kitchen.time_zone
        try:
            commit = commit_of(self.manual.project, "HEAD", zone, self.manual.as_of)
            if commit not in self.known:
                self.known[commit] = self._all(commit) if self._differs(commit) else {}
        except Refused:
            return {}
        return self.known[commit] or {}

    def _differs(self, commit: str) -> bool:
        if commit not in self.differs:
            self.differs[commit] = differing(self.manual.project, commit)
        return self.differs[commit]

    def _all(self, commit: str) -> Mapping[str, Anchor]:
        """All formulas at a commit, which never changes: with the same program, reference data and
        day they are worked out once. Raises Refused."""
        if not self._differs(commit):
            return _anchors(self.manual)
        keeping = self.manual.keeping
        key = keeping.key_of_all("anchors", commit)
        return keeping.kept.of(key, partial(self._computed, commit), _written, _read)

    def _computed(self, commit: str) -> Mapping[str, Anchor]:
        with standards_at(self.manual.project, commit, reference=False) as folder:
            old = make_manual(folder, self.manual.as_of, kept=self.manual.keeping.kept)
            return {} if isinstance(old, Broken) else _anchors(old)


def _rows(facts: Facts) -> list[list[str]]:
    """Facts as JSON takes them."""
    return [[*key, words] for key, words in facts.items()]


def _facts(rows: Iterable[Sequence[Any]]) -> Facts:
    return {(group, size, name): words for group, size, name, words in rows}


def _written(anchors: Mapping[str, Anchor]) -> bytes:
    found = {i: [one.revision, one.approved, _rows(one.facts)] for i, one in anchors.items()}
    return json.dumps(found).encode()


def _read(data: bytes) -> dict[str, Anchor]:
    """Anchors from their bytes. Raises ValueError for others."""
    try:
        return {
            ident: Anchor(revision, _facts(rows), approved)
            for ident, (revision, approved, rows) in json.loads(data).items()
        }
    except (AttributeError, TypeError) as error:
        raise ValueError(str(error)) from None


def _anchors(manual: Manual) -> dict[str, Anchor]:
    return {ident: _anchor(manual, sheet) for ident, sheet in manual.sheets.items()}


def _anchor(manual: Manual, sheet: Sheet) -> Anchor:
    formula = sheet.formula.formula
    return Anchor(formula.revision, _facts_now(manual, sheet), bool(formula.approved))


def _facts_now(manual: Manual, sheet: Sheet) -> Facts:
    """A sheet's facts, worked out once for the same sheet."""
    rows = manual.keeping.part(sheet, "control", lambda: _rows(facts_in(manual, sheet)))
    return _facts(rows)


def _changes(manual: Manual, ident: str, then: Anchor) -> tuple[Change, ...]:
    """What a formula says differently under the revision it had ``then``; a batch size that is new
    or gone changes no figure of another."""
    sheet = manual.sheets[ident]
    if sheet.formula.formula.revision != then.revision:
        return ()
    now = _facts_now(manual, sheet)
    sizes = _sizes(then.facts) & _sizes(now)
    return tuple(
        c
        for c in fact_changes(then.facts, now)
        if c.group != "control" and (c.group != "batch" or c.size in sizes)
    )


def _sizes(facts: Facts) -> set[str]:
    return {size for group, size, _ in facts if group == "batch"}


def as_drafts(manual: Manual, found: Compared) -> Manual:
    """The manual with a warning for each formula whose figures changed under its revision, and its
    sheet as a draft that nobody approved."""
    if not found.unraised:
        return manual
    sheets = dict(manual.sheets)
    warnings: list[Finding] = []
    for ident, (changes, since) in found.unraised.items():
        sheet = sheets[ident]
        sheets[ident] = replace(sheet, approval=sheet.approval.with_other_figures())
        warnings.append(_warning(sheet, changes, since))
    return replace(manual, sheets=sheets, findings=with_more(manual.findings, warnings))


def _warning(sheet: Sheet, changes: tuple[Change, ...], since: str) -> Finding:
    revision = sheet.formula.formula.revision
    what = named(changes) or "what is printed changed"
    rest = f"the revision is still {revision}"
    if changes and changes[0].name == _REVISION:
        revision, rest = int(changes[0].old), "a revision never goes back"
    return Finding(
        UNRAISED,
        "warning",
        f"{sheet.name}: {what} {since}; {rest}.",
        sheet.formula.formula.place("revision"),
        "Raise `revision`, with the day it is `effective` and who `approved` it. Until then its "
        "page and its paper say DRAFT.",
        (f"revision: {revision + 1}",),
        about=frozenset({sheet.id}),
    )


def named(changes: tuple[Change, ...]) -> str:
    """Changes in words, the limits and dates first: "salt 1.6 % → 1.7 % and 3 more changes"."""
    order = {group: place for place, group in enumerate(_FIRST)}
    chosen = sorted(changes, key=lambda c: order.get(c.group, len(order)))
    words = [f"{c.name} {' → '.join(pair_of(c))}" for c in chosen[:_NAMED]]
    more = len(changes) - len(words)
    if more > 0:
        words.append(breakable(counted(more, "more change")))
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
