"""The numbers of sheets: the place in the binder, given once and never used again.

They are kept in ``standards/print-register.yaml``, under ``sheets`` by the sheet's key::

    sheets:
      hearth/lamb-stew/batch/8-pans: {number: 4}
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path

from generator.source_text import Mapping as Tree
from generator.source_text import read_file

REGISTER = "print-register.yaml"


def numbers_of(project: Path) -> dict[str, int]:
    """The number of each sheet the register names, by its key; empty without a register."""
    path = project / "standards" / REGISTER
    if not path.is_file():
        return {}
    tree = read_file(path, f"standards/{REGISTER}").tree
    sheets = tree.get("sheets") if isinstance(tree, Tree) else None
    found: dict[str, int] = {}
    for key, entry in sheets.items() if isinstance(sheets, Tree) else ():
        number = entry.get("number") if isinstance(entry, Tree) else None
        if isinstance(number, str) and number.isascii() and number.isdigit():
            found[key] = int(number)
    return found


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
