"""record: keep what was made, as a file of its own that is never changed."""

from __future__ import annotations

import datetime
import itertools
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NoReturn

import click

from generator.answers.made import recorded, recorded_record, recorded_text
from generator.cli.common import (
    common,
    computed,
    find_project,
    form_option,
    manual_of,
    print_json,
    refuse,
    report,
    sheet_of,
    show,
)
from generator.files.disk import locked, made_folder, not_written, take_away, write_together
from generator.files.finding import BrokenData, Finding, Refused
from generator.files.source_text import Mapping, Text, copied, read_bytes
from generator.intake.made_file import ident_of, made_of_tree, made_text, read_made_files, says
from generator.intake.standards import FOLDER, RECORD
from generator.records.made import MadeBatch, same_lot
from generator.sheet.history import histories
from generator.sheet.manual import Manual
from generator.sheet.recording import doubts_with, earlier_record, faults_with, history_with

KEPT_IN = "records"


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--corrects",
    default="",
    metavar="WHY",
    help="The batch is recorded already and that was wrong: why. The earlier record stays.",
)
@click.option(
    "--lot",
    default="",
    metavar="NUMBER",
    help="Its own number, in place of the file's: two phones that begin a batch of one formula on "
    "one day number both alike. Write it on its labels, too.",
)
@click.option(
    "--earlier-revision",
    is_flag=True,
    help="It really was made by a revision that wasn't in force on its day.",
)
@click.option("--dry-run", is_flag=True, help="Check it and say what would be kept. Write nothing.")
@common
@form_option("text", "json")
def record(
    files: tuple[Path, ...],
    corrects: str,
    lot: str,
    earlier_revision: bool,
    dry_run: bool,
    project: Path | None,
    as_of: datetime.date | None,
    form: str,
) -> None:
    """Keep the record of a batch: FILES are a phone's JSON, a CSV with named columns, or YAML.

    Several files of one batch are put together: the phone's readings, and a table of lots."""
    folder = find_project(project) / FOLDER / KEPT_IN
    try:
        with _held(folder, dry_run):
            manual = computed(manual_of(project, as_of, history=True), files[0].name)
            found = _Recording(manual, files, corrects, lot, earlier_revision)
            path = folder / f"{found.ident}.yaml"
            if not dry_run:
                write_together({path: found.text}, fresh=True)
    except Refused as refused:
        refuse(refused)
    except BrokenData as broken:
        _stopped(broken.findings)
    history = history_with(manual, found.ident, found.record)
    then = found.then
    series = histories(history, manual.walks).get(found.record.formula, ())
    said = recorded(
        history.batches[found.ident],
        found.sheet,
        manual.standards.equipment,
        f"{FOLDER}/{KEPT_IN}/{found.ident}.yaml",
        series,
        not dry_run,
        doubts_with(manual, found.ident, history, then),
        held=found.held,
    )
    if form == "json":
        print_json(recorded_record(said))
    else:
        click.echo(recorded_text(said))


def _stopped(findings: tuple[Finding, ...]) -> NoReturn:
    show(findings)
    click.echo("kitchen-manual: nothing is recorded until this is fixed.", err=True)
    raise SystemExit(1)


@contextmanager
def _held(folder: Path, dry_run: bool) -> Iterator[None]:
    """The folder of records held by this command alone, made if need be; nothing of it is left
    where nothing was written. Raises Refused."""
    if dry_run:
        yield
        return
    try:
        made = made_folder(folder)
    except OSError as error:
        raise not_written(folder, error) from None
    try:
        with locked(folder / KEPT_IN, lambda: report("waiting for another command that records")):
            yield
    finally:
        if made and not any(folder.iterdir()):
            take_away(made)


class _Recording:
    """What the files say, checked against the standards and what is recorded already. Raises
    Refused, and BrokenData with everything that is wrong."""

    def __init__(
        self,
        manual: Manual,
        files: tuple[Path, ...],
        corrects: str,
        lot: str,
        earlier_revision: bool,
    ) -> None:
        self.manual = manual
        tree = read_made_files(files)
        name = files[0].name
        if lot.strip():
            tree = copied(tree)
            tree["lot"] = Text.of(lot.strip(), tree.place)
            tree.keys_at.setdefault("lot", tree.place)
        record = made_of_tree(tree, manual.standards.units, name)
        earlier = earlier_record(manual, record)
        if earlier is not None and record.corrects is None:
            if not corrects.strip():
                raise _twice(manual, record, earlier)
            tree = copied(tree)
            for key, value in (("corrects", earlier), ("why", corrects)):
                tree[key] = Text.of(" ".join(value.split()), tree.place)
                tree.keys_at[key] = tree.place
            record = made_of_tree(tree, manual.standards.units, name)
        elif corrects.strip() and record.corrects is None:
            words = f"No record of {record.formula} {record.lot} is there to correct."
            raise Refused("record-corrects", words, "Leave --corrects out.")
        taken = _taken(manual)
        self.ident = ident_of(record, taken, record.corrects is not None)
        self.record = record
        self.then = _then(manual, record)
        found = faults_with(manual, self.ident, record, earlier_revision, self.then)
        if found:
            raise BrokenData(found)
        self.sheet = sheet_of(self.then or manual, record.formula)
        self.held = self.sheet.formula.formula.revision == record.revision
        self.text = made_text(tree).encode("utf-8")
        self._as_it_will_be_read(tree)

    def _as_it_will_be_read(self, tree: Mapping) -> None:
        """The text that is written says what was read: no more, no less."""
        document = read_bytes(self.text, f"{self.ident}.yaml")
        assert not document.findings and says(document.tree) == says(tree), "written as read"


def _then(manual: Manual, record: MadeBatch) -> Manual | None:
    """The standards of the earlier revision that a record says it was made by; None where it was
    made by today's, and where they can't be had."""
    sheet = manual.sheets.get(record.formula)
    if sheet is None or record.revision >= sheet.formula.formula.revision:
        return None
    from generator.changes.revisions import at_revision  # git, and a whole kitchen once more

    return at_revision(manual, record.formula, record.revision)


def _taken(manual: Manual) -> list[str]:
    """The names of the files that are there, those that can't be read with them."""
    folder = manual.project / FOLDER / KEPT_IN
    broken = [i.removeprefix(RECORD) for i in manual.standards.broken if i.startswith(RECORD)]
    there = [p.stem for p in folder.iterdir()] if folder.is_dir() else []
    return sorted({*manual.standards.made, *broken, *there})


def _twice(manual: Manual, record: MadeBatch, earlier: str) -> Refused:
    """That a batch is recorded already, by whom, with the next number that is free."""
    made = [batch.record for batch in manual.history.batches.values()]
    taken = {same_lot(one.lot) for one in made if one.formula == record.formula}
    begins, digits = re.fullmatch(r"(.*?)([0-9]*)", record.lot).groups()  # type: ignore[union-attr]
    numbers = (f"{begins}{n}" for n in itertools.count(int(digits or 0) + 1))
    free = next(lot for lot in numbers if same_lot(lot) not in taken)
    who = manual.history.batches[earlier].record.who
    words = f"Batch {record.lot} of {record.formula} is recorded already, in {earlier}.yaml"
    return Refused(
        "record-twice",
        f"{words}{f', by {who}' if who else ''}.",
        "Was that wrong? Say why, and it is replaced. Is it another batch? Give it another number, "
        "on its labels too.",
        ['--corrects "why it was wrong"', f"--lot {free}"],
    )
