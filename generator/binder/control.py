"""Document control of a whole manual: whose figures aren't those their revision was printed or
committed with.

What git can compute again is compared by what it says (``changes.revisions``). A printed sheet
whose standards can't be had again, for want of a commit or of the history, is compared by its hash:
if the program and the reference data are those it was printed with, the chef's text changed it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import generator
from generator.changes.revisions import Compared, as_drafts, compared
from generator.files.finding import Finding, Refused, with_more
from generator.measures.words import listed
from generator.records.print_register import PrintedSheet, formula_of
from generator.sheet.manual import Broken, Manual

MOVED = "printed-otherwise"
_SUFFIXES = (".py", ".typ", ".yaml")


def under_control(manual: Manual | Broken) -> Manual | Broken:
    """The manual with a warning and a draft for each formula whose figures changed under its
    revision, and a warning for each whose printed sheet differs for a reason that isn't known."""
    if isinstance(manual, Broken):
        return manual
    found = compared(manual)
    if not found.unknown:
        return as_drafts(manual, found)
    differing = tuple(_differing(manual, found.unknown))
    mine = made_with(manual)
    by_the_chef = {
        formula_of(one.sheet): ((), f"since sheet {number} was printed")
        for _, number, one in differing
        if one.made_with == mine
    }
    drafts = as_drafts(manual, Compared({**by_the_chef, **found.unraised}))
    told = {*by_the_chef, *found.unraised}
    rest = [one for one in differing if formula_of(one[2].sheet) not in told]
    return replace(drafts, findings=with_more(drafts.findings, _unknown(manual, rest)))


def refused_for(manual: Manual) -> Refused | None:
    """Why nothing may be entered in the register: figures nobody approved would become those of a
    revision. None if nothing speaks against it."""
    names = [s.name for s in manual.sheets.values() if s.approval.unraised]
    if not names:
        return None
    return Refused(
        "register-of-drafts",
        f"Other figures under the same revision: {listed(names)}.",
        "Raise the revision first. Without --register the sheets are printed as DRAFT.",
    )


def _differing(
    manual: Manual, printed: tuple[tuple[str, int, PrintedSheet], ...]
) -> Iterator[tuple[str, int, PrintedSheet]]:
    """The printed sheets whose hash isn't the one they would be printed with now."""
    from generator.binder.documents import station_sheets  # heavy: not where all is known
    from generator.binder.sheets import hash_of

    now: dict[str, str] = {}
    for station in dict.fromkeys(station for station, _, _ in printed):
        if station in manual.house.stations:
            now |= {s["key"]: hash_of(s) for s in station_sheets(manual, station)}
    for station, number, one in printed:
        if now.get(one.sheet, one.hash) != one.hash:
            yield station, number, one


def _unknown(manual: Manual, printed: list[tuple[str, int, PrintedSheet]]) -> Iterator[Finding]:
    """A warning for each formula whose printed sheets differ, nobody knows why."""
    by_formula: dict[str, list[str]] = {}
    for _, number, one in printed:
        by_formula.setdefault(formula_of(one.sheet), []).append(str(number))
    for ident, numbers in by_formula.items():
        formula = manual.sheets[ident].formula.formula
        yield Finding(
            MOVED,
            "warning",
            f"{formula.name}: sheet {listed(numbers)} reads otherwise than it was printed at "
            f"revision {formula.revision}. Whether the standards changed, or the program and its "
            "reference data, isn't known.",
            formula.place("revision"),
            "If the standards changed, raise `revision`. If not, print the sheet again with "
            "--register.",
            about=frozenset({ident}),
        )


def made_with(manual: Manual) -> str:
    """Eight digits that change with the program or the reference data a manual is made with."""
    return _digest(Path(generator.__file__).parent, manual.library.folder)


@lru_cache(maxsize=8)
def _digest(*folders: Path) -> str:
    found = hashlib.sha256()
    for folder in folders:
        for path in sorted(folder.rglob("*")):
            if path.suffix in _SUFFIXES and path.is_file():
                found.update(str(path.relative_to(folder)).encode())
                found.update(path.read_bytes())
    return found.hexdigest()[:8]
