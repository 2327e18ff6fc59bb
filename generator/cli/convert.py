"""convert: units, temperatures, and weights through an ingredient.

Without an ingredient only the kitchen's measures and its decimal mark are needed: both are in
kitchen.yaml, and nothing else is read. With one, the whole manual is.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from generator.answers.convert import conversion_record, conversion_text, convert
from generator.cli.options import (
    common,
    find_project,
    form_option,
    nearest_project,
    print_json,
    refuse,
)
from generator.files.finding import Refused
from generator.files.source_text import Mapping, read_file
from generator.measures.marks import Mark, written_with
from generator.measures.units import Units, household_sets, load_units
from generator.reference.shared_data import folder_for
from generator.reference.sources import title_of

if TYPE_CHECKING:
    from generator.scaling.weights import UnitWeight

_KITCHEN = "standards/kitchen.yaml"


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
    folder = find_project(project) if project is not None else nearest_project()
    try:
        name, weights, units, shared = _measures(folder, as_of, ingredient)
        titles = _titles(shared)
        found = convert(
            list(words),
            units,
            weights,
            name,
            difference,
            titles,
            lambda which: load_units(shared, which),
        )
    except Refused as refused:
        refuse(refused)
    if form == "json":
        print_json(conversion_record(found))
    else:
        click.echo(conversion_text(found))


def _measures(
    folder: Path | None, as_of: datetime.date | None, ingredient: str | None
) -> tuple[str, tuple[UnitWeight, ...], Units, Path]:
    """An ingredient's name and unit weights, the units in force, and where the reference data lies.
    From here on figures are read and written with the kitchen's decimal mark."""
    shared = folder_for(folder or Path.cwd())
    if ingredient is None:
        units = units_of_the_kitchen(folder, shared) if folder is not None else load_units(shared)
        return "", (), units, shared
    from generator.cli.common import manual_of
    from generator.cli.measured import known_of, weights_of

    known = known_of(manual_of(folder, as_of) if folder is not None else None)
    return *weights_of(ingredient, known), known.units, known.library.folder


def units_of_the_kitchen(folder: Path, shared: Path) -> Units:
    """The units of a kitchen, by its `cup`, read with nothing else; those of the United States
    where it doesn't say, or can't be read: what is wrong there `check` says."""
    path = folder / _KITCHEN
    tree = read_file(path, _KITCHEN).tree if path.is_file() else None
    typed = tree if isinstance(tree, Mapping) else {}
    mark: Mark = "comma" if typed.get("decimal") == "comma" else "point"
    click.get_current_context().with_resource(written_with(mark))
    cup = str(typed.get("cup", "us"))
    return load_units(shared, cup if cup in household_sets(shared) else "us")


def _titles(shared: Path) -> Callable[[str], str]:
    """How a source is called, read when it is asked for."""

    def title(key: str) -> str:
        return title_of(shared, key)

    return title
