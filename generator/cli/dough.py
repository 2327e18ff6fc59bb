"""dough: the water of a dough from the day's temperatures, or the friction from a measured one."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import click

from generator.answers.cautions import cautions_record, with_cautions
from generator.answers.dough import dough_record, dough_text
from generator.cli.common import (
    common,
    computed,
    form_option,
    manual_of,
    print_json,
    refuse,
    sheet_of,
)
from generator.cli.options import of_the_kitchen, size_options
from generator.cli.sizes import asked_or_usual
from generator.files.finding import Refused
from generator.measures.temperature import (
    Degree,
    Temperature,
    TemperatureDifference,
    read_difference,
    read_temperature,
)
from generator.sheet.dough_day import (
    DoughDay,
    Wanted,
    day_of,
    friction_of,
    other_liquids,
    wanted_of,
)
from generator.sheet.doughs import Dough
from generator.sheet.manual import Manual
from generator.sheet.sheet import Batch
from generator.sheet.walked import Walk

_TEMPERATURES = (
    ("--flour", "flour", "How warm the flour is."),
    ("--room", "room", "How warm the room is."),
    ("--tap", "tap", "How warm the tap's water is, for the ice."),
    ("--friction", "friction", "The mixer's friction, in place of the one that is stated."),
    ("--dough", "measured", "How warm a dough was that you measured. With it, --water."),
    ("--water", "water", "How warm the water of that dough was."),
)


def _day_options(function: Any) -> Any:
    for name, ident, help in reversed(_TEMPERATURES):
        function = click.option(name, ident, default=None, metavar="DEGREES", help=help)(function)
    return click.option(
        "--preferment",
        "preferments",
        multiple=True,
        metavar="DEGREES",
        help="How warm a preferment is; repeat it in the order of the formula.",
    )(function)


@click.command()
@of_the_kitchen("formula", "formulas")
@common
@form_option("text", "json")
@_day_options
@size_options
def dough(
    formula: str, project: Path | None, as_of: datetime.date | None, form: str, **options: Any
) -> None:
    """Show the water of the dough FORMULA makes: how warm, and the ice, for the day's
    temperatures."""
    manual = computed(manual_of(project, as_of), formula)
    sheet = sheet_of(manual, formula)
    unit = manual.house.kitchen.temperature
    given = {ident: options.pop(ident) for _, ident, _ in _TEMPERATURES}
    preferments = options.pop("preferments")
    try:
        found, wanted = _wanted(manual, formula)
        batch = asked_or_usual(sheet, options)
        day = _day(manual, sheet.walk, found, wanted, batch, given, preferments)
    except Refused as refused:
        refuse(refused)
    if form == "json":
        print_json(dough_record(sheet, batch, day, unit) | cautions_record(sheet))
    else:
        click.echo(with_cautions(dough_text(sheet, batch, day, unit), sheet))


def _wanted(manual: Manual, formula: str) -> tuple[Dough, Wanted]:
    """The dough of a formula and what it wants of it. Raises Refused where it makes none, or
    doesn't say."""
    found = manual.dough(formula)
    if found is None:
        raise Refused("no-dough", "This is no dough: its base holds no flour.", "Name a dough.")
    wanted = wanted_of(manual.walks[formula], found)
    if wanted is None:
        raise Refused(
            "dough-not-stated",
            "The formula doesn't say how warm its dough is wanted.",
            "Write it in the formula, as in dough: 25 °C.",
        )
    return found, wanted


def _day(
    manual: Manual,
    walk: Walk,
    found: Dough,
    wanted: Wanted,
    batch: Batch,
    given: dict[str, str | None],
    preferments: tuple[str, ...],
) -> DoughDay:
    """The water of the day. Raises Refused for what is missing or can't be read."""
    unit = manual.house.kitchen.temperature
    read = {i: _degrees(f"--{i}", text, unit) for i, text in given.items() if i != "friction"}
    others = _others(wanted, read, [_degrees("--preferment", text, unit) for text in preferments])
    friction = _friction(wanted, others, read["measured"], read["water"], given["friction"], unit)
    liquids = other_liquids(manual.house, found, walk)
    return day_of(manual.house, found, wanted, batch, others, read["tap"], friction, liquids)


def _others(
    wanted: Wanted, read: dict[str, Temperature | None], preferments: list[Temperature | None]
) -> list[Temperature]:
    """The temperatures of all that goes in but the water. Raises Refused for one that is missing
    or too many."""
    held = [read["flour"], read["room"], *preferments]
    options = ("--flour", "--room", *("--preferment",) * (wanted.count - 3))
    for name, option, one in zip(wanted.asked, options, held, strict=False):
        if one is None:
            raise Refused("temperature-missing", f"How warm: {name}?", f"Give {option}.")
    if len(held) < len(options):
        name = wanted.asked[len(held)]
        raise Refused("temperature-missing", f"How warm: {name}?", "Give --preferment for each.")
    if len(held) > len(options):
        count = len(options) - 2
        words = f"This dough has {count or 'no'} preferment{'s' if count > 1 else ''}."
        raise Refused("preferment-too-many", words, "Give --preferment once for each.")
    return [one for one in held if one is not None]


def _friction(
    wanted: Wanted,
    others: list[Temperature],
    measured: Temperature | None,
    water: Temperature | None,
    typed: str | None,
    unit: Degree,
) -> TemperatureDifference | None:
    """The friction given, or that of a measured dough; None without either. Raises Refused for
    both, or half of a measured dough."""
    if (measured is None) != (water is None):
        missing = "--water" if water is None else "--dough"
        raise Refused(
            "temperature-missing", "A measured dough needs its water too.", f"Give {missing}."
        )
    if measured is not None and water is not None:
        if typed is not None:
            words = "Either the friction, or a dough to work it out from."
            raise Refused("friction-twice", words, "Leave one out.")
        return friction_of(wanted, others, measured, water)
    return read_difference(_with_unit(typed, unit)) if typed is not None else None


def _degrees(option: str, text: str | None, unit: Degree) -> Temperature | None:
    """A temperature as typed; a bare figure is in the kitchen's scale."""
    return read_temperature(_with_unit(text, unit)) if text is not None else None


def _with_unit(text: str, unit: Degree) -> str:
    bare = text.strip().lstrip("-−").replace(",", ".").replace(".", "", 1)
    return f"{text} {unit}" if bare.isdigit() else text
