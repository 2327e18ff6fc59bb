"""upgrade: the standards in today's keys."""

from __future__ import annotations

import datetime
from pathlib import Path

import click

from generator.cli.common import common, find_project, refuse
from generator.files.disk import reason_of
from generator.files.finding import Refused
from generator.measures.words import breakable, counted
from generator.records.upgrading import upgraded


@click.command()
@click.option("--dry-run", is_flag=True, help="Say what would be renamed. Write nothing.")
@common
def upgrade(project: Path | None, as_of: datetime.date | None, dry_run: bool) -> None:
    """Write the standards in today's keys. Figures, comments and order stay."""
    folder = find_project(project)
    try:
        found = upgraded(folder)
    except OSError as error:
        where = error.filename or folder
        refuse(Refused("file-unreadable", f"{where} can't be opened: {reason_of(error)}."))
    names = [old for one in found.files for old in one.renamed]
    for old in names:
        click.echo(f"{old.place}: {old.rename.old} -> {old.rename.new}")
    words, files = counted(len(names), "name"), counted(len(found.files), "file")
    verb = "would be renamed" if dry_run else "renamed"
    summary = f"{words} {verb} in {files}." if names else "Nothing to rename."
    click.echo(breakable(summary))  # said before it is done: a full output stops it
    try:
        if not dry_run:
            found.write()
    except Refused as refused:
        refuse(refused)
    for left in found.left:
        click.echo(f"kitchen-manual: {left}", err=True)
    raise SystemExit(1 if found.left else 0)
