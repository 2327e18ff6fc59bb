"""upgrade: the standards in today's keys."""

from __future__ import annotations

import datetime
from pathlib import Path

import click

from generator.cli.common import common, find_project, refuse
from generator.files.disk import not_written
from generator.files.finding import Refused
from generator.records.upgrading import upgrade as upgrade_standards
from generator.records.upgrading import upgraded


@click.command()
@click.option("--dry-run", is_flag=True, help="Say what would be renamed; write nothing.")
@common
def upgrade(project: Path | None, as_of: datetime.date | None, dry_run: bool) -> None:
    """Write the standards in today's keys. Figures, comments and order stay."""
    folder = find_project(project)
    try:
        found, unread = upgraded(folder) if dry_run else upgrade_standards(folder)
    except Refused as refused:
        refuse(refused)
    except OSError as error:
        refuse(not_written(folder / "standards", error))
    for one in found:
        for old in one.renamed:
            click.echo(f"{old.place}: {old.rename.old} -> {old.rename.new}")
    for name in unread:
        click.echo(f"kitchen-manual: {name} can't be read; `check` says why.", err=True)
    names, files = sum(len(one.renamed) for one in found), len(found)
    click.echo(f"{names} renamed in {files} files." if names else "Nothing to rename.")
    raise SystemExit(1 if unread else 0)
