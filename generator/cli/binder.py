"""binder: the sheets of stations as one PDF."""

from __future__ import annotations

import datetime
import difflib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

import click

from generator.binder.sheets import Record
from generator.changes.history import committed
from generator.cli.common import common, find_project, manual_of, refuse, report, show, status_of
from generator.files.disk import write_together
from generator.files.finding import Refused
from generator.intake.register import NAME as REGISTER
from generator.measures.words import counted
from generator.sheet.manual import Broken, Manual

Paper = Literal["a4", "letter"]


@click.command()
@click.argument("stations", nargs=-1, metavar="[STATION …]")
@common
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    default=None,
    help="The PDF to write.",
)
@click.option(
    "--paper",
    type=click.Choice(["a4", "letter"]),
    default="a4",
    show_default=True,
    help="The paper it is printed on: A4 or US Letter.",
)
@click.option(
    "--changed-since",
    "since",
    default=None,
    metavar="REV|DATE|register",
    help="Only the sheets to replace since a git revision, a day, or what the print register "
    "says was printed.",
)
@click.option(
    "--register",
    "record",
    is_flag=True,
    help="Write what is printed into standards/print-register.yaml.",
)
@click.option(
    "--merge-register",
    "other",
    is_flag=False,
    flag_value="",
    default=None,
    metavar="[FILE]",
    help="Print nothing. Join two branches' print registers: a merge conflict's two sides, or the "
    "register and FILE.",
)
def binder(
    stations: tuple[str, ...],
    project: Path | None,
    as_of: datetime.date | None,
    out: Path | None,
    paper: Paper,
    since: str | None,
    record: bool,
    other: str | None,
) -> None:
    """Print the binder of each STATION, or of all, as one PDF: cover, sheets, batch records,
    sign-off."""
    try:
        if other is not None:
            _merge(find_project(project), Path(other) if other else None, as_of)
            return
        if out is None:
            raise click.UsageError("Missing option '--out'.")
        _put_right(find_project(project))
        manual = _sound(manual_of(project, as_of))
        if record:
            _print_held(manual, stations, since, out, paper)
        else:
            _print(manual, stations, since, out, paper)
    except Refused as refused:
        refuse(refused)


def _sound(found: Manual | Broken) -> Manual:
    if found.errors or isinstance(found, Broken):
        show(found.errors)
        click.echo("kitchen-manual: nothing printed.", err=True)
        raise SystemExit(status_of(found.errors))
    return found


def _put_right(project: Path) -> None:
    from generator.intake.register_file import put_right

    put_right(project, report)


def _merge(project: Path, other: Path | None, as_of: datetime.date | None) -> None:
    """The registers of two branches joined, and what to do about it."""
    from generator.binder.merging import joined
    from generator.binder.recording import as_yaml
    from generator.intake.register_file import held, registers_to_join

    with held(project, report) as path:
        ours, theirs, text = registers_to_join(path, other)
        found = joined(ours, theirs, as_of or datetime.date.today())
        write_together({path: as_yaml(found.register, text).encode()})
    for line in found.reported:
        click.echo(line)
    printed = sum(len(b.sheets) for b in found.register.binders.values())
    words = f"standards/{REGISTER} joined: {counted(printed, 'number')}. Commit it."
    click.echo(words.replace("\u00a0", " "))


def _print_held(
    manual: Manual, stations: tuple[str, ...], since: str | None, out: Path, paper: Paper
) -> None:
    """Print and record: the register is held, and its numbers are those it holds then."""
    from generator.intake.register_file import held, register_now

    with held(manual.project, report) as path:
        standards = replace(manual.standards, register=register_now(manual.project))
        _print(replace(manual, standards=standards), stations, since, out, paper, path)


def _print(
    manual: Manual,
    stations: tuple[str, ...],
    since: str | None,
    out: Path,
    paper: Paper,
    register: Path | None = None,
) -> None:
    """Print, and with a ``register`` record: its file and the PDF are there together or neither
    is."""
    from generator.binder.documents import site_url
    from generator.binder.drawing import render
    from generator.intake.register_file import journal_of

    site = site_url(manual.project)
    if since is None:
        printing = _whole(manual, stations, site)
    else:
        printing = _changed(manual, stations, since, site)
    for line in printing.reported:
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
    if register is None:
        write_together({out.absolute(): drawn})
    else:
        files = {register: _recorded(manual, printing, register), out.absolute(): drawn}
        write_together(files, journal=journal_of(register))
        _report_recorded(manual)
    _report_codes(printing, site)
    click.echo(f"{counted(len(printing.sheets), 'sheet')} in {out}".replace("\u00a0", " "))


def _report_recorded(manual: Manual) -> None:
    """That the register is written, and what a later change sheet won't know."""
    click.echo(f"Recorded in standards/{REGISTER}: commit it.")
    if not committed(manual.project):
        click.echo(
            "kitchen-manual: these standards have changes that aren't committed. A later change "
            "sheet can name the sheets to replace, but not old → new.",
            err=True,
        )


def _report_codes(printing: Printing, site: str) -> None:
    """Which sheets have no QR code, and why."""
    long = [s["control"]["id"] for s in printing.sheets if s["qr"] is None]
    if not site:
        click.echo("kitchen-manual: no QR codes: mkdocs.yml has no site_url.", err=True)
    elif long:
        reported = "; ".join(long[:3]) + (" …" if len(long) > 3 else "")
        click.echo(f"kitchen-manual: no QR code, its address is too long: {reported}.", err=True)


@dataclass(frozen=True)
class Printing:
    """What is printed: its sheets in order, what to say, and all sheets of each binder after
    it."""

    title: str
    sheets: list[Record]
    binders: dict[str, Sequence[Record]]
    reported: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()


def _whole(manual: Manual, stations: tuple[str, ...], site: str) -> Printing:
    """Whole binders, one after the other."""
    from generator.binder.documents import station_binder, title_of
    from generator.binder.numbering import taken_of

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
    names = manual.house.stations
    return Printing(
        title_of(manual, [one.station for one in moved], "sheets to replace"),
        [sheet for one in moved for sheet in changed_sheets(manual, one, site)],
        {one.station: one.sheets for one in moved},
        tuple(f"{names[one.station].name}: {plan_words(one.plan)}." for one in found.binders),
        found.doubts,
    )


def _recorded(manual: Manual, printing: Printing, path: Path) -> bytes:
    """The print register with this printing in it, as the bytes of its file ``path``."""
    from generator.binder.recording import as_yaml, recorded
    from generator.intake.register_file import text_of

    register = manual.standards.register
    printed = {s["key"] for s in printing.sheets}
    commit = committed(manual.project)
    for station, sheets in printing.binders.items():
        register = recorded(register, station, sheets, printed, manual.as_of, commit)
    assert register is not None, "what is printed belongs to a binder"
    return as_yaml(register, text_of(path)).encode()


def asked_stations(manual: Manual, stations: tuple[str, ...]) -> list[str]:
    """The stations asked for, in the kitchen's order; all that make something, if none is named.

    Raises Refused for a station that isn't there.
    """
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
    making = {s for sheet in manual.sheets.values() for s in sheet.formula.formula.station}
    found = [s for s in order if (s in stations if stations else s in making)]
    if not found:
        raise Refused(
            "nothing-to-print", "No station makes anything yet.", "Write a formula first."
        )
    return found
