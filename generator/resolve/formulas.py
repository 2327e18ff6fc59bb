"""One formula joined: its lines, base, vessel, batch sizes and steps."""

from __future__ import annotations

import difflib
from dataclasses import replace

from generator.files.finding import Place, Refused
from generator.intake.reading import EVERYTHING
from generator.measures.words import listed, plural_of, with_verb
from generator.records.equipment import Vessel
from generator.records.formula import Formula, Line, Makes, Size
from generator.records.process import Process, Step, StepChange
from generator.records.station import Station
from generator.resolve.doughs import check_dough
from generator.resolve.endings import check_ending
from generator.resolve.equipment import check_fill, check_tin
from generator.resolve.joined import JoinedFormula, JoinedLine, JoinedStep
from generator.resolve.makes import check_makes, worded
from generator.resolve.names import Names
from generator.resolve.one_choice import completed, with_base
from generator.resolve.steps import join_steps


def join_formula(names: Names, ident: str, formula: Formula) -> JoinedFormula | None:
    """A formula joined with its lines, base, vessel, sizes and steps; None where one of them, or a
    record it uses, can't be read."""
    before = len(names.findings)
    formula = worded(formula)
    sound = check_makes(names, ident, formula)
    formula = with_base(formula)
    station, process = _station(names, ident, formula), _process(names, ident, formula)
    _empty_parts(names, ident, formula)
    _variant(names, ident, formula)
    if not formula.parts:
        return None
    lines = _lines(names, ident, formula)
    base = _base(names, ident, formula)
    _quid(names, ident, formula)
    vessel = _vessel(names, ident, formula)
    check_fill(names, ident, formula, vessel)
    check_dough(names, ident, formula, lines, base)
    check_tin(names, ident, formula, vessel)
    sizes = _sizes(names, ident, formula) if sound else ()
    uses = _uses(ident, formula)
    names.used |= uses | _may_use(formula)
    if process is None or station is None:
        return None
    process = completed(process, formula, names.standards.equipment, names.library.verbs)
    steps = join_steps(names, ident, formula, process, vessel)
    check_ending(names, ident, formula, steps or ())
    vessel = _filled_into(names, ident, formula, vessel, steps or ())
    uses |= _equipment_used(formula, process)
    names.used |= uses
    broken = uses & names.standards.broken - {ident}
    failed = any(f.is_error for f in names.findings[before:])
    if broken or failed or steps is None or base is None:
        return None
    return JoinedFormula(
        ident,
        formula,
        station,
        process,
        tuple(lines),
        steps,
        base,
        sizes,
        vessel,
        frozenset(uses),
        names.standards.formula_files[ident],
    )


def _filled_into(
    names: Names,
    ident: str,
    formula: Formula,
    vessel: Vessel | None,
    steps: tuple[JoinedStep, ...],
) -> Vessel | None:
    """The vessel of a fill: the formula's, else that of the step which fills it. They are one."""
    makes = formula.makes
    filled = [s.vessel for s in steps if "fills" in s.effects and s.vessel is not None]
    if makes is None or not filled or vessel in filled:
        return vessel
    if vessel is not None:
        names.error(
            "vessels-apart",
            makes.place("vessel"),
            f"The formula fills {vessel.name}, and its process {filled[-1].name}.",
            "Name one vessel. In a process that formulas share: `vessel: as the formula says`.",
            ident,
        )
        return vessel
    check_fill(names, ident, formula, filled[-1])
    return filled[-1]


def _station(names: Names, ident: str, formula: Formula) -> Station | None:
    known = names.standards.stations
    place = formula.place("station")
    for station in formula.station:
        if station not in known:
            names.unknown("station-unknown", "station", station, place, known, ident)
    twice = next((s for s in formula.station if formula.station.count(s) > 1), None)
    if twice is not None:
        names.error(
            "station-twice", place, f"`{twice}` is named twice.", "Name each station once.", ident
        )
    return known.get(formula.home) if all(s in known for s in formula.station) else None


def _process(names: Names, ident: str, formula: Formula) -> Process | None:
    """The process a formula shares, or its own steps as one; None where it has neither, or both."""
    known = names.standards.processes
    if formula.process is not None and formula.ending is not None and formula.ending.on_process:
        return _with_ending(names, ident, formula, formula.process)
    if formula.process is None or formula.steps or formula.states("steps"):
        return _own_steps(names, ident, formula)
    if formula.process not in known:
        _no_process(names, ident, formula, formula.process)
    return known.get(formula.process)


def _no_process(names: Names, ident: str, formula: Formula, process: str) -> None:
    """A process a formula can't follow: there is none, or it has checks and no steps."""
    place = formula.place("process")
    if process in names.standards.routines:
        names.error(
            "process-stands-alone",
            place,
            f"`{process}` has checks, and no steps for food. No formula can follow it.",
            "Name a process with steps.",
            ident,
        )
        return
    names.unknown("process-unknown", "process", process, place, names.standards.processes, ident)


def _with_ending(names: Names, ident: str, formula: Formula, process: str) -> Process | None:
    """The process a card shares, with the steps of one of its endings behind it."""
    known = names.standards.processes
    if process not in known:
        _no_process(names, ident, formula, process)
        return None
    shared = known[process]
    return shared.model_copy(update={"steps": (*shared.steps, *formula.steps)})


def _own_steps(names: Names, ident: str, formula: Formula) -> Process | None:
    """A formula's own steps, as a process of its own."""
    if formula.process is not None:
        names.error(
            "steps-and-process",
            formula.key_place("steps"),
            "This formula has a `process` and `steps` of its own.",
            "Keep one of the two. To change a step of the process, use `changes`.",
            ident,
        )
        return None
    if not formula.steps:
        names.error(
            "process-missing",
            formula.key_place("steps") if formula.states("steps") else formula.place("name"),
            "This formula doesn't say how it is made.",
            "Write `process` with the id of a process, or `steps` of its own.",
            ident,
        )
        return None
    return Process(name=formula.name, steps=formula.steps)


def _uses(ident: str, formula: Formula) -> set[str]:
    """The records a formula uses by name, equipment apart."""
    uses = {ident, EVERYTHING, *(f"station:{s}" for s in formula.station)}
    if formula.by_product is not None:
        uses.add(formula.by_product.formula)
    if formula.process is not None:
        uses.add(f"process:{formula.process}")
    return uses | {item for items in formula.parts.values() for item in items}


def _may_use(formula: Formula) -> set[str]:
    """What may be in place of its lines: it is no part of the formula, and is in use."""
    lines = (line for items in formula.parts.values() for line in items.values())
    return {item for line in lines for item in line.may_be}


def _variant(names: Names, ident: str, formula: Formula) -> None:
    """What a formula is a variant of: another formula, that isn't its variant in turn."""
    base, known = formula.variant_of, names.standards.formulas
    if base is None:
        return
    place = formula.place("variant_of")
    if base not in known and base not in names.standards.cards:
        names.unknown("variant-of-unknown", "formula", base, place, set(known) - {ident}, ident)
        return
    seen, one = {ident}, base
    while one in known and one not in seen:
        seen.add(one)
        one = known[one].variant_of or ""
    if one == ident:
        words = f"{with_verb(formula.name, 'is')} a variant of itself."
        if base != ident:
            words = f"{formula.name} and {known[base].name} are variants of each other."
        help = "Name the formula it was made from, or delete `variant_of`."
        names.error("variant-of-itself", place, words, help, ident)


def _equipment_used(formula: Formula, process: Process) -> set[str]:
    """The equipment its steps and its own words name."""
    said: list[Step | StepChange] = [*process.steps, *formula.changes.values()]
    named = [name for step in said for name in (step.with_, step.in_, step.vessel)]
    named.append(formula.makes.vessel if formula.makes else None)
    return {f"equipment:{name}" for name in named if name}


def _lines(names: Names, ident: str, formula: Formula) -> list[JoinedLine]:
    found: list[JoinedLine] = []
    for part, items in formula.parts.items():
        for item, line in items.items():
            one = _line(names, part, item, line)
            may_be = _may_be(names, ident, one) if one is not None else ()
            if one is not None:
                found.append(replace(one, may_be=may_be) if may_be else one)
            else:
                place = replace(line.place("amount"), length=len(item))
                place = replace(place, column=max(place.text.find(item), 0) + 1)
                if item in names.standards.cards:
                    _which_ending(names, ident, item, place)
                    continue
                known = {*names.standards.ingredients, *names.standards.formulas}
                names.unknown("item-unknown", "ingredient or formula", item, place, known, ident)
    return found


def _line(names: Names, part: str, item: str, line: Line) -> JoinedLine | None:
    """A line with what its id names; None where that is neither an ingredient nor a formula."""
    ingredient = names.standards.ingredients.get(item)
    if ingredient is not None:
        return JoinedLine(part, item, line, ingredient.name, ingredient)
    formula = names.standards.formulas.get(item)
    return JoinedLine(part, item, line, formula.name, None, item) if formula is not None else None


def _may_be(names: Names, ident: str, line: JoinedLine) -> tuple[JoinedLine, ...]:
    """What may be in a line's place; a finding for what there is none of, and for the line's own
    item."""
    found: list[JoinedLine] = []
    for number, item in enumerate(dict.fromkeys(line.line.may_be)):
        one = _line(names, line.part, item, line.line)
        place = line.line.place("may_be", number)
        if item in (line.item, ident):
            words = f"{line.name} may be `{item}`: that is {_own(item, line)}."
            names.error("may-be-itself", place, words, "Name something else, or delete it.", ident)
        elif one is not None:
            found.append(one)
        else:
            known = {*names.standards.ingredients, *names.standards.formulas}
            others = known - {line.item, ident}
            names.unknown("item-unknown", "ingredient or formula", item, place, others, ident)
    return tuple(found)


def _own(item: str, line: JoinedLine) -> str:
    return "the line itself" if item == line.item else "the formula it is in"


def _which_ending(names: Names, ident: str, card: str, place: Place) -> None:
    """A card with endings as a line: it is none of them by itself."""
    endings = list(names.standards.cards[card].endings)
    names.error(
        "ending-unnamed",
        place,
        f"`{card}` has several endings. Which one goes in?"
        if len(endings) > 1
        else f"`{card}` is a card. Its ending is a formula of its own.",
        f"Write {listed([f'`{one}`' for one in endings], 'or')}.",
        ident,
        [place.fixed(one) for one in endings],
    )


def _empty_parts(names: Names, ident: str, formula: Formula) -> None:
    """A part without a line, a formula without a part: nothing could be weighed, so it says so."""
    if not formula.parts:
        names.error(
            "part-empty",
            formula.key_place("parts"),
            "This formula has no part.",
            "Write a part. Under it, write each ingredient with its amount.",
            ident,
        )
    for part, items in formula.parts.items():
        if not items:
            names.error(
                "part-empty",
                formula.key_place("parts", part),
                f"The part `{part}` is empty.",
                "Write its ingredients under it, or delete the part.",
                ident,
            )


def _base(names: Names, ident: str, formula: Formula) -> frozenset[tuple[str, str]] | None:
    chosen: set[tuple[str, str]] = set()
    if not formula.base:
        _no_base(names, ident, formula)
        return None
    for name in formula.base:
        if name in formula.parts:
            chosen |= {(name, item) for item in formula.parts[name]}
            continue
        hits = {(part, name) for part, items in formula.parts.items() if name in items}
        if not hits:
            known = {*formula.parts, *(i for items in formula.parts.values() for i in items)}
            near = difflib.get_close_matches(name, sorted(known), n=1, cutoff=0.55)
            names.error(
                "base-unknown",
                formula.place("base"),
                f"The base `{name}` is not a part of this formula.",
                f"Did you mean `{near[0]}`?" if near else "Name a part, or ingredients.",
                ident,
            )
            return None
        chosen |= hits
    return frozenset(chosen)


def _quid(names: Names, ident: str, formula: Formula) -> None:
    """Each line whose share the label must say is a line of the formula."""
    known = {item for items in formula.parts.values() for item in items}
    for index, name in enumerate(formula.quid):
        if name not in known:
            place = formula.place("quid", index)
            names.unknown("quid-unknown", "line", name, place, known, ident)


def _no_base(names: Names, ident: str, formula: Formula) -> None:
    """A base that is empty, or one that is left out where several may be meant."""
    if not formula.states("base"):
        _base_missing(names, ident, formula)
        return
    names.error(
        "list-empty",
        formula.place("base"),
        "The base is empty.",
        "Write the part, or the ingredients, that count as 100 %.",
        ident,
    )


def _base_missing(names: Names, ident: str, formula: Formula) -> None:
    """Percentages, and several parts they may be of."""
    parts = [
        part
        for part, items in formula.parts.items()
        if items and all(line.amount.kind != "percent" for line in items.values())
    ]
    known = ", ".join(parts or formula.parts)
    names.error(
        "key-missing",
        formula.place(),
        "`base` is missing here: percentages of what?",
        f"Write the part, or the ingredients, that count as 100 %, as in `base: {known}`."
        if len(parts) == 1
        else f"Write the part, or the ingredients, that count as 100 %. Its parts: {known}.",
        ident,
    )


def _vessel(names: Names, ident: str, formula: Formula) -> Vessel | None:
    makes = formula.makes
    if makes is None or makes.vessel is None:
        return None
    vessel = names.standards.equipment.get(makes.vessel)
    if isinstance(vessel, Vessel):
        return vessel
    known = [i for i, e in names.standards.equipment.items() if isinstance(e, Vessel)]
    names.unknown("vessel-unknown", "vessel", makes.vessel, makes.place("vessel"), known, ident)
    return None


def _sizes(names: Names, ident: str, formula: Formula) -> tuple[Size, ...]:
    """Batch sizes with the formula's own words for fills and portions understood."""
    sizes: list[Size] = []
    for size in formula.batches:
        try:
            sizes.append(size_in_own_words(formula.makes, size))
        except Refused as refused:
            place = formula.place("batches")
            names.error(refused.code, place, refused.message, refused.help, ident)
    return tuple(sizes)


def size_in_own_words(makes: Makes | None, size: Size) -> Size:
    """A size with a formula's own words for fills and portions understood. Raises Refused for a
    word it doesn't use, and for fills where it doesn't say what one is."""
    fills, portions = words_for_sizes(makes)
    if size.kind == "fills" and size.text in portions:
        return replace(size, kind="portions")
    if size.kind == "fills" and size.text not in fills:
        words = sorted((fills | portions) - {""})
        raise Refused(
            "size-unreadable",
            f"This formula makes no {size.text}.",
            f"Known: {', '.join(words)}.",
        )
    if size.kind == "fills" and (makes is None or not makes.fills):
        raise Refused(
            "fill-missing",
            "A size in fills needs the weight of one fill.",
            "Write under `makes`, as `fill_weight`, what one fill weighs.",
        )
    return size


def words_for_sizes(makes: Makes | None) -> tuple[set[str], set[str]]:
    """The words that count fills, and those that count portions."""
    fills, portions = {"fill", "fills"}, {"portion", "portions"}
    if makes is not None:
        fills |= {makes.unit, makes.plural}
        if makes.portion_unit:
            portions |= {makes.portion_unit, makes.portion_units or plural_of(makes.portion_unit)}
    return fills, portions
