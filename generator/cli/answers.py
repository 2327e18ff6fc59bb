"""batch, sheet, limits: answers about one formula."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import click

from generator.answers.batch import batch_data, batch_text
from generator.answers.cautions import cautions_record, with_cautions
from generator.answers.composition import (
    bakers_record,
    bakers_text,
    composition_record,
    composition_text,
)
from generator.answers.ingredient import confirmed_record, shelf_record, shelf_text
from generator.answers.limits import limits_record, limits_text
from generator.answers.reformulate import bounds_record, variant_record
from generator.answers.routine import routine_record, routine_text
from generator.answers.sheet import sheet_record
from generator.answers.statement import statement_record
from generator.answers.yields import yields_record
from generator.cli.common import (
    common,
    computed,
    form_option,
    manual_of,
    print_json,
    refuse,
    sheet_of,
    show,
)
from generator.cli.options import of_the_kitchen, size_options
from generator.cli.sizes import asked_batch, asked_or_usual
from generator.cli.subject import subject_of
from generator.files.finding import Refused
from generator.measures.temperature import Degree
from generator.records.process import Target, read_target
from generator.rules.routine.checks import CheckedRoutine
from generator.rules.store.shelf import Shelf
from generator.sheet.edited import suppose
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet
from generator.sheet.walk import Walk


@click.command()
@of_the_kitchen("formula", "formulas")
@common
@form_option("text", "json")
@size_options
@click.option("--bakers", is_flag=True, help="A dough's overall formula, on its total flour.")
@click.option("--composition", is_flag=True, help="What it is made of, finished, per 100 g.")
def batch(
    formula: str,
    project: Path | None,
    as_of: datetime.date | None,
    form: str,
    bakers: bool,
    composition: bool,
    **sizes: Any,
) -> None:
    """Show the batch sheet of FORMULA at a size; without one, at its usual size."""
    manual = computed(manual_of(project, as_of), formula)
    sheet = sheet_of(manual, formula)
    try:
        found = asked_or_usual(sheet, sizes)
    except Refused as refused:
        refuse(refused)
    if bakers and manual.dough(formula) is None:
        refuse(_NO_DOUGH)
    if form == "json":
        record = batch_data(sheet, found, manual.walks)
        record |= {"bakers": bakers_record(manual, formula)} if bakers else {}
        record |= {"composition": composition_record(manual, formula)} if composition else {}
        print_json(record)
        return
    show(found.findings)
    click.echo(batch_text(sheet, found, manual.walks))
    if bakers:
        click.echo("\n" + bakers_text(manual, formula, found))
    if composition:
        click.echo("\n" + composition_text(manual, formula))


_NO_DOUGH = Refused(
    "no-dough",
    "This is no dough: its base holds no flour.",
    "An ingredient counts as flour by its `foodstuff`, or by `flour: yes`.",
)


@click.command("data")
@of_the_kitchen("formula", "formulas")
@common
@size_options
def data(formula: str, project: Path | None, as_of: datetime.date | None, **sizes: Any) -> None:
    """Show the whole record of FORMULA as JSON, at one size or at all the kitchen's sizes."""
    manual = computed(manual_of(project, as_of, history=True), formula)
    sheet = sheet_of(manual, formula)
    try:
        asked = asked_batch(sheet, sizes)
    except Refused as refused:
        refuse(refused)
    record = sheet_record(sheet, (asked,) if asked else sheet.batches, manual.walks)
    record["composition"] = composition_record(manual, formula)
    record["label"] = statement_record(manual, formula)
    record["bakers"] = bakers_record(manual, formula) or {}
    record |= variant_record(manual, sheet) | bounds_record(manual, sheet)
    record["measured_yields"] = yields_record(manual.yields.get(formula, ()))
    print_json(record)


@click.command()
@of_the_kitchen("formula", "formulas")
@common
@form_option("text", "json")
@click.option(
    "--if",
    "supposing",
    default=None,
    metavar="'STEP: TARGET'",
    help="Try another target at a step.",
)
def limits(
    formula: str,
    project: Path | None,
    as_of: datetime.date | None,
    form: str,
    supposing: str | None,
) -> None:
    """Show every critical limit of FORMULA, with the verdict on its targets; or of an
    ingredient.

    A process with checks, which no formula follows, may be named too."""
    manual = computed(manual_of(project, as_of), formula)
    known = formula in manual.walks or formula in manual.routines
    subject = None if known else subject_of(manual, formula)
    unit = manual.house.kitchen.temperature
    try:
        if formula in manual.routines:
            _show_routine(manual, manual.routines[formula], form, supposing)
            return
        if isinstance(subject, Shelf):
            _show_shelf(formula, subject, unit, form, supposing)
            return
        if supposing is None or formula not in manual.walks:
            found = sheet_of(manual, formula).walk
        else:
            found = suppose(manual, formula, *_supposed(supposing))
    except Refused as refused:
        refuse(refused)
    _show_limits(found, manual.sheets.get(formula), unit, form)


def _supposed(supposing: str) -> tuple[str, Target]:
    """The step and the target of ``--if``. Raises Refused for anything but STEP: TARGET."""
    step, sign, text = supposing.partition(":")
    if not sign:
        raise Refused("if-form", f"`{supposing}`: write STEP: TARGET.", "", ["poach: core 75 °C"])
    return step.strip(), read_target(text.strip())


def _show_routine(
    manual: Manual, routine: CheckedRoutine, form: str, supposing: str | None
) -> None:
    """What a process spec that stands alone is held to. Raises Refused for a target."""
    if supposing is not None:
        words = f"{routine.id} has checks and no steps to try a target at."
        raise Refused("if-form", words, "Leave --if out, or name a formula.")
    if form == "json":
        print_json(routine_record(routine))
    else:
        click.echo(routine_text(manual, routine))


def _show_shelf(
    ingredient: str, shelf: Shelf, unit: Degree, form: str, supposing: str | None
) -> None:
    """An ingredient's own limits. Raises Refused for a target: it has no step."""
    if supposing is not None:
        raise Refused(
            "if-form",
            f"{ingredient} is an ingredient: it has no step to try a target at.",
            "Leave --if out, or name a formula.",
        )
    if form == "json":
        print_json(shelf_record(shelf))
    else:
        click.echo(shelf_text(shelf, unit))


def _show_limits(walk: Walk, sheet: Sheet | None, unit: Degree, form: str) -> None:
    """A formula's limits, with what is confirmed of it and its cautions where it has a sheet."""
    confirmed = sheet.confirmed if sheet is not None else ()
    if form == "json":
        record = {**limits_record(walk), **(cautions_record(sheet) if sheet else {})}
        if confirmed:
            record["confirmed"] = [confirmed_record(one) for one in confirmed]
        print_json(record)
        return
    text = limits_text(walk, unit)
    if confirmed:
        text = "\n".join([*(one.sentence for one in confirmed), "", text])
    click.echo(with_cautions(text, sheet) if sheet else text)
