"""design: from what is wanted back to what goes on the scale.

Each job is a command of its own under `design`. All of them share how a food is named, the
kitchen's scales and the form of the answer.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from fractions import Fraction
from pathlib import Path
from typing import Any, TypeVar

import click

from generator.answers.design import design_record, design_text
from generator.cli.common import common, form_option, manual_of, print_json, refuse, show, status_of
from generator.cli.design_words import Asked
from generator.cli.once import Once
from generator.files.finding import Refused
from generator.measures.words import listed
from generator.sheet import design_brines, design_mixes, design_pickles
from generator.sheet.design_doses import Uptake
from generator.sheet.designed import Design
from generator.sheet.manual import Broken

_F = TypeVar("_F", bound=Callable[..., Any])


@click.group(cls=Once)
def design() -> None:
    """Work out what to weigh for what is wanted: a pickle, a brine, a cure, a mix, a blend.

    A food is the kitchen's id, or a name with its figures: "cream: fat 40 %, msnf 5.4 %". Figures:
    fat, msnf, serum (the MSNF as a share of what is neither fat nor sugar), sugar, solids, water,
    salt, acid, nitrite, erythorbate. What isn't typed of a typed food is none. The water and the
    ice of a dough have a command of their own: `dough`.
    """


def _shared(function: _F) -> _F:
    function = click.option(
        "--station",
        default=None,
        metavar="ID",
        help="Whose scales weigh it. Default: the kitchen's first station.",
    )(function)
    return common(form_option("text", "json")(function))


def _option(name: str, metavar: str, help: str, *, multiple: bool = False) -> Callable[[_F], _F]:
    ident = name.strip("-").replace("-", "_")
    if multiple:
        return click.option(name, ident, multiple=True, metavar=metavar, help=help)
    return click.option(name, ident, default=None, metavar=metavar, help=help)


def _with(*options: tuple[str, str, str]) -> Callable[[_F], _F]:
    def wrapped(function: _F) -> _F:
        for name, metavar, help in reversed(options):
            again = help.endswith("repeat it.")
            function = _option(name, metavar, help, multiple=again)(function)
        return function

    return wrapped


_MEAT = ("--meat", "ID=AMOUNT", "The meat and its green weight; repeat it.")
_SEASONING = (
    ("--salt", "PERCENT", "The salt wanted."),
    ("--sugar", "PERCENT", "The sugar wanted. Left out: none."),
    ("--salt-from", "FOOD", "Which salt. Default: the kitchen's only one, else pure salt."),
    ("--sugar-from", "FOOD", "Which sugar. Default: sugar."),
    ("--water-from", "FOOD", "Which water. Default: water."),
)
_CURE = (
    ("--cure", "FOOD", "The cure. Its nitrite is the ingredient's, or typed."),
    ("--nitrite", "PPM", "The ingoing nitrite wanted, as 150ppm."),
)


@design.command("pickle")
@_shared
@_with(
    _MEAT,
    ("--pump", "PERCENT", "How much pickle is pumped in, of the green weight."),
    *_SEASONING,
    *_CURE,
    ("--accelerator", "FOOD", "The erythorbate or ascorbate that pumped bacon needs."),
    ("--erythorbate", "PPM", "How much of it. Left out: what is required."),
    ("--drips", "PERCENT", "What runs out again, of the pumped weight."),
    ("--loses", "PERCENT", "The cook loss, of what is left then."),
    ("--spare", "PERCENT", "Pickle made beside what goes in, of that."),
)
@click.option(
    "--as",
    "way",
    type=click.Choice(("pumped", "bacon-pumped")),
    default="pumped",
    show_default=True,
    help="How it is cured. Bacon has its own doses.",
)
@click.option(
    "--loss",
    type=click.Choice(("water", "juice")),
    default="water",
    show_default=True,
    help="What the cook loss is: water alone, or juice that takes its salt along.",
)
def pickle(project: Path | None, as_of: datetime.date | None, form: str, **given: Any) -> None:
    """Design the pickle for a pump rate: salt in the finished meat, ingoing nitrite."""

    def made(asked: Asked) -> Design:
        meats = asked.meats()
        uptake = Uptake(
            sum((g for _, g in meats), Fraction(0)),
            asked.needed("pump"),
            asked.share("drips"),
            asked.share("loses"),
        )
        return design_pickles.pickle(
            asked.house,
            asked.station,
            meats,
            uptake,
            asked.seasoning(),
            asked.curing(given["way"]),
            given["loss"],
            asked.share("spare"),
        )

    _answer(project, as_of, form, given, made)


@design.command("brine")
@_shared
@_with(
    ("--food", "ID=AMOUNT", "The food and its weight; repeat it."),
    ("--liquid", "AMOUNT", "Water and vinegar together."),
    *_SEASONING,
    ("--acid", "PERCENT", "The acid wanted, of everything in it. Left out: none."),
    ("--vinegar", "FOOD", 'The vinegar, with its acid: "cider-vinegar: acid 5 %".'),
    *_CURE,
)
@click.option(
    "--as",
    "way",
    type=click.Choice(("immersion", "bacon-immersion")),
    default="immersion",
    show_default=True,
    help="How it is cured, if it is. Bacon has its own doses.",
)
def brine(project: Path | None, as_of: datetime.date | None, form: str, **given: Any) -> None:
    """Design a brine or a jar at balance: salt of food and liquid, acid of everything in it."""

    def made(asked: Asked) -> Design:
        vinegar = given["vinegar"]
        if vinegar and given["acid"] is None:
            words = "How sour is it to be with that vinegar?"
            raise Refused("design-vinegar", words, "Or leave --vinegar out.", ["--acid 1%"])
        return design_brines.brine(
            asked.house,
            asked.station,
            asked.amounts("food"),
            asked.weight("liquid"),
            asked.seasoning(),
            asked.food("vinegar") if vinegar else None,
            asked.share("acid"),
            asked.curing(given["way"]),
        )

    _answer(project, as_of, form, given, made)


@design.command("cure")
@_shared
@_with(
    _MEAT,
    *_SEASONING,
    *_CURE,
    ("--loses", "PERCENT", "What it dries by, of the green weight, as water."),
)
@click.option(
    "--as",
    "way",
    type=click.Choice(("dry", "comminuted", "bacon-dry")),
    default="dry",
    show_default=True,
    help="How it is cured. Bacon has its own doses.",
)
def cure(project: Path | None, as_of: datetime.date | None, form: str, **given: Any) -> None:
    """Design a cure that is rubbed on or mixed in: salt in the finished meat, ingoing nitrite."""

    def made(asked: Asked) -> Design:
        curing = asked.curing(given["way"])
        if curing is None:
            raise Refused("design-cure", "Which cure?", "Give --cure.", ["--cure pink-cure"])
        return design_pickles.cure(
            asked.house,
            asked.station,
            asked.meats(),
            asked.seasoning(),
            curing,
            asked.share("loses"),
        )

    _answer(project, as_of, form, given, made)


@design.command("mix")
@_shared
@_with(
    ("--total", "AMOUNT", "What the mix weighs. Default: 10 kg."),
    ("--fat", "PERCENT", "The fat wanted."),
    ("--msnf", "PERCENT", "The milk solids not fat wanted."),
    ("--sugar", "PERCENT", "The sugar wanted that isn't the milk's own."),
    ("--solids", "PERCENT", "The solids wanted, all together."),
    ("--from", "FOOD", "A food to make it of; repeat it."),
    ("--with", "FOOD=PERCENT", "A food of a fixed share of the mix; repeat it."),
)
def mix(project: Path | None, as_of: datetime.date | None, form: str, **given: Any) -> None:
    """Design a mix for fat, MSNF, sugar and solids out of named foods."""

    def made(asked: Asked) -> Design:
        wanted = {n: asked.share(n) for n in design_mixes.TARGETS if given[n] is not None}
        return design_mixes.mix(
            asked.house,
            asked.station,
            asked.foods("from"),
            wanted,
            asked.weight("total") if given["total"] else Fraction(10_000),
            asked.fixed("with"),
        )

    _answer(project, as_of, form, given, made)


@design.command("blend")
@_shared
@_with(
    ("--fat", "PERCENT", "The fat wanted."),
    ("--total", "AMOUNT", "What the blend weighs. Default: 10 kg."),
    ("--from", "FOOD", "One of two foods to blend; repeat it."),
    ("--have", "ID=AMOUNT", "What there is, to bring it there with --add."),
    ("--add", "FOOD", "The fat or the lean to add to it."),
)
def blend(project: Path | None, as_of: datetime.date | None, form: str, **given: Any) -> None:
    """Design a blend for a share of fat: of two foods, or the fat or lean to add to one."""

    def made(asked: Asked) -> Design:
        fat = asked.needed("fat")
        if (given["have"] is None) != (given["add"] is None):
            raise Refused("design-add", "--have and --add go together.", "Give both.")
        if given["have"] is not None:
            _alone("--have", {"--from": given["from"], "--total": given["total"]})
            have = asked.amount("have", given["have"])
            added = asked.food("add")
            return design_mixes.topped_up(asked.house, asked.station, have, added, fat)
        foods = asked.foods("from")
        if len(foods) != 2:
            raise Refused("design-two", "A blend is of two foods.", "Give --from twice.")
        whole = asked.weight("total") if given["total"] else Fraction(10_000)
        return design_mixes.blend(asked.house, asked.station, (foods[0], foods[1]), fat, whole)

    _answer(project, as_of, form, given, made)


def _alone(option: str, others: Mapping[str, object]) -> None:
    """Raises Refused for an option that an answer with ``option`` doesn't read."""
    besides = [name for name, value in others.items() if value]
    if besides:
        words = f"{option} doesn't go with {listed(besides, 'or')}."
        raise Refused("design-usage", words, f"Leave {besides[0]} out.")


def _answer(
    project: Path | None,
    as_of: datetime.date | None,
    form: str,
    given: dict[str, Any],
    made: Callable[[Asked], Design],
) -> None:
    """The design as it is asked for; stops with 1 where there is no kitchen to weigh in."""
    manual = manual_of(project, as_of)
    if isinstance(manual, Broken):
        show(manual.errors)
        click.echo("kitchen-manual: nothing can be designed until this is fixed.", err=True)
        raise SystemExit(status_of(manual.errors))
    try:
        found = made(Asked(manual, given))
    except Refused as refused:
        refuse(refused)
    if form == "json":
        print_json(design_record(manual.house, found))
    else:
        click.echo(design_text(manual.house, found))
