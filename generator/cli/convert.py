"""convert: units, temperatures, and weights through an ingredient."""

from __future__ import annotations

import datetime
import difflib
from pathlib import Path

import click

from generator.answers.convert import conversion_record, conversion_text, convert
from generator.cli.common import common, form_option, manual_of, nearest_project, print_json, refuse
from generator.files.finding import Refused
from generator.measures.units import Units, load_units
from generator.reference.library import Library, read_reference
from generator.reference.shared_data import folder_for
from generator.scaling.weights import UnitWeight, read_unit_weights
from generator.sheet.manual import Manual
from generator.sheet.weighing import unit_weights_of


@click.command("convert", context_settings={"ignore_unknown_options": False})
@click.argument("words", nargs=-1, required=True, metavar="-- AMOUNT UNIT")
@common
@form_option("text", "json")
@click.option(
    "--of",
    "ingredient",
    default=None,
    metavar="ID",
    help="An ingredient or foodstuff to convert through.",
)
@click.option("--difference", is_flag=True, help="A difference of temperatures, not a temperature.")
def convert_(
    words: tuple[str, ...],
    project: Path | None,
    as_of: datetime.date | None,
    form: str,
    ingredient: str | None,
    difference: bool,
) -> None:
    """Convert an amount: `convert -- 1 1/2 cup ml`, `convert --of salt-fine -- 1 tsp g`."""
    folder = project or nearest_project()
    try:
        manual = manual_of(folder, as_of) if folder is not None else None
        shared = folder_for(manual.project if manual else Path.cwd())
        library = (manual.library if manual else None) or read_reference(shared)
        units = manual.standards.units if manual and manual.standards else load_units(shared)
        name, weights = _weights(ingredient, manual, library, units) if ingredient else ("", ())
        found = convert(
            list(words),
            units,
            weights,
            name,
            difference,
            library.source_title,
            lambda which: load_units(library.folder, which),
        )
    except Refused as refused:
        refuse(refused)
    if form == "json":
        print_json(conversion_record(found))
    else:
        click.echo(conversion_text(found))


def _weights(
    ingredient: str, manual: Manual | None, library: Library, units: Units
) -> tuple[str, tuple[UnitWeight, ...]]:
    """An ingredient's name and unit weights: of the kitchen first, then of the foodstuffs."""
    known = manual.standards.ingredients if manual and manual.standards else {}
    facts, stuff = known.get(ingredient), library.foodstuffs.get(ingredient)
    weights: tuple[UnitWeight, ...] = ()
    if facts is not None and manual is not None and manual.house is not None:
        name, weights = facts.name, unit_weights_of(manual.house, facts)
    elif stuff is not None:
        name = stuff.name
        weights = read_unit_weights(
            stuff.weighs,
            stuff.source,
            stuff.measures,
            units,
            lambda which: load_units(library.folder, which),
        )
    else:
        near = difflib.get_close_matches(ingredient, [*known, *library.foodstuffs], n=3)
        hint = f"Did you mean {' or '.join(near)}?" if near else ""
        raise Refused("item-unknown", f"There is no ingredient {ingredient}.", hint)
    if not weights:
        raise Refused(
            "unit-weight-missing", f"{name} has no unit weights.", "Enter them under `weighs`."
        )
    return name, weights
