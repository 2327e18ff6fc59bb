"""Two print registers joined, printing by printing: what two branches printed without each
other."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field

from generator.records.print_register import PrintedBinder, PrintedSheet, PrintRegister


@dataclass(frozen=True)
class Joined:
    """Two registers as one, and in sentences what to do about numbers and sheets both gave."""

    register: PrintRegister
    reported: tuple[str, ...] = ()


@dataclass
class _Binder:
    """One station's binder while it is joined."""

    station: str
    day: datetime.date
    sheets: dict[int, PrintedSheet]
    twice: dict[int, PrintedSheet] = field(default_factory=dict)
    reported: list[str] = field(default_factory=list)

    def number_of(self, key: str) -> int | None:
        """The number a sheet that is in the binder has."""
        return next((n for n, s in self.sheets.items() if s.sheet == key and _held(s)), None)

    def report(self, words: str) -> None:
        self.reported.append(f"{self.station}: {words}")


def joined(ours: PrintRegister, theirs: PrintRegister, day: datetime.date) -> Joined:
    """The register of both branches on ``day``.

    Of one sheet printed by both the later printing counts. A number both gave to different sheets
    stays on both papers: the one printed first keeps it (ours, if on one day), the other is to be
    printed again under a new number, and is listed under ``given_twice`` until it is.
    """
    binders = dict(ours.binders)
    reported: list[str] = []
    for station, other in theirs.binders.items():
        own = binders.get(station)
        if own is None:
            binders[station] = other
        elif own != other:
            binders[station] = _join(station, own, other, day, reported)
    return Joined(PrintRegister.model_construct(binders=binders), tuple(reported))


def _join(
    station: str, own: PrintedBinder, other: PrintedBinder, day: datetime.date, reported: list[str]
) -> PrintedBinder:
    found = _Binder(station, day, dict(own.sheets))
    clashes: list[tuple[int, PrintedSheet]] = [*own.given_twice.items(), *other.given_twice.items()]
    for number, sheet in other.sheets.items():
        mine = found.sheets.get(number)
        if mine is None or mine.sheet == sheet.sheet:
            found.sheets[number] = sheet if mine is None else _later(found, number, mine, sheet)
        else:
            clashes.append(_given_twice(found, number, mine, sheet))
    _one_number_each(found, own)
    for number, sheet in clashes:
        _list_twice(found, number, sheet)
    reported += found.reported
    return PrintedBinder.model_construct(
        issue=max(own.issue, other.issue),
        cover=own.cover if own.cover == other.cover else None,  # which one is in isn't known
        sheets=found.sheets,
        given_twice=found.twice,
    )


def _held(sheet: PrintedSheet) -> bool:
    return sheet.discarded is None


def _later(found: _Binder, number: int, mine: PrintedSheet, sheet: PrintedSheet) -> PrintedSheet:
    """The later of two printings of one sheet under one number."""
    if mine == sheet:
        return mine
    last = max((sheet, mine), key=lambda s: s.discarded or s.printed)
    if mine.hash != sheet.hash and mine.printed == sheet.printed:
        found.report(
            f"sheet {number}, {mine.id}, was printed twice on {mine.printed}, with hash "
            f"{mine.hash} and "
            f"{sheet.hash}. Keep the one with {last.hash}; take the other out."
        )
    return last


def _given_twice(
    found: _Binder, number: int, mine: PrintedSheet, sheet: PrintedSheet
) -> tuple[int, PrintedSheet]:
    """Decide who keeps a number two branches gave; returns the one that doesn't."""
    keeps, goes = mine, sheet
    if not _held(mine) or (_held(sheet) and sheet.printed < mine.printed):
        keeps, goes = sheet, mine
    found.sheets[number] = keeps
    return number, goes


def _one_number_each(found: _Binder, own: PrintedBinder) -> None:
    """A sheet in under two numbers keeps ours; the other paper is taken out, its number spent."""
    for number, sheet in list(found.sheets.items()):
        other = found.number_of(sheet.sheet)
        if not _held(sheet) or other in (None, number):
            continue
        assert other is not None
        out = number if other in own.sheets or number not in own.sheets else other
        stays = other if out == number else number
        gone = found.sheets[out]
        last = max(found.day, gone.printed)
        found.sheets[out] = gone.model_copy(update={"discarded": last})
        found.report(
            f"{gone.id} was printed as sheet {stays} and as sheet {out}. "
            f"Take sheet {out} out, hash {gone.hash}."
        )


def _list_twice(found: _Binder, number: int, sheet: PrintedSheet) -> None:
    """Report a number given twice, and name the sheet to replace."""
    keeps = found.sheets[number]
    words = (
        f"number {number} was given twice: to {keeps.id}, hash {keeps.hash}, which keeps it, "
        f"and to {sheet.id}, hash {sheet.hash}."
    )
    if not _held(sheet):
        found.report(f"{words} The second is out of the binder already.")
        return
    other = found.number_of(sheet.sheet)
    if other is not None:
        found.report(f"{words} Take the second out: it is in as sheet {other} too.")
        return
    found.twice[number] = sheet
    found.report(f"{words} Replace the second: print it again, under a new number.")
