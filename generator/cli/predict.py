"""predict: how long a body takes to heat, cool, freeze or thaw; how a formula's food chills.

Of a body only the kitchen's decimal mark is read. What needs numpy is imported when it is asked.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from generator.cli.convert import units_of_the_kitchen
from generator.cli.options import (
    SIZE_NAMES,
    common,
    find_project,
    form_option,
    nearest_project,
    of_the_kitchen,
    refuse,
    size_options,
)
from generator.files.finding import Refused
from generator.measures.temperature import read_temperature
from generator.measures.times import read_time
from generator.measures.units import Units, load_units
from generator.reference.shared_data import folder_for

if TYPE_CHECKING:
    from generator.sheet.heat_case import FormulaCase
    from generator.sheet.manual import Manual
    from generator.sheet.sheet import Sheet


@click.command("predict")
@of_the_kitchen("formula", "formulas", required=False)
@click.option(
    "--step",
    default=None,
    help="The step of FORMULA, or its number: one that cools, cooks, freezes or thaws. "
    "Left out: its first that cools hot food.",
)
@click.option("--vessel", default=None, metavar="ID", help="Another vessel than the step's.")
@click.option("--depth", default=None, metavar="LENGTH", help="How deep it is filled, as 40mm.")
@click.option("--in", "chiller", default=None, metavar="ID", help="Another chiller.")
@click.option(
    "--fit",
    default=None,
    type=click.Path(path_type=Path, dir_okay=False, exists=True),
    metavar="LOG",
    help="A logger's file of a run of the step: what coefficient it gives.",
)
@click.option("--keep", is_flag=True, help="With --fit: write it into the equipment's file.")
@click.option(
    "--body",
    default=None,
    help="In place of FORMULA, its shape: `brick: 325 mm x 176 mm x 60 mm` (length, width, "
    "height), `slab: 40 mm`, `cylinder: diameter 81 mm, height 111 mm`, `sphere: diameter 50 mm`.",
)
@click.option(
    "--properties",
    default=None,
    help="`k=0.45 W/(m K), rho=1070 kg/m3, cp=3.4 kJ/(kg K)`, or `alpha` for the last two; to "
    "freeze also `freezes`, `latent`, `frozen k`, `frozen cp`.",
)
@click.option(
    "--composition",
    default=None,
    help="In place of properties: `water 74 %, protein 20 %, fat 5 %, ash 1 %`.",
)
@click.option(
    "--freezes-at", default=None, metavar="TEMPERATURE", help="Where it begins to freeze."
)
@click.option(
    "--faces",
    multiple=True,
    help="What is at each face: `top: still-air at 3 °C; rest: 300 W/(m2 K) at 0 °C`. Repeat it "
    "for the next place, and end each but the last with `; for 2 h` or `; until 75 °C`.",
)
@click.option("--start", default=None, metavar="TEMPERATURE", help="Its even temperature at first.")
@click.option(
    "--target",
    "targets",
    multiple=True,
    metavar="TEMPERATURE",
    help="What all of it has to reach in the last place; repeat it.",
)
@click.option("--time", "horizon", default=None, metavar="TIME", help="How far the course goes.")
@click.option("--exact", is_flag=True, help="Take every figure as it is stated: no band.")
@common
@size_options
@form_option("text", "json", "csv", "svg")
def predict_(
    formula: str | None,
    project: Path | None,
    as_of: datetime.date | None,
    form: str,
    **words: Any,
) -> None:
    """Predict how long a body takes to heat, cool, freeze or thaw: a band, never a limit."""
    from generator.heat.properties import Impossible

    try:
        _check_words(formula, words)
        if formula is None:
            said = _of_a_body(project, form, words)
        else:
            said = _of_a_formula(formula, project, as_of, form, words)
    except Refused as refused:
        refuse(refused)
    except Impossible as problem:
        refuse(Refused("prediction-impossible", f"This can't be predicted: {problem}."))
    click.echo(said, nl=form != "csv")


_OF_FORMULAS = ("step", "vessel", "depth", "chiller", "fit", "keep", *SIZE_NAMES)
_OF_BODIES = ("body", "properties", "composition", "freezes_at", "faces", "start", "targets")
_BODY = "--body 'slab: 40 mm' --composition … --faces 'still-air at 3 °C' --start '60 °C'"


def _check_words(formula: str | None, words: Mapping[str, Any]) -> None:
    """Either a formula or a body, and what goes with it. Raises Refused."""
    strange = (*_OF_BODIES, "horizon", "exact") if formula is not None else _OF_FORMULAS
    typed = [name for name in strange if words[name]]
    if typed:
        option = {"chiller": "in", "targets": "target", "horizon": "time"}.get(typed[0], typed[0])
        other = "a body" if formula is not None else "a formula"
        raise Refused(
            "predict-usage",
            f"--{option.strip('_').replace('_', '-')} goes with {other}.",
            "Name a formula, or describe a body with --body.",
        )
    if words["keep"] and words["fit"] is None:
        raise Refused("predict-usage", "--keep goes with --fit.", "Name the log with --fit.")
    if formula is None:
        for name in ("body", "faces", "start"):
            if not words[name]:
                raise Refused(
                    "predict-usage",
                    f"--{name} is missing.",
                    "Name a formula, or describe a body, what is round it and how warm it is.",
                    [f"kitchen-manual predict {_BODY}"],
                )


def _of_a_body(project: Path | None, form: str, words: dict[str, Any]) -> str:
    from generator.cli.predicted import answer
    from generator.cli.typed_case import read_case
    from generator.heat.media import load_media
    from generator.heat.prediction import predict

    folder = find_project(project) if project is not None else nearest_project()
    shared = folder_for(folder or Path.cwd())
    units = _units(folder, shared)
    horizon = None if words["horizon"] is None else _seconds(words["horizon"])
    asked = {name: words[name] for name in (*_OF_BODIES, "exact")}
    case = read_case(units, load_media(shared), **asked)
    return answer(case, predict(case, horizon), form, read_temperature(words["start"]).unit)


def _of_a_formula(
    formula: str,
    project: Path | None,
    as_of: datetime.date | None,
    form: str,
    words: dict[str, Any],
) -> str:
    from generator.cli.common import computed, manual_of, sheet_of
    from generator.cli.predicted_step import step_answer
    from generator.cli.sizes import asked_batch
    from generator.heat.media import load_media
    from generator.sheet.heat_case import Asked, formula_case, other_steps

    manual = computed(manual_of(project, as_of), formula)
    sheet = sheet_of(manual, formula)
    batch = asked_batch(sheet, {name: words[name] for name in SIZE_NAMES})
    if batch is not None:
        sheet = replace(sheet, batches=(batch,))
    media = load_media(manual.house.library.folder)
    typed = (words[name] for name in ("vessel", "depth", "chiller"))
    equipment = manual.standards.equipment
    asked = Asked(sheet, manual.made.get(sheet.id), equipment, media, *typed)
    case = formula_case(asked, words["step"])
    if words["fit"] is None:
        others = other_steps(asked, case.number) if words["step"] is None else ([], [])
        return step_answer(sheet, case, form, others)
    return _fitted(manual, sheet, case, form, words)


def _fitted(
    manual: Manual, sheet: Sheet, case: FormulaCase, form: str, words: dict[str, Any]
) -> str:
    """What a log of the step gives; kept in the standards if that is asked for."""
    import zoneinfo

    from generator.cli.predicted_fit import fit_answer, fitted_log, keep
    from generator.files.finding import BrokenData
    from generator.review.readings import read_log

    if form in ("csv", "svg"):
        raise Refused("predict-usage", "--fit answers as text or json.")
    try:
        log = read_log(words["fit"], zoneinfo.ZoneInfo(sheet.house.kitchen.time_zone))
    except BrokenData as broken:
        raise Refused("log-not-read", broken.findings[0].message, broken.findings[0].help) from None
    logged = fitted_log(case, log)
    kept = ""
    if words["keep"]:
        ident = next(i for i, e in manual.standards.equipment.items() if e is case.place)
        kept = keep(case, ident, logged, manual.project)
    return fit_answer(sheet, case, logged, kept, form)


def _units(folder: Path | None, shared: Path) -> Units:
    return load_units(shared) if folder is None else units_of_the_kitchen(folder, shared)


def _seconds(text: str) -> float:
    seconds = float(read_time(text).seconds)
    if seconds <= 0:
        raise Refused("time-zero", f"`{text}` is no time.", "As in 2 h.")
    return seconds
