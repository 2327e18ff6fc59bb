"""The status line of a sheet: whether it may be worked from."""

from __future__ import annotations

from dataclasses import dataclass

from generator.measures.words import date
from generator.records.approval import Approval, Status
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
    return status_line(sheet.approval, sheet.status)


def status_line(approval: Approval, status: Status) -> StatusView:
    """The status line of what is approved so; ``status`` may be a stricter one."""
    effective, number = approval.effective, approval.revision
    revision = f"revision {number}" if number is not None else "no revision"
    if status == "draft" and approval.unraised:
        return StatusView("Draft, do not use", True, f"{revision} · not these figures", "")
    if status == "draft" or effective is None:
        return StatusView("Draft, do not use", True, f"{revision} · not approved", "")
    if status == "not-yet":
        return StatusView("Not current", True, f"{revision} · starts {date(effective)}", "")
    if approval.superseded is not None and status == "superseded":
        out = f"taken out of use {date(approval.superseded)}"
        return StatusView("Superseded, do not use", True, f"{revision} · {out}", "")
    return StatusView("Current", False, revision, f"from {date(effective)}", _review(approval))


def _review(approval: Approval) -> str:
    """That its review is due, from that day on."""
    due = approval.review_due
    return f"review due {date(due)}" if due is not None and approval.overdue else ""
