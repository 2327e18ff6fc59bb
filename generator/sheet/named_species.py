"""Which animals a formula's name tells, and of which its lines are."""

from __future__ import annotations

from collections.abc import Mapping

from generator.resolve.joined import House, JoinedLine
from generator.sheet.walked import Walk

_FLESH = ("meat", "poultry", "game", "wild-game", "ratite", "fish")
_NO_NAME = "none"


def named_species(house: House, walk: Walk) -> frozenset[str]:
    """The animals that a formula's names and the standard it is sold by tell: pork for "Pork
    links", beef for `standard_of_identity: ground-beef`; none where they tell no animal."""
    formula = walk.formula.formula
    standard = formula.standard_of_identity
    names = [formula.name, *formula.other_names]
    if standard is not None and standard != _NO_NAME:
        names.append(standard.replace("-", " "))
    return frozenset(
        one
        for one in house.library.known_names.species_named(names)
        if house.pack.class_of(one) in _FLESH
    )


def species_of(house: House, line: JoinedLine, walks: Mapping[str, Walk]) -> frozenset[str]:
    """The animals whose meat or fish a line is: of what is made ahead, all that is in it."""
    if line.ingredient is not None:
        species: set[str | None] = {line.ingredient.species}
    elif line.item in walks:
        species = {one.species for one in walks[line.item].end.components}
    else:
        return frozenset()
    return frozenset(one for one in species if one and house.pack.class_of(one) in _FLESH)
