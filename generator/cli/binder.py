"""binder: the sheets of stations as one PDF."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal

import click

from generator.binder.control import MOVED, made_with, refused_for, under_control
from generator.binder.sheets import Record
from generator.changes.history import committed
from generator.changes.revisions import UNRAISED
from generator.cli.asked import Asked, asked_stations
from generator.cli.common import (
    common,
    find_project,
    manual_of,
    refuse,
    report,
    show,
    status_of,
)
from generator.cli.labels import Day, refuse_all
from generator.cli.options import of_the_kitchen, size_options
from generator.cli.requested import NoDate, Request, requested_sheets
from generator.files.disk import write_together
from generator.files.finding import Refused
from generator.intake.register import NAME as REGISTER
from generator.measures.words import breakable, counted
from generator.records.kitchen import today_at
from generator.reference.shared_data import folder_for
from generator.sheet.manual import Broken, Manual

Paper = Literal["a4", "letter"]


@click.command()
@of_the_kitchen(
    "names", "stations", "formulas", "plans", nargs=-1, metavar="[STATION … | FORMULA … | PLAN]"
)
@common
@size_options
@click.option(
    "--made", type=Day(), metavar="DATE", help="Of a FORMULA: the sheet of the batch made that day."
)
@click.option("--batch-no", "number", default=None, metavar="TEXT", help="The batch's number.")
@click.option(
    "--start",
    default=None,
    metavar="HH:MM",
    help="When its cooling clock is planned to start: the deadlines are worked out.",
)
@click.option(
    "--parts-dated",
    "parts",
    multiple=True,
    metavar="ITEM=DATE[,FROZEN,THAWED]",
    help="A part's own day 1, as of `labels`. Once for each part.",
)
@click.option("--opened", type=Day(), metavar="DATE", help="The earliest day a part was opened.")
@click.option(
    "--copies", type=click.IntRange(1, 50), default=1, show_default=True, help="How many of each."
)
@click.option(
    "--sheet",
    "numbers",
    type=click.IntRange(1),
    multiple=True,
    metavar="N",
    help="Only this sheet of a station's binder, by its number. Repeat it for more.",
)
@click.option(
    "--with",
    "more",
    type=click.Choice(["processes", "conversions", "equipment"]),
    multiple=True,
    help="Print these sheets too.",
)
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
    "--duplex",
    is_flag=True,
    help="For both sides of the paper: mirrored margins, each sheet begins on a front.",
)
@click.option(
    "--folded",
    is_flag=True,
    help="Of a FORMULA: on paper twice as wide, A3 or tabloid, to fold: weigh left, cook right.",
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
    names: tuple[str, ...],
    project: Path | None,
    as_of: datetime.date | None,
    out: Path | None,
    paper: Paper,
    duplex: bool,
    folded: bool,
    since: str | None,
    record: bool,
    other: str | None,
    made: datetime.date | None,
    number: str | None,
    start: str | None,
    parts: tuple[str, ...],
    opened: datetime.date | None,
    copies: int,
    numbers: tuple[int, ...],
    more: tuple[str, ...],
    **sizes: Any,
) -> None:
    """Print the binder of each STATION, or of all, as one PDF; or the batch sheet of a FORMULA, at
    any size, dated or not; or the prep sheets and the shopping list of a PLAN."""
    try:
        if other is not None:
            _merge(find_project(project), Path(other) if other else None, as_of)
            return
        if out is None:
            raise click.UsageError("Missing option '--out'.")
        _put_right(find_project(project))
        manual = _sound(manual_of(project, as_of))
        request = Request(sizes, made, number, start, parts, opened, copies, numbers, folded)
        asked = Asked(names, since, more, request)
        asked.check(manual, record)
        if record:
            _print_held(manual, asked, out, Form(paper, duplex))
        else:
            _print(_controlled(manual), asked, out, Form(paper, duplex))
    except NoDate as unknown:
        refuse_all(unknown.reasons)
    except Refused as refused:
        refuse(refused)


@dataclass(frozen=True)
class Form:
    """What it is printed on: the paper, and whether on both sides."""

    paper: Paper
    duplex: bool


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
    from generator.intake.standards import read_standards

    kitchen = read_standards(project, folder_for(project)).kitchen
    with held(project, report) as path:
        ours, theirs, text = registers_to_join(path, other)
        found = joined(ours, theirs, as_of or today_at(kitchen))
        write_together({path: as_yaml(found.register, text).encode()})
    for line in found.reported:
        click.echo(line)
    printed = sum(len(b.sheets) for b in found.register.binders.values())
    words = f"standards/{REGISTER} joined: {counted(printed, 'number')}. Commit it."
    click.echo(breakable(words))


def _print_held(manual: Manual, asked: Asked, out: Path, form: Form) -> None:
    """Print and record: the register is held, and its numbers are those it holds then."""
    from generator.intake.register_file import held, register_now

    with held(manual.project, report) as path:
        standards = replace(manual.standards, register=register_now(manual.project))
        checked = _controlled(replace(manual, standards=standards))
        if (reason := refused_for(checked)) is not None:
            raise reason
        _print(checked, asked, out, form, path)


def _controlled(manual: Manual) -> Manual:
    """The manual whose sheets are drafts where their figures changed under their revision."""
    found = under_control(manual)
    assert isinstance(found, Manual)
    return found


def _print(
    manual: Manual,
    asked: Asked,
    out: Path,
    form: Form,
    register: Path | None = None,
) -> None:
    """Print, and with a ``register`` record: its file and the PDF are there together or neither
    is."""
    from generator.binder.documents import site_url
    from generator.binder.drawing import render
    from generator.intake.register_file import journal_of

    site = site_url(manual.project)
    printing = _asked_for(manual, asked, site)
    for line in printing.reported:
        click.echo(line)
    show(tuple(f for f in manual.findings if f.code in (UNRAISED, MOVED)))
    for line in printing.doubts:
        click.echo(f"kitchen-manual: {line}", err=True)
    if not printing.sheets:
        click.echo("Nothing to print.")
        return
    try:
        sheets = _issued(manual, printing) if register is not None else printing.sheets
        document: Record = {"title": printing.title, "sheets": sheets}
        if asked.request.folded:
            document["folded"] = True
        drawn = render(document, form.paper, duplex=form.duplex)
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
    click.echo(breakable(f"{counted(len(printing.sheets), 'sheet')} in {out}"))


def _asked_for(manual: Manual, asked: Asked, site: str) -> Printing:
    """What is asked for: batch sheets, a plan, whole binders, or what changed in them."""
    if asked.formulas(manual):
        return _of_formulas(manual, asked, site)
    if plan := asked.plan(manual):
        return _of_a_plan(manual, plan, asked, site)
    if asked.since is None:
        return _whole(manual, asked, site)
    return _changed(manual, asked.names, asked.since, site)


def _issued(manual: Manual, printing: Printing) -> list[Record]:
    """The sheets, each cover with the number of the issue it begins."""
    register = manual.standards.register
    known = register.binders if register is not None else {}
    found: list[Record] = []
    for sheet in printing.sheets:
        if sheet["kind"] == "cover":
            station = sheet["key"].partition("/")[0]
            last = known[station].issue if station in known else 0
            sheet = {**sheet, "cover": {**sheet["cover"], "issue": f"Issue {last + 1}"}}
        found.append(sheet)
    return found


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


def _of_formulas(manual: Manual, asked: Asked, site: str) -> Printing:
    """Batch sheets alone."""
    formulas = asked.formulas(manual)
    sheets = requested_sheets(manual, formulas, asked.request, site)
    names = ", ".join(manual.sheets[ident].name for ident in formulas)
    title = f"{manual.house.kitchen.name}: {names}, batch sheets"
    return Printing(title, sheets * asked.request.copies, {})


def _of_a_plan(manual: Manual, plan: str, asked: Asked, site: str) -> Printing:
    """The sheets of a plan. What can't be done of it is said, too."""
    from generator.binder.plan_sheets import plan_sheets

    found = manual.orders[plan]
    doubts = tuple(breakable(f"{one.words} {one.help}") for one in found.problems)
    title = f"{manual.house.kitchen.name}: {found.plan.plan.name}, plan"
    sheets = plan_sheets(manual, plan, site)
    return Printing(title, sheets * asked.request.copies, {}, doubts=doubts)


def _numbered(sheets: Sequence[Record], numbers: tuple[int, ...]) -> list[Record]:
    """The sheets of these numbers. Raises Refused for one that isn't in the binder."""
    known = {s["number"]: s for s in sheets if s["number"]}
    missing = [str(n) for n in numbers if str(n) not in known]
    if missing:
        raise Refused(
            "sheet-unknown",
            f"There is no sheet {', '.join(missing)} in this binder.",
            "Its cover lists the numbers.",
        )
    return [known[str(n)] for n in dict.fromkeys(numbers)]


def _whole(manual: Manual, wanted: Asked, site: str) -> Printing:
    """Whole binders, one after the other; or only the sheets of these numbers."""
    from generator.binder.documents import held_of, station_binder, title_of
    from generator.binder.numbering import taken_of

    asked = asked_stations(manual, wanted.names)
    taken = taken_of(manual.standards.register)
    binders: dict[str, Sequence[Record]] = {}
    for station in asked:
        more = {*wanted.more, *held_of(taken, station)}
        binders[station] = station_binder(manual, station, taken, site, more)
    sheets = [s for b in binders.values() for s in b]
    numbers = wanted.request.numbers
    if numbers:
        sheets = _numbered(sheets, numbers)
    return Printing(
        title_of(manual, asked, "station binder"), sheets * wanted.request.copies, binders
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
    from generator.binder.recording import Source, as_yaml, recorded
    from generator.intake.register_file import text_of

    register = manual.standards.register
    printed = {s["key"] for s in printing.sheets}
    source = Source(committed(manual.project), made_with(manual))
    for station, sheets in printing.binders.items():
        register = recorded(register, station, sheets, printed, manual.as_of, source)
    assert register is not None, "what is printed belongs to a binder"
    return as_yaml(register, text_of(path)).encode()
