"""A sheet's record: its words in bold and plain, its document control, its hash."""

from __future__ import annotations

import datetime
import hashlib
import json
import re
from typing import Any

from generator.records.approval import Approval
from generator.sheet.manual import Manual

Record = dict[str, Any]
Words = str | list[str | dict[str, str]]

GOVERNS = "Local code and the regulatory authority decide. A qualified person reviews the plan."

_OF_THE_PRINTING = frozenset({"number", "hash", "as_of", "overdue", "flags", "qr", "bar", "issue"})
"""What is on a sheet and isn't its content: where it lies in the binder, the day it was
computed for and what only follows from that day, what differs from an earlier printing, which
issue of its binder it begins."""


_MEASURE = re.compile(
    r"(?<=[0-9]) (?=(?:%|°[CF]|mm|cm|g|kg|mg|ml|l|oz|lb|s|min|h|day|days|ppm)(?![A-Za-z]))"
)


def as_kept(record: Record) -> bytes | None:
    """A record as bytes of JSON; None for one that JSON doesn't give back as it is."""
    data = json.dumps(record)
    return data.encode() if json.loads(data) == record else None


def tied(value: Any) -> Any:
    """A record with no line of it ending between a figure and its unit."""
    if isinstance(value, str):
        return _MEASURE.sub("\u00a0", value)
    if isinstance(value, dict):
        return {k: tied(v) for k, v in value.items()}
    if isinstance(value, list):
        return [tied(v) for v in value]
    return value


def bold(words: str) -> dict[str, str]:
    """Words in bold."""
    return {"b": words}


def opened(words: str) -> Words:
    """A sentence with its first word in bold: **Probe** the centre."""
    first, space, rest = words.partition(" ")
    return [bold(first), space + rest]


_APPROVER, _IDENT = 25, 72
"""Letters a line of the footer holds at 9 pt."""


def shortened(words: str, most: int) -> str:
    """Words cut to so many letters, the last an ellipsis, for a line that can't wrap."""
    return words if len(words) <= most else words[: most - 1].rstrip() + "…"


def control_record(approval: Approval, ident: str, as_of: datetime.date) -> Record:
    """The footer's words. Dates are ISO: they are for document control."""
    due = approval.review_due
    return {
        "status": _STATUS[approval.status],
        "revision": str(approval.revision) if approval.revision is not None else "none",
        "effective": approval.effective.isoformat() if approval.effective else "not yet",
        "approved": shortened(approval.approved, _APPROVER) or "nobody",
        "review": due.isoformat() if due else "none",
        "overdue": approval.overdue,
        "unraised": approval.unraised,
        "hash": "",
        "as_of": as_of.isoformat(),
        "id": shortened(ident, _IDENT),
        "governs": GOVERNS,
    }


_STATUS = {
    "current": "Approved",
    "draft": "DRAFT",
    "not-yet": "NOT YET IN FORCE",
    "superseded": "SUPERSEDED",
}


def band_of(approval: Approval) -> Record | None:
    """The band over a sheet that is not in force; None for one that is."""
    if approval.status == "draft" and approval.unraised:
        words = f"Not the figures of revision {approval.revision}. Do not work from this sheet."
        return {"form": "reversed", "word": "DRAFT", "words": words}
    if approval.status == "draft":
        words = "Not approved. Do not work from this sheet."
        return {"form": "reversed", "word": "DRAFT", "words": words}
    if approval.status == "not-yet":
        assert approval.effective is not None
        words = f"In force from {approval.effective.isoformat()}. Do not work from it before."
        return {"form": "outlined", "word": "NOT YET", "words": words}
    if approval.status == "superseded":
        assert approval.superseded is not None
        words = f"Out of use since {approval.superseded.isoformat()}. Do not work from it."
        return {"form": "outlined", "word": "SUPERSEDED", "words": words}
    return None


def sheet_record(
    manual: Manual,
    kind: str,
    key: str,
    title: str,
    subtitle: list[str],
    station: str,
    approval: Approval,
    ident: str,
    blocks: list[Record],
    *,
    strip: Record | None = None,
    fields: list[Record] | None = None,
    **more: Any,
) -> Record:
    """A sheet's record, not numbered yet and without a QR code (see ``documents``)."""
    return {
        "kind": kind,
        "key": key,
        "number": "",
        "title": title,
        "subtitle": subtitle,
        "station": station,
        "band": band_of(approval),
        "strip": tied(strip),
        "fields": fields or [],
        "blocks": tied(blocks),
        "control": control_record(approval, ident, manual.as_of),
        "qr": None,
        **more,
    }


def content_of(sheet: Record) -> Record:
    """What is printed on a sheet and makes it what it is: all of it but its place in the binder,
    the day it was computed for and what only follows from that, its hash and its QR code.

    Page x of y isn't in the record: it follows from the rest.
    """
    found: Record = _content(sheet)
    return found


def _content(value: Any) -> Any:
    if isinstance(value, dict):
        return {k: _content(v) for k, v in value.items() if k not in _OF_THE_PRINTING}
    if isinstance(value, list):
        return [_content(v) for v in value]
    return value


def hash_of(sheet: Record) -> str:
    """Eight hexadecimal digits that change with what is printed on the sheet, and with nothing
    else."""
    text = json.dumps(content_of(sheet), ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()[:8]
