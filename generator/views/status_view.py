"""The status line of a sheet: whether it may be worked from."""

from __future__ import annotations

from dataclasses import dataclass

from generator.measures.words import date
from generator.sheet.sheet import Sheet


@dataclass(frozen=True)
class StatusView:
    """The status line: ``reversed`` for anything but current. ``revision`` says all that is true of
    one that isn't; ``since`` is from when it is in use; ``due`` says that its review is."""

    word: str
    reversed: bool
    revision: str
    since: str
    due: str = ""

    @property
    def rest(self) -> str:
        """All that is behind the word."""
        return " · ".join(words for words in (self.revision, self.since, self.due) if words)


def status_of(sheet: Sheet) -> StatusView:
    """The status line of a sheet on its day."""
    formula = sheet.formula.formula
    revision = f"revision {formula.revision}"
    if sheet.status == "draft" and sheet.approval.unraised:
        return StatusView("Draft, do not use", True, f"{revision} · not these figures", "")
    if sheet.status == "draft":
        return StatusView("Draft, do not use", True, f"{revision} · not approved", "")
    if sheet.status == "not-yet":
        return StatusView("Not current", True, f"{revision} · starts {date(formula.effective)}", "")
    if sheet.approval.superseded is not None and sheet.status == "superseded":
        out = f"taken out of use {date(sheet.approval.superseded)}"
        return StatusView("Superseded, do not use", True, f"{revision} · {out}", "")
    return StatusView("Current", False, revision, f"from {date(formula.effective)}", _review(sheet))


def _review(sheet: Sheet) -> str:
    """That its review is due, from that day on."""
    due = sheet.approval.review_due
    return f"review due {date(due)}" if due is not None and sheet.approval.overdue else ""
