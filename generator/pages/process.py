"""The page of a process spec: its steps, who follows it, and which limits they get at each step."""

from __future__ import annotations

from dataclasses import dataclass

from generator.indexes.uses import process_uses
from generator.measures.words import NARROW, counted, duration, listed, plain
from generator.pages.navigation import KITCHEN
from generator.pages.page import Heading, Link, Page, make_page
from generator.records.equipment import Equipment, Machine
from generator.records.process import Process, Step
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet
from generator.views.limit_view import Chip, at_a_glance, limit_view
from generator.views.step_view import at_name, heat_words, target_words
from generator.views.uris import (
    EQUIPMENT_INDEX,
    PROCESS_INDEX,
    beside,
    formula_uri,
    link,
    process_uri,
)


@dataclass(frozen=True)
class LimitsOfFormula:
    """What one formula must reach at a step: its limits at a glance, and the way to their boxes."""

    name: str
    href: str
    chips: tuple[Chip, ...]


@dataclass(frozen=True)
class ProcessStep:
    """One step as every formula of the process does it. ``rows`` are what is looked up."""

    number: int
    verb: str
    place: tuple[Link, ...]
    take: str
    how: tuple[str, ...]
    rows: tuple[tuple[str, str], ...]
    note: str
    picture: str
    limits: tuple[LimitsOfFormula, ...]


def process_pages(manual: Manual) -> list[Page]:
    """The index of processes and a page for each."""
    if manual.house is None or manual.standards is None or not manual.standards.processes:
        return []
    used = process_uses(manual)
    pages = [_index(manual, used)]
    for ident, process in manual.standards.processes.items():
        sheets = [manual.sheets[i] for i in used.get(ident, ())]
        pages.append(_page(manual, ident, process, sheets))
    return pages


def _index(manual: Manual, used: dict[str, tuple[str, ...]]) -> Page:
    assert manual.standards is not None
    items = [
        Link(
            process.name,
            link(PROCESS_INDEX, process_uri(ident)),
            f"{counted(len(process.steps), 'step')} · "
            f"{counted(len(used.get(ident, ())), 'formula')}",
        )
        for ident, process in sorted(
            manual.standards.processes.items(), key=lambda item: item[1].name.lower()
        )
    ]
    return make_page(
        PROCESS_INDEX,
        "Processes",
        KITCHEN,
        "index.html",
        items=items,
        about="The steps that formulas share, in the order they are done.",
    )


def _page(manual: Manual, ident: str, process: Process, sheets: list[Sheet]) -> Page:
    assert manual.house is not None
    uri = process_uri(ident)
    steps = steps_of(manual, process, sheets, uri)
    formulas = [
        Link(
            s.name, link(uri, formula_uri(s.formula.formula.station, s.id)), s.formula.station.name
        )
        for s in sheets
    ]
    stopped = [
        Link(s.name, link(uri, formula_uri(s.station, s.id)))
        for s in manual.stopped.values()
        if _follows(manual, s.id, ident)
    ]
    headings = (
        *(Heading(f"step-{s.number}", s.verb, str(s.number)) for s in steps),
        Heading("used-by", "Formulas"),
    )
    return make_page(
        uri,
        process.name,
        KITCHEN,
        "process.html",
        edit=f"standards/processes/{ident}.yaml",
        listed=False,
        headings=headings,
        ident=ident,
        steps=steps,
        needs=_parts(process.needs),
        note=process.note,
        formulas=formulas,
        stopped=stopped,
        index_href=link(uri, PROCESS_INDEX),
        document=manual.house.pack.facts.document,
        adopted=manual.house.kitchen.code.adopted_by,
    )


def steps_of(
    manual: Manual, process: Process, sheets: list[Sheet], uri: str = ""
) -> tuple[ProcessStep, ...]:
    """The steps of a process as the page ``uri`` tells them, with the limits of ``sheets``."""
    return tuple(
        _step(manual, step, number, uri, sheets) for number, step in enumerate(process.steps, 1)
    )


def _follows(manual: Manual, formula: str, process: str) -> bool:
    record = manual.standards.formulas.get(formula) if manual.standards else None
    return record is not None and record.process == process


def _parts(parts: tuple[str, ...]) -> str:
    return listed([part.replace("-", " ") for part in parts])


def _step(manual: Manual, step: Step, number: int, uri: str, sheets: list[Sheet]) -> ProcessStep:
    assert manual.house is not None
    verb = manual.house.library.verbs.get(step.do)
    rows: list[tuple[str, str]] = []
    machine = _equipment(manual, step.using)
    if step.at is not None:
        kind = machine if isinstance(machine, Machine) else None
        words = heat_words(manual.house.kitchen.temperature, step.at, kind)
        rows.append((at_name(step.at, kind), words))
    if step.target is not None:
        own = step.target.temperature is not None
        rows.append(
            (
                "Target",
                target_words(manual.house.kitchen.temperature, step.target)
                if own
                else "from the formula",
            )
        )
    if step.time is not None:
        rows.append(("Time", duration(step.time.seconds)))
    if step.until:
        rows.append(("Until", step.until))
    if step.probe:
        rows.append(("Probe", step.probe))
    if step.if_missed:
        rows.append(("If missed", step.if_missed))
    if step.loses is not None:
        rows.append(("Loses", f"{plain(step.loses * 100)}{NARROW}% of its weight"))
    if step.ends is not None:
        rows.append(("Ends", f"cut {step.ends.text} off each end"))
    places = []
    for ident in dict.fromkeys(i for i in (step.using, step.in_, step.vessel) if i):
        found = _equipment(manual, ident)
        if found is not None:
            places.append(Link(found.name, f"{link(uri, EQUIPMENT_INDEX)}#{ident}"))
        elif ident == step.vessel:
            rows.append(("Into", ident))
    return ProcessStep(
        number,
        verb.name if verb else step.do.replace("-", " ").capitalize(),
        tuple(places),
        _parts(step.take),
        step.how,
        tuple(rows),
        step.note,
        beside(uri, step.picture),
        _limits(sheets, number, uri),
    )


def _equipment(manual: Manual, ident: str | None) -> Equipment | None:
    assert manual.standards is not None
    return manual.standards.equipment.get(ident or "")


def _limits(sheets: list[Sheet], number: int, uri: str) -> tuple[LimitsOfFormula, ...]:
    """The limits of a step, formula by formula, as the sheets have them."""
    found: list[LimitsOfFormula] = []
    for sheet in sheets:
        walked = next(w for w in sheet.walk.steps if w.step.number == number)
        views = [limit_view(sheet.house, limit) for limit in walked.limits]
        if views:
            href = (
                f"{link(uri, formula_uri(sheet.formula.formula.station, sheet.id))}#step-{number}"
            )
            chips = tuple(chip for view in views for chip in at_a_glance(view))
            found.append(LimitsOfFormula(sheet.name, href, chips))
    return tuple(found)
