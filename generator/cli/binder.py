"""binder: the sheets of stations as one PDF."""

from __future__ import annotations

import datetime
import difflib
from pathlib import Path
from typing import Literal

import click

from generator.cli.common import common, manual_of, refuse, show
from generator.finding import Refused
from generator.manual import Manual
from generator.replacing import file_swapped_in


@click.command()
@click.argument("stations", nargs=-1, metavar="[STATION …]")
@common
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    required=True,
    help="The PDF to write.",
)
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True,
    help="The paper it is printed on: A4 or US Letter.",
)  # fmt: skip
def binder(
    stations: tuple[str, ...], project: Path | None, as_of: datetime.date | None, out: Path,
    paper: Literal["a4", "letter"],
) -> None:  # fmt: skip
    """The binder of each STATION, or of all, as one PDF: cover, sheets, batch records, sign-off."""
    from generator.binder.documents import binder_document, site_url
    from generator.binder.drawing import render
    from generator.binder.register import numbers_of

    manual = manual_of(project, as_of)
    if manual.errors:
        show(manual.errors)
        click.echo("kitchen-manual: nothing printed.", err=True)
        raise SystemExit(1)
    try:
        asked = asked_stations(manual, stations)
        site = site_url(manual.project)
        document = binder_document(manual, asked, numbers_of(manual.project), site)
    except Refused as refused:
        refuse(refused)
    try:
        drawn = render(document, paper)
    except Refused as refused:
        click.echo(f"kitchen-manual: nothing printed: {refused.message} {refused.help}", err=True)
        raise SystemExit(1) from None
    try:
        file_swapped_in(out.absolute(), drawn)
    except Refused as refused:
        refuse(refused)
    if not site:
        click.echo("kitchen-manual: no QR codes: mkdocs.yml has no site_url.", err=True)
    elif long := [s["control"]["id"] for s in document["sheets"] if s["qr"] is None]:
        told = "; ".join(long[:3]) + (" …" if len(long) > 3 else "")
        click.echo(f"kitchen-manual: no QR code, its address is too long: {told}.", err=True)
    click.echo(f"{len(document['sheets'])} sheets in {out}")


def asked_stations(manual: Manual, stations: tuple[str, ...]) -> list[str]:
    """The stations asked for, in the kitchen's order; all that make something, if none is named.

    Raises Refused for a station that isn't there.
    """
    assert manual.house is not None
    known = manual.house.stations
    for name in stations:
        if name not in known:
            near = difflib.get_close_matches(name, known, n=1)
            hint = f"Did you mean {near[0]}?" if near else f"Known: {', '.join(known)}."
            raise Refused("station-unknown", f"There is no station {name}.", hint)
    order = [
        *manual.house.kitchen.stations,
        *(s for s in known if s not in manual.house.kitchen.stations),
    ]
    making = {sheet.formula.formula.station for sheet in manual.sheets.values()}
    return [s for s in order if (s in stations if stations else s in making)]
