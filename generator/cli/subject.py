"""What a command is asked about by name: a formula or an ingredient."""

from __future__ import annotations

import difflib

import click

from generator.cli.common import refuse, sheet_of, show
from generator.files.finding import Refused
from generator.rules.store.shelf import Shelf
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet


def subject_of(manual: Manual, name: str) -> Sheet | Shelf:
    """The formula's sheet, or the ingredient's own limits, asked for by id. Stops with 1 if it has
    errors, with 2 if there is neither."""
    if name in manual.sheets or name in manual.stopped or name in manual.standards.cards:
        return sheet_of(manual, name)
    ingredients = manual.standards.ingredients
    if name in manual.routines:
        words = f"{name} has checks: no food goes through it, so there is no course to judge."
        refuse(Refused("stands-alone", words, f"Its limits: kitchen-manual limits {name}."))
    wrong = tuple(f for f in manual.errors if {name, f"process:{name}"} & f.about)
    if wrong:
        show(wrong)
        click.echo(f"kitchen-manual: {name} has no limits until this is fixed.", err=True)
        raise SystemExit(1)
    if name not in ingredients:
        if not manual.sheets and manual.errors:
            return sheet_of(manual, name)
        near = difflib.get_close_matches(
            name, [*manual.sheets, *ingredients, *manual.routines], n=1
        )
        hint = f"Did you mean {near[0]}?" if near else f"Formulas: {', '.join(manual.sheets)}."
        refuse(Refused("formula-unknown", f"There is no formula or ingredient {name}.", hint))
    return manual.shelves[name]
