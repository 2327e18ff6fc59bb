"""labels: date marks and pack labels of one batch, on sheets of labels."""

from __future__ import annotations

import datetime
import re
from pathlib import Path
from typing import NoReturn

import click
from pydantic import ValidationError

from generator.changes.clock import dated, refused_for
from generator.cli.common import common, computed, manual_of, refuse, sheet_of, show
from generator.cli.options import of_the_kitchen
from generator.files.disk import write_together
from generator.files.finding import Place, Refused
from generator.intake.faults import findings_of
from generator.measures.dates import read_date
from generator.measures.marks import as_written
from generator.measures.units import Units
from generator.measures.words import breakable, counted, date
from generator.records.kitchen import LabelSheet
from generator.sheet.labelling import Asked, DateMark, Frozen, NoDate, PartDay, date_mark
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet

_LOT = re.compile(r"[A-Za-z0-9][A-Za-z0-9./-]{0,19}")


class Day(click.ParamType[datetime.date]):
    """A day, with the days a text in another form may mean."""

    name = "date"

    def convert(self, value: object, param: object, ctx: object) -> datetime.date:
        if isinstance(value, datetime.date):
            return value
        try:
            return read_date(str(value))
        except Refused as refused:
            refuse(refused)


_PLAIN = {
    "a4": "across=3 down=7 width=63mm height=39mm left=10.5mm top=12mm",
    "letter": "paper=letter across=3 down=6 width=63mm height=39mm left=13.45mm top=22.7mm",
}
"""Labels on plain paper where the kitchen names none: inside what printers reach on either
paper."""


@click.command()
@of_the_kitchen("formula", "formulas")
@common
@click.option(
    "--made", type=Day(), required=True, metavar="DATE", help="The day it was first ready to eat."
)
@click.option(
    "--parts-dated",
    "parts",
    multiple=True,
    metavar="ITEM=DATE[,FROZEN,THAWED]",
    help="A part's own day 1, and its days in the freezer if it was there. Once for each part.",
)
@click.option(
    "--opened", type=Day(), metavar="DATE", help="The earliest day a bought part was opened."
)
@click.option("--frozen", type=Day(), metavar="DATE", help="The day it went into the freezer.")
@click.option("--thawed", type=Day(), metavar="DATE", help="The day it came out of the freezer.")
@click.option(
    "--moved",
    type=Day(),
    metavar="DATE",
    help="The day it was taken out of the colder of the two places it is kept at.",
)
@click.option(
    "--still-colder",
    is_flag=True,
    help="It is still in the colder of its two places: both dates, the second to be written.",
)
@click.option(
    "--maker-use-by",
    type=Day(),
    metavar="DATE",
    help="The earliest sell-by or use-by a maker put on a part.",
)
@click.option(
    "--no-maker-date",
    is_flag=True,
    help="No part has a maker's date. A plant's food packed without air is asked for one.",
)
@click.option(
    "--packs", type=click.IntRange(1, 500), default=1, show_default=True, help="How many packs."
)
@click.option("--lot", default=None, help="The lot. Default: the day it was made, as 261103-1.")
@click.option(
    "--geometry",
    default=None,
    metavar="'KEY=VALUE …'",
    help="The sheet of labels, by the keys of `labels` in kitchen.yaml, in place of those there.",
)
@click.option(
    "--start", type=int, default=1, show_default=True, help="The first free label of a used sheet."
)
@click.option(
    "--statement",
    is_flag=True,
    help="With the ingredients and the shared equipment. It takes a larger label.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    required=True,
    help="The PDF to write.",
)
def labels(
    formula: str,
    project: Path | None,
    as_of: datetime.date | None,
    made: datetime.date,
    parts: tuple[str, ...],
    opened: datetime.date | None,
    frozen: datetime.date | None,
    thawed: datetime.date | None,
    moved: datetime.date | None,
    still_colder: bool,
    maker_use_by: datetime.date | None,
    no_maker_date: bool,
    packs: int,
    lot: str | None,
    geometry: str | None,
    start: int,
    statement: bool,
    out: Path,
) -> None:
    """Print date labels of a batch of FORMULA. Refused while the day of a part is unknown."""
    from generator.binder.documents import site_url
    from generator.binder.drawing import render
    from generator.binder.labels import label_document

    manual = computed(manual_of(project, as_of), formula)
    sheet = sheet_of(manual, formula)
    if (doubt := refused_for(dated(manual))) is not None:
        refuse(Refused(doubt.code, f"No label: {doubt.message}", doubt.help))
    try:
        stay = _stay(frozen, thawed)
        asked = Asked(
            made,
            part_days(parts),
            opened,
            stay,
            maker_use_by,
            moved,
            no_maker_date,
            still_colder,
        )
        lot = _lot(lot, made)
        in_force = {i: w.formula.formula.effective for i, w in manual.walks.items()}
        mark = date_mark(sheet, asked, manual.as_of, in_force)
        on = _sheet_of_labels(manual, geometry)
        site = site_url(manual.project)
        document = label_document(manual, sheet, mark, lot, packs, on, start, site, statement)
        write_together({out.absolute(): render(document, on.paper, "labels.typ")})
    except NoDate as unknown:
        refuse_all(unknown.reasons)
    except OverflowError:
        refuse(Refused("label-date-future", "That day is too far away.", "Check the days."))
    except Refused as refused:
        refuse(refused)
    if document["label"]["qr"] is None:
        why = "its address is too long" if site else "mkdocs.yml has no site_url"
        click.echo(f"kitchen-manual: no QR code: {why}.", err=True)
    reported = _reported(sheet, mark)
    if sheet.walk.dates is not None and sheet.walk.dates.before_hold:
        reported += "; it is of the stock, before it is held by time"
    if mark.governed_by:
        reported += f", by {mark.governed_by} of {date(mark.day_one)}"
    words = f"{sheet.name}: {reported}. {counted(packs, 'label')} and a record copy in {out}"
    click.echo(breakable(words))


def _reported(sheet: Sheet, mark: DateMark) -> str:
    """What a label says of days, in a line."""
    from generator.binder.labels import day_words

    if mark.use_by is not None:
        last = f"{day_words(mark.use_by)} {mark.use_by.year}"
        if mark.then_days is None:
            return f"use by {last}"
        then = counted(mark.then_days, "day")
        return f"in the colder place until {last}; {then} once it is taken out"
    if sheet.formula.formula.eaten_frozen and mark.thaw_by is not None:
        return f"eaten frozen, by {day_words(mark.thaw_by)} {mark.thaw_by.year}"
    return f"frozen; {counted(mark.left, 'day')} from thawing"


def _stay(frozen: datetime.date | None, thawed: datetime.date | None) -> Frozen | None:
    if frozen is None:
        if thawed is not None:
            raise Refused(
                "label-frozen-missing",
                "Thawed, but on which day was it frozen?",
                "",
                ["--frozen YYYY-MM-DD"],
            )
        return None
    return Frozen(frozen, thawed)


def part_days(typed: tuple[str, ...]) -> dict[str, PartDay]:
    """The parts' days by item. Raises Refused for anything but ITEM=DATE or its three days."""
    found: dict[str, PartDay] = {}
    for text in typed:
        item, sign, days = text.partition("=")
        item = item.strip()
        dates = [read_date(d) for d in days.split(",")] if sign and days.strip() else []
        if len(dates) not in (1, 3):
            raise Refused(
                "label-part-form",
                f"`{text[:60]}`: write a part and its day, or its three days.",
                "The day it was made or opened; if it was frozen, that day and the day of "
                "thawing as well.",
                [
                    f"--parts-dated {item or 'ITEM'}=2026-11-03",
                    f"--parts-dated {item or 'ITEM'}=2026-11-03,2026-11-04,2026-11-20",
                ],
            )
        if item in found:
            raise Refused(
                "label-part-form", f"{item} is dated twice.", "Keep the earliest of the days."
            )
        found[item] = PartDay(dates[0], Frozen(dates[1], dates[2]) if len(dates) == 3 else None)
    return found


def _lot(typed: str | None, made: datetime.date) -> str:
    if typed is None:
        return f"{made:%y%m%d}-1"
    if not _LOT.fullmatch(typed):
        raise Refused(
            "label-lot",
            f"`{typed[:60]}` can't be a lot on a label.",
            "At most 20 letters, digits, dots, hyphens and slashes, as in 261103-1.",
        )
    return typed


def _sheet_of_labels(manual: Manual, typed: str | None) -> LabelSheet:
    """The sheet of labels of the option, else of kitchen.yaml, else one to cut from plain paper.

    Raises Refused, or stops with 2.
    """
    if typed is not None:
        return _measured(manual.house.units, typed)
    if manual.house.kitchen.labels is not None:
        return manual.house.kitchen.labels
    click.echo(
        "kitchen-manual: laid out on plain paper, to be cut. For a sheet of labels, measure it. "
        "Write it under `labels` in kitchen.yaml, or after --geometry.",
        err=True,
    )
    paper = "letter" if manual.house.units.set_name == "us" else "a4"
    return _measured(manual.house.units, as_written(_PLAIN[paper]))


def _measured(units: Units, typed: str) -> LabelSheet:
    """A sheet of labels by its measures, as KEY=VALUE. Raises Refused, or stops with 2."""
    pairs = [pair.partition("=") for pair in re.findall(r"\S+", typed)]
    if not all(sign for _, sign, _ in pairs):
        raise Refused(
            "labels-form",
            f"`{typed[:80]}`: write KEY=VALUE, one after the other.",
            "",
            [f"--geometry '{as_written(_PLAIN['a4'])}'"],
        )
    tree = {key: value for key, _, value in pairs}
    place = Place("--geometry")
    try:
        found = LabelSheet.model_validate(tree, context={"units": units})
    except ValidationError as error:
        show(tuple(findings_of(error, LabelSheet, tree, place, "print-labels", {"units": units})))
        raise SystemExit(2) from None
    faults = found.faults()
    if faults:
        raise Refused(
            "labels-off-paper",
            " ".join(w for _, w in faults),
            "Measure a sheet: labels, margins, gaps, all in mm.",
        )
    return found


def refuse_all(reasons: tuple[Refused, ...]) -> NoReturn:
    """Every reason, each with its fix; exit status 2."""
    for reason in reasons[:-1]:
        words = [reason.message, reason.help, *(f"Write: {w}" for w in reason.write)]
        click.echo("kitchen-manual: " + breakable("\n  ".join(w for w in words if w)), err=True)
    refuse(reasons[-1])
