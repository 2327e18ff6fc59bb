"""order: what a plan asks to be made, bought, prepared and labelled."""

from __future__ import annotations

import datetime
import difflib
from pathlib import Path

import click

from generator.answers.order import order_cautions, order_record, order_text
from generator.answers.order_table import order_csv
from generator.cli.common import (
    common,
    computed,
    form_option,
    manual_of,
    print_json,
    refuse,
    sheet_of,
    show,
    status_of,
)
from generator.cli.options import of_the_kitchen
from generator.files.finding import Refused
from generator.measures.words import breakable
from generator.sheet.manual import Manual
from generator.sheet.order import needs_broken, order_of


@click.command()
@of_the_kitchen("plan", "plans")
@common
@form_option("text", "json", "csv")
def order(plan: str, project: Path | None, as_of: datetime.date | None, form: str) -> None:
    """Show what PLAN asks for: batches to make, packs to buy, prep by station and day, labels."""
    manual = computed(manual_of(project, as_of), plan)
    _known_and_sound(manual, plan)
    asked = manual.plans[plan]
    for ident in needs_broken(manual, asked):
        sheet_of(manual, ident)
    found = order_of(manual, asked)
    for one in found.problems:
        click.echo(breakable(f"kitchen-manual: {one.words} {one.help}"), err=True)
    if form == "json":
        print_json(order_record(found))
    elif form == "csv":
        click.echo(order_csv(found))
        for line in order_cautions(found):
            click.echo(f"kitchen-manual: {line}", err=True)
    else:
        click.echo(order_text(found))


def _known_and_sound(manual: Manual, ident: str) -> None:
    """Stops with 1 if the plan asked for has errors, with 2 if there is none."""
    plan = manual.plans.get(ident)
    about = f"plan:{ident}"
    if (plan is not None and not plan.sound) or about in manual.standards.broken:
        found = tuple(f for f in manual.findings if f.is_error and about in f.about)
        show(found or manual.errors)
        click.echo(f"kitchen-manual: {ident} can't be ordered until this is fixed.", err=True)
        raise SystemExit(status_of(found or manual.errors))
    if plan is None:
        near = difflib.get_close_matches(ident, manual.plans, n=1)
        known = ", ".join(manual.plans) or "none yet, as standards/plans/week.yaml"
        hint = f"Did you mean {near[0]}?" if near else f"Known: {known}."
        refuse(Refused("plan-unknown", f"There is no plan {ident}.", hint))
