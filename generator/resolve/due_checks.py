"""Which scales and thermometers must be checked, and which are overdue."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from generator.files.finding import Finding, Place
from generator.intake.standards import Standards
from generator.measures.words import counted, date
from generator.records.equipment import Scale, Thermometer

_DAY_S = 86400


@dataclass(frozen=True)
class DueCheck:
    """A scale's or a thermometer's next check: its ``last``, None for never; the last day that one
    is good for, None for never; ``every`` so many days, as ``said_at`` says."""

    id: str
    name: str
    last: datetime.date | None
    good_until: datetime.date | None
    every: int
    said_at: Place

    def is_overdue(self, as_of: datetime.date) -> bool:
        """Whether it must be checked before it is used on a day."""
        return self.good_until is None or self.good_until < as_of

    @property
    def words(self) -> str:
        """Since when it is due, or when it is: "Pocket probe: since 1 Dec 2026"."""
        if self.good_until is None:
            return f"{self.name}: never checked"
        since = self.good_until + datetime.timedelta(days=1)
        return f"{self.name}: due on {date(since)}"


def due_checks(standards: Standards) -> tuple[DueCheck, ...]:
    """Every scale and thermometer that must be checked, the one due first before others."""
    found = [
        _due(ident, item, every, place)
        for ident, item in standards.equipment.items()
        if isinstance(item, Scale | Thermometer)
        for every, place in _every(standards, ident, item)
    ]
    return tuple(sorted(found, key=lambda d: (d.good_until or datetime.date.min, d.id)))


def _due(ident: str, item: Scale | Thermometer, every: int, place: Place) -> DueCheck:
    last = item.last_check.date if item.last_check is not None else None
    until = last + datetime.timedelta(days=every) if last is not None else None
    return DueCheck(ident, item.name, last, until, every, place)


def _every(
    standards: Standards, ident: str, item: Scale | Thermometer
) -> Iterator[tuple[int, Place]]:
    """After how many days it is checked, and where that is written; nothing where it isn't, or
    where it is checked more often than once a day: the routine's own log shows those."""
    if item.check_every is not None:
        yield _days(item.check_every.seconds), item.place("check_every")
        return
    probe = standards.kitchen.probe if standards.kitchen is not None else ""
    found = [
        (_days(check.every.seconds), check.place("every"))
        for routine in standards.routines.values()
        for check in routine.checks
        if check.check in ("ice-point", "boiling-point")
        and check.every is not None
        and check.every.seconds >= _DAY_S
        and (check.with_ or probe) == ident
    ]
    if found and isinstance(item, Thermometer):
        yield min(found, key=lambda one: one[0])


def _days(seconds: Fraction) -> int:
    """Whole days: a day begun doesn't count, the strict side."""
    return int(seconds // _DAY_S)


def overdue_findings(standards: Standards, as_of: datetime.date) -> Iterator[Finding]:
    """A warning for each scale and thermometer whose check is overdue."""
    for one in due_checks(standards):
        if not one.is_overdue(as_of):
            continue
        item = standards.equipment[one.id]
        place = item.place("last_check") if item.states("last_check") else one.said_at
        since = f"its last check, on {date(one.last)}," if one.last is not None else "no check"
        words = f"{one.name} is checked every {counted(one.every, 'day')}: {since} is "
        words += "too long ago." if one.last is not None else "written."
        help = (
            "Check it before it is used. Write that day under `last_check`, and how far it was off."
        )
        about = frozenset({f"equipment:{one.id}"})
        yield Finding("check-overdue", "warning", words, place, help, about=about)
