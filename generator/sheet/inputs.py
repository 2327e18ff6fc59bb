"""What goes into a formula's sheet, as one hash: what is kept under it may be used again.

A hash covers more than is read, never less: the program, the reference data, the day, every file of
the kitchen but those of formulas, processes, ingredients and plans; then the formula's own file,
its process's, those its ingredients are in, and the same of all it is made of.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from pathlib import Path

from generator.files.kept import Kept, hash_of, hash_of_files
from generator.files.kept import program_hash as program_hash
from generator.intake.restored import pickled, unpickled
from generator.intake.standards import FOLDER, Standards
from generator.reference.library import Library, read_reference
from generator.resolve.joined import JoinedFormula

_APART = tuple(
    f"{FOLDER}/{folder}/" for folder in ("formulas", "processes", "ingredients", "plans")
)


def reference_hash(folder: Path) -> str:
    """The hash of the reference data, empty where it can't be read."""
    try:
        return hash_of(str(folder), hash_of_files(folder))
    except OSError:
        return ""


def kept_library(folder: Path, kept: Kept, reference: str) -> Library:
    """The reference data of a folder; what was read of the same files, which ``reference`` is the
    hash of, is kept. Raises BrokenData."""
    if not reference:
        return read_reference(folder)
    key = hash_of("library", program_hash(), reference)

    def read() -> Library:
        found = kept.there(key, unpickled)
        if isinstance(found, Library):
            return found
        library = read_reference(folder)
        if (data := pickled(library)) is not None:
            kept.put(key, data)
        return library

    return kept.remembered(key, read)


def specs_hash(standards: Standards) -> str:
    """The hash of every process spec as it was read."""
    digests = standards.digests
    specs = sorted(name for name in digests if name.startswith(f"{FOLDER}/processes/"))
    return hash_of(*(f"{name}={digests[name]}" for name in specs))


class Inputs:
    """The hashes of the formulas of one reading, on one day; ``base`` is that of what goes into
    every formula. Empty, no formula has a hash, and nothing is kept."""

    def __init__(
        self,
        standards: Standards,
        formulas: Mapping[str, JoinedFormula],
        base: str,
    ) -> None:
        self._standards, self._formulas, self.base = standards, formulas, base
        self._found: dict[str, str] = {}

    def of(self, ident: str) -> str:
        """The hash of all that goes into a formula, itself and what it is made of; empty where it
        can't be told."""
        if ident not in self._found:
            self._found[ident] = ""  # a circle has none
            self._found[ident] = self._hash(ident)
        return self._found[ident]

    def _hash(self, ident: str) -> str:
        formula = self._formulas.get(ident)
        if formula is None or not self.base:
            return ""
        parent = formula.formula.by_product
        made_of = [*formula.sub_formulas, *([parent.formula] if parent is not None else [])]
        made_of += [o.formula for ln in formula.lines for o in ln.may_be if o.formula is not None]
        others = [self.of(other) for other in made_of]
        files = self._read_of(formula)
        if "" in others or not files:
            return ""
        about = [*sorted(formula.used_in), "", *(f"{k}={v}" for k, v in formula.kept_as.items())]
        about += self._endings(formula)
        return hash_of(self.base, ident, formula.file, *files, *others, *about)

    def _read_of(self, formula: JoinedFormula) -> list[str]:
        """Each file it is read of with its digest, by name, since findings name the file; none
        where one can't be told."""
        digests = {file: self._standards.digests.get(file, "") for file in self._files(formula)}
        return [f"{f}={d}" for f, d in digests.items()] if all(digests.values()) else []

    def _endings(self, formula: JoinedFormula) -> list[str]:
        """The other endings of its card, which another file may have the name of."""
        known, ending = self._standards.formulas, formula.formula.ending
        others = ending.all if ending is not None else ()
        return [f"{i}={known[i].home}={known[i].name}" if i in known else i for i in others]

    def _files(self, formula: JoinedFormula) -> list[str]:
        """The files it is read of, its own first."""
        files = [formula.file]
        process = formula.formula.process
        if process is not None:
            files.append(f"{FOLDER}/processes/{process}.yaml")
        lines = [one for line in formula.lines for one in (line, *line.may_be)]
        found = {one.ingredient.place().file for one in lines if one.ingredient is not None}
        return [*files, *sorted(found)]


def base_of(standards: Standards, library: Library, as_of: datetime.date, reference: str) -> str:
    """The hash of what goes into every formula, empty where it can't be told. ``reference`` is the
    hash of the reference data as it was read, or empty."""
    if not reference or standards.partial:
        return ""  # a line may be missing unread
    digests = standards.digests
    whole = sorted(name for name in digests if not name.startswith(_APART))
    return hash_of(
        program_hash(),
        reference,
        str(library.folder),
        as_of.isoformat(),
        *standards.writing,
        *(f"{name}={digests[name]}" for name in whole),
    )
