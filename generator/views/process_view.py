"""The steps of a process spec, with the limits its formulas get at each."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from typing import Literal

from generator.measures.words import listed
from generator.records.equipment import Equipment, Machine
from generator.records.process import Process, Step
from generator.resolve.joined import House
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet
from generator.views.limit_view import Chip, at_a_glance, limit_view
from generator.views.step_view import at_name, heat_words, target_words
from generator.views.uris import EQUIPMENT_INDEX, Link, beside, formula_uri, link
from generator.views.yield_view import left_words


@dataclass(frozen=True)
class LimitsOfFormula:
    """What one formula must reach at a step: its limits at a glance, and the way to their boxes."""

    name: str
    href: str
    chips: tuple[Chip, ...]


RowKind = Literal["setting", "target", "told", "elsewhere"]
"""Of a row: what a machine is set to and how long; the step's own target; what else there is to
know; what a sheet of paper says in the box of the limit."""


@dataclass(frozen=True)
class StepRow:
    """What is looked up about a step: its name, its words."""

    kind: RowKind
    name: str
    words: str


@dataclass(frozen=True)
class ProcessStep:
    """One step as every formula of the process does it. ``rows`` are what is looked up."""

    number: int
    verb: str
    place: tuple[Link, ...]
    on: str
    take: str
    how: tuple[str, ...]
    rows: tuple[StepRow, ...]
    note: str
    picture: str
    limits: tuple[LimitsOfFormula, ...]


def steps_of(
    manual: Manual, process: Process, sheets: list[Sheet], uri: str = ""
) -> tuple[ProcessStep, ...]:
    """The steps of a process as the page ``uri`` says them, with the limits of ``sheets``."""
    return tuple(
        _step(manual, step, number, uri, sheets) for number, step in enumerate(process.steps, 1)
    )


def _step(manual: Manual, step: Step, number: int, uri: str, sheets: list[Sheet]) -> ProcessStep:
    verb = manual.house.library.verbs.get(step.do)
    named = dict.fromkeys(i for i in (step.with_, step.in_, step.vessel) if i)
    equipment = {ident: _equipment(manual, ident) for ident in named}
    rows = [*_set_to(manual, manual.house, step), *_watched(step)]
    if step.vessel and equipment[step.vessel] is None:
        rows.append(StepRow("told", "Into", step.vessel))
    return ProcessStep(
        number,
        verb.name if verb else step.do.replace("-", " ").capitalize(),
        tuple(
            Link(found.name, f"{link(uri, EQUIPMENT_INDEX)}#{ident}")
            for ident, found in equipment.items()
            if found is not None
        ),
        parts_words(step.work_on),
        parts_words(step.add),
        step.how,
        tuple(rows),
        step.note,
        beside(uri, step.picture),
        _limits(manual, sheets, number, uri),
    )


def _set_to(manual: Manual, house: House, step: Step) -> Iterator[StepRow]:
    """What a step's machine is set to and its target."""
    unit = house.kitchen.temperature
    if step.at is not None:
        machine = _equipment(manual, step.with_)
        kind = machine if isinstance(machine, Machine) else None
        yield StepRow("setting", at_name(step.at, kind), heat_words(unit, step.at, kind))
    if step.target is not None:
        if step.target.degrees is not None:
            yield StepRow("target", "Target", target_words(unit, step.target))
        else:
            yield StepRow("elsewhere", "Target", "from the formula")


def _watched(step: Step) -> Iterator[StepRow]:
    """How long a step takes, what to look for, and what it takes off the food."""
    if step.humidity is not None:
        yield StepRow("setting", "Humidity", str(step.humidity))
    if step.time is not None:
        yield StepRow("setting", "Time", str(step.time))
    if step.until:
        yield StepRow("told", "Until", step.until)
    if step.probe:
        yield StepRow("elsewhere", "Probe", step.probe)
    if step.if_missed:
        yield StepRow("elsewhere", "If missed", step.if_missed)
    if step.loses is not None:
        yield StepRow("told", "Loses", f"{step.loses.words} of its weight")
    if step.gains is not None:
        yield StepRow("told", "Gains", f"{step.gains.words} of its weight")
    if step.gives is not None:
        yield StepRow("told", "Gives", f"the {step.gives.replace('-', ' ')}")
    for name, left in step.leaves.items():
        yield StepRow("told", "Leaves", left_words(name, left))
    if step.ends is not None:
        yield StepRow("told", "Ends", f"cut {step.ends.text} off each end")


def _equipment(manual: Manual, ident: str | None) -> Equipment | None:
    return manual.standards.equipment.get(ident or "")


def _limits(
    manual: Manual, sheets: list[Sheet], number: int, uri: str
) -> tuple[LimitsOfFormula, ...]:
    """The limits of a step, formula by formula, as the sheets have them."""
    found: list[LimitsOfFormula] = []
    for sheet in sheets:
        by_step = manual.keeping.part(sheet, "limits by step", partial(_by_step, sheet))
        for at, chips in by_step:
            if at == number:
                way = link(uri, formula_uri(sheet.formula.formula.home, sheet.id))
                shown = tuple(Chip(*chip) for chip in chips)
                found.append(LimitsOfFormula(sheet.name, f"{way}#step-{number}", shown))
    return tuple(found)


def _by_step(sheet: Sheet) -> list[tuple[int, list[tuple[str, str, str]]]]:
    """The limits of a formula at a glance, by the number of the step that has any."""
    return [
        (
            walked.step.number,
            [
                (chip.figure, chip.words, chip.other)
                for limit in walked.limits
                for chip in at_a_glance(limit_view(sheet.house, limit))
            ],
        )
        for walked in sheet.walk.steps
        if walked.limits
    ]


def parts_words(parts: tuple[str, ...]) -> str:
    """Parts as a sentence lists them."""
    return listed([part.replace("-", " ") for part in parts])
