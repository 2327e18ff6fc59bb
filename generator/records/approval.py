"""Document control of a standard on a day: revision, approval, whether it is in force, its
review."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, replace
from typing import Literal

from generator.records.formula import Formula
from generator.records.kitchen import Kitchen
from generator.records.process import Process
from generator.records.routine import Routine
from generator.records.station import Station

Status = Literal["current", "draft", "not-yet", "superseded"]

_DAY_S = 86400


@dataclass(frozen=True)
class Approval:
    """``review_due`` is None where neither the standard nor the kitchen sets a review; ``overdue``
    is true from that day on. ``unraised``: its figures aren't those its revision was approved with,
    so it is a draft that nobody approved."""

    status: Status
    revision: int | None
    effective: datetime.date | None
    approved: str
    superseded: datetime.date | None
    review_due: datetime.date | None
    overdue: bool
    unraised: bool = False

    def with_other_figures(self) -> Approval:
        """The same on a standard whose figures changed under this revision: nobody approved
        them."""
        status: Status = "superseded" if self.status == "superseded" else "draft"
        return replace(self, status=status, approved="", unraised=True)


def approval_of(
    record: Formula | Process | Routine | Station, kitchen: Kitchen, as_of: datetime.date
) -> Approval:
    """The document control of a record on a day. What nobody approved, or has no revision or
    effective date, is a draft."""
    superseded = record.superseded if isinstance(record, Formula) else None
    due = record.review_by
    if due is None and kitchen.review_every is not None and record.effective is not None:
        due = record.effective + datetime.timedelta(
            days=int(kitchen.review_every.seconds // _DAY_S)
        )
    status: Status = "current"
    if superseded is not None and superseded <= as_of:
        status = "superseded"
    elif not record.approved or record.revision is None or record.effective is None:
        status = "draft"
    elif record.effective > as_of:
        status = "not-yet"
    return Approval(
        status,
        record.revision,
        record.effective,
        record.approved,
        superseded,
        due,
        due is not None and due <= as_of,
    )
