"""review: logged readings against a formula's critical limit."""

from __future__ import annotations

import datetime
import hashlib
import zoneinfo
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import NoReturn

import click

from generator.answers.after_a_miss import action_for
from generator.answers.around import around, probes_off
from generator.answers.review import Review, review_record, review_text
from generator.cli.common import common, computed, form_option, manual_of, print_json, refuse, show
from generator.cli.subject import subject_of
from generator.files.disk import write_together
from generator.files.finding import BrokenData, Refused
from generator.intake.batch_file import is_batch_file, read_batch_file
from generator.measures.words import breakable, with_verb
from generator.pages.readings_plot import readings_plot
from generator.records.batch import BatchReading, BatchRecord
from generator.review.log_days import Days, judged_by_day
from generator.review.near import within_error
from generator.review.readings import ReadingLog, food_temperature, log_of, read_log
from generator.review.stamps import ORDERS, Order
from generator.review.verdicts import Around, judge, provable
from generator.rules.basics.limit import CoolingLimit, Limit, Probed, held_against
from generator.rules.store.shelf import Shelf
from generator.sheet.sheet import Sheet


@click.command()
@click.argument("readings", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--formula",
    default=None,
    help="The formula that was made, or the ingredient. A batch's record names it itself.",
)
@click.option(
    "--step",
    default=None,
    help="The step, or its number; `store` for the finished food, `finished` where a step is named "
    "store. Of an ingredient: receive, put-away, store.",
)
@click.option(
    "--dates",
    type=click.Choice(ORDERS),
    default=None,
    help="What comes first in a date such as 05/11/2026.",
)
@click.option("--plot", type=click.Path(path_type=Path), default=None, help="Draw it as SVG.")
@click.option(
    "--out", "record", type=click.Path(path_type=Path), default=None, help="Write a record."
)
@common
@form_option("text", "json")
def review(
    readings: Path,
    formula: str | None,
    step: str | None,
    dates: Order | None,
    plot: Path | None,
    record: Path | None,
    project: Path | None,
    as_of: datetime.date | None,
    form: str,
) -> None:
    """Judge a log of READINGS (time, probe, temp_c or temp_f; CSV or .xlsx), or the readings of a
    batch's record (JSON), by the limit of a step."""
    batch = _batch(readings) if is_batch_file(readings) else None
    formula = _formula(formula, batch)
    manual = computed(manual_of(project, as_of), formula)
    subject = subject_of(manual, formula)
    house = manual.house
    try:
        limit = _limit_of(batch, subject, step)
        _both_free(plot, record)
    except Refused as refused:
        refuse(refused)
    zone = zoneinfo.ZoneInfo(house.kitchen.time_zone)
    log = (
        _log(readings, zone, dates, (formula, subject.name))
        if batch is None
        else _log_of(readings.name, batch, subject, limit, zone)
    )
    beside = around(house, subject, limit)
    stated = house.library.hazards[limit.hazard].longest_gap
    gap = _longest_gap(stated.seconds if stated else None, limit, beside)
    days = _days(subject, manual.as_of)
    judged = judged_by_day(judge(log, limit, gap, beside), log, days)
    digest = hashlib.sha256(readings.read_bytes()).hexdigest()
    action = breakable(action_for(house, subject, judged, log))
    law = limit.law
    by_code = None
    if isinstance(law, Probed):
        by_code = judged_by_day(judge(log, law, gap, beside), log, days)
    revision = subject.formula.formula.revision if isinstance(subject, Sheet) else None
    near = within_error(log, judged, beside, probes_off(house, manual.standards.equipment, log))
    found = Review(
        formula, subject.name, revision, log, judged, action, digest, manual.as_of, by_code, near
    )
    files: dict[Path, bytes] = {}
    if plot is not None:
        title = f"{subject.name}, {limit.verb}"
        drawn = readings_plot(log, judged, house.kitchen.temperature, title)
        files[plot.absolute()] = f"{drawn}\n".encode()
    if record is not None:
        files[record.absolute()] = f"{review_text(found)}\n".encode()
    try:
        write_together(files, fresh=True)
    except Refused as refused:
        refuse(refused)
    if form == "json":
        print_json(review_record(found))
    else:
        click.echo(review_text(found))


def _longest_gap(stated: Fraction | None, limit: Probed, beside: Around) -> Fraction:
    """The longest pause between two readings of a limit through which the food counts as
    watched, in seconds; ``stated`` is what is said of its hazard."""
    if stated:
        return stated
    if limit.hazard == "parasites" and beside.cold_gap_s:  # looked at as any cold store
        return beside.cold_gap_s
    stages = limit.stages if isinstance(limit, CoolingLimit) else ()
    return max((s.within_s for s in stages), default=Fraction(0))


def _stopped(broken: BrokenData) -> NoReturn:
    """End with the faults of a file of readings."""
    show(broken.findings)
    click.echo("kitchen-manual: no verdict until the readings are fixed.", err=True)
    raise SystemExit(1) from None


def _log(
    readings: Path, zone: zoneinfo.ZoneInfo, dates: Order | None, called: Sequence[str]
) -> ReadingLog:
    try:
        return read_log(readings, zone, dates, called)
    except BrokenData as broken:
        _stopped(broken)


# --- a batch's record


def _batch(path: Path) -> BatchRecord:
    try:
        return read_batch_file(path)
    except BrokenData as broken:
        _stopped(broken)


def _formula(formula: str | None, batch: BatchRecord | None) -> str:
    """The formula that is judged. Refuses where none is named, or another than the record's."""
    if batch is None:
        if formula is None:
            raise click.UsageError("Missing option '--formula'.")
        return formula
    if formula is not None and formula != batch.formula:
        words = f"The record is of `{batch.formula}`, not of `{formula}`."
        refuse(Refused("batch-formula", words, "Leave --formula out: the record names it."))
    return batch.formula


def _counting(batch: BatchRecord, limit: str = "") -> list[BatchReading]:
    """The readings of a limit, or of all, that aren't struck out."""
    return [r for r in batch.readings if r.struck is None and limit in ("", r.limit)]


def _limit_of(batch: BatchRecord | None, subject: Sheet | Shelf, step: str | None) -> Probed:
    """The limit to judge by: that of --step; for a record else the one that has readings. Raises
    Refused."""
    if batch is None or step is not None:
        return _limit(subject, step)
    limits = _limits(subject)
    read = {r.limit for r in _counting(batch)}
    places = [p for p in _places(subject, limits) if p.limit.id in read]
    if len(places) == 1:
        return places[0].limit
    if not places:
        words = "The record has no reading of a limit that readings can prove."
        raise Refused("nothing-to-judge", words)
    names = [f"--step {place.name}" for place in places]
    words = "The record has readings of several limits."
    raise Refused("step-missing", words, "Name one of them.", names)


def _log_of(
    file: str, batch: BatchRecord, subject: Sheet | Shelf, limit: Probed, zone: zoneinfo.ZoneInfo
) -> ReadingLog:
    """The readings of a limit as a log; a record of another revision says so."""
    rows = []
    readings = _counting(batch, limit.id)
    clocks = list(dict.fromkeys(r.clock for r in readings if r.clock))
    for reading in readings:
        probe = reading.probe
        if reading.clock and len(clocks) > 1:  # loads that cool by clocks of their own
            probe = f"{probe} of clock {clocks.index(reading.clock) + 1}"
        temperature = food_temperature(Fraction(reading.value), reading.unit)
        if temperature is None:
            words = f"{reading.value} {reading.unit} is not a temperature of food."
            refuse(Refused("reading-temperature", words, "Strike it out on the phone."))
        rows.append((reading.at, probe, temperature))
    if not rows:
        refuse(Refused("nothing-to-judge", f"The record has no reading of {limit.id}."))
    log = log_of(file, rows, zone)
    revision = subject.formula.formula.revision if isinstance(subject, Sheet) else None
    if revision in (None, batch.revision):
        return log
    note = f"The batch was made by revision {batch.revision}; it is judged by revision {revision}."
    return replace(log, notes=(*log.notes, note))


def _days(subject: Sheet | Shelf, as_of: datetime.date) -> Days:
    if not isinstance(subject, Sheet):
        return Days(as_of)
    formula = subject.formula.formula
    return Days(as_of, formula.revision, formula.effective)


FINISHED = "finished"
"""The finished food's store, where a step has the name `store` itself."""


@dataclass(frozen=True)
class _Place:
    """A limit that readings can prove, and how --step names it."""

    limit: Probed
    name: str


def _limit(subject: Sheet | Shelf, step: str | None) -> Probed:
    """The limit to judge by. Raises Refused when the step has none, or several steps have one.

    A step that has the id `store` itself is meant before the finished food's store.
    """
    limits = _limits(subject)
    places = _places(subject, limits)
    names = list(dict.fromkeys(p.name for p in places))
    if not places:
        raise Refused(
            "nothing-to-judge",
            f"{with_verb(subject.name, 'has')} no limit that readings can prove.",
        )
    if step is None and len(places) > 1:
        raise Refused(
            "step-missing",
            f"{with_verb(subject.name, 'has')} limits at several steps.",
            "Name one of them.",
            [f"--step {name}" for name in names],
        )
    if step is None:
        return places[0].limit
    own = [lm for lm in limits if lm.number and step in (lm.step, str(lm.number))]
    at = _own_places(places, own) if own else _named_so(places, step)
    if not at:
        raise _nothing_at(subject, step, own, names)
    return at[0].limit


def _limits(subject: Sheet | Shelf) -> list[Limit]:
    return held_against(subject.walk.limits if isinstance(subject, Sheet) else subject.limits)


def _own_places(places: Sequence[_Place], own: Sequence[Limit]) -> list[_Place]:
    return [p for p in places if any(p.limit is lm for lm in own)]


def _named_so(places: Sequence[_Place], step: str) -> list[_Place]:
    return [p for p in places if step == p.name or (step == FINISHED and not p.limit.number)]


def _places(subject: Sheet | Shelf, limits: Sequence[Limit]) -> list[_Place]:
    """The limits that readings can prove, freezing against parasites first at its step.

    The air about an ingredient is what a log of it holds; a formula is proved by its core, a steak
    by its surface.
    """
    of_formula = isinstance(subject, Sheet)
    steps = {lm.step for lm in limits if lm.number}
    found = [
        _Place(lm, FINISHED if of_formula and not lm.number and lm.step in steps else lm.step)
        for lm in limits
        if provable(lm) and (lm.measured in ("core", "surface") or not of_formula)
    ]
    return sorted(found, key=lambda p: (p.limit.number or len(steps) + 999, _order(p.limit)))


def _order(limit: Probed) -> bool:
    return limit.hazard != "parasites"


def _nothing_at(
    subject: Sheet | Shelf, step: str, own: Sequence[Limit], names: Sequence[str]
) -> Refused:
    """What is said of a step without a limit that readings can prove; the limits it has are
    named, so that another step's verdict isn't taken for theirs."""
    message = (
        f"{with_verb(subject.name, 'has')} no limit at a step `{step}` that readings can prove."
    )
    help = ""
    if own:
        message += f" Its own limit ({own[0].hazard.replace('_', ' ')}) they can't "
        message += "show."
        help = "Another step's log doesn't judge it."
    return Refused("step-unknown", message, help, [f"--step {name}" for name in names])


def _both_free(plot: Path | None, record: Path | None) -> None:
    """Refuses to write where a file is, or two files into one."""
    for out in (plot, record):
        _free(out)
    if plot is not None and record is not None and plot.absolute() == record.absolute():
        raise Refused("file-exists", "--plot and --out name one file.", "Name two.")


def _free(path: Path | None) -> None:
    """A record is never written over another."""
    if path is None:
        return
    if path.exists():
        raise Refused("file-exists", f"{path} is there already.", "Name a new file.")
    if not path.absolute().parent.is_dir():
        raise Refused("folder-missing", f"There is no folder {path.parent}.", "Make it first.")
