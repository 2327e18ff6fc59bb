"""What an ingredient weighs, of the kitchen or of the foodstuffs: the whole manual is read for
it."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Collection
from dataclasses import dataclass
from pathlib import Path
from typing import assert_never

from generator.files.finding import Refused
from generator.measures.units import Units, load_units
from generator.reference.library import Library, read_reference
from generator.reference.shared_data import folder_for
from generator.scaling.weights import UnitWeight, read_unit_weights
from generator.sheet.manual import Broken, Manual, Read
from generator.sheet.weighing import unit_weights_of


@dataclass(frozen=True)
class Known:
    """What is converted by. ``weighed`` are the kitchen's ingredients with their unit weights;
    ``named`` the ids of all that were read, for a name mistyped."""

    library: Library
    units: Units
    weighed: Callable[[str], tuple[str, tuple[UnitWeight, ...]] | None]
    named: Collection[str] = ()


def known_of(found: Manual | Broken | None) -> Known:
    """What the kitchen knows; without one, or where it can't be read, what is known everywhere."""
    match found:
        case Manual(house=house, standards=standards, library=library):
            facts = standards.ingredients

            def weighed(ident: str) -> tuple[str, tuple[UnitWeight, ...]] | None:
                one = facts.get(ident)
                return None if one is None else (one.name, unit_weights_of(house, one))

            return Known(library, standards.units, weighed, facts)
        case Broken(read=Read(standards, library)):
            return Known(library, standards.units, lambda _: None, standards.ingredients)
        case Broken() | None:
            shared = folder_for(found.project if found is not None else Path.cwd())
            return Known(read_reference(shared), load_units(shared), lambda _: None)
        case _:
            assert_never(found)


def names_of(known: Known) -> tuple[dict[str, str], dict[str, str]]:
    """The kitchen's ingredients and the foodstuffs that have a measure, by id, with their names."""
    own = {i: one[0] for i in known.named if (one := known.weighed(i)) is not None and one[1]}
    stuffs = known.library.foodstuffs
    return own, {i: one.name for i, one in stuffs.items() if one.weighs and i not in own}


def weights_of(ingredient: str, known: Known) -> tuple[str, tuple[UnitWeight, ...]]:
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
