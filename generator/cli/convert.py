"""convert: units, temperatures, and weights through an ingredient.

Without an ingredient only the kitchen's measures and its decimal mark are needed: both are in
kitchen.yaml, and nothing else is read. With one, the whole manual is.
"""

from __future__ import annotations

import contextlib
import datetime
import functools
import re
from pathlib import Path
from typing import TYPE_CHECKING

import click

from generator.answers.convert import (
    Conversion,
    conversion_record,
    conversion_text,
    convert,
    is_figure,
)
from generator.cli.options import (
    common,
    find_project,
    form_option,
    nearest_project,
    print_json,
    refuse,
)
from generator.cli.spoken_food import Spoken, food_in, in_figures
from generator.files.finding import Refused
from generator.files.source_text import Mapping, read_file
from generator.measures.marks import Mark, written_with
from generator.measures.units import Units, household_sets, load_units
from generator.reference.shared_data import folder_for
from generator.reference.sources import title_of

if TYPE_CHECKING:
    from generator.cli.measured import Known
    from generator.scaling.weights import UnitWeight

_KITCHEN = "standards/kitchen.yaml"


@click.command("convert", context_settings={"ignore_unknown_options": False})
@click.argument("words", nargs=-1, required=True, metavar="-- AMOUNT [UNIT]")
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
    """Convert an amount: `convert -- 1 1/2 cup ml`, `convert -- 375 F`, `convert -- 3 medium
    onions`, `convert --of salt-fine -- 1 tsp g`.

    Without a unit wanted it is the other system's, and of a food grams.
    """
    folder = find_project(project) if project is not None else nearest_project()
    asking = _Asking(folder, as_of, difference)
    try:
        found = asking.answer(list(words), ingredient)
    except Refused as refused:
        refuse(refused)
    if form == "json":
        print_json(conversion_record(found))
    else:
        click.echo(conversion_text(found))


class _Asking:
    """What a command line asks of a kitchen in a folder, or of none; read once, if it has to be."""

    def __init__(self, folder: Path | None, as_of: datetime.date | None, difference: bool) -> None:
        self.folder = folder
        self.as_of = as_of
        self.difference = difference
        self.shared = folder_for(folder or Path.cwd())

    @functools.cached_property
    def known(self) -> Known:
        """What is converted by. From here on figures are read and written with the kitchen's
        decimal mark."""
        from generator.cli.common import manual_of
        from generator.cli.measured import known_of

        return known_of(manual_of(self.folder, self.as_of) if self.folder is not None else None)

    def answer(self, words: list[str], ingredient: str | None) -> Conversion:
        """What was asked for; where that needs a food and none is named by its id, with the food
        among the words. Raises Refused: of several foods that may be meant none is taken."""
        try:
            return self.converted(words, ingredient)
        except Refused as refused:
            spoken = self._spoken(words) if ingredient is None else None
            if spoken is None:
                raise
            if len(spoken.foods) == 1:
                return self._of_one(spoken.rest, spoken.foods[0])
            return self._of_several(words, spoken, refused)

    def converted(self, words: list[str], ingredient: str | None) -> Conversion:
        """The words' amount, through an ingredient if one is named. Raises Refused."""
        name, weights, units = self._measures(ingredient)
        sets = functools.partial(load_units, self.shared)
        title = functools.partial(title_of, self.shared)
        said = in_figures(words)
        return convert(said, units, weights, name, self.difference, title, sets)

    def _measures(self, ingredient: str | None) -> tuple[str, tuple[UnitWeight, ...], Units]:
        """An ingredient's name and unit weights, and the units in force."""
        if ingredient is not None:
            from generator.cli.measured import weights_of

            return *weights_of(ingredient, self.known), self.known.units
        if self.folder is None:
            return "", (), load_units(self.shared)
        return "", (), units_of_the_kitchen(self.folder, self.shared)

    def _spoken(self, words: list[str]) -> Spoken | None:
        """The food named among the words, of those that have a measure: the kitchen's, then all
        others."""
        if not any(re.search(r"[^\W\d_]{3}", word) for word in words):
            return None
        from generator.cli.measured import names_of

        return food_in(words, *names_of(self.known))

    def _of_one(self, rest: list[str], food: str) -> Conversion:
        """An amount of one food, a bare figure in its pieces. Raises Refused, its fixes as whole
        commands."""
        if len(rest) == 1 and is_figure(rest[0]):
            return self._of_pieces(rest[0], [food])
        try:
            return self.converted(rest, food)
        except Refused as refused:
            if not refused.write:
                raise
            to = rest[-1] if len(rest) > 1 and rest[-2].lower() in ("to", "into") else ""
            fixes = [f"{_COMMAND} --of {food} -- {one} {to}".rstrip() for one in refused.write]
            raise Refused(refused.code, refused.message, refused.help, fixes) from None

    def _of_pieces(self, figure: str, foods: list[str]) -> Conversion:
        """So many pieces of a food: by `each`, or by its only word for one. Raises Refused where
        none or several may be meant."""
        words: list[tuple[str, str]] = []
        for food in foods:
            _, weights, _ = self._measures(food)
            pieces = [w.word for w in weights if w.ml is None]
            words += [(food, one) for one in (["each"] if "each" in pieces else pieces)]
        if len(words) == 1:
            return self.converted([figure, words[0][1]], words[0][0])
        of = words or [(foods[0], "g")]
        raise Refused(
            "convert-usage",
            f"`{figure}` of what: a weight, a measure, a piece?",
            "Write the unit or the piece." if words else "Write the unit: no piece of it is known.",
            [f"{_COMMAND} --of {food} -- {figure} {one}" for food, one in of[:_MOST_FOODS]],
        )

    def _of_several(self, words: list[str], spoken: Spoken, refused: Refused) -> Conversion:
        """An amount of the one food that has this measure. Raises Refused where several have it, or
        none, and asks which is meant."""
        if len(spoken.rest) == 1 and is_figure(spoken.rest[0]):
            return self._of_pieces(spoken.rest[0], list(spoken.foods))
        found: dict[str, Conversion] = {}
        for food in spoken.foods:
            with contextlib.suppress(Refused):
                found[food] = self.converted(spoken.rest, food)
        if len(found) == 1:
            return next(iter(found.values()))
        rest = " ".join(spoken.rest)
        foods = list(found or spoken.foods)[:_MOST_FOODS]
        raise Refused(
            "convert-needs-ingredient",
            f"`{' '.join(words)}`: which food is meant?",
            "" if found else "None of them has such a measure.",
            [f"{_COMMAND} --of {one} -- {rest}" for one in foods] if found else [],
        ) from refused


_COMMAND = "kitchen-manual convert"
_MOST_FOODS = 6
"""So many foods are proposed at most."""


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
