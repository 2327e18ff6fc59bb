"""predict: how long a body takes to heat, cool, freeze or thaw.

Only the kitchen's decimal mark is read. Numpy is imported here and nowhere else.
"""

from __future__ import annotations

import datetime
from pathlib import Path

import click

from generator.cli.convert import units_of_the_kitchen
from generator.cli.options import common, find_project, form_option, nearest_project, refuse
from generator.files.finding import Refused
from generator.measures.times import read_time
from generator.measures.units import Units, load_units
from generator.reference.shared_data import folder_for


@click.command("predict")
@click.option(
    "--body",
    required=True,
    help="Its shape: `brick: 325 mm x 176 mm x 60 mm` (length, width, height), `slab: 40 mm`, "
    "`cylinder: diameter 81 mm, height 111 mm`, `sphere: diameter 50 mm`.",
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
    required=True,
    help="What is at each face: `top: still-air at 3 °C; rest: 300 W/(m2 K) at 0 °C`. Repeat it "
    "for the next place, and end each but the last with `; for 2 h` or `; until 75 °C`.",
)
@click.option(
    "--start", required=True, metavar="TEMPERATURE", help="Its even temperature at first."
)
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
@form_option("text", "json", "csv")
def predict_(
    body: str,
    properties: str | None,
    composition: str | None,
    freezes_at: str | None,
    faces: tuple[str, ...],
    start: str,
    targets: tuple[str, ...],
    horizon: str | None,
    exact: bool,
    project: Path | None,
    as_of: datetime.date | None,
    form: str,
) -> None:
    """Predict how long a body takes to heat, cool, freeze or thaw: a band, never a limit."""
    from generator.cli.predicted import answer
    from generator.cli.typed_case import read_case
    from generator.heat.media import load_media
    from generator.heat.prediction import predict
    from generator.heat.properties import Impossible

    folder = find_project(project) if project is not None else nearest_project()
    shared = folder_for(folder or Path.cwd())
    try:
        case = read_case(
            _units(folder, shared),
            load_media(shared),
            body=body,
            properties=properties,
            composition=composition,
            freezes_at=freezes_at,
            faces=faces,
            start=start,
            targets=targets,
            exact=exact,
        )
        seconds = None if horizon is None else _seconds(horizon)
        found = predict(case, seconds)
    except Refused as refused:
        refuse(refused)
    except Impossible as problem:
        refuse(Refused("prediction-impossible", f"This can't be predicted: {problem}."))
    click.echo(answer(case, found, form), nl=form != "csv")


def _units(folder: Path | None, shared: Path) -> Units:
    return load_units(shared) if folder is None else units_of_the_kitchen(folder, shared)


def _seconds(text: str) -> float:
    seconds = float(read_time(text).seconds)
    if seconds <= 0:
        raise Refused("time-zero", f"`{text}` is no time.", "As in 2 h.")
    return seconds
