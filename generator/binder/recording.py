"""The print register written: what was printed gets its place, what left the binder its last day."""

from __future__ import annotations

import datetime
import json
from collections.abc import Collection, Sequence

from generator.binder.sheets import Record
from generator.records.print_register import PrintedBinder, PrintedSheet, PrintRegister

_HEAD = """\
# Which sheets were printed, with which number and at which hash. `kitchen-manual binder --record` writes it;
# keep it with the standards and commit it. A number is given once and never used again.
binders:
"""


def recorded(
    register: PrintRegister | None, station: str, sheets: Sequence[Record], printed: Collection[str],
    day: datetime.date, commit: str,
) -> PrintRegister:  # fmt: skip
    """The register after a printing for ``station``: ``sheets`` is all its binder holds now, cover
    first, ``printed`` the keys of those printed on ``day`` from ``commit`` (empty: not committed)."""
    binders = dict(register.binders) if register is not None else {}
    before = binders.get(station)
    entries = dict(before.sheets) if before is not None else {}
    cover = next(s for s in sheets if s["kind"] == "cover")
    rest = [s for s in sheets if s["kind"] != "cover"]
    for number, entry in entries.items():
        if entry.discarded is None and entry.sheet not in {s["key"] for s in rest}:
            entries[number] = entry.model_copy(update={"discarded": max(day, entry.printed)})
    for sheet in rest:
        if sheet["key"] in printed:
            entries[int(sheet["number"])] = PrintedSheet.model_construct(
                sheet=sheet["key"], id=sheet["control"]["id"], kind=sheet["kind"],
                revision=sheet["control"]["revision"], hash=sheet["control"]["hash"], printed=day,
                discarded=None, commit=commit or None,
            )  # fmt: skip
    hash = cover["control"]["hash"] if cover["key"] in printed or before is None else before.cover
    binders[station] = PrintedBinder.model_construct(
        issue=(before.issue if before is not None else 0) + 1,
        cover=hash,
        sheets=dict(sorted(entries.items())),
    )
    return PrintRegister.model_construct(binders=binders)


def as_yaml(register: PrintRegister) -> str:
    """The register as its file's text; what is read from it is the same register again."""
    out = [_HEAD.rstrip("\n")]
    for station, binder in register.binders.items():
        out += [f"  {station}:", f"    issue: {binder.issue}"]
        if binder.cover is not None:
            out.append(f'    cover: "{binder.cover}"')
        out.append("    sheets:")
        for number, sheet in binder.sheets.items():
            out += [
                f"      {number}:",
                f"        sheet: {sheet.sheet}",
                f"        id: {_quoted(sheet.id)}",
                f"        kind: {sheet.kind}",
                f"        revision: {_quoted(sheet.revision)}",
                f'        hash: "{sheet.hash}"',
                f"        printed: {sheet.printed.isoformat()}",
            ]
            if sheet.discarded is not None:
                out.append(f"        discarded: {sheet.discarded.isoformat()}")
            if sheet.commit is not None:
                out.append(f'        commit: "{sheet.commit}"')
    return "\n".join(out) + "\n"


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)
