"""changes: what changed since a revision or a day, in numbers, limits and pages."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import click

from generator.changes.history import commit_of, standards_at
from generator.cli.common import common, form_option, manual_of, print_json, refuse, show, status_of
from generator.files.finding import Refused, counts, total_words
from generator.sheet.manual import Broken, Manual, make_manual


@click.command()
@common
@form_option("text", "json")
@click.option("--since", required=True, metavar="REV|DATE", help="A git revision, or a day.")
def changes(project: Path | None, as_of: datetime.date | None, form: str, since: str) -> None:
    """Show what changed since a git revision or a day: numbers, limits and pages, old → new."""
    from generator.changes.comparing import (
        changes_record,
        changes_text,
        compare,
    )  # no other command draws pages

    manual = sound(manual_of(project, as_of), "nothing is compared")
    try:
        with earlier(manual, since) as (old, commit):
            found = compare(old, manual)
    except Refused as refused:
        refuse(refused)
    if form == "json":
        print_json(changes_record(found, since, commit))
    else:
        click.echo(changes_text(found, since, commit))


def sound(found: Manual | Broken, instead: str) -> Manual:
    """The manual, if its standards have no error; else they are shown and the command stops with
    1."""
    if found.errors or isinstance(found, Broken):
        show(found.errors)
        total = total_words(found.findings) if counts(found.findings)["error"] else "no kitchen"
        click.echo(f"kitchen-manual: {instead}: {total}.", err=True)
        raise SystemExit(status_of(found.errors))
    return found


@contextmanager
def earlier(manual: Manual, since: str) -> Iterator[tuple[Manual | Broken, str]]:
    """The manual of a revision or a day, computed as of the same day as ``manual``, and its commit.
    Its files are there as long as the block: pages read some of them.

    Raises Refused: no checkout, no such revision, no standards there.
    """
    commit = commit_of(manual.project, since, manual.house.kitchen.time_zone, manual.as_of)
    with standards_at(manual.project, commit) as folder:
        yield make_manual(folder, manual.as_of), commit
