"""Read a project's ``standards/``: kitchen, stations, equipment, ingredients, processes, formulas,
plans, records of batches, and the print register.

``office/`` (prices, suppliers) is never opened here.
"""

from __future__ import annotations

import difflib
import os
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Literal

from pydantic import ConfigDict

from generator.files.finding import Finding, Place
from generator.files.kept import NOTHING, Kept
from generator.files.source_text import Mapping, Text, place_of
from generator.intake.cards import Card
from generator.intake.endings import read_formulas
from generator.intake.naming import by_name
from generator.intake.reading import EVERYTHING, Reader, top_of
from generator.intake.register import read_register
from generator.intake.told import Told
from generator.intake.unread import unread_files
from generator.measures.marks import Mark, Writing, written_with
from generator.measures.units import Units, load_units
from generator.records.equipment import KINDS, Equipment, Scale
from generator.records.formula import Formula
from generator.records.ingredient import Ingredient
from generator.records.kitchen import HOME, Kitchen
from generator.records.made import MadeBatch
from generator.records.named import names_nothing
from generator.records.plan import Plan
from generator.records.print_register import PrintRegister
from generator.records.process import Process
from generator.records.record import Record
from generator.records.routine import Routine
from generator.records.station import Station

FOLDER = "standards"
RECORD = "record:"
"""What findings about a batch's record begin with, before the name of its file."""


@dataclass(frozen=True)
class Standards:
    """All records of a project, and what was wrong with those that couldn't be read.

    ``broken`` holds ids whose record is unusable, ``names`` the names people read even so,
    ``partial`` is true when a file of ingredients, equipment or formulas could not be read at
    all, so that an unknown id may only be unread. ``foodstuffs`` are the ids ingredients name, of
    those too that couldn't be read. ``lost_scales`` holds what was typed for scales that couldn't
    be read, by their id. ``told`` holds the chef's own translations: by language, then by text;
    ``cards`` are those parted into one formula for each of their endings, ``routines`` the process
    specs that stand alone, which no formula follows; ``made`` are the records of batches, by the
    names of their files, ``made_read`` whether they were read at all. ``digests`` are the SHA-256
    of the files that were read, by their names; empty for one that couldn't be.
    """

    kitchen: Kitchen | None
    mark: Mark
    units: Units
    stations: dict[str, Station]
    equipment: dict[str, Equipment]
    ingredients: dict[str, Ingredient]
    processes: dict[str, Process]
    formulas: dict[str, Formula]
    formula_files: dict[str, str]
    names: dict[str, str]
    stations_named: dict[str, str]
    salvaged: dict[str, Formula]
    broken: frozenset[str]
    partial: bool
    files: int
    findings: tuple[Finding, ...] = field(repr=False)
    register: PrintRegister | None = None
    foodstuffs: dict[str, str] = field(default_factory=dict)
    lost_scales: dict[str, Mapping] = field(default_factory=dict, repr=False)
    told: dict[str, dict[str, str]] = field(default_factory=dict, repr=False)
    cards: dict[str, Card] = field(default_factory=dict)
    routines: dict[str, Routine] = field(default_factory=dict)
    plans: dict[str, Plan] = field(default_factory=dict)
    made: dict[str, MadeBatch] = field(default_factory=dict)
    made_read: bool = True
    digests: dict[str, str] = field(default_factory=dict, repr=False)

    @property
    def writing(self) -> Writing:
        """How its texts are written: sums of weight in the units of the kitchen's largest scale."""
        scales = [e for e in self.equipment.values() if isinstance(e, Scale)]
        largest = max(scales, key=lambda scale: scale.capacity.value, default=None)
        us = largest is not None and largest.division.unit in ("oz", "lb")
        return Writing(self.mark, "us" if us else "metric")


def _equipment_model(tree: Any) -> type[Equipment]:
    kind = tree.get("kind") if isinstance(tree, Mapping) else None
    return KINDS.get(kind, _AnyKind) if isinstance(kind, str) else _AnyKind


def _spec_model(tree: Any) -> type[Process] | type[Routine]:
    """A process spec with ``checks`` stands alone; ``steps`` beside them are refused."""
    alone = isinstance(tree, Mapping) and "checks" in tree
    return Routine if alone else Process


def _parted(
    specs: dict[str, Process | Routine],
) -> tuple[dict[str, Process], dict[str, Routine]]:
    """Process specs that formulas follow, and those that stand alone."""
    followed = {i: s for i, s in specs.items() if isinstance(s, Process)}
    return followed, {i: s for i, s in specs.items() if isinstance(s, Routine)}


class _AnyKind(Equipment):
    """Equipment whose kind is unknown: validated only to say which kinds there are."""

    model_config = ConfigDict(extra="ignore")

    kind: Literal[tuple(KINDS)]  # type: ignore[valid-type]


def read_standards(
    project: Path, shared: Path, history: bool = True, kept: Kept = NOTHING
) -> Standards:
    """Read every record of ``project``; ``shared`` is the folder of reference data. Without
    ``history`` the records of batches aren't opened: they grow by thousands a year, and most
    answers need none. What ``kept`` remembers of files that are as they were isn't read again."""
    reader = Reader(project, FOLDER, kept)
    reader.units = load_units(shared, "us")
    tree = _kitchen_tree(reader)
    mark: Mark = "point"
    if isinstance(tree, Mapping) and tree.get("decimal") == "comma":
        mark = "comma"  # known before anything is read, the kitchen's own figures too
    with written_with(mark):
        return _read(reader, project, shared, tree, mark, history)


def read_again(
    project: Path, shared: Path, standards: Standards, ident: str, kept: Kept = NOTHING
) -> Standards | None:
    """The standards with one formula's file read again, and nothing else; its findings are all they
    have. None where it is a card with endings, or isn't there."""
    reader = Reader(project, FOLDER, kept)
    reader.units = load_units(shared, "us")
    with written_with(standards.mark):
        _in_the_kitchen(reader, shared, _kitchen_tree(reader))
        reader.only("formulas", [project / standards.formula_files[ident]])
        read = read_formulas(reader, standards.processes)
    formula = read.records.get(ident)
    if ident not in read.files or (formula is not None and formula.ending is not None):
        return None
    others = {i: one for i, one in standards.formulas.items() if i != ident}
    rest = reader.salvaged.get(ident)
    return replace(
        standards,
        formulas={**standards.formulas, **read.records} if formula is not None else others,
        names={**_without(standards.names, ident), **reader.names},
        stations_named={**_without(standards.stations_named, ident), **reader.stations},
        salvaged={ident: rest} if isinstance(rest, Formula) else {},
        broken=(standards.broken - {ident}) | reader.broken,
        findings=tuple(dict.fromkeys(by_name(reader.findings, standards.names))),
        digests={**standards.digests, **reader.digests},
    )


def _without(known: dict[str, str], ident: str) -> dict[str, str]:
    return {one: name for one, name in known.items() if one != ident}


def _in_the_kitchen(reader: Reader, shared: Path, tree: Any) -> tuple[Kitchen | None, Told, Units]:
    """The kitchen, what gathers its languages, its units; the reader knows its approvals."""
    kitchen = None
    if tree is not None:
        start = top_of(tree, f"{FOLDER}/kitchen.yaml")
        kitchen = reader.record(Kitchen, tree, start, EVERYTHING)
    reader.approvals = _approvals(tree)
    reader.told = told = _told(shared, kitchen)
    reader.units = units = load_units(shared, kitchen.cup if kitchen else "us")
    return kitchen, told, units


def _read(
    reader: Reader, project: Path, shared: Path, tree: Any, mark: Mark, history: bool
) -> Standards:
    """Every record, read with the kitchen's decimal mark."""
    kitchen, told, units = _in_the_kitchen(reader, shared, tree)
    stations = reader.one_each("stations", lambda _: Station, "station:")
    equipment = reader.many_each("equipment", _equipment_model, "equipment:")
    ingredients = reader.many_each("ingredients", lambda _: Ingredient)
    specs = reader.one_each("processes", _spec_model, "process:")
    processes, routines = _parted(specs)
    read = read_formulas(reader, processes)
    formulas, formula_files = read.records, read.files
    plans = reader.one_each("plans", lambda _: Plan, "plan:")
    made = reader.one_each("records", lambda _: MadeBatch, RECORD) if history else {}
    for ident in sorted({*formulas, *read.cards} & set(ingredients)):
        reader.findings.append(
            Finding(
                "id-twice",
                "error",
                f"`{ident}` is an ingredient and a formula.",
                ingredients[ident].place(),
                "An id may be used once only. Rename one of them.",
                about=frozenset({ident}),
            )
        )
    register = read_register(reader)
    reader.findings.extend(unread_files(project / FOLDER, FOLDER, reader.real_root))
    if not formula_files and not any(f.place.file == f"{FOLDER}/formulas" for f in reader.findings):
        reader.findings.append(_no_formulas())
    reader.findings.extend(_languages(kitchen, told))
    reader.findings.extend(told.counted())
    reader.restored.keep()
    salvaged = {i: r for i, r in reader.salvaged.items() if isinstance(r, Formula)}
    return Standards(
        kitchen,
        mark,
        units,
        stations,
        equipment,
        ingredients,
        processes,
        formulas,
        formula_files,
        reader.names,
        reader.stations,
        salvaged,
        frozenset(reader.broken),
        reader.partial,
        reader.files,
        tuple(dict.fromkeys(by_name(reader.findings, reader.names))),
        register,
        reader.foodstuffs,
        _lost_scales(reader),
        told.texts,
        read.cards,
        routines,
        plans,
        made,
        history,
        reader.digests,
    )


def _told(shared: Path, kitchen: Kitchen | None) -> Told:
    """What gathers the kitchen's texts in other languages; those there are words for are files
    of ``shared/words``."""
    known = tuple(sorted(path.stem for path in (shared / "words").glob("*.yaml")))
    said = kitchen.languages if kitchen else ()
    return Told(known, tuple(code for code in said if code in known))


def _languages(kitchen: Kitchen | None, told: Told) -> Iterator[Finding]:
    """What is wrong with the languages the kitchen says its crew reads."""
    said = kitchen.languages if kitchen else ()
    if kitchen is None or not said:
        return
    place = kitchen.place("languages")
    about = frozenset({EVERYTHING})
    for code in said:
        if code != HOME and code not in told.known:
            yield Finding(
                "language-unknown",
                "error",
                f"There are no words for the language `{code}`.",
                place,
                f"Languages here: {', '.join((HOME, *told.known))}.",
                about=about,
            )
    if said[0] != HOME:
        yield Finding(
            "language-missing",
            "error",
            f"The kitchen's own language comes first: `{HOME}`, as checks and paper are written.",
            place,
            f"Write languages: [{HOME}, …].",
            about=about,
        )


def _approvals(tree: Any) -> dict[type[Record], Mapping]:
    """What kitchen.yaml says for all files of a folder, as typed: what is wrong with it is reported
    there."""
    given = _near(tree, "approval")
    if given is None:
        return {}
    folders: dict[str, type[Record]] = {
        "formulas": Formula,
        "processes": Process,
        "stations": Station,
    }
    found: dict[type[Record], Mapping] = {}
    for folder, model in folders.items():
        typed = _near(given, folder) if isinstance(given, Mapping) else given
        if typed is not None:
            found[model] = _filled(typed)
            if model is Process:
                found[Routine] = found[model]
    return found


def _near(tree: Any, key: str) -> Any:
    """What is under a key, or under one misspelt for it, which kitchen.yaml is refused for."""
    if not isinstance(tree, Mapping):
        return None
    alike = difflib.get_close_matches(key, [key, *tree] if key in tree else list(tree), 1, 0.75)
    return tree[alike[0]] if alike else None


def _filled(typed: Any) -> Mapping:
    """An approval as typed, what it lacks filled in."""
    place = place_of(typed, Place(f"{FOLDER}/kitchen.yaml"))
    whole = Mapping(place)
    for key, unread in _UNREAD.items():
        given = typed.get(key) if isinstance(typed, Mapping) else None
        if key == "approved" and isinstance(given, str) and names_nothing(given):
            given = None
        whole[key] = given if given is not None else Text.of(unread, place)
    if isinstance(typed, Mapping):
        whole.keys_at.update(typed.keys_at)
    return whole


_UNREAD = {"revision": "0", "effective": "1970-01-01", "approved": "approver"}
"""In place of what kitchen.yaml leaves out, or of who approved it where that names nobody: that
stops everything, and is reported there alone."""


def _lost_scales(reader: Reader) -> dict[str, Mapping]:
    """What was typed for each scale that couldn't be read: of its kind, or with a division."""
    prefix = "equipment:"
    return {
        ident.removeprefix(prefix): tree
        for ident, tree in reader.lost.items()
        if ident.startswith(prefix)
        and isinstance(tree, Mapping)
        and (tree.get("kind") == "scale" or "division" in tree)
    }


def _no_formulas() -> Finding:
    """A warning, since a kitchen starts empty; a site isn't built of nothing."""
    return Finding(
        "formulas-missing",
        "warning",
        "There is no formula here.",
        Place(f"{FOLDER}/formulas"),
        "Put the first one there: kitchen-manual add formula NAME.",
    )


def _kitchen_tree(reader: Reader) -> Any:
    """kitchen.yaml as typed, or None with what is wrong gathered."""
    path = reader.root / FOLDER / "kitchen.yaml"
    file = f"{FOLDER}/kitchen.yaml"
    if not os.path.lexists(path):
        reader.findings.append(
            Finding(
                "kitchen-missing",
                "error",
                "There is no kitchen.yaml.",
                Place(file),
                "It says whose law, probe and cup are meant.",
                about=frozenset({EVERYTHING}),
            )
        )
        return None
    return reader.take(reader.document(path), EVERYTHING)
