"""Read the print register: standards/print-register.yaml."""

from __future__ import annotations

import os
from dataclasses import replace

from generator.files.finding import Finding
from generator.intake.reading import Reader, top_of
from generator.records.print_register import PrintRegister

NAME = "print-register.yaml"


def read_register(reader: Reader) -> PrintRegister | None:
    """The register, or None: there is none, or it has faults, which ``reader`` gathers.

    Its faults stop no formula: sheets are computed without it, only not numbered.
    """
    path = reader.root / reader.top / NAME
    if not os.path.lexists(path):
        return None
    apart = Reader(reader.root, reader.top)
    apart.units = reader.units
    tree = apart.take(apart.document(path), NAME)
    register = None
    if tree is not None:
        file = f"{reader.top}/{NAME}"
        register = apart.record(PrintRegister, tree, top_of(tree, file), NAME)
    if register is not None:
        apart.findings.extend(_twice(register))
    reader.files += apart.files
    reader.findings.extend(replace(f, about=frozenset()) for f in apart.findings)
    return None if apart.findings else register


def _twice(register: PrintRegister) -> list[Finding]:
    """A sheet in two places, and one taken out before it was printed."""
    found: list[Finding] = []
    for station, binder in register.binders.items():
        held: dict[str, int] = {}
        for number, sheet in binder.sheets.items():
            where = ("binders", station, "sheets", str(number))
            if sheet.discarded is not None:
                if sheet.discarded < sheet.printed:
                    found.append(
                        Finding(
                            "register-dates",
                            "error",
                            f"Sheet {number} was taken out before it was printed.",
                            register.place(*where, "discarded"),
                            "Check the two days.",
                        )
                    )
                continue
            if sheet.sheet in held:
                found.append(
                    Finding(
                        "register-sheet-twice",
                        "error",
                        f"Sheets {held[sheet.sheet]} and {number} of {station} are the same sheet.",
                        register.place(*where, "sheet"),
                        "Keep the number that is in the binder. Give the other the day it was "
                        "`discarded`.",
                    )
                )
            held.setdefault(sheet.sheet, number)
    return found
