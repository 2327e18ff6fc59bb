"""binder: the sheets of stations as one PDF."""

from __future__ import annotations

import datetime
import difflib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import click

from generator.binder.sheets import Record
from generator.cli.common import common, manual_of, refuse, show
from generator.disk import write_together
from generator.finding import Refused
from generator.intake.register import NAME as REGISTER
from generator.manual import Manual
from generator.measures.words import counted


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
@click.option(
    "--changed-since",
    "since",
    default=None,
    metavar="REV|DATE|register",
    help="Only the sheets to replace since a git revision, a day, or what the print register says was printed.",
)
@click.option(
    "--record", is_flag=True, help="Write what is printed into standards/print-register.yaml."
)
def binder(
    stations: tuple[str, ...], project: Path | None, as_of: datetime.date | None, out: Path,
    paper: Literal["a4", "letter"], since: str | None, record: bool,
) -> None:  # fmt: skip
    """The binder of each STATION, or of all, as one PDF: cover, sheets, batch records, sign-off."""
    from generator.binder.documents import site_url
    from generator.binder.drawing import render

    manual = manual_of(project, as_of)
    if manual.errors:
        show(manual.errors)
        click.echo("kitchen-manual: nothing printed.", err=True)
        raise SystemExit(1)
    site = site_url(manual.project)
    try:
        printing = (
            _whole(manual, stations, site)
            if since is None
            else _changed(manual, stations, since, site)
        )
    except Refused as refused:
        refuse(refused)
    for line in printing.told:
        click.echo(line)
    for line in printing.doubts:
        click.echo(f"kitchen-manual: {line}", err=True)
    if not printing.sheets:
        click.echo("Nothing to print.")
        return
    try:
        drawn = render({"title": printing.title, "sheets": printing.sheets}, paper)
    except Refused as refused:
        click.echo(f"kitchen-manual: nothing printed: {refused.message} {refused.help}", err=True)
        raise SystemExit(1) from None
    try:
        write_together({out.absolute(): drawn})
        if record:
            _record(manual, printing)
    except Refused as refused:
        refuse(refused)
    if not site:
        click.echo("kitchen-manual: no QR codes: mkdocs.yml has no site_url.", err=True)
    elif long := [s["control"]["id"] for s in printing.sheets if s["qr"] is None]:
        told = "; ".join(long[:3]) + (" …" if len(long) > 3 else "")
        click.echo(f"kitchen-manual: no QR code, its address is too long: {told}.", err=True)
    click.echo(f"{counted(len(printing.sheets), 'sheet')} in {out}".replace("\u00a0", " "))


@dataclass(frozen=True)
class Printing:
    """What is printed: its sheets in order, what to tell, and all sheets of each binder after it."""

    title: str
    sheets: list[Record]
    binders: dict[str, Sequence[Record]]
    told: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()


def _whole(manual: Manual, stations: tuple[str, ...], site: str) -> Printing:
    """Whole binders, one after the other."""
    from generator.binder.documents import station_binder, title_of
    from generator.binder.numbering import taken_of

    assert manual.standards is not None
    asked = asked_stations(manual, stations)
    taken = taken_of(manual.standards.register)
    binders: dict[str, Sequence[Record]] = {
        s: station_binder(manual, s, taken, site) for s in asked
    }
    return Printing(
        title_of(manual, asked, "station binder"), [s for b in binders.values() for s in b], binders
    )


def _changed(manual: Manual, stations: tuple[str, ...], since: str, site: str) -> Printing:
    """Only what changed, each binder behind its change sheet."""
    from generator.binder.change_sheet import plan_words
    from generator.binder.changed import changed_sheets, changed_since
    from generator.binder.documents import title_of

    asked_stations(manual, stations)  # refuses one that isn't there
    found = changed_since(manual, stations, since, site)
    moved = [one for one in found.binders if one.plan.moves]
    assert manual.house is not None
    names = manual.house.stations
    return Printing(
        title_of(manual, [one.station for one in moved], "sheets to replace"),
        [sheet for one in moved for sheet in changed_sheets(manual, one, site)],
        {one.station: one.sheets for one in moved},
        tuple(f"{names[one.station].name}: {plan_words(one.plan)}." for one in found.binders),
        found.doubts,
    )


def _record(manual: Manual, printing: Printing) -> None:
    """The print register with this printing in it."""
    from generator.binder.recording import as_yaml, recorded
    from generator.history import committed

    assert manual.standards is not None
    register = manual.standards.register
    printed = {s["key"] for s in printing.sheets}
    commit = committed(manual.project)
    for station, sheets in printing.binders.items():
        register = recorded(register, station, sheets, printed, manual.as_of, commit)
    if register is not None:
        path = manual.project / "standards" / REGISTER
        write_together({path: as_yaml(register).encode()})
        click.echo(f"Recorded in standards/{REGISTER}: commit it.")
        if not commit:
            click.echo(
                "kitchen-manual: these standards aren't committed as they are: a later change sheet "
                "can say which sheets to replace, but not old → new.",
                err=True,
            )


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
    found = [s for s in order if (s in stations if stations else s in making)]
    if not found:
        raise Refused(
            "nothing-to-print", "No station makes anything yet.", "Write a formula first."
        )
    return found
