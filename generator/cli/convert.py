"""convert: units, temperatures, and weights through an ingredient."""

from __future__ import annotations

import datetime
import difflib
from collections.abc import Callable, Collection
from dataclasses import dataclass
from pathlib import Path
from typing import assert_never

import click

from generator.answers.convert import conversion_record, conversion_text, convert
from generator.cli.common import common, form_option, manual_of, nearest_project, print_json, refuse
from generator.files.finding import Refused
from generator.measures.units import Units, load_units
from generator.reference.library import Library, read_reference
from generator.reference.shared_data import folder_for
from generator.scaling.weights import UnitWeight, read_unit_weights
from generator.sheet.manual import Broken, Manual, Read
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
        known = _known(manual_of(folder, as_of) if folder is not None else None)
        library, units = known.library, known.units
        name, weights = _weights(ingredient, known) if ingredient else ("", ())
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


@dataclass(frozen=True)
class _Known:
    """What is converted by. ``weighed`` are the kitchen's ingredients with their unit weights;
    ``named`` the ids of all that were read, for a name mistyped."""

    library: Library
    units: Units
    weighed: Callable[[str], tuple[str, tuple[UnitWeight, ...]] | None]
    named: Collection[str] = ()


def _known(found: Manual | Broken | None) -> _Known:
    """What the kitchen knows; without one, or where it can't be read, what is known everywhere."""
    match found:
        case Manual(house=house, standards=standards, library=library):
            facts = standards.ingredients

            def weighed(ident: str) -> tuple[str, tuple[UnitWeight, ...]] | None:
                one = facts.get(ident)
                return None if one is None else (one.name, unit_weights_of(house, one))

            return _Known(library, standards.units, weighed, facts)
        case Broken(read=Read(standards, library)):
            return _Known(library, standards.units, lambda _: None, standards.ingredients)
        case Broken() | None:
            shared = folder_for(found.project if found is not None else Path.cwd())
            return _Known(read_reference(shared), load_units(shared), lambda _: None)
        case _:
            assert_never(found)


def _weights(ingredient: str, known: _Known) -> tuple[str, tuple[UnitWeight, ...]]:
    """An ingredient's name and unit weights: of the kitchen first, then of the foodstuffs."""
    library, units = known.library, known.units
    own, stuff = known.weighed(ingredient), library.foodstuffs.get(ingredient)
    weights: tuple[UnitWeight, ...] = ()
    if own is not None:
        name, weights = own
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
        near = difflib.get_close_matches(ingredient, [*known.named, *library.foodstuffs], n=3)
        hint = f"Did you mean {' or '.join(near)}?" if near else ""
        raise Refused("item-unknown", f"There is no ingredient {ingredient}.", hint)
    if not weights:
        raise Refused(
            "unit-weight-missing", f"{name} has no unit weights.", "Enter them under `weighs`."
        )
    return name, weights
