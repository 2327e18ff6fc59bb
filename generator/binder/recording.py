"""The print register written: what was printed gets its place, what left the binder its last
day."""

from __future__ import annotations

import datetime
import json
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

from generator.binder.comments import Comments, Line, commented, written
from generator.binder.sheets import Record
from generator.records.print_register import PrintedBinder, PrintedSheet, PrintRegister

_HEAD: dict[tuple[str, ...], tuple[str, ...]] = {
    ("binders",): (
        "# Which sheets were printed, with which number and at which hash. `kitchen-manual "
        "binder --register` writes it;",
        "# keep it with the standards and commit it. A number is given once and never used again.",
    )
}


@dataclass(frozen=True)
class Source:
    """What sheets are printed from: the ``commit`` of the standards (empty: not committed), and the
    hash of the program and the reference data, empty if it isn't to be entered."""

    commit: str = ""
    made_with: str = ""


def recorded(
    register: PrintRegister | None,
    station: str,
    sheets: Sequence[Record],
    printed: Collection[str],
    day: datetime.date,
    source: Source,
) -> PrintRegister:
    """The register after a printing for ``station``: ``sheets`` is all its binder holds now, cover
    first, ``printed`` the keys of those printed on ``day`` from ``source``."""
    binders = dict(register.binders) if register is not None else {}
    before = binders.get(station) or _EMPTY
    cover = next(s for s in sheets if s["kind"] == "cover")
    rest = {s["key"]: s for s in sheets if s["kind"] != "cover"}
    is_new = cover["key"] in printed or station not in binders
    again = rest.keys() - set(printed)
    binders[station] = PrintedBinder.model_construct(
        issue=before.issue + 1,
        cover=cover["control"]["hash"] if is_new else before.cover,
        sheets=_without(before.sheets, rest, day) | _with(rest, printed, day, source),
        given_twice={n: s for n, s in before.given_twice.items() if s.sheet in again},
    )
    return PrintRegister.model_construct(binders=binders)


_EMPTY = PrintedBinder.model_construct(issue=0, cover="", sheets={}, given_twice={})
"""A binder of which nothing was printed yet."""


def _without(
    entries: Mapping[int, PrintedSheet], held: Collection[str], day: datetime.date
) -> dict[int, PrintedSheet]:
    """The entries of a binder; those of sheets it no longer holds are out since ``day`` at the
    latest."""
    return {
        number: entry
        if entry.sheet in held or entry.discarded is not None
        else entry.model_copy(update={"discarded": max(day, entry.printed)})
        for number, entry in entries.items()
    }


def _with(
    sheets: Mapping[str, Record], printed: Collection[str], day: datetime.date, source: Source
) -> dict[int, PrintedSheet]:
    """The entries of those ``sheets`` that were printed on ``day``, by number."""
    return {
        int(sheet["number"]): PrintedSheet.model_construct(
            sheet=key,
            id=sheet["control"]["id"],
            kind=sheet["kind"],
            revision=sheet["control"]["revision"],
            hash=sheet["control"]["hash"],
            printed=day,
            discarded=None,
            commit=source.commit or None,
            made_with=source.made_with or None,
        )
        for key, sheet in sheets.items()
        if key in printed
    }


def as_yaml(register: PrintRegister, before: str = "") -> str:
    """The register as its file's text; what is read from it is the same register again.

    The comments of the text ``before``, its blank lines and the order of its keys are kept.
    """
    return written(_lines(register), commented(before) if before.strip() else Comments(head=_HEAD))


def _lines(register: PrintRegister) -> Iterator[Line]:
    yield Line(("binders",), "binders:" if register.binders else "binders: {}")
    for station, binder in register.binders.items():
        at = ("binders", station)
        yield Line(at, f"{station}:")
        yield Line((*at, "issue"), f"issue: {binder.issue}")
        if binder.cover is not None:
            yield Line((*at, "cover"), f'cover: "{binder.cover}"')
        yield from _numbered((*at, "sheets"), binder.sheets)
        if binder.given_twice:
            yield from _numbered((*at, "given_twice"), binder.given_twice)


def _numbered(at: tuple[str, ...], sheets: Mapping[int, PrintedSheet]) -> Iterator[Line]:
    yield Line(at, f"{at[-1]}:" if sheets else f"{at[-1]}: {{}}")
    for number, sheet in sheets.items():
        here = (*at, str(number))
        yield Line(here, f"{number}:")
        for key, text in _facts(sheet).items():
            yield Line((*here, key), f"{key}: {text}")


def _facts(sheet: PrintedSheet) -> dict[str, str]:
    found = {
        "sheet": sheet.sheet,
        "id": _quoted(sheet.id),
        "kind": sheet.kind,
        "revision": _quoted(sheet.revision),
        "hash": f'"{sheet.hash}"',
        "printed": sheet.printed.isoformat(),
    }
    if sheet.discarded is not None:
        found["discarded"] = sheet.discarded.isoformat()
    if sheet.commit is not None:
        found["commit"] = f'"{sheet.commit}"'
    if sheet.made_with is not None:
        found["made_with"] = f'"{sheet.made_with}"'
    return found


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)
