"""statement: what a label says of a formula."""

from __future__ import annotations

import datetime
from pathlib import Path

import click

from generator.answers.statement import statement_record, statement_text
from generator.cli.common import (
    common,
    computed,
    form_option,
    manual_of,
    print_json,
    sheet_of,
)
from generator.cli.options import of_the_kitchen


@click.command()
@of_the_kitchen("formula", "formulas")
@common
@form_option("text", "json")
def statement(formula: str, project: Path | None, as_of: datetime.date | None, form: str) -> None:
    """Show what a label of FORMULA says: ingredients, allergens, shared equipment, nutrition."""
    manual = computed(manual_of(project, as_of), formula)
    sheet_of(manual, formula)
    if form == "json":
        print_json(statement_record(manual, formula))
    else:
        click.echo(statement_text(manual, formula))
