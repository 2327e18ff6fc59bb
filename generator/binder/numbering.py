"""The numbers of sheets: the place in the binder, given once and never used again.

They are kept in the print register; a sheet that isn't in it gets the next number.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from generator.records.print_register import PrintRegister


def taken_of(register: PrintRegister | None) -> dict[str, int]:
    """The numbers given already, by the sheet's key. A sheet that was taken out keeps its number
    under a key no sheet has, so that the number is never given again."""
    taken: dict[str, int] = {}
    for station, binder in register.binders.items() if register is not None else ():
        for number, sheet in binder.sheets.items():
            gone = sheet.discarded is not None
            taken[f"{station}/#{number}" if gone else sheet.sheet] = number
    return taken


def numbered(keys: Iterable[str], taken: Mapping[str, int]) -> dict[str, int]:
    """A number for each key of one station's sheets: its own, or the next after the highest ever
    given at the station. ``taken`` holds those given, of sheets that are gone as well."""
    wanted = list(keys)
    stations = {key.partition("/")[0] for key in wanted}
    given = [n for key, n in taken.items() if key.partition("/")[0] in stations]
    following = max(given, default=0) + 1
    found: dict[str, int] = {}
    for key in wanted:
        if key in taken:
            found[key] = taken[key]
        else:
            found[key] = following
            following += 1
    return found
